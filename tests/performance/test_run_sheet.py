"""The performance sheet: its parts agree with one another and with their definitions."""

import functools
import json
import math
from pathlib import Path

import numpy as np
import pytest
from threadpoolctl import threadpool_info, threadpool_limits

import fem_motor as fm
from fem_motor.performance import PerformanceSheet
from fem_motor.performance.doubts.trust import end_factor
from fem_motor.report import result_to_json

GEOMETRIES = Path(__file__).parents[2] / "geometries"
PRINTED, DELTA, STEEL = "printed_18s16p", "steel_9s12p", "steel_12s14p"
SHEETS = [PRINTED, DELTA, pytest.param(STEEL, marks=pytest.mark.slow)]
RPM = 2 * math.pi / 60


def design_of(name: str) -> fm.MotorDesign:
    return fm.load_design(GEOMETRIES / f"{name}.toml")


@functools.cache
def sheet_of(name: str) -> PerformanceSheet:
    return fm.run(design_of(name), quality="draft")


@pytest.mark.parametrize("name", SHEETS)
def test_every_headline_lies_in_its_range_and_says_why(name: str) -> None:
    sheet = sheet_of(name)
    headlines = {**sheet.answers, "end factor": sheet.constants.end_factor}
    # Four of the load point, four of its heat, five of the motor, and the end factor.
    assert len(headlines) == 14
    if name in {DELTA, STEEL}:  # those cores do not soften
        assert headlines.pop("seconds_to_soften_core").value is None
    for answer, headline in headlines.items():
        assert headline.value is not None, answer
        assert headline.low is not None
        assert headline.high is not None
        assert 0 < headline.low <= headline.value <= headline.high, answer
        # A load that can stay on has no range: it is full throttle whatever the films do.
        assert headline.low < headline.high or answer.endswith("shaft_power_W")
        assert len(headline.because) > 10, answer


@pytest.mark.parametrize("name", SHEETS)
def test_headlines_repeat_the_figures_of_the_parts(name: str) -> None:
    sheet = sheet_of(name)
    values = {key: headline.value for key, headline in sheet.answers.items()}
    constants = sheet.constants
    load = next(point for point in sheet.operating_points if point.name == "load")
    assert values == {
        "speed_constant_rpm_per_V": constants.speed_constant_rpm_per_V.dc_six_step,
        "torque_constant_Nm_per_A": constants.torque_constant_Nm_per_A.per_dc_ampere_six_step,
        "motor_constant_Nm_per_sqrtW": constants.motor_constant_Nm_per_sqrtW,
        "resistance_line_line_ohm": sheet.winding.resistance_line_line_ohm,
        "cogging_peak_to_peak_Nm": sheet.no_load.cogging_peak_to_peak_Nm,
        "load_shaft_power_W": load.shaft_power_W,
        "load_supply_current_A": load.supply_current_A,
        "load_speed_rpm": load.speed_rpm,
        "load_thrust_N": load.thrust_N,
        "seconds_to_soften_core": sheet.thermal.seconds_to_soften_core,
        "continuous_shaft_power_W": sheet.thermal.continuous_shaft_power_W,
        "burst_10_s_shaft_power_W": sheet.thermal.burst_shaft_power_W["10 s"],
        "burst_60_s_shaft_power_W": sheet.thermal.burst_shaft_power_W["60 s"],
    }


@pytest.mark.parametrize("name", SHEETS)
def test_figures_of_no_load_follow_from_its_curves(name: str) -> None:
    # By their definitions, from the arrays as the JSON has them.
    motor = design_of(name).motor
    p = motor.rotor.pole_pairs
    plain = json.loads(json.dumps(result_to_json(sheet_of(name)), allow_nan=False))["no_load"]
    angle = np.array(plain["angle_deg"])
    step = 360 / p / len(angle)
    assert angle == pytest.approx(step * np.arange(len(angle)), abs=1e-9)
    assert plain["cogging_peak_to_peak_Nm"] == np.ptp(plain["cogging_torque_Nm"])
    period = 360 / math.lcm(motor.stator.slots, motor.rotor.poles)
    assert plain["cogging_period_deg"] == pytest.approx(period, rel=1e-12)
    # Cogging does no work over its period; saturating fields are solved to 1e-7 of their load.
    assert np.mean(plain["cogging_torque_Nm"]) == pytest.approx(
        0, abs=1e-6 * plain["cogging_peak_to_peak_Nm"]
    )
    linkage = np.array(plain["flux_linkage_Wb"])
    wave = np.exp(-1j * np.radians(p * angle))
    amplitude = np.abs(2 * np.mean(linkage * wave, axis=1)).mean()
    assert plain["flux_linkage_fundamental_Wb"] == pytest.approx(amplitude, rel=1e-9)
    emf = np.array(plain["back_emf_V_per_rad_per_s"])
    emf_1 = 2 * np.abs(np.mean(emf[0] * wave))
    assert emf_1 == pytest.approx(p * amplitude, rel=1e-6)
    # Parseval: all harmonics together are what is left of the mean square.
    for form, expected in (
        (emf[0], plain["back_emf_thd"]),
        (emf[0] - emf[1], plain["back_emf_line_thd"]),
    ):
        first = 2 * np.abs(np.mean(form * wave))
        rest = np.mean(form**2) - np.mean(form) ** 2 - first**2 / 2
        assert expected == pytest.approx(math.sqrt(2 * rest) / first, rel=2e-2, abs=1e-5)


