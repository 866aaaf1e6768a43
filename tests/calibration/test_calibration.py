"""The calibrated motor: planted faults come back; the stand is calculated by the drive alone."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from stand import model_of, response, simulated, solved

from fem_motor.calibration import calibrate
from fem_motor.calibration.design_text import calibrated_text
from fem_motor.calibration.fit.fitting import Fit, fit, interval
from fem_motor.calibration.model.parameters import parameters_of
from fem_motor.calibration.model.response import field_response, with_remanence
from fem_motor.calibration.records import BenchCheck, CalibratedValue, Evidence
from fem_motor.design import MotorDesign, load_design
from fem_motor.errors import InputError
from fem_motor.findings import Finding
from fem_motor.performance import solve_powered
from fem_motor.powered import PoweredMotor


def fitted(evidence: Evidence) -> Fit:
    model = model_of(evidence)
    parameters = parameters_of(solved().powered, response(), evidence, ends=solved().end_factor)
    return fit(model, parameters)


def index_of(found: Fit, name: str) -> int:
    return [parameter.name for parameter in found.parameters].index(name)


def test_field_of_an_exponential_pole_falls_as_theory_says() -> None:
    """B₁ falls as exp(−π y/τ) in the open (image method): slope −p/r per metre of gap."""
    motor = solved().design.motor
    expected = -motor.rotor.pole_pairs / motor.stator.outer_radius
    assert response().flux_per_gap == pytest.approx(expected, rel=0.15)


def test_a_torque_that_no_supply_gives_leaves_the_audit_to_speak() -> None:
    """Torque in mN m read as N m, a thousand times too much, as a maker's heading has it."""
    points = tuple(replace(one, torque=1e3 * one.torque) for one in simulated().points)
    wrong = replace(simulated(), points=points)
    stop = Finding(name="shaft power over supply power, largest", status="stop")
    found = calibrate(
        solved().design, solved().powered, wrong, ends=solved().end_factor, doubts=[stop]
    )
    assert not found.explanations
    assert "rpm" in found.findings[0].why  # the unit of the log, not rad/s
    with pytest.raises(InputError, match="cannot be had"):
        calibrate(solved().design, solved().powered, wrong, ends=solved().end_factor)


@pytest.mark.slow
def test_the_design_itself_is_found_as_designed() -> None:
    found = fitted(simulated(rng=np.random.default_rng(3)))
    for k, parameter in enumerate(found.parameters):
        _, low, high = interval(found, k)
        assert low < parameter.prior < high, parameter.name


@pytest.mark.slow
def test_weak_magnets_are_named_with_what_looks_the_same() -> None:
    steps: list[tuple[int, int, str]] = []
    found = calibrate(
        solved().design,
        solved().powered,
        simulated(flux=0.85),
        ends=solved().end_factor,
        on_step=lambda *step: steps.append(step),
    )
    first = found.explanations[0]
    assert first.score > 0.05
    assert {one.cause for one in found.explanations[:4]} & {"weak magnets", "gap not as drawn"}
    # The longest wait of the verb shows that it goes on, from the first cause to the last.
    assert steps == [(done, steps[-1][1], "causes") for done in range(len(steps))]
    assert len(steps) > 20
    group = next(group for group in found.cannot_tell if "remanence_T" in group)
    assert {"core_relative_permeability", "air_gap_mm"} <= set(group)
    assert found.misfit_after < found.misfit_before


@pytest.mark.slow
def test_a_speed_counted_with_too_few_poles_is_named_first() -> None:
    found = calibrate(
        solved().design, solved().powered, simulated(speed=8 / 7), ends=solved().end_factor
    )
    assert found.explanations[0].cause == "speed counted with 7 pole pairs instead of 8"


def test_four_wires_narrow_the_resistance_and_the_drill_the_flux() -> None:
    drill = 1 / solved().constants.speed_per_line_peak
    evidence = simulated()
    with_checks = simulated(
        checks=(
            BenchCheck(kind="resistance", value=0.3943, uncertainty=0.002),
            BenchCheck(kind="drill", value=drill, uncertainty=0.005 * drill),
        )
    )
    loose, tight = fitted(evidence), fitted(with_checks)
    for name in ("winding_resistance_20C_ohm",):
        k = index_of(loose, name)
        assert tight.covariance[k, k] < loose.covariance[k, k] / 4
    remanence = index_of(loose, "remanence_T")
    assert tight.covariance[remanence, remanence] < loose.covariance[remanence, remanence]


