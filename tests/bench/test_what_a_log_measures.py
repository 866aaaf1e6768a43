"""Averages, segments and figures against truth that was put in, and against published numbers."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest
from invented_logs import (
    GRAVITY,
    NOISE,
    RPM,
    FirstOrderMotor,
    Propeller,
    SimulatedMotor,
    demo_text,
    stand_log,
    write_log,
)

from fem_motor.bench import BenchLog, Measured, measured, read_log, steady_segments
from fem_motor.bench.bins import reading_of
from fem_motor.bench.measurements.points import product
from fem_motor.bench.records import Stand
from fem_motor.design import Motor, load_design
from fem_motor.findings import Headline

DESIGN = "geometries/printed_18s16p.toml"

# Static points of a two-blade slow-flight propeller 10 × 4.7, D = 0.254 m: University of Illinois
# propeller data site, volume 1; Brandt and Selig, AIAA 2011-1255.
BRANDT_SELIG = (
    (2377, 0.1059, 0.0431), (2676, 0.1079, 0.0437), (2947, 0.1079, 0.0437), (3234, 0.1104, 0.0444),
    (3494, 0.1117, 0.0450), (3762, 0.1143, 0.0460), (4029, 0.1158, 0.0466), (4319, 0.1177, 0.0474),
    (4590, 0.1200, 0.0484), (4880, 0.1223, 0.0494), (5147, 0.1237, 0.0500), (5417, 0.1252, 0.0508),
    (5715, 0.1263, 0.0513), (5960, 0.1278, 0.0520), (6226, 0.1286, 0.0524), (6528, 0.1299, 0.0531),
)  # fmt: skip


def motor_with(*, diameter: float = 0.254, controller: float = 0.0) -> Motor:
    motor = load_design(DESIGN).motor
    assert motor.load is not None
    return dataclasses.replace(
        motor,
        load=dataclasses.replace(motor.load, diameter=diameter),  # type: ignore[call-arg]
        drive=dataclasses.replace(motor.drive, controller_resistance=controller),
    )


def with_stand(log: BenchLog, **facts: object) -> BenchLog:
    return dataclasses.replace(log, stand=dataclasses.replace(log.stand, **facts))  # type: ignore[arg-type]


def figures(path: Path, **facts: object) -> Measured:
    log = with_stand(read_log(path), **facts)
    return measured(log, steady_segments(log), motor=motor_with())


def holds(headline: Headline, truth: float) -> bool:
    assert headline.low is not None
    assert headline.high is not None
    return headline.low <= truth <= headline.high


# -- averages ----------------------------------------------------------------------------------


def test_uncertainty_of_the_mean_of_independent_samples_is_s_over_root_n() -> None:
    # JCGM 100:2008, 4.2.3. Over 300 logs the means scatter as each one says of itself.
    rng = np.random.default_rng(3)
    time = np.arange(1000) / 80
    readings = [reading_of(time, rng.normal(5.0, 2.0, 1000)) for _ in range(300)]
    said = np.array([one.uncertainty for one in readings if one])
    assert said.mean() == pytest.approx(2.0 / math.sqrt(1000), rel=0.2)
    assert said.mean() >= 2.0 / math.sqrt(1000)
    means = np.array([one.mean for one in readings if one])
    assert means.std() == pytest.approx(2.0 / math.sqrt(1000), rel=0.15)


def test_neighbours_that_say_the_same_count_less() -> None:
    # First-order autoregression with ρ = 0.9: variance of the mean (1 + ρ)/(1 − ρ) = 19 times that
    # of independent samples (Box and Jenkins, Time Series Analysis, chapter 3), n ≫ 19.
    rng = np.random.default_rng(4)
    time = np.arange(4000) / 80
    said, means = [], []
    for _ in range(100):
        noise = rng.normal(size=4200)
        series = np.zeros(4200)
        for k in range(1, 4200):
            series[k] = 0.9 * series[k - 1] + math.sqrt(1 - 0.81) * noise[k]
        reading = reading_of(time, series[200:])
        assert reading is not None
        said.append(reading.uncertainty)
        means.append(reading.mean)
    truth = math.sqrt(19 / 4000)
    assert np.std(means) == pytest.approx(truth, rel=0.2)
    assert np.mean(said) == pytest.approx(truth, rel=0.2)
    assert np.mean(said) > 3 / math.sqrt(4000)


def test_single_outliers_do_not_move_a_mean() -> None:
    rng = np.random.default_rng(5)
    values = rng.normal(10.0, 0.1, 800)
    values[[3, 400, 790]] = (500.0, -80.0, 1e6)
    reading = reading_of(np.arange(800) / 80, values)
    assert reading is not None
    assert reading.mean == pytest.approx(10.0, abs=0.02)
    assert reading.samples == 797


def test_drift_is_no_scatter() -> None:
    time = np.arange(800) / 80
    rng = np.random.default_rng(6)
    reading = reading_of(time, 100 - 0.5 * time + rng.normal(0, 0.1, 800))
    assert reading is not None
    assert reading.drift == pytest.approx(-0.5, abs=0.01)
    assert reading.uncertainty < 3 * 0.1 / math.sqrt(800)


# -- segments ----------------------------------------------------------------------------------


def test_each_throttle_step_is_found_and_its_transient_left_out(tmp_path: Path) -> None:
    motor = FirstOrderMotor()
    steps = ((0.3, 12.0), (0.5, 20.0), (0.45, 10.0), (1.0, 15.0))
    path = write_log(
        tmp_path / "a.csv", stand_log(motor, rng=np.random.default_rng(7), steps=steps)
    )
    segments = steady_segments(read_log(path))
    kinds = [segment.kind for segment in segments]
    assert kinds == [
        "idle", "spin-up", "steady", "spin-up", "steady", "slowing", "steady", "spin-up", "steady",
        "coast-down", "idle",
    ]  # fmt: skip
    starts = (10.0, 22.0, 42.0, 52.0)
    for segment, start, (duty, seconds) in zip(
        [one for one in segments if one.kind == "steady"], starts, steps, strict=True
    ):
        # Slow by 0.4 s: after two of these an eighth of the step is left, of the smallest one per
        # cent of the speed.
        assert start + 0.8 < segment.start < start + 3.0
        assert start + seconds - 1.0 < segment.end <= start + seconds
        cold, hot = motor.steady(duty, 20.0), motor.steady(duty, 60.0)
        assert hot["speed"] * 0.998 < segment.readings["speed"].mean < cold["speed"] * 1.002


def test_warming_up_within_a_step_does_not_break_it(tmp_path: Path) -> None:
    # 60 K more in 40 s take the speed down by some per cent: no step, but more than one point.
    motor = FirstOrderMotor(resistance=0.2)
    log = stand_log(
        motor,
        rng=np.random.default_rng(8),
        steps=((1.0, 90.0),),
        heat=lambda current: 0.8 * current**2,
        heat_time=40.0,
    )
    steady = [
        segment
        for segment in steady_segments(read_log(write_log(tmp_path / "a.csv", log)))
        if segment.kind == "steady"
    ]
    assert sum(segment.end - segment.start for segment in steady) > 85
    assert len(steady) > 1
    speeds = [segment.readings["speed"].mean for segment in steady]
    assert speeds == sorted(speeds, reverse=True)


def test_vibration_of_a_load_cell_hides_no_step(tmp_path: Path) -> None:
    noise = dict(NOISE) | {"thrust": (0.3, 0.2), "torque": (0.3, 5e-3)}
    log = stand_log(FirstOrderMotor(), rng=np.random.default_rng(9), noise=noise)
    steady = [
        segment
        for segment in steady_segments(read_log(write_log(tmp_path / "a.csv", log)))
        if segment.kind == "steady"
    ]
    assert len(steady) == 6


@pytest.mark.parametrize("rate", [5.0, 20.0, 400.0])
def test_segments_do_not_hang_on_the_sample_rate(tmp_path: Path, rate: float) -> None:
    steps = tuple((duty, 20.0) for duty in (0.4, 0.7, 1.0))
    log = stand_log(FirstOrderMotor(), rng=np.random.default_rng(10), steps=steps, rate=rate)
    segments = steady_segments(read_log(write_log(tmp_path / "a.csv", log)))
    assert [segment.kind for segment in segments].count("steady") == 3


def test_torque_steps_at_held_speed_are_steps(tmp_path: Path) -> None:
    # A brake that holds the speed: only torque and current show the step.
    rng = np.random.default_rng(11)
    time = np.arange(0, 40, 1 / 80)
    level = np.where(time < 20, 0.10, 0.12)
    log = {
        "time": time,
        "torque": level * (1 + 0.02 * rng.standard_normal(len(time))),
        "speed": 500 * (1 + 0.001 * rng.standard_normal(len(time))),
        "voltage": 12 + 0.01 * rng.standard_normal(len(time)),
        "current": 80 * level * (1 + 0.01 * rng.standard_normal(len(time))),
    }
    steady = [
        segment
        for segment in steady_segments(read_log(write_log(tmp_path / "a.csv", log)))
        if segment.kind == "steady"
    ]
    assert [segment.readings["torque"].mean for segment in steady] == pytest.approx(
        [0.10, 0.12], rel=5e-3
    )


# -- zeros -------------------------------------------------------------------------------------


def test_zeros_of_load_cells_and_their_drift_are_taken_off(tmp_path: Path) -> None:
    log = stand_log(FirstOrderMotor(), rng=np.random.default_rng(12))
    share = log["time"] / log["time"][-1]
    plain = figures(write_log(tmp_path / "plain.csv", log))
    log["thrust"] = log["thrust"] + (35 + 20 * share) * 1e-3 * GRAVITY
    log["torque"] = log["torque"] - 0.004
    shifted = figures(write_log(tmp_path / "shifted.csv", log))
    for a, b in zip(plain.points, shifted.points, strict=True):
        for name in ("thrust_N", "torque_Nm"):
            assert a.values[name].value == pytest.approx(b.values[name].value, rel=1e-3)
    # Half of the drift stands in the uncertainty: 20 gf between two rests, a rectangle.
    span = shifted.points[0].values["thrust_N"]
    assert span.high is not None
    assert span.value is not None
    assert (span.high - span.value) / 2 > 20e-3 * GRAVITY * 0.8 / 2 / math.sqrt(3)


# -- figures -----------------------------------------------------------------------------------


def test_efficiency_of_1_half_half_1_per_cent_is_1_58_per_cent() -> None:
    # JCGM 100:2008, 5.1.6: √(1² + 0.5² + 0.5² + 1²) = 1.5811.
    eta = product(
        {"T": (0.13, 0.0013, 1), "n": (700, 3.5, 1), "V": (14.0, 0.07, -1), "I": (11.0, 0.11, -1)}
    )
    assert eta.uncertainty / eta.value == pytest.approx(0.015811, rel=1e-4)
    assert eta.value == pytest.approx(0.13 * 700 / 14 / 11)


def test_points_of_a_published_propeller_return_its_coefficients(tmp_path: Path) -> None:
    # W7: 6528 rpm, air 1.225: T = 7.840 N, P = 88.57 W. Each point of the table becomes 12 s.
    rng = np.random.default_rng(13)
    density, diameter, rate = 1.225, 0.254, 40
    columns: dict[str, list[float]] = {name: [] for name in ("thrust", "torque", "speed")}
    blocks: list[tuple[float, float, float]] = [(0.0, 0.0, 0.0)]
    for rpm, ct, cp in BRANDT_SELIG:
        turns = rpm / 60
        power = cp * density * turns**3 * diameter**5
        blocks.append(
            (ct * density * turns**2 * diameter**4, power / (2 * math.pi * turns), rpm * RPM)
        )
    assert blocks[-1][0] == pytest.approx(7.840, abs=5e-4)
    assert blocks[-1][1] == pytest.approx(0.12956, abs=5e-6)
    for block in (*blocks, blocks[0]):
        for name, value in zip(columns, block, strict=True):
            share = {"thrust": 0.02, "torque": 0.02, "speed": 0.002}[name]
            columns[name] += (value * (1 + share * rng.standard_normal(12 * rate))).tolist()
    log = {"time": np.arange(len(columns["thrust"])) / rate}
    log |= {name: np.array(values) for name, values in columns.items()}
    spans = {"thrust": 0.001, "torque": 0.001, "speed": 0.0005}
    found = figures(
        write_log(tmp_path / "a.csv", log), air_density=density, scale_uncertainty=spans
    )
    assert len(found.points) == len(BRANDT_SELIG)
    for point, (_, ct, cp) in zip(found.points, BRANDT_SELIG, strict=True):
        for name, truth in (("thrust_coefficient", ct), ("power_coefficient", cp)):
            assert holds(point.values[name], truth)
            assert point.values[name].value == pytest.approx(truth, rel=0.01)


def test_the_first_order_motor_of_a_textbook_returns(tmp_path: Path) -> None:
    # W8, Drela 2007: Kv 700 rpm/V, R 0.12 Ω, I0 0.5 A, 11.1 V, CP 0.0525, air 1.225:
    # 6858 rpm, 10.86 A, 0.1414 N m, shaft 101.5 W, in 120.6 W, efficiency 0.842.
    motor = FirstOrderMotor(
        speed_constant=700 * RPM,
        resistance=0.12,
        drag_a=0.5 / (700 * RPM),
        drag_b=0.0,
        supply_voltage=11.1,
        supply_resistance=0.0,
        load=Propeller(power_coefficient=0.0525, air_density=1.225),
        warms=False,
    )
    found = figures(write_log(tmp_path / "a.csv", stand_log(motor, rng=np.random.default_rng(14))))
    full = found.points[-1].values
    for name, truth in (
        ("speed_rpm", 6858.0), ("current_A", 10.86), ("torque_Nm", 0.1414),
        ("shaft_power_W", 101.5), ("supply_power_W", 120.6), ("efficiency", 0.842),
    ):  # fmt: skip
        assert full[name].value == pytest.approx(truth, rel=5e-3)
    assert holds(found.values["speed_constant_rpm_per_V"], 700.0)
    assert holds(found.values["motor_constant_Nm_per_sqrtW"], 1 / (700 * RPM) / math.sqrt(0.12))
    assert holds(found.values["torque_per_ampere_full_throttle_Nm_per_A"], 1 / (700 * RPM))
    assert holds(found.values["no_load_current_A"], 0.5)


def test_a_four_wire_resistance_parts_kt_from_the_motor_constant(tmp_path: Path) -> None:
    motor = FirstOrderMotor(resistance=0.3)
    path = write_log(tmp_path / "a.csv", stand_log(motor, rng=np.random.default_rng(15)))
    found = figures(path, winding_resistance_20=0.3)
    kv = found.values["speed_constant_rpm_per_V"]
    assert holds(kv, 600.0)
    assert kv.value == pytest.approx(600.0, rel=0.05)


def test_unlike_currents_at_full_throttle_part_kt_and_resistance(tmp_path: Path) -> None:
    # The same motor on supplies of 6 to 16 V, all at full throttle.
    rng = np.random.default_rng(16)
    parts = []
    for voltage in (5.0, 7.0, 9.0, 11.0, 13.0, 16.0):
        motor = FirstOrderMotor(supply_voltage=voltage, resistance=0.3)
        parts.append(stand_log(motor, rng=rng, steps=((1.0, 12.0),), rest=4.0))
    log = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    log["time"] = np.arange(len(log["time"])) / 80
    found = figures(write_log(tmp_path / "a.csv", log))
    assert found.values["torque_constant_Nm_per_A"].value == pytest.approx(
        1 / (600 * RPM), rel=0.02
    )
    assert holds(found.values["speed_constant_rpm_per_V"], 600.0)


def test_part_throttle_alone_gives_the_motor_constant_and_no_kv(tmp_path: Path) -> None:
    motor = FirstOrderMotor(resistance=0.3)
    steps = tuple((duty, 15.0) for duty in (0.3, 0.45, 0.6, 0.75, 0.9))
    path = write_log(
        tmp_path / "a.csv", stand_log(motor, rng=np.random.default_rng(17), steps=steps)
    )
    found = figures(path)
    assert holds(found.values["motor_constant_Nm_per_sqrtW"], 1 / (600 * RPM) / math.sqrt(0.3))
    assert "speed_constant_rpm_per_V" not in found.values
    assert any(finding.name == "points at full throttle" for finding in found.findings)


def test_a_coast_down_returns_its_friction(tmp_path: Path) -> None:
    # J dω/dt = −(a + b ω + c ω²), c = CP ρ D⁵/(2π)³ of the propeller.
    motor = FirstOrderMotor(inertia=6e-4, drag_a=8e-3, drag_b=4e-5)
    path = write_log(tmp_path / "a.csv", stand_log(motor, rng=np.random.default_rng(18)))
    found = figures(path, inertia=6e-4).values
    c = 0.048 * 1.2 * 0.254**5 / (2 * math.pi) ** 3
    assert found["spin_down_a_Nm"].value == pytest.approx(8e-3, rel=0.08)
    assert found["spin_down_b_Nm_s"].value == pytest.approx(4e-5, rel=0.15)
    assert found["spin_down_c_Nm_s2"].value == pytest.approx(c, rel=0.03)


def test_a_thermal_time_constant_returns(tmp_path: Path) -> None:
    log = stand_log(
        FirstOrderMotor(warms=False),
        rng=np.random.default_rng(19),
        steps=((0.8, 180.0),),
        heat_time=70.0,
        rate=20.0,
        heat=lambda current: 1.0 * current**2,
    )
    constant = figures(write_log(tmp_path / "a.csv", log)).values["thermal_time_constant_s"]
    assert constant.value == pytest.approx(70.0, rel=0.02)


def test_direct_current_through_two_leads_is_a_resistance(tmp_path: Path) -> None:
    rng = np.random.default_rng(20)
    count = 1200
    log = {
        "time": np.arange(count) / 40,
        "voltage": np.full(count, 1.25) + 1e-3 * rng.standard_normal(count),
        "current": np.full(count, 10.0) + 0.01 * rng.standard_normal(count),
        "winding_C": np.full(count, 83.625) + 0.1 * rng.standard_normal(count),
    }
    found = figures(write_log(tmp_path / "a.csv", log), test="direct current").values
    assert found["resistance_ohm"].value == pytest.approx(0.125, rel=1e-3)
    # IEC 60028: R20 = R/(1 + 0.00393 (T − 20)).
    assert found["winding_resistance_20C_ohm"].value == pytest.approx(0.1, rel=2e-3)


def test_a_motor_turned_by_a_drill_tells_kv(tmp_path: Path) -> None:
    # W4: Kv 1000 rpm/V on line peak is 1414.2 on line RMS and 1047.2 six-step (Krishnan 2010).
    rng = np.random.default_rng(21)
    rpm = np.repeat((500.0, 1000.0, 1500.0), 600)
    log = {
        "time": np.arange(1800) / 40,
        "speed": rpm * RPM * (1 + 1e-3 * rng.standard_normal(1800)),
        "line_voltage_rms": rpm / 1414.2 * (1 + 1e-3 * rng.standard_normal(1800)),
    }
    found = figures(write_log(tmp_path / "a.csv", log), test="driven").values
    assert found["speed_constant_line_line_rms_rpm_per_V"].value == pytest.approx(1414.2, rel=2e-3)
    assert found["speed_constant_rpm_per_V"].value == pytest.approx(1047.2, rel=2e-3)


def test_a_run_without_load_tells_kv_and_its_current(tmp_path: Path) -> None:
    # The drag at 600 rpm/V: 4 mN m + 15 µN m s · ω; I0 = Q0 Kv.
    motor = FirstOrderMotor(load=None, resistance=0.4, inertia=4e-4)
    log = stand_log(motor, rng=np.random.default_rng(23), steps=((0.5, 12.0), (1.0, 15.0)))
    found = figures(write_log(tmp_path / "a.csv", log), test="no load").values
    speed = motor.steady(1.0, 21.0)["speed"]
    assert holds(found["speed_constant_rpm_per_V"], 600.0)
    assert holds(found["no_load_torque_Nm"], motor.drag(speed))
    assert holds(found["no_load_current_A"], motor.drag(speed) * 600 * RPM)


def test_air_density_follows_pressure_and_temperature(tmp_path: Path) -> None:
    # ρ = p/(287.05 T): 1.225 kg/m³ at 101 325 Pa and 15 °C (ISO 2533). Coefficients go with 1/ρ.
    log = stand_log(FirstOrderMotor(), rng=np.random.default_rng(22))
    plain = figures(write_log(tmp_path / "a.csv", log), air_density=1.2)
    text = (tmp_path / "a.csv").read_text(encoding="utf-8").splitlines()
    head, *rows = text
    (tmp_path / "b.csv").write_text(
        "\n".join(
            [f"{head},air pressure [hPa],air temp [°C]", *(f"{row},1013.25,15" for row in rows)]
        ),
        encoding="utf-8",
    )
    other = figures(tmp_path / "b.csv")
    ratio = (plain.values["thrust_coefficient"].value or 0.0) / (
        other.values["thrust_coefficient"].value or 1.0
    )
    assert ratio == pytest.approx(1.225 / 1.2, rel=1e-4)


# -- the demo log ------------------------------------------------------------------------------


def test_the_demo_log_says_that_it_is_invented_and_is_small() -> None:
    path = Path("geometries/printed_18s16p_bench.csv")
    assert path.read_text(encoding="utf-8").startswith("# Invented: ")
    assert path.stat().st_size <= 300_000


def test_the_demo_log_returns_what_its_propeller_was_given() -> None:
    found = figures(Path("geometries/printed_18s16p_bench.csv"))
    assert holds(found.values["thrust_coefficient"], 0.12)
    assert holds(found.values["power_coefficient"], 0.048)


@pytest.mark.slow
def test_a_log_of_the_simulator_now_returns_the_simulators_kv(tmp_path: Path) -> None:
    path = tmp_path / "now.csv"
    path.write_text(demo_text(DESIGN), encoding="utf-8")
    powered = SimulatedMotor(DESIGN).powered
    machine = powered.machine()
    # Six-step constant from the line back-EMF: its mean over the sixty degrees around the peak.
    line = machine.back_emf[0] - machine.back_emf[1]
    phase = 2 * math.pi * np.arange(len(line)) / len(line)
    peak = math.hypot(2 * np.mean(line * np.cos(phase)), 2 * np.mean(line * np.sin(phase)))
    kv = 1 / (3 / math.pi * peak) / RPM
    resistance = powered.winding.resistance_line_line
    plain = figures(path)
    assert holds(plain.values["speed_constant_rpm_per_V"], kv)
    told = figures(path, winding_resistance_20=resistance)
    assert told.values["speed_constant_rpm_per_V"].value == pytest.approx(kv, rel=0.05)


def test_the_stand_has_defaults_that_say_nothing() -> None:
    assert Stand().inertia is None
    assert Stand().test == "load"
