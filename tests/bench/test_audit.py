"""Faults planted in a log of known truth are found, named, and stop the fit where they must."""

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from invented_logs import RPM, Columns, FirstOrderMotor, stand_log, write_log

from fem_motor.bench import audit, measured, read_log, steady_segments
from fem_motor.design import load_design
from fem_motor.findings import Finding

DESIGN = load_design("geometries/printed_18s16p.toml").motor
KV = 600 * RPM


def doubts(
    tmp_path: Path, spoil: Callable[[Columns], object], *, seconds: float = 15.0
) -> tuple[Finding, ...]:
    """Return what the audit says of a good log after `spoil` changed its columns."""
    motor = FirstOrderMotor(resistance=0.35)
    steps = tuple((duty, seconds) for duty in (0.3, 0.45, 0.6, 0.75, 0.9, 1.0))
    log = stand_log(motor, rng=np.random.default_rng(30), steps=steps)
    spoil(log)
    read = read_log(write_log(tmp_path / "log.csv", log))
    segments = steady_segments(read)
    found = audit(read, segments, motor=DESIGN, speed_constant=KV)
    stops = [finding for finding in found if finding.status == "stop"]
    after = measured(read, segments, motor=DESIGN, doubts=found)
    assert bool(after.values) is not bool(stops)  # no fit runs after a stop
    return found


def scaled(name: str, factor: float) -> Callable[[Columns], None]:
    def spoil(log: Columns) -> None:
        log[name] = log[name] * factor

    return spoil


def open_doubts(found: tuple[Finding, ...]) -> list[Finding]:
    return [finding for finding in found if finding.status != "ok"]


def test_a_good_log_passes(tmp_path: Path) -> None:
    assert open_doubts(doubts(tmp_path, len)) == []


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (8.0, "electrical turns, 8 in a turn"),
        (16.0, "poles, 16"),
        (2.0, "two marks"),
        (0.5, "two marks"),
    ],
)
def test_a_speed_by_another_count_is_named(tmp_path: Path, factor: float, words: str) -> None:
    stops = [one for one in doubts(tmp_path, scaled("speed", factor)) if one.status == "stop"]
    assert any(words in one.why and f"scale = {1 / factor:.6g}" in one.do for one in stops)


def test_more_power_out_than_in_is_a_stop(tmp_path: Path) -> None:
    found = doubts(tmp_path, scaled("current", 0.4))
    power = next(one for one in found if one.name.startswith("shaft power over supply"))
    assert power.status == "stop"
    assert power.value is not None
    assert power.value > 1


@pytest.mark.parametrize("name", ["thrust", "torque"])
def test_a_sensor_turned_round_is_a_stop(tmp_path: Path, name: str) -> None:
    found = doubts(tmp_path, scaled(name, -1.0))
    assert any(one.name.startswith(f"sign of {name}") and "sign = -1" in one.do for one in found)


def test_a_unit_of_thrust_is_named_by_its_factor(tmp_path: Path) -> None:
    found = doubts(tmp_path, scaled("thrust", 9.80665))
    stops = [one for one in found if one.status == "stop"]
    assert [one.name.split()[0] for one in stops] == ["thrust"]
    assert "kgf" in stops[0].why


def test_a_zero_that_drifts_is_told(tmp_path: Path) -> None:
    def spoil(log: Columns) -> None:
        log["torque"] = log["torque"] + 0.02 * log["time"] / log["time"][-1]

    found = doubts(tmp_path, spoil)
    drift = next(one for one in found if one.name.startswith("drift of the zero of torque"))
    assert drift.status == "stop"


def test_a_channel_that_lags_is_told(tmp_path: Path) -> None:
    def spoil(log: Columns) -> None:
        log["thrust"] = np.concatenate((log["thrust"][:32], log["thrust"][:-32]))  # 0.4 s

    found = doubts(tmp_path, spoil)
    lag = next(one for one in found if one.name.startswith("thrust behind the square"))
    assert lag.status == "watch"
    assert lag.value == pytest.approx(0.4, abs=0.03)


def test_a_zero_of_the_current_is_told(tmp_path: Path) -> None:
    def spoil(log: Columns) -> None:
        log["current"] = log["current"] + 0.3

    assert any(one.name == "current at rest, A" for one in open_doubts(doubts(tmp_path, spoil)))


def test_counter_glitches_are_set_aside(tmp_path: Path) -> None:
    at = np.arange(1500, 7000, 400)

    def spoil(log: Columns) -> None:
        log["speed"][at] *= 2.0

    found = doubts(tmp_path, spoil)
    glitches = next(one for one in found if "readings of speed set aside" in one.name)
    assert f"{len(at)} of" in glitches.why


def test_a_load_cell_at_the_end_of_its_range_is_told(tmp_path: Path) -> None:
    def spoil(log: Columns) -> None:
        log["thrust"] = np.minimum(log["thrust"], 0.8 * log["thrust"].max())

    found = doubts(tmp_path, spoil)
    assert any("thrust set aside, at the end of its range" in one.name for one in found)


def test_turns_beside_the_sample_rate_are_told(tmp_path: Path) -> None:
    motor = FirstOrderMotor()
    log = stand_log(motor, rng=np.random.default_rng(31), steps=((1.0, 15.0),))
    settled = np.median(log["speed"][1200:1900])
    log["speed"] = log["speed"] * (160 * np.pi / settled)
    read = read_log(write_log(tmp_path / "log.csv", log))
    found = audit(read, steady_segments(read), motor=DESIGN)
    assert any("multiple of the sample rate" in one.name for one in found)


def by_hand(path: Path, *, seconds: int) -> Path:
    """Write a log of a row a second, without torque: five throttle steps between two rests."""
    levels = [0.0] * 10
    for throttle in (0.4, 0.55, 0.7, 0.85, 1.0):
        levels += [throttle] * seconds
    levels += [0.0] * 10
    rows = [
        f"{second},{7000 * level:.0f},{8.1 * level**2:.3f},{11.7 * level**2.6:.3f},14.6"
        for second, level in enumerate(levels)
    ]
    head = "time [s],speed [rpm],thrust [N],current [A],voltage [V]"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def test_a_log_of_a_row_a_second_says_how_long_its_steps_have_to_be(tmp_path: Path) -> None:
    # The steps are flat by construction: whether they are seen is a matter of their length alone.
    short = read_log(by_hand(tmp_path / "short.csv", seconds=11))
    found = audit(short, steady_segments(short), motor=DESIGN)
    (none,) = [one for one in found if one.name == "steady segments"]
    assert "a row every 1 s" in none.why
    asked = re.search(r"hold each step for (\d+) s", none.do)
    assert asked is not None
    long = read_log(by_hand(tmp_path / "long.csv", seconds=int(asked[1])))
    assert [one.kind for one in steady_segments(long)].count("steady") == 5


def test_a_log_without_torque_says_that_it_and_not_the_number_of_steps_is_missing(
    tmp_path: Path,
) -> None:
    log = read_log(by_hand(tmp_path / "log.csv", seconds=25))
    found = measured(log, steady_segments(log), motor=DESIGN)
    assert set(found.values) == {"thrust_coefficient"}
    (finding,) = [one for one in found.findings if "motor's constants" in one.name]
    assert "torque" in finding.why
    assert finding.value is None  # five steps are enough: "5 (limit 5)" would puzzle
