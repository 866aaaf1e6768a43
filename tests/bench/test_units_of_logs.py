"""Headings, units and column maps."""

from pathlib import Path

import numpy as np
import pytest

from fem_motor.bench import read_log
from fem_motor.bench.log_file.column_map import factor, load_columns
from fem_motor.bench.log_file.columns import guess
from fem_motor.errors import InputError


@pytest.mark.parametrize(
    ("channel", "unit", "si"),
    [
        # NIST special publication 811, appendix B, to seven digits.
        ("thrust", "gf", 9.80665e-3),
        ("thrust", "g", 9.80665e-3),
        ("thrust", "kgf", 9.80665),
        ("thrust", "lbf", 4.4482216152605),
        ("thrust", "oz", 0.27801385095378),
        ("torque", "mN m", 1e-3),
        ("torque", "N cm", 1e-2),
        ("torque", "N·m", 1.0),
        ("torque", "kgf cm", 0.0980665),
        ("torque", "oz-in", 7.061552e-3),
        ("torque", "lbf in", 0.1129848),
        ("speed", "rpm", 2 * np.pi / 60),
        ("speed", "rev/s", 2 * np.pi),
        ("speed", "Hz", 2 * np.pi),
        ("speed", "rad/s", 1.0),
        ("voltage", "mV", 1e-3),
        ("current", "mA", 1e-3),
        ("time", "ms", 1e-3),
        ("time", "µs", 1e-6),  # micro sign
        ("time", "μs", 1e-6),  # Greek mu
        ("time", "min", 60.0),
        ("air_pressure", "hPa", 100.0),
        ("throttle", "%", 0.01),
    ],
)
def test_one_of_a_unit_in_si(channel: str, unit: str, si: float) -> None:
    found = factor(channel, unit)
    assert found is not None
    assert found[0] == pytest.approx(si, rel=3e-7)


@pytest.mark.parametrize(
    ("channel", "unit", "value", "si"),
    [
        ("winding_C", "K", 293.15, 20.0),
        ("winding_C", "°F", 212.0, 100.0),
        ("winding_C", "F", 32.0, 0.0),
        ("throttle", "us", 1000.0, 0.0),
        ("throttle", "us", 2000.0, 1.0),
    ],
)
def test_units_with_a_zero_of_their_own(channel: str, unit: str, value: float, si: float) -> None:
    found = factor(channel, unit)
    assert found is not None
    assert found[0] * value + found[1] == pytest.approx(si, abs=1e-9)


def test_mega_is_not_read_as_milli() -> None:
    assert factor("torque", "MNm") is None


@pytest.mark.parametrize(
    ("heading", "channel", "unit"),
    [
        ("time_s", "time", "s"),
        ("throttle_pct", "throttle", "pct"),
        ("pwm_us", "throttle", "us"),
        ("thrust_N", "thrust", "N"),
        ("torque_Nm", "torque", "Nm"),
        ("rpm", "speed", "rpm"),
        ("voltage_V", "voltage", "V"),
        ("current_A", "current", "A"),
        ("temp_winding_C", "winding_C", "C"),
        ("temp_can_C", "housing_C", "C"),
        ("temp_esc_C", "controller_C", "C"),
        ("air_temp_C", "ambient_C", "C"),
        ("pressure_Pa", "air_pressure", "Pa"),
        ("Schub [gf]", "thrust", "gf"),
        ("Drehzahl 1/min", "speed", "1/min"),
        ("U/V", "voltage", "V"),
        ("vibration_g", "", "g"),
        ("elec_power_W", "", ""),
        ("humidity", "", ""),
        ("notes", "", ""),
        ("cell 1 voltage [V]", "", "V"),
        ("ERPM", "", ""),  # electrical turns are not turns: the map must say by how many
    ],
)
def test_a_heading_says_its_channel_and_unit(heading: str, channel: str, unit: str) -> None:
    assert guess(heading)[0] == channel
    if channel:
        assert guess(heading)[1] == unit


def test_a_column_map_names_scales_turns_and_tares(tmp_path: Path) -> None:
    columns = tmp_path / "columns.toml"
    columns.write_text(
        '[columns]\ntime = "T"\n'
        'thrust = { heading = "load cell", unit = "gf", sign = -1, tare = false }\n'
        'speed = { heading = "erpm", unit = "rpm", scale = 0.125 }\n'
        'current = { heading = 4, unit = "A" }\n'
        "[stand]\ninertia_kg_m2 = 2e-4\n[uncertainty]\nthrust = 0.02\n",
        encoding="utf-8",
    )
    log_file = tmp_path / "log.csv"
    rows = "\n".join(f"{k / 10},{-(500 + k % 7)},{8000 + k % 5},{5 + k % 3}" for k in range(100))
    log_file.write_text(f"T,load cell,erpm,amps drawn\n{rows}\n", encoding="utf-8")
    log = read_log(log_file, columns=columns)
    assert np.median(log.channels["thrust"]) == pytest.approx(0.503 * 9.80665, rel=1e-3)
    assert np.median(log.channels["speed"]) == pytest.approx(1000 * 2 * np.pi / 60, rel=1e-3)
    assert log.stand.inertia == pytest.approx(2e-4)
    assert log.stand.scale_uncertainty["thrust"] == pytest.approx(0.02)


def test_all_that_is_wrong_in_a_map_is_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "columns.toml"
    path.write_text(
        '[columns]\npush = "a"\nthrust = { heading = "b", unit = "furlong" }\n'
        'speed = { unit = "rpm" }\n[stand]\ninertia = 3\n[uncertainty]\ntorque = 5\n[colums]\n',
        encoding="utf-8",
    )
    with pytest.raises(InputError) as caught:
        load_columns(path)
    told = str(caught.value)
    assert len(caught.value.problems) == 6
    for words in ("columns.push", "furlong", "columns.speed", "stand.inertia", "torque", "colums"):
        assert words in told


def test_a_map_that_names_a_missing_heading_shows_those_there_are(tmp_path: Path) -> None:
    columns = tmp_path / "columns.toml"
    columns.write_text('[columns]\nthrust = { heading = "Push", unit = "N" }\n', encoding="utf-8")
    log_file = tmp_path / "log.csv"
    log_file.write_text("time_s,Pull\n0,1\n1,2\n2,3\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"the headings of .*log.csv are 'time_s', 'Pull'"):
        read_log(log_file, columns=columns)


def test_a_log_without_time_takes_the_rate_of_its_map(tmp_path: Path) -> None:
    columns = tmp_path / "columns.toml"
    columns.write_text("[file]\nsample_rate_Hz = 40\n", encoding="utf-8")
    log_file = tmp_path / "log.csv"
    rows = "\n".join(f"{k % 7},{k % 5}" for k in range(81))
    log_file.write_text(f"thrust [N],speed [rpm]\n{rows}\n", encoding="utf-8")
    assert read_log(log_file, columns=columns).time[-1] == pytest.approx(2.0)
