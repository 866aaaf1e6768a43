"""From a log and checks to a calibrated model: the order of work, and nothing else."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.bench import BenchLog, MeasuredPoint, Segment
from fem_motor.calibration.design_text import calibrated_text
from fem_motor.calibration.fit.causes import explanations
from fem_motor.calibration.fit.fitting import Fit, cannot_tell, correlation, fit
from fem_motor.calibration.fit.profile import Range, crooked, ranges_of
from fem_motor.calibration.fit.telling import open_groups, open_heat
from fem_motor.calibration.fit.warming import heat_fit, warming_of
from fem_motor.calibration.model.forward import ForwardModel, prior_figures
from fem_motor.calibration.model.parameters import parameters_of
from fem_motor.calibration.model.response import field_response
from fem_motor.calibration.propeller import coefficients_of, propeller_values
from fem_motor.calibration.records import (
    BenchCheck,
    CalibratedValue,
    Calibration,
    Evidence,
    SteadyPoint,
)
from fem_motor.design import MotorDesign
from fem_motor.errors import InputError
from fem_motor.findings import Finding, Headline
from fem_motor.powered import PoweredMotor
from fem_motor.progress import OnStage, ignore

USUAL_SPANS = {"torque": 0.01, "voltage": 0.005, "current": 0.01}
"""Standard uncertainties of the instruments' spans where none is stated; common practice."""

FULL = 0.99

LEAST = 1e-4
"""Relative standard uncertainty below which no mean is believed."""

POOR = 2.0
"""Root mean square of residuals from which the calibrated model does not explain the log."""


def evidence_of(
    log: BenchLog,
    points: Sequence[MeasuredPoint],
    *,
    segments: Sequence[Segment] = (),
    checks: Sequence[BenchCheck] = (),
    ambient_C: float,
) -> Evidence:
    """Return what a log and checks say, for the fit; its `segments` tell the air's temperature.

    Points without speed, voltage or current are left out, and without torque unless nothing was
    on the shaft.
    """
    spans = {
        name: log.stand.scale_uncertainty.get(name, usual) for name, usual in USUAL_SPANS.items()
    }
    found = [_steady(log, point) for point in points]
    return Evidence(
        points=tuple(point for point in found if point is not None),
        spans=spans,
        checks=tuple(checks),
        ambient_C=ambient_C,
        warming=warming_of(log, segments, ambient_C=ambient_C),
        propeller=coefficients_of(points),
    )


def _steady(log: BenchLog, point: MeasuredPoint) -> SteadyPoint | None:
    readings = point.segment.readings
    bare = log.stand.test == "no load"
    means = {name: reading.mean for name, reading in readings.items()}
    if log.stand.test not in {"load", "no load"}:
        return None
    if not all(means.get(name, 0.0) > 0 for name in ("speed", "voltage", "current")):
        return None
    if not bare and not means.get("torque", 0.0) > 0:
        return None
    scatter = {
        name: max(reading.uncertainty, LEAST * abs(reading.mean))
        for name, reading in readings.items()
    }
    is_full = log.stand.throttle == "full" or means.get("throttle", 0.0) >= FULL
    return SteadyPoint(
        speed=means["speed"],
        torque=0.0 if bare else means["torque"],
        voltage=means["voltage"],
        current=means["current"],
        speed_scatter=scatter["speed"],
        torque_scatter=0.0 if bare else scatter["torque"],
        voltage_scatter=scatter["voltage"],
        current_scatter=scatter["current"],
        throttle="full" if is_full and not bare else "part",
        winding_C=means.get("winding_C"),
    )


def calibrate(
    design: MotorDesign,
    powered: PoweredMotor,
    evidence: Evidence,
    *,
    ends: Headline,
    text: str | None = None,
    source: str = "measurements",
    doubts: Sequence[Finding] = (),
    on_step: OnStage = ignore,
) -> Calibration:
    """Return what `evidence` says about the model of `design`, whose solved machine `powered` is.

    Parameters
    ----------
    ends : Headline
        The end factor with its range.
    text : str, optional
        The design file as written, whose comments are to be kept.
    source : str
        What the evidence is, for the head of the calibrated design.
    doubts : sequence of Finding
        Of the log's audit: where one says stop there are explanations, but nothing calibrated.

    Raises
    ------
    InputError
        Where no supply turns the motor as the log says, though the audit found nothing wrong.
    """
    is_stopped = any(doubt.status == "stop" for doubt in doubts)
    response = field_response(design)
    prior = prior_figures(powered, response, end_factor=ends.value or 1.0)
    model = ForwardModel(powered=powered, response=response, evidence=evidence, prior=prior)
    parameters = parameters_of(powered, response, evidence, ends=ends)
    try:
        surfaces = model.surfaces(model.prior)
        before = _root_mean_square(model.residuals(model.prior, surfaces))
        found = fit(model, parameters, expanded=surfaces)
    except InputError as error:
        if is_stopped:  # the audit says what is wrong with the log: that must be shown
            return _nothing(_out_of_reach(error))
        raise
    after = _root_mean_square(found.residuals)
    told = _Told() if is_stopped else _told(model, found)
    return Calibration(
        calibrated=told.values,
        correlation=told.correlation,
        cannot_tell=told.cannot_tell,
        explanations=explanations(model, parameters, as_designed=found, on_step=on_step)
        if _says_of_motor(evidence)
        else (),
        misfit_before=before,
        misfit_after=after,
        residuals=found.residuals,
        calibrated_design=calibrated_text(text, design, told.values, source=source),
        findings=(*_findings(evidence, after), *told.findings),
        as_designed=model.computed(model.prior),
        as_calibrated=() if is_stopped else model.computed(found.figures),
    )


