"""The file of checks: conversions to SI by their definitions, and what is said of mistakes."""

import math

import pytest

from fem_motor.calibration.checks import checks_from_toml
from fem_motor.calibration.records import BenchCheck
from fem_motor.errors import InputError

THERMOMETER = (
    "[thermometer]\npart_C = 61\nsurroundings_C = 22\nspeed_rpm = 5000\n"
    "torque_Nm = 0.07\nrun_s = 300\n"
)


def only(text: str) -> BenchCheck:
    (check,) = checks_from_toml(text)
    return check


def test_a_thousand_rpm_per_volt_is_the_same_motor_on_every_meter() -> None:
    """Kv 1000 line-line peak is ke 9.5493e-3 V s/rad; RMS is 1/√2 of it (Krishnan 2010)."""
    for meter, volt in (("scope peak", 1), ("scope peak to peak", 2), ("ac meter", 0.70711)):
        check = only(f'[drill]\nspeed_rpm = 1000\nvoltage_V = {volt}\nmeter = "{meter}"')
        assert check.value == pytest.approx(9.5493e-3, rel=1e-5)


def test_torque_at_standstill_is_force_times_arm_per_ampere() -> None:
    assert only("[standstill]\narm_mm = 100\nscale_N = 2\ncurrent_A = 10").value == pytest.approx(
        0.02
    )


def test_drag_is_inertia_times_the_loss_of_speed() -> None:
    text = "[coast_down]\ninertia_kg_m2 = 1e-4\ntime_s = [0, 1, 2]\nspeed_rpm = [3000, 2900, 2800]"
    check = only(text)
    assert check.value == pytest.approx(1e-4 * 100 * 2 * math.pi / 60)
    assert check.speed == pytest.approx(2900 * 2 * math.pi / 60)


def test_a_thermometer_names_a_part_of_the_thermal_network() -> None:
    check = only(THERMOMETER + 'part = "winding"')
    assert (check.part, check.value, check.temperature_C) == ("copper", 61, 22)
    assert (check.seconds, check.uncertainty) == (300, 3)
    assert check.speed == pytest.approx(5000 * 2 * math.pi / 60)


def test_several_of_a_kind_are_a_list() -> None:
    assert len(checks_from_toml("[[resistance]]\nohm = 0.4\n[[resistance]]\nohm = 0.41")) == 2


def test_all_mistakes_are_told_at_once_with_their_lines() -> None:
    text = (
        "[resistanse]\nohm = 1\n[drill]\nspeed_rpm = 1000\nvoltage_V = -1\n[resistance]\nohms = 0.4"
    )
    with pytest.raises(InputError) as caught:
        checks_from_toml(text, name="c.toml")
    assert str(caught.value) == (
        'c.toml, line 1: resistanse is not known.\n  do:  did you mean "resistance"? use one of '
        "resistance, drill, inductance, coast_down, standstill, air_gap, magnet, "
        "thermometer.\n"
        "c.toml, line 5: drill.voltage_V = -1 is impossible.\n"
        "  do:  give a number from 0.001 to 1000.\n"
        "c.toml, line 3: drill.meter is missing.\n"
        "  why: the same voltage reads 1.41 times as high on one meter as on another.\n"
        "  do:  use one of ac meter, scope peak, scope peak to peak.\n"
        "c.toml, line 7: resistance.ohms is not known.\n"
        '  do:  did you mean "ohm"? use one of ohm, temperature_C, uncertainty_percent.\n'
        "c.toml, line 6: resistance.ohm is missing.\n"
        "  do:  give a number from 1e-05 to 10000."
    )


@pytest.mark.parametrize(
    "text",
    ["", "resistance = 1", "[coast_down]\ninertia_kg_m2 = 1\ntime_s = [0, 1, 2]\nspeed_rpm = 3",
     "[coast_down]\ninertia_kg_m2 = 1\ntime_s = [0, 1, 2]\nspeed_rpm = [1, 2, 3]",
     "[air_gap]\ngap_mm = true", THERMOMETER + 'part = "shaft"', THERMOMETER,
     "[magnet]\nremanence_T = nan"],
)  # fmt: skip
def test_what_is_no_check_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        checks_from_toml(text)