@pytest.mark.parametrize("name", SHEETS)
def test_phase_u_links_least_at_0_where_its_first_coil_looks_at_an_inward_magnet(
    name: str,
) -> None:
    # A "U+" coil on tooth 1 has its most negative linkage at angle 0.
    sheet = sheet_of(name)
    assert sheet.winding.coils[0] == "U+"
    linkage = sheet.no_load.flux_linkage_Wb
    assert linkage[0, 0] < -0.9 * linkage[0].max()
    # U, V, W for counter-clockwise rotation: V a third of the period later.
    later = np.roll(linkage[0], linkage.shape[1] // 3)
    assert np.abs(linkage[1] - later).max() < 1e-6 * linkage.max()


@pytest.mark.parametrize("name", SHEETS)
def test_the_gap_field_has_the_poles_of_the_rotor_and_the_first_looks_inward(name: str) -> None:
    no_load, poles = sheet_of(name).no_load, design_of(name).motor.rotor.poles
    density = no_load.gap_flux_density_T
    assert density[0] < 0
    spectrum = np.abs(np.fft.rfft(density))
    assert spectrum.argmax() == poles // 2
    assert spectrum[0] < 1e-6 * spectrum.max()  # no flux comes out of nothing
    assert no_load.gap_angle_deg == pytest.approx(0.25 * np.arange(1440), abs=1e-9)


@pytest.mark.parametrize("name", SHEETS)
def test_the_end_factor_is_applied_once(name: str) -> None:
    # The curves are those of the section; the constants have the factor, once, and so has the
    # first screen. Star: T = 3/2 p ψ I; in delta a line carries √3 times the branch current.
    sheet, motor = sheet_of(name), design_of(name).motor
    factor = sheet.constants.end_factor.value
    assert factor is not None
    branch = motor.rotor.pole_pairs * sheet.no_load.flux_linkage_fundamental_Wb * factor
    torque = sheet.constants.torque_constant_Nm_per_A
    assert torque.per_peak_phase_ampere == pytest.approx(1.5 * branch, rel=1e-12)
    star = motor.winding.connection == "star"
    line = branch * (math.sqrt(3) if star else 1.0)
    speed = sheet.constants.speed_constant_rpm_per_V
    assert speed.phase_peak == pytest.approx(1 / branch / RPM, rel=1e-12)
    assert speed.line_line_peak == pytest.approx(1 / line / RPM, rel=1e-12)
    assert sheet.answers["torque_constant_Nm_per_A"].value == pytest.approx(
        3 / math.pi * line, rel=1e-12
    )
    copper = sheet.winding.resistance_phase_ohm
    assert sheet.constants.motor_constant_Nm_per_sqrtW == pytest.approx(
        1.5 * branch / math.sqrt(1.5 * copper), rel=1e-12
    )


def test_the_end_factor_of_a_printed_machine_is_computed_from_its_magnets() -> None:
    # A range that holds 1 − 0.2·10.996/20 and more, from coils a quarter pole pitch off the
    # magnets in magpylib's exact field; these coils reach deeper, and their ends link some again.
    found = end_factor(design_of(PRINTED).motor)
    assert found.low is not None
    assert found.value is not None
    assert found.high is not None
    assert found.low < 1 - 0.2 * 10.996 / 20 + 0.02 < found.value < found.high < 1
    assert "20 mm" in found.because


def test_the_end_factor_with_iron_is_1_with_a_range() -> None:
    found = end_factor(design_of(STEEL).motor)
    assert (found.low, found.value, found.high) == (0.95, 1.0, 1.0)


def test_an_unknown_permeability_widens_kt_and_kv() -> None:
    # Magnets ±3 %, the ends' range, mesh ±0.5 %, and the core on top.
    sheet = sheet_of(PRINTED)
    ends, headline = sheet.constants.end_factor, sheet.answers["torque_constant_Nm_per_A"]
    assert headline.value is not None
    assert headline.low is not None
    assert ends.value is not None
    assert ends.low is not None
    assert headline.low / headline.value < 0.97 * ends.low / ends.value * 0.995
    spread = f"ends {ends.low:.2f} to {ends.high:.2f}"
    for cause in ("magnets ±3%", "core permeability", spread, "mesh ±0.50%"):
        assert cause in headline.because
    # Kv is one over Kt, and so are its ends, the other way round.
    kv = sheet.answers["speed_constant_rpm_per_V"]
    assert kv.high is not None
    assert kv.high * RPM == pytest.approx(1 / headline.low, rel=1e-12)


@pytest.mark.parametrize("name", SHEETS)
def test_the_sheet_is_complete_for_json(name: str) -> None:
    sheet, design = sheet_of(name), design_of(name)
    plain = json.loads(json.dumps(result_to_json(sheet), allow_nan=False))
    assert plain["design"] == json.loads(json.dumps(design.to_dict()))
    assert plain["title"] == design.title
    assert plain["quality"] == "draft"
    assert "field_map" not in plain
    assert sum(plain["limiter"]["shares"].values()) == pytest.approx(1, abs=1e-9)
    ring = design.motor.rotor.ring
    assert (plain["no_load"]["ring_flux_density_T"] is None) == (ring is None)
    assert all(seconds >= 0 for seconds in plain["timing_s"].values())
    assert design.motor.stator.core.name in plain["sources"][0]
    assert len(plain["sources"]) == len(set(plain["sources"]))


@pytest.mark.parametrize("name", SHEETS)
def test_a_run_has_the_findings_of_the_design_and_of_the_result(name: str) -> None:
    sheet = sheet_of(name)
    before = fm.check(design_of(name))
    assert sheet.checks[: len(before)] == before
    names = [finding.name for finding in sheet.checks]
    assert len(names) == len(set(names))
    for finding in sheet.checks:
        assert finding.why
        assert bool(finding.do) == (finding.status != "ok")


def test_a_run_works_on_one_thread_and_leaves_the_others_alone() -> None:
    # Threads of the linear algebra would change the order of sums with the desk.
    seen: list[int] = []

    def look(_done: int, _of: int, _stage: str) -> None:
        seen.extend(pool["num_threads"] for pool in threadpool_info())

    with threadpool_limits(2):
        before = threadpool_info()
        fm.rotor_sweep(design_of(DELTA), angles_deg=[0.0], quality="draft", on_step=look)
        assert threadpool_info() == before
    assert set(seen) == {1}


def test_progress_names_its_stages_and_ends_where_it_should() -> None:
    steps: list[tuple[int, int, str]] = []
    fm.rotor_sweep(
        design_of(DELTA),
        angles_deg=[0.0, 0.5],
        quality="draft",
        on_step=lambda done, of, stage: steps.append((done, of, stage)),
    )
    assert steps == [(0, 1, "mesh"), (1, 2, "fields"), (2, 2, "fields")]


@pytest.mark.parametrize("currents", [(3.0, -1.0, -2.0), [[3.0, 3.0], [-1.0, -1.0], [-2.0, -2.0]]])
def test_held_currents_are_the_same_at_every_angle(currents: object) -> None:
    sweep = fm.rotor_sweep(
        design_of(PRINTED), angles_deg=[1.0, 2.0], currents_A=currents, quality="draft"
    )
    assert np.array_equal(sweep.currents_A, [[3.0, 3.0], [-1.0, -1.0], [-2.0, -2.0]])
    assert sweep.angle_deg == pytest.approx([1.0, 2.0])


def test_a_leading_current_angle_makes_i_d_negative() -> None:
    # i_d = −I sin γ: at the d axis of phase U its current is −I sin γ. The axis is known to half
    # a step of the angles, 0.83° electrical: 0.08 A.
    design = design_of(PRINTED)
    no_load = sheet_of(PRINTED).no_load
    at = no_load.angle_deg[no_load.flux_linkage_Wb[0].argmax()]
    sweep = fm.rotor_sweep(
        design, angles_deg=[at], current_peak_A=6.0, current_angle_deg=30.0, quality="draft"
    )
    assert sweep.currents_A[0, 0] == pytest.approx(-6.0 * math.sin(math.radians(30)), abs=0.1)
