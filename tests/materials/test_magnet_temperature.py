"""Magnets: remanence, coercivity and knee over temperature, and grades that fit their names."""

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fem_motor.materials import Magnet, load_library

MU_0 = 4e-7 * math.pi
MAGNETS = {name: part for name, part in load_library().items() if isinstance(part, Magnet)}
SINTERED = {
    name: (int(match[1]), match[2])
    for name in MAGNETS
    if (match := re.fullmatch(r"ndfeb-n(\d\d)([a-z]*)", name))
}
"""Number and suffix of the trade grades."""

every_grade = pytest.mark.parametrize("name", SINTERED)


def magnet(**changes: float | None) -> Magnet:
    """Return a magnet of round numbers."""
    values: dict[str, float | None] = {
        "remanence": 1.3,
        "recoil_permeability": 1.05,
        "intrinsic_coercivity": 1e6,
        "remanence_per_K": -0.0012,
        "coercivity_per_K": -0.006,
    }
    return Magnet(name="round", **(values | changes))  # type: ignore[arg-type]


def test_values_at_room_temperature_are_those_of_the_data_sheet() -> None:
    assert magnet().remanence_at(20) == 1.3
    assert magnet().coercivity_at(20) == 1e6


def test_remanence_falls_by_its_coefficient() -> None:
    # 1.3 (1 − 0.0012 · 60) = 1.2064 T at 80 °C, and as much above at −40 °C.
    assert magnet().remanence_at(80) == pytest.approx(1.2064, rel=1e-12)
    assert magnet().remanence_at(-40) == pytest.approx(1.3936, rel=1e-12)


def test_coercivity_falls_by_its_coefficient() -> None:
    # 1000 (1 − 0.006 · 100) = 400 kA/m at 120 °C.
    assert magnet().coercivity_at(120) == pytest.approx(4e5, rel=1e-12)


def test_remanence_and_coercivity_never_turn_negative() -> None:
    assert magnet().remanence_at(2000) == 0
    assert magnet().coercivity_at(2000) == 0


def test_a_magnet_of_unknown_coercivity_has_no_knee() -> None:
    unknown = magnet(intrinsic_coercivity=None)
    assert unknown.coercivity_at(80) is None
    assert unknown.knee_flux_density(80) is None


def test_knee_is_where_the_recoil_line_meets_95_percent_of_the_coercivity() -> None:
    # B_r = 1.2064 T and H_cJ = 640 kA/m at 80 °C:
    # 1.2064 − 4π·10⁻⁷ · 1.05 · 0.95 · 640 000 = 0.404 T.
    knee = magnet().knee_flux_density(80)
    assert knee == pytest.approx(1.2064 - MU_0 * 1.05 * 0.95 * 6.4e5, rel=1e-12)
    assert knee == pytest.approx(0.404, abs=5e-4)


@pytest.mark.parametrize(
    ("name", "celsius", "knee"),
    [
        # The same formula from B_r, H_cJ, α, β of the grades (trade values, from memory).
        ("ndfeb-n35", 20, -0.01),
        ("ndfeb-n35", 80, 0.41),
        ("ndfeb-n42", 80, 0.51),
        ("ndfeb-n48", 60, 0.47),
        ("ndfeb-n52", 20, 0.35),
        ("ndfeb-n52", 80, 0.71),
        ("ndfeb-n45m", 100, 0.55),
        ("ndfeb-n45h", 120, 0.51),
        ("ndfeb-n42sh", 150, 0.53),
        ("ndfeb-n42uh", 60, -0.75),
    ],
)
def test_knees_of_the_trade_grades(name: str, celsius: float, knee: float) -> None:
    assert MAGNETS[name].knee_flux_density(celsius) == pytest.approx(knee, abs=0.006)


