"""From a design to its answers: the order of work, and nothing else."""

import time
from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from threadpoolctl import threadpool_limits

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor, MotorDesign, check_design
from fem_motor.errors import DesignError
from fem_motor.field import FieldMap
from fem_motor.findings import Finding
from fem_motor.mesh import MotorMesh, mesh_motor
from fem_motor.performance.answers.records import PerformanceSheet
from fem_motor.performance.doubts.quality import SETTINGS, Quality
from fem_motor.performance.operation.use import Asked
from fem_motor.performance.sheet import fill_sheet
from fem_motor.progress import OnStage, ignore
from fem_motor.quantities import (
    Phases,
    RotorSweep,
    motor_model,
    solve_map,
    sweep_motor,
)
from fem_motor.throttle import FlightProfile
from fem_motor.units import DEG
from fem_motor.winding import Winding, wind

Extent = Literal["sector", "whole"]
Waveform = Literal["sine", "six-step"]


def check(design: MotorDesign) -> tuple[Finding, ...]:
    """Return what is doubtful about `design` before anything is solved.

    Raises
    ------
    DesignError
        Where the design cannot be built.

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> [finding.status for finding in fm.check(design) if finding.status == "stop"]
    []
    """
    winding = wound(design)
    return (*check_design(design), *winding.findings)


def run(
    design: MotorDesign,
    *,
    quality: Quality = "standard",
    profile: FlightProfile | None = None,
    speed_map: Literal["none", "grid"] = "none",
    on_step: OnStage = ignore,
) -> PerformanceSheet:
    """Return the performance sheet of `design`: fields to answers.

    Parameters
    ----------
    design : MotorDesign
    quality : "draft", "standard" or "fine"
    profile : fem_motor.throttle.FlightProfile, optional
        Throttle over time, to be flown from cold.
    speed_map : "none" or "grid"
        "grid" also works out the efficiency over speed and torque.
    on_step : callable
        Called with (done, of, stage).

    Raises
    ------
    DesignError
        Where the design cannot be built.
    SolverError
        Where the field does not converge.

    Examples
    --------
    >>> import fem_motor as fm
    >>> sheet = fm.run(fm.load_design("geometries/printed_18s16p.toml"), quality="draft")
    >>> sheet.answers["speed_constant_rpm_per_V"].value > 0
    True
    """
    settings = SETTINGS[quality]
    with threadpool_limits(1):
        started = time.perf_counter()
        motor = design.motor
        winding = wound(design)
        findings = (*check_design(design), *winding.findings)
        checked = time.perf_counter()
        on_step(0, 1, "mesh")
        mesh = mesh_motor(motor, quality=quality)
        meshed = time.perf_counter()
        model = motor_model(
            motor, winding, mesh,
            angles_per_period=settings.angles_per_period,
            mesh_with_currents=settings.mesh_with_currents,
            on_step=lambda done, of: on_step(done, of, "fields"),
        )  # fmt: skip
        on_step(1, 1, "answers")
        timing = {"check": checked - started, "mesh": meshed - checked, **model.timing_s}
        asked = Asked(profile=profile, speed_map=speed_map)
        return fill_sheet(
            design, motor, winding, model,
            quality=quality, findings=findings, timing_s=timing, asked=asked,
        )  # fmt: skip


def rotor_sweep(
    design: MotorDesign,
    *,
    angles_deg: Sequence[float] | FloatArray,
    currents_A: Any = (0.0, 0.0, 0.0),  # noqa: ANN401  (three numbers, or an array (3, n))
    current_peak_A: float | None = None,
    current_angle_deg: float = 0.0,
    waveform: Waveform = "sine",
    quality: Quality = "standard",
    extent: Extent = "sector",
    on_step: OnStage = ignore,
) -> RotorSweep:
    """Return torque and flux linkages over rotor angle.

    Parameters
    ----------
    design : MotorDesign
    angles_deg : (n,)
        Mechanical, counter-clockwise.
    currents_A : (3,) or (3, n)
        Branch currents U, V, W, held or by angle.
    current_peak_A : float, optional
        Instead of `currents_A`: peak of branch currents that turn with the rotor. The torque is
        then also told by its parts.
    current_angle_deg : float
        Their lead over the back-EMF, electrical.
    waveform : "sine" or "six-step"
        Of the currents that turn; six-step are ideal blocks in the lines, in delta a staircase.
    quality : "draft", "standard" or "fine"
    extent : "sector" or "whole"
        "whole" makes no use of symmetry.
    on_step : callable

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> sweep = fm.rotor_sweep(design, angles_deg=[0.0, 1.0], quality="draft")
    >>> sweep.flux_linkage_Wb.shape
    (3, 2)
    """
    with threadpool_limits(1):
        motor, winding, mesh, timing = _prepare(design, quality, on_step)
        angles = np.atleast_1d(np.asarray(angles_deg, dtype=np.float64)) * DEG
        currents = _held(currents_A, len(angles))
        if current_peak_A is not None:
            phases = Phases.of(winding, motor)
            wave = phases.sine if waveform == "sine" else phases.six_step
            currents = wave(angles, peak=current_peak_A, current_angle=current_angle_deg * DEG)
        return sweep_motor(
            motor,
            winding,
            mesh,
            angles=angles,
            currents=currents,
            waveform=None if current_peak_A is None else waveform,
            extent=extent,
            timing_s=timing,
            on_step=lambda done, of: on_step(done, of, "fields"),
        )


def solve_field(
    design: MotorDesign,
    *,
    angle_deg: float = 0.0,
    currents_A: Sequence[float] = (0.0, 0.0, 0.0),
    quality: Quality = "standard",
) -> FieldMap:
    """Return the field of the whole machine at one rotor angle, for pictures.

    Parameters
    ----------
    design : MotorDesign
    angle_deg : float
        Mechanical, counter-clockwise.
    currents_A : (3,)
        Branch currents U, V, W.
    quality : "draft", "standard" or "fine"

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> field = fm.solve_field(design, angle_deg=2.5, currents_A=(10, -5, -5), quality="draft")
    >>> bool(field.flux_density.max() > 0.1)
    True
    """
    with threadpool_limits(1):
        motor, winding, mesh, _ = _prepare(design, quality, ignore)
        return solve_map(
            motor, winding, mesh, angle=angle_deg * DEG, currents=np.asarray(currents_A)
        )


def _held(currents: Any, number: int) -> FloatArray:  # noqa: ANN401  (as in `rotor_sweep`)
    """Return the currents, (3, n), at every angle."""
    given = np.asarray(currents, dtype=np.float64).reshape(3, -1)
    return np.array(np.broadcast_to(given, (3, number)))


def wound(design: MotorDesign) -> Winding:
    """Return the winding; where there is none the error names the design's file."""
    try:
        return wind(design.motor)
    except DesignError as error:
        raise error.placed_in(design.name) from None


def _prepare(
    design: MotorDesign, quality: Quality, on_step: OnStage
) -> tuple[Motor, Winding, MotorMesh, dict[str, float]]:
    started = time.perf_counter()
    motor = design.motor
    winding = wound(design)
    checked = time.perf_counter()
    on_step(0, 1, "mesh")
    mesh = mesh_motor(motor, quality=quality)
    meshed = time.perf_counter()
    return motor, winding, mesh, {"check": checked - started, "mesh": meshed - checked}