def _nothing(*findings: Finding) -> Calibration:
    """Return that nothing is known of the motor beyond its design, and why."""
    return Calibration(
        calibrated={},
        correlation=np.zeros((0, 0)),
        cannot_tell=(),
        explanations=(),
        misfit_before=0.0,
        misfit_after=0.0,
        residuals=np.zeros(0),
        calibrated_design="",
        findings=findings,
    )


def _out_of_reach(error: InputError) -> Finding:
    problem = error.problems[0]
    return Finding(
        name="measurements that this motor could give", status="watch",
        why=f"{problem.place} {problem.what} {problem.why}".strip(), do=problem.do,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Told:
    """What motor, heat and propeller say together."""

    values: Mapping[str, CalibratedValue] = field(default_factory=dict)
    correlation: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    cannot_tell: tuple[tuple[str, ...], ...] = ()
    findings: tuple[Finding, ...] = ()


def _told(model: ForwardModel, found: Fit) -> _Told:
    """Return the fitted motor, then what follows from it: heat, and the propeller.

    Without a measurement of the motor its figures are left out: they would be those assumed before.
    """
    heat = heat_fit(model, found.figures)
    fits = [found] if _says_of_motor(model.evidence) else []
    ranges = [ranges_of(one) for one in fits]
    findings = [finding for one in ranges for finding in open_groups(model, found, one)]
    if heat is not None:
        misfit = _root_mean_square(heat.residuals)
        if misfit <= POOR:
            fits.append(heat)
            ranges.append(ranges_of(heat))
            findings += open_heat(heat, ranges[-1])
        else:
            findings.append(_cold(misfit))
    elif model.evidence.warming is not None:
        findings.append(_tepid())
    values: dict[str, CalibratedValue] = {}
    for one, its in zip(fits, ranges, strict=True):
        values |= _values(one, its)
    propeller = propeller_values(model.powered.motor, model.evidence)
    blocks = [correlation(one.covariance) for one in fits]
    return _Told(
        values=values | propeller,
        correlation=_side_by_side([*blocks, np.eye(len(propeller))]),
        cannot_tell=tuple(group for one in fits for group in cannot_tell(one)),
        findings=(*crooked([one for its in ranges for one in its]), *findings),
    )


def _side_by_side(blocks: Sequence[FloatArray]) -> FloatArray:
    """Return a matrix with these along its diagonal: what is fitted apart is not correlated."""
    size = sum(len(block) for block in blocks)
    whole, at = np.zeros((size, size)), 0
    for block in blocks:
        whole[at : at + len(block), at : at + len(block)] = block
        at += len(block)
    return whole


def _cold(misfit: float) -> Finding:
    return Finding(
        name="misfit of the logged temperatures, in standard uncertainties", status="watch",
        value=misfit, limit=POOR,
        why="no plausible contact, film or mount gives the temperatures of the log, so that no "
        "thermal resistance is calibrated.",
        do="check where the sensor sits (glued to the copper, not to plastic or in the draught) "
        "and that it reads the winding's temperature; compare it with the resistance hot and cold.",
    )  # fmt: skip


def _tepid() -> Finding:
    return Finding(
        name="rise of the logged temperatures", status="watch",
        why="nothing rose by 5 K, which says nothing about the cooling.",
        do="hold one load for some minutes, below the softening temperature of the core.",
    )  # fmt: skip


def _says_of_motor(evidence: Evidence) -> bool:
    """Return whether anything was measured that depends on the motor's own figures."""
    return bool(evidence.points or evidence.checks)


def _root_mean_square(residuals: np.ndarray) -> float:
    return float(np.sqrt(np.mean(residuals**2))) if residuals.size else 0.0


def _values(found: Fit, ranges: Sequence[Range]) -> dict[str, CalibratedValue]:
    values = {}
    for k, (parameter, one) in enumerate(zip(found.parameters, ranges, strict=True)):
        width = float(np.sqrt(found.covariance[k, k]))
        told = f"{width:.0%} of the spread assumed before is left"
        values[parameter.name] = CalibratedValue(
            value=one.value, low=one.low, high=one.high, prior=parameter.prior,
            because=f"fitted, about 95 % by the profile; {told}; before: {parameter.because}",
        )  # fmt: skip
    return values


def _findings(evidence: Evidence, misfit: float) -> tuple[Finding, ...]:
    found = []
    if not _says_of_motor(evidence):
        found.append(
            Finding(
                name="measurements to calibrate from", status="watch", value=0.0, limit=1.0,
                why="no steady point has speed, torque above zero, voltage and current, and no "
                "check is given: nothing here says what the motor is, or what may be wrong with "
                "it.",
                do="log all four (torque: a load cell on the arm of the mount) over five throttle "
                "steps of fifteen seconds, or measure the resistance of the leads and the volts "
                "of a drill, and give --checks.",
            )
        )  # fmt: skip
    if misfit > POOR:
        found.append(
            Finding(
                name="misfit of the calibrated model, in standard uncertainties", status="watch",
                value=misfit, limit=POOR,
                why="no plausible values of its parameters explain the measurements; do not use "
                "the calibrated design.",
                do="read the explanations: a discrete mistake may explain them.",
            )
        )  # fmt: skip
    return tuple(found)
