"""Copper, gauges and enamel against the standards."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fem_motor.errors import MaterialError
from fem_motor.materials import (
    Conductor,
    enamelled_diameter,
    load_library,
    wire_diameter_from_awg,
)

CONDUCTORS = {name: part for name, part in load_library().items() if isinstance(part, Conductor)}
COPPER = CONDUCTORS["copper"]
INCH = 25.4e-3


def test_copper_has_the_resistivity_of_the_international_standard() -> None:
    # IEC 60028: 1/58 Ω mm²/m = 0.017241 Ω mm²/m at 20 °C.
    assert COPPER.resistivity_at(20) == pytest.approx(0.017241e-6, rel=1e-12)
    assert COPPER.resistivity_at(20) == pytest.approx(1e-6 / 58, rel=3e-5)


def test_hot_copper_resists_a_third_more_at_100_degrees() -> None:
    # IEC 60028: α = 0.00393 1/K at 20 °C. 0.017241 (1 + 0.00393 · 80) = 0.022662 Ω mm²/m.
    assert COPPER.resistivity_at(100) == pytest.approx(0.022662e-6, abs=0.5e-12)


@pytest.mark.parametrize("celsius", [-20, 5, 60, 100, 155])
def test_copper_follows_the_temperature_factor_of_cable_makers(celsius: float) -> None:
    # IEC 60228, informative annex, from memory: R_t = R_20 (234.5 + t)/254.5.
    ratio = COPPER.resistivity_at(celsius) / COPPER.resistivity_at(20)
    assert ratio == pytest.approx((234.5 + celsius) / 254.5, rel=2e-4)


@pytest.mark.parametrize(
    ("square_mm", "most_ohm_per_km"),
    [(0.5, 36.0), (0.75, 24.5), (1.0, 18.1), (1.5, 12.1), (2.5, 7.41), (4, 4.61), (6, 3.08)],
)
def test_copper_of_nominal_area_keeps_the_limits_of_cables(
    square_mm: float, most_ohm_per_km: float
) -> None:
    # IEC 60228, class 1, plain, at 20 °C, from memory: limits 4 to 8 % above the nominal area.
    found = COPPER.resistivity_at(20) / (square_mm * 1e-6) * 1e3
    assert 0.92 * most_ohm_per_km < found < most_ohm_per_km


def test_aluminium_resists_more_than_copper_and_weighs_less() -> None:
    # Conductivity 61 % of the copper standard, a density near 0.30 of it (common practice).
    aluminium = CONDUCTORS["aluminium-wire"]
    assert COPPER.resistivity / aluminium.resistivity == pytest.approx(0.61, abs=0.01)
    assert aluminium.density is not None
    assert COPPER.density is not None
    assert aluminium.density / COPPER.density == pytest.approx(0.304, abs=0.01)


# -- gauges ------------------------------------------------------------------------------------


def test_two_gauges_are_defined_in_inches() -> None:
    # ASTM B258: No. 36 is 0.0050 in, No. 0000 (n = −3) is 0.4600 in, 39 equal ratios between.
    assert wire_diameter_from_awg(36) == pytest.approx(0.005 * INCH, rel=1e-12)
    assert wire_diameter_from_awg(-3) == pytest.approx(0.46 * INCH, rel=1e-12)


@pytest.mark.parametrize(
    ("gauge", "mils"),
    [
        *[(16, 50.8), (18, 40.3), (20, 32.0), (22, 25.3), (24, 20.1), (26, 15.9)],
        *[(28, 12.6), (30, 10.0), (32, 8.0), (34, 6.3), (38, 4.0)],
    ],
)
def test_gauges_are_those_of_the_printed_table(gauge: int, mils: float) -> None:
    # ASTM B258, table in mils with one decimal, from memory.
    assert wire_diameter_from_awg(gauge) == pytest.approx(mils * 1e-3 * INCH, abs=0.051e-3 * INCH)


@given(gauge=st.integers(0, 44))
def test_six_gauges_halve_the_diameter_nearly(gauge: int) -> None:
    # 92^(6/39) = 2.0050
    ratio = wire_diameter_from_awg(gauge) / wire_diameter_from_awg(gauge + 6)
    assert ratio == pytest.approx(2.0050, abs=1e-4)


# -- enamel ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bare", "grade_1", "grade_2"),
    [
        # IEC 60317-0-1, largest overall diameters in mm, from memory: main sizes ...
        (0.200, 0.226, 0.239),
        (0.315, 0.349, 0.367),
        (0.500, 0.544, 0.566),
        (0.800, 0.855, 0.884),
        (1.000, 1.062, 1.094),
        (1.600, 1.670, 1.706),
        # ... and sizes between, which the program interpolates.
        (0.224, 0.252, 0.266),
        (0.280, 0.312, 0.329),
        (0.355, 0.392, 0.411),
        (0.450, 0.491, 0.513),
        (0.560, 0.606, 0.630),
        (0.710, 0.762, 0.789),
        (0.900, 0.959, 0.989),
        (1.120, 1.184, 1.217),
        (1.400, 1.468, 1.502),
    ],
)
def test_enamelled_wire_is_as_thick_as_the_standard_allows(
    bare: float, grade_1: float, grade_2: float
) -> None:
    assert enamelled_diameter(bare * 1e-3) == pytest.approx(grade_1 * 1e-3, abs=1.6e-6)
    assert enamelled_diameter(bare * 1e-3, 2) == pytest.approx(grade_2 * 1e-3, abs=1.6e-6)


@given(bare=st.floats(0.05e-3, 3e-3), more=st.floats(1e-6, 1e-3))
def test_thicker_wire_stays_thicker_under_its_enamel(bare: float, more: float) -> None:
    for grade in (1, 2):
        assert enamelled_diameter(bare + more, grade) > enamelled_diameter(bare, grade)
    assert enamelled_diameter(bare, 2) > enamelled_diameter(bare, 1) > bare


@pytest.mark.parametrize("grade", [-1, 0, 3])
def test_a_grade_of_enamel_that_is_not_tabulated_is_refused(grade: int) -> None:
    with pytest.raises(MaterialError) as caught:
        enamelled_diameter(0.5e-3, grade)
    assert str(caught.value) == (
        f"grade = {grade} is not tabulated.\n"
        "  why: the table of IEC 60317-0-1 here holds enamel of grade 1 (thin) and 2 (thick).\n"
        "  do:  use 1 or 2."
    )