def test_the_calibrated_design_keeps_comments_and_can_be_read() -> None:
    text = Path("geometries/printed_18s16p.toml").read_text(encoding="utf-8")
    design = solved().design

    def found(value: float, prior: float) -> CalibratedValue:
        return CalibratedValue(
            value=value, low=value - 0.1, high=value + 0.1, prior=prior, because=""
        )

    values = {
        "remanence_T": found(1.2, 1.3),
        "core_relative_permeability": found(1.4, 1.35),
        "air_gap_mm": found(0.9, 0.8),
        "controller_resistance_mohm": found(6.0, 5.0),
    }
    written = calibrated_text(text, design, values, source="boat.csv")
    motor = MotorDesign.from_toml(written).motor
    assert motor.rotor.magnet.remanence == 1.2
    assert motor.stator.core.curve.initial_permeability == pytest.approx(1.4)
    assert motor.air_gap == pytest.approx(0.9e-3)
    assert motor.drive.controller_resistance == pytest.approx(6e-3)
    assert "# ordinary iron filament: nearly air" in written
    assert "# Calibrated by fem-motor bench from boat.csv." in written
    again = calibrated_text(written, MotorDesign.from_toml(written), values, source="boat.csv")
    assert MotorDesign.from_toml(again).motor.rotor.magnet.remanence == 1.2


@pytest.mark.slow
def test_flux_of_a_saturating_core_follows_the_remanence_less_than_in_proportion() -> None:
    # Second method: the field of that machine solved with magnets a tenth weaker.
    design = load_design("geometries/steel_9s12p.toml")
    found = field_response(design)
    base, weak = (
        solve_powered(one, quality="draft").powered.model.fundamental_flux_linkage
        for one in (design, with_remanence(design, 0.9))
    )
    flux, _ = found.of(permeability=None, air_gap=found.air_gap, remanence_ratio=0.9)
    assert flux == pytest.approx(np.log(weak / base), rel=0.1)
    assert 0.5 < found.flux_per_remanence < 0.97
    assert found.inductance_per_remanence < 0


def test_the_points_computed_as_designed_are_those_of_a_stand_that_is_as_designed() -> None:
    # Second method: the stand solves the same drive by its own search, without surfaces. Its
    # magnets warm up by 4 K, 0.5 % of their flux, which the model does not know; at full throttle
    # that is about twice as much of the current, which is driven by what back-EMF leaves.
    evidence = simulated()
    by_speed = sorted(evidence.points, key=lambda point: point.speed)
    for computed, point in zip(
        model_of(evidence).computed(model_of(evidence).prior), by_speed, strict=True
    ):
        assert computed.speed_rpm == pytest.approx(point.speed * 30 / np.pi)
        assert computed.current_A == pytest.approx(point.current, rel=1e-2)
        assert computed.torque_Nm == pytest.approx(point.torque, rel=1e-2)
        # T ω over V I.
        assert computed.efficiency == pytest.approx(
            point.torque * point.speed / (point.voltage * point.current), rel=1e-2
        )


def test_a_current_sensor_that_reads_high_is_in_the_computed_readings() -> None:
    evidence = simulated()
    model = model_of(evidence)
    high = {**model.prior, "current_reading_factor": 1.05}
    for plain, read in zip(model.computed(model.prior), model.computed(high), strict=True):
        assert read.current_A == pytest.approx(1.05 * plain.current_A, rel=1e-9)


def test_a_wrong_log_never_drives_the_copper_to_where_resistance_ends() -> None:
    evidence = replace(
        simulated(), points=tuple(replace(one, winding_C=None) for one in simulated().points)
    )
    model = model_of(evidence)
    for warmth in (-1e4, 1e5):
        figures = {**model.prior, "winding_temperature_C": warmth}
        assert np.isfinite(model.residuals(figures, model.surfaces(model.prior))).all()


def test_where_nothing_of_the_motor_was_measured_nothing_is_told_of_it() -> None:
    # Figures as assumed before, and causes that all explain nothing equally well, are no findings.
    found = calibrate(
        solved().design,
        solved().powered,
        Evidence(points=(), spans={}),
        ends=solved().end_factor,
    )
    assert found.explanations == ()
    assert found.calibrated == {}
    assert found.cannot_tell == ()
    (finding,) = found.findings
    assert finding.name == "measurements to calibrate from"


def test_as_designed_the_rotor_is_held_back_by_every_kind_of_drag(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # The sum of the loss model, with a kind that calibration has never heard of.
    model = model_of(simulated())
    drag = type(model.powered).drag_losses

    def with_a_seal(powered: PoweredMotor, speed: float, **at: float) -> dict[str, float]:
        return {**drag(powered, speed, **at), "seal": 0.002 * speed}

    monkeypatch.setattr(type(model.powered), "drag_losses", with_a_seal)
    at = {"copper_C": 40.0, "magnet_C": model.evidence.ambient_C}
    for speed in (50.0, 700.0):
        every = sum(model.powered.drag_losses(speed, **at).values())
        assert model.drag(model.prior, speed, 40.0) * speed == pytest.approx(every)
