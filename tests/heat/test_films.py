"""Film coefficients against worked examples and tables."""

import math

import pytest

from fem_motor.heat.parts.films import (
    Surroundings,
    blended,
    flat_plate,
    gap_side,
    natural_cylinder,
    radiation,
    rotating_cylinder,
    rotating_disc,
)
from fem_motor.heat.parts.fluids import Fluid, air_at, water_at
from fem_motor.units import RPM

AIR_40 = Fluid(
    conductivity=0.0271,
    viscosity=1.70e-5,
    prandtl=0.71,
    density=1.127,
    heat_capacity=1007,
    expansion=1 / 313.15,
)


def test_a_still_cylinder_of_60_mm_40_kelvin_warmer_has_5_86_watts_per_square_metre_kelvin() -> (
    None
):
    # Churchill and Chu 1975, from memory: Ra 6.65e5, Nu 12.97.
    found = natural_cylinder(AIR_40, diameter=60e-3, difference=40.0)
    assert found == pytest.approx(5.86, rel=5e-3)
    assert found * 60e-3 / 0.0271 == pytest.approx(12.97, rel=5e-3)


def test_a_cylinder_of_60_mm_at_6000_rpm_has_88_0_watts_per_square_metre_kelvin() -> None:
    # Becker 1963, from memory: Re 66 528, Nu 194.8.
    found = rotating_cylinder(AIR_40, diameter=60e-3, speed=6000 * RPM)
    assert found == pytest.approx(88.0, rel=5e-3)
    assert found * 60e-3 / 0.0271 == pytest.approx(194.8, rel=5e-3)


@pytest.mark.parametrize(("rpm", "expected"), [(3000, 55), (6000, 88), (10_000, 124)])
def test_a_can_of_60_mm_by_its_speed(rpm: float, expected: float) -> None:
    found = rotating_cylinder(AIR_40, diameter=60e-3, speed=rpm * RPM)
    assert found == pytest.approx(expected, abs=0.6)


def test_radiation_from_65_to_25_degrees_is_four_sigma_epsilon_of_the_mean() -> None:
    # 4 · 5.67e-8 · 0.9 · 318.15³ = 6.573; the exact difference of fourth powers is 0.4 % more.
    cube = 4 * 5.67e-8 * 0.9 * 318.15**3
    assert cube == pytest.approx(6.573, abs=1e-3)
    flow = 0.9 * 5.67e-8 * (338.15**4 - 298.15**4)
    assert radiation(65.0, 25.0) * 40 == pytest.approx(flow, rel=1e-12)
    assert radiation(65.0, 25.0) == pytest.approx(cube, rel=5e-3)


def test_a_flat_face_of_50_mm_in_10_metres_per_second_has_55() -> None:
    assert flat_plate(AIR_40, length=50e-3, velocity=10.0) == pytest.approx(55, abs=0.6)


def test_a_gap_of_half_a_millimetre_of_air_passes_54_from_wall_to_wall() -> None:
    # Nu = 2 on twice the gap is conduction, k/δ; two sides in series.
    assert gap_side(AIR_40, gap=0.5e-3) / 2 == pytest.approx(54.2, abs=0.05)
    assert gap_side(water_at(20.0), gap=0.5e-3) / 2 == pytest.approx(1200, rel=5e-3)


def test_a_body_of_50_mm_in_still_water_30_kelvin_warmer_has_840() -> None:
    # Churchill and Chu, film at 30 °C (water of 15 °C), computed outside this program: 840.
    found = natural_cylinder(water_at(30.0), diameter=50e-3, difference=30.0)
    assert found == pytest.approx(840, rel=0.01)


AIR_TABLE = {
    20.0: (0.0257, 1.51e-5, 0.713, 1.204),
    40.0: (0.0271, 1.70e-5, 0.711, 1.127),
    60.0: (0.0285, 1.89e-5, 0.709, 1.060),
    100.0: (0.0314, 2.31e-5, 0.703, 0.946),
}

WATER_TABLE = {
    20.0: (0.598, 1.004e-6, 7.0, 998.0, 2.07e-4),
    40.0: (0.631, 0.658e-6, 4.3, 992.0, 3.85e-4),
}


