"""Copper without cooling, its temperature by its resistance, and coils across their wires."""

import math

import pytest
from networks import adiabatic_seconds

from fem_motor.heat.parts.build import slab
from fem_motor.heat.parts.copper import copper_temperature, winding_conductivity

DENSITIES = (4, 5, 10, 15, 20, 30)


def two_digits(value: float) -> float:
    """Round as the table does: whole seconds from 10 on, else one decimal."""
    return round(value) if value >= 9.95 else round(value, 1)


@pytest.mark.parametrize(
    ("limit_C", "seconds"),
    [
        (55.0, (345, 221, 55, 25, 14, 6.1)),
        (70.0, (505, 323, 81, 36, 20, 9.0)),
        (95.0, (754, 483, 121, 54, 30, 13)),
        (130.0, (1073, 687, 172, 76, 43, 19)),
    ],
)
def test_seconds_from_25_degrees_by_the_adiabatic_formula(
    limit_C: float, seconds: tuple[float, ...]
) -> None:
    # Adiabatic form of IEC 60724, from memory; table computed from it outside this program.
    found = [adiabatic_seconds(1e6 * j, from_C=25.0, to_C=limit_C) for j in DENSITIES]
    assert [two_digits(value) for value in found] == list(seconds)


def test_ten_amperes_per_square_millimetre_reach_55_degrees_in_55_3_seconds() -> None:
    assert adiabatic_seconds(10e6, from_C=25.0, to_C=55.0) == pytest.approx(55.3, abs=0.05)


def test_the_adiabatic_formula_is_the_integral_of_its_heat_balance() -> None:
    # c ρ dT = ρ₂₀ (1 + α (T − 20)) J² dt, summed in small steps of T.
    steps, low, high = 20_000, 25.0, 130.0
    step = (high - low) / steps
    middle = [low + (k + 0.5) * step for k in range(steps)]
    heat = sum(385 * 8890 * step / (1.7241e-8 * (1 + 0.00393 * (t - 20)) * 8e6**2) for t in middle)
    assert adiabatic_seconds(8e6, from_C=low, to_C=high) == pytest.approx(heat, rel=1e-8)


def test_a_quarter_more_resistance_than_at_20_degrees_means_83_6_degrees() -> None:
    # IEC 60034-1, from memory: 1.25 · 254.5 − 234.5 = 83.625 °C, a rise of 63.6 K.
    found = copper_temperature(cold=0.100, cold_C=20.0, hot=0.125)
    assert found == pytest.approx(83.625, abs=1e-9)


def test_a_printed_tooth_passes_a_watt_per_1111_kelvin_and_twelve_93() -> None:
    # l/(k A): 9 mm of 0.27 W/(m K) through 3 mm by 10 mm.
    assert slab(9e-3, 0.27, 30e-6) == pytest.approx(1111.1, abs=0.05)
    assert slab(9e-3, 0.27, 12 * 30e-6) == pytest.approx(93, abs=0.5)
    assert slab(9e-3, 25.0, 12 * 30e-6) == pytest.approx(1.0, abs=1e-9)  # steel


def test_a_millimetre_of_plastic_behind_20_square_centimetres_is_2_5_kelvin_per_watt() -> None:
    assert slab(1e-3, 0.2, 20e-4) == pytest.approx(2.5)


@pytest.mark.parametrize(("filler", "expected"), [(0.026, 0.061), (0.2, 0.47)])
def test_a_coil_of_40_percent_copper_in_air_and_in_epoxy(filler: float, expected: float) -> None:
    # Hashin and Shtrikman in the plane: 0.061 and 0.47 W/(m K).
    assert winding_conductivity(0.4, filler=filler) == pytest.approx(expected, rel=0.01)


def test_a_coil_conducts_between_its_filler_and_its_copper() -> None:
    assert winding_conductivity(0.0, filler=0.2) == pytest.approx(0.2)
    assert winding_conductivity(1.0, filler=0.2) == pytest.approx(395.0, rel=0.6)
    assert math.isclose(winding_conductivity(0.5, filler=395.0), 395.0)