def test_plain_n52_is_near_its_knee_at_80_degrees_without_any_current() -> None:
    # With hardly any iron near, a magnet face works at 0.4 to 0.6 of the remanence (alternating
    # sheet estimate): 0.55 to 0.8 T hot. The knee lies within that, that of a 42SH far below.
    plain, hard = MAGNETS["ndfeb-n52"], MAGNETS["ndfeb-n42sh"]
    plain_knee, hard_knee = plain.knee_flux_density(80), hard.knee_flux_density(80)
    assert plain_knee is not None
    assert hard_knee is not None
    assert 0.4 * plain.remanence_at(80) < plain_knee < 0.6 * plain.remanence_at(80)
    assert hard_knee < 0


@every_grade
@settings(max_examples=20)
@given(cold=st.floats(-40, 100), warmer=st.floats(1, 50))
def test_the_knee_of_neodymium_rises_with_heat(name: str, cold: float, warmer: float) -> None:
    grade = MAGNETS[name]
    low, high = grade.knee_flux_density(cold), grade.knee_flux_density(cold + warmer)
    assert low is not None
    assert high is not None
    assert high > low


def test_the_coercivity_of_ferrite_falls_with_cold() -> None:
    # Coefficient +0.3 to +0.4 % per kelvin (from memory): −40 °C costs a fifth.
    ferrite = MAGNETS["ferrite-good"]
    room, cold = ferrite.coercivity_at(20), ferrite.coercivity_at(-40)
    assert room is not None
    assert cold is not None
    assert 0.75 < cold / room < 0.85


@every_grade
def test_the_number_of_a_grade_is_its_energy_product(name: str) -> None:
    # The number is (BH)max in MGOe, 1 MGOe = 100/(4π) kJ/m³. A straight line has
    # (BH)max = B_r²/(4 μ₀ μ_rec); ranges of the grades are 3 MGOe wide and reach the number.
    number, _ = SINTERED[name]
    grade = MAGNETS[name]
    product = grade.remanence**2 / (4 * MU_0 * grade.recoil_permeability)
    assert product * 4 * math.pi / 1e5 == pytest.approx(number - 1.5, abs=1.5)


REMANENCE = {  # T, least and most of the trade grades, from memory
    35: (1.17, 1.22),
    38: (1.22, 1.25),
    40: (1.25, 1.28),
    42: (1.28, 1.32),
    45: (1.32, 1.38),
    48: (1.38, 1.42),
    50: (1.40, 1.45),
    52: (1.43, 1.48),
}
SUFFIX = {  # least coercivity kA/m, rated °C, its coefficient %/K; trade values, from memory
    "": (955, 80, -0.70),
    "m": (1114, 100, -0.65),
    "h": (1353, 120, -0.60),
    "sh": (1592, 150, -0.55),
    "uh": (1990, 180, -0.51),
}


@every_grade
def test_remanence_lies_in_the_range_of_its_grade(name: str) -> None:
    low, high = REMANENCE[SINTERED[name][0]]
    assert low <= MAGNETS[name].remanence <= high


@every_grade
def test_coercivity_and_its_coefficient_follow_from_the_suffix(name: str) -> None:
    number, suffix = SINTERED[name]
    least, rated, coefficient = SUFFIX[suffix]
    grade = MAGNETS[name]
    # N50 and N52 without suffix are sold with 876 kA/m, N52 for 60 to 80 °C.
    expected = 876e3 if number >= 50 and not suffix else least * 1e3
    assert grade.intrinsic_coercivity == expected
    assert grade.maximum_temperature_C is not None
    assert rated - 20 <= grade.maximum_temperature_C <= rated
    assert grade.coercivity_per_K == pytest.approx(coefficient / 100)
    assert grade.remanence_per_K == pytest.approx(-0.0012)


@pytest.mark.parametrize("name", MAGNETS)
def test_no_magnet_has_more_remanence_than_its_kind_allows(name: str) -> None:
    # Nd2Fe14B itself has J_s = 1.6 T at room temperature (J. Herbst, Rev. Mod. Phys. 63 (1991)
    # 819, from memory), hexaferrite 0.48 T (from memory).
    limit = 0.48 if name.startswith("ferrite") else 1.6
    assert 0 < MAGNETS[name].remanence < limit
    assert 1.0 <= MAGNETS[name].recoil_permeability <= 1.2
    assert np.isfinite(MAGNETS[name].remanence_at(100))