@pytest.mark.parametrize("celsius", AIR_TABLE)
def test_air_is_that_of_the_table(celsius: float) -> None:
    # Incropera and DeWitt against the formulas of the US Standard Atmosphere, both from memory.
    conductivity, viscosity, prandtl, density = AIR_TABLE[celsius]
    air = air_at(celsius)
    assert air.conductivity == pytest.approx(conductivity, rel=0.011)
    assert air.viscosity == pytest.approx(viscosity, rel=0.01)
    assert air.prandtl == pytest.approx(prandtl, rel=0.02)
    assert air.density == pytest.approx(density, rel=0.005)
    assert air.expansion == pytest.approx(1 / (celsius + 273), rel=1e-3)


@pytest.mark.parametrize("celsius", WATER_TABLE)
def test_water_is_that_of_the_table(celsius: float) -> None:
    # Incropera and DeWitt, from memory.
    conductivity, viscosity, prandtl, density, expansion = WATER_TABLE[celsius]
    water = water_at(celsius)
    assert water.conductivity == pytest.approx(conductivity, rel=1e-6)
    assert water.viscosity == pytest.approx(viscosity, rel=0.005)
    assert water.prandtl == pytest.approx(prandtl, rel=0.01)
    assert water.density == pytest.approx(density, rel=1e-6)
    assert water.expansion == pytest.approx(expansion, rel=1e-6)


def test_thin_air_cools_less_but_conducts_as_well() -> None:
    thin, thick = air_at(40.0, density_25C=0.6), air_at(40.0)
    assert thin.conductivity == thick.conductivity
    assert thin.viscosity == pytest.approx(thick.viscosity * 1.184 / 0.6)


def test_the_air_of_the_design_has_its_density_at_its_ambient_temperature() -> None:
    around = Surroundings(ambient_C=10.0, air_density=1.05)
    assert around.fluid(10.0).density == pytest.approx(1.05, rel=1e-12)


def test_a_disc_cools_by_the_root_of_its_speed_whatever_its_radius() -> None:
    # Nu = 0.36 √Re with Re = ω r²/ν, by hand: 0.36 · 0.0271 · √(628.3/1.7e-5) = 59.3.
    assert rotating_disc(AIR_40, speed=6000 * RPM) == pytest.approx(59.3, abs=0.1)


def test_one_coefficient_blends_to_itself_and_two_alike_to_a_quarter_more() -> None:
    assert blended(7.0, 0.0) == pytest.approx(7.0)
    assert blended(7.0, 7.0) == pytest.approx(7.0 * 2 ** (1 / 3))


def test_water_does_not_radiate_and_cools_a_hundred_times_better() -> None:
    still = {"diameter": 60e-3, "length": 30e-3}
    air = Surroundings(ambient_C=20.0).barrel_film(**still)(60.0, 20.0, 0.0)
    water = Surroundings(medium="water", ambient_C=20.0).barrel_film(**still)(60.0, 20.0, 0.0)
    assert 60 < water / air < 140
    assert math.isclose(
        water, natural_cylinder(water_at(40.0), diameter=60e-3, difference=40.0), rel_tol=1e-12
    )


def test_the_film_of_a_plate_has_no_jump_where_the_flow_turns_turbulent() -> None:
    # Incropera and DeWitt, from memory: laminar to Re 5e5, the mean behind it with − 871. A jump
    # would leave films and temperatures nowhere to settle.
    fluid = water_at(60.0)
    velocity = 5e5 * fluid.viscosity / 0.05
    below, above = (
        flat_plate(fluid, length=0.05, velocity=share * velocity) for share in (0.9999, 1.0001)
    )
    assert above == pytest.approx(below, rel=3e-3)
    # Far above it is turbulent: 0.037 Re^0.8 Pr^(1/3) k/l at Re 5e7, less a percent.
    fast = flat_plate(fluid, length=0.05, velocity=100 * velocity)
    turbulent = 0.037 * 5e7**0.8 * fluid.prandtl ** (1 / 3) * fluid.conductivity / 0.05
    assert fast == pytest.approx(turbulent, rel=0.02)
