import math

import pytest
import sheet_of_sines as sines

from fem_motor.findings import Finding, Headline
from fem_motor.numbers import digits, quantity, scale_of, split_name, value_and_range
from fem_motor.report import summary_text
from fem_motor.report.terminal.summary import finding_text
from fem_motor.report.wording.words import operating_table


def test_answers_come_first_each_with_value_unit_and_range() -> None:
    lines = summary_text(sines.sheet()).splitlines()
    start = lines.index("Answers")
    assert start <= 4  # title, machine (at most two lines), a blank
    assert lines[start + 1] == "  Speed constant Kv         372.4 rpm/V   354 to 391    [a]"
    assert lines[start + 3] == "  Torque constant Kt        25.64 mN m/A  24.4 to 26.9  [a]"
    assert lines[start + 5] == "  Cogging, peak to peak     1.6 mN m      1.58 to 1.62  [b]"
    assert lines[start + 7] == "  Resistance, line to line  213.4 mΩ      203 to 224    [c]"
    assert lines[start + 8] == "  Slot fill (bare copper)   0.311"


def test_each_range_names_its_cause_once() -> None:
    text = summary_text(sines.sheet())
    assert text.count(sines.END) == 1
    assert f"  [a] {sines.END}" in text


def test_a_check_that_is_not_ok_says_why_and_what_to_do() -> None:
    text = summary_text(sines.sheet())
    assert "  watch  flux density in the teeth, T: 0.41 (at most 0.38)\n" in text
    assert "why: above this the filament saturates" in text
    assert "do:  widen the teeth, or choose a filament with more iron." in text
    assert "slot fill factor" not in text  # it is ok, and counted only
    assert "  ok     1 passed" in text


def test_the_screen_has_at_most_80_lines_of_100_columns_however_many_checks_fail() -> None:
    finding = Finding(
        name="hoop stress", status="stop", value=9.0, limit=5.0, why="w " * 150, do="d"
    )
    lines = summary_text(sines.sheet(checks=(finding,) * 40)).splitlines()
    assert len(lines) <= 80
    assert max(map(len, lines)) <= 100
    assert any("more in the report" in line for line in lines)


def test_stops_come_before_watches() -> None:
    watch = Finding(name="first found", status="watch")
    stop = Finding(name="second found", status="stop")
    text = summary_text(sines.sheet(checks=(watch, stop)))
    assert text.index("second found") < text.index("first found")


def test_only_status_words_are_coloured_and_only_on_request() -> None:
    plain = summary_text(sines.sheet())
    coloured = summary_text(sines.sheet(), status_style="coloured")
    assert "\033" not in plain
    assert (
        coloured.replace("\033[33mwatch\033[0m", "watch").replace("\033[32mok   \033[0m", "ok   ")
        == plain
    )


def test_an_answer_that_was_not_computed_says_so_and_why() -> None:
    answers = {"cogging_peak_to_peak_Nm": Headline(value=None, low=None, high=None, because="why")}
    text = summary_text(sines.sheet(answers=answers))
    assert "  Cogging, peak to peak    not computed    [a]\n" in text
    assert "\n  [a] why\n" in text


def test_a_propeller_is_warned_of_only_where_there_is_one() -> None:
    bench = {**sines.DESIGN, "load": {"kind": "none"}}
    assert "propeller cuts" in summary_text(sines.sheet())
    assert "propeller" not in summary_text(sines.sheet(design=bench))


def test_trust_says_two_dimensional_20_degrees_and_mesh_quality() -> None:
    text = " ".join(summary_text(sines.sheet(quality="draft")).split())
    for words in ("2-D section", "20 °C", "mesh quality draft", "0.935 (0.898 to 0.972)"):
        assert words in text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (1.0, "1"),
        (-12.3456, "-12.35"),
        (99999.0, "100000"),
        (0.00012344, "0.0001234"),
        (1e-7, "1e-07"),
        (123456789.0, "1.235e+08"),
        (math.nan, "nan"),
    ],
)
def test_four_digits_of(value: float, text: str) -> None:
    # By hand: rounded to four significant digits, no exponent from 1e-4 to 1e8.
    assert digits(value) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.0016, "N m", "1.6 mN m"),
        (4.1e-5, "H", "41 µH"),
        (0.99996, "Ω", "1 Ω"),
        (1500.0, "W", "1.5 kW"),
        (0.41, "T", "0.41 T"),  # flux density is read in tesla whatever its size
        (20.0, "°C", "20 °C"),
        (2.5, "°", "2.5°"),
        (0.31, "", "0.31"),
        (0.0, "N m", "0 N m"),
    ],
)
def test_a_quantity_takes_the_prefix_that_fits(value: float, unit: str, text: str) -> None:
    assert quantity(value, unit) == text


def test_a_range_shares_the_prefix_of_its_value() -> None:
    answer = Headline(value=0.9, low=0.8, high=1.1, because="")
    assert value_and_range(answer, "N m") == ("900 mN m", "800 to 1100")


@pytest.mark.parametrize(
    ("name", "words", "unit"),
    [
        ("speed_constant_rpm_per_V", "speed constant", "rpm/V"),
        ("motor_constant_Nm_per_sqrtW", "motor constant", "N m/√W"),
        ("back_emf_V_per_rad_per_s", "back emf", "V s/rad"),
        ("turn_length_mm", "turn length", "mm"),
        ("wire_length_m", "wire length", "m"),
        ("resistance_phase_ohm", "resistance phase", "Ω"),
        ("winding_factor", "winding factor", ""),
    ],
)
def test_the_unit_stands_at_the_end_of_a_name(name: str, words: str, unit: str) -> None:
    assert split_name(name) == (words, unit)


def test_a_prefix_is_for_units_that_take_one() -> None:
    assert scale_of(5e-4, "rpm/V") == (1.0, "rpm/V")


def test_operating_points_stand_in_words_and_missing_ones_point_to_the_checks() -> None:
    head, *rows = operating_table(sines.sheet())
    assert head[1:4] == ("speed", "torque", "shaft power")
    by_name = {row[0]: row for row in rows}
    assert by_name["load"][1:4] == ("3100 rpm", "210 mN m", "68.2 W")
    assert by_name["load"][6] == "68 %"
    assert by_name["load"][7] == "copper 26 W, controller 800 mW, supply 1.4 W, drag 3.2 W"
    assert by_name["stall"][1] == "not reached: see the checks"
    assert all(len(row) == len(head) for row in rows)


def test_a_long_name_of_a_check_keeps_to_the_width_of_the_screen() -> None:
    name = "cannot be told apart: " + ", ".join(["contact thermal resistance factor"] * 4)
    text = finding_text(Finding(name=name, status="watch", why="they do the same."))
    assert max(map(len, text.splitlines())) <= 98
    assert " ".join(text.split()).startswith(f"watch {name}")
