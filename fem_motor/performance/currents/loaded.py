"""The loaded part of the sheet: torque with currents, its ripple, and the best current angle."""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fem_motor.design import Motor
from fem_motor.drive import limit_state
from fem_motor.findings import Finding
from fem_motor.loading import (
    DemagnetisationMap,
    DemagnetisationMargins,
    DqMap,
    StallCurrent,
    demagnetisation,
    demagnetisation_findings,
    dq_map,
    loaded_torque,
)
from fem_motor.performance.answers.current_records import Inductances, Loaded, LoadedCurve
from fem_motor.performance.currents.inductances import fill_inductances, leakage_finding
from fem_motor.powered import PoweredMotor
from fem_motor.quantities import MotorModel
from fem_motor.units import DEG

HELD = 1e-6
"""By how much less than the limit a current counts as held by it."""

CURRENTS = 6
"""Points of torque against current, the first one without current."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WithCurrents:
    """The parts of the sheet that need fields with currents.

    saturation: for the sine drive of a machine that saturates, else None.
    """

    loaded: Loaded
    inductance: Inductances
    magnets_map: DemagnetisationMap
    saturation: DqMap | None
    findings: tuple[Finding, ...]


def branch_peak(line_peak: float, motor: Motor) -> float:
    """Return the peak of the branch currents for a peak line current, A.

    In delta √3 less with sine currents; in six-step two thirds of it flow in the branch between
    the two live terminals.
    """
    if motor.winding.connection == "star":
        return line_peak
    return line_peak / math.sqrt(3) if motor.drive.controller == "sine" else line_peak * 2 / 3


def fill_loaded(powered: PoweredMotor, *, rated: float, end_factor: float) -> WithCurrents:
    """Return what currents do, and what is to be said of the magnets under them.

    Parameters
    ----------
    powered : PoweredMotor
    rated : float
        Peak line current, A.
    end_factor : float
        On the flux linkage of the magnets, and so on their part of the torque.
    """
    motor, model = powered.motor, powered.model
    limit = motor.drive.current_limit
    found = dq_map(model, peak=branch_peak(max(rated, limit), motor))
    best = found.best_current_angle(branch_peak(rated, motor))
    margins = demagnetisation(
        motor, model, line_peak=limit, stall=lambda copper_C: stall_current(powered, copper_C)
    )
    hot, cold = margins.hot.margin, margins.cold.margin
    loaded = Loaded(
        rated=_curve(motor, model, line_peak=rated, end_factor=end_factor),
        limit=_curve(motor, model, line_peak=limit, end_factor=end_factor),
        torque_against_current=_against_current(motor, found, limit, end_factor),
        best_current_angle_deg=best / DEG,
        demagnetisation_margin_T=None
        if hot is None or cold is None
        else {"hot": hot, "cold": cold},
        demagnetisation_by_magnet_T=None
        if margins.hot_by_magnet is None or margins.cold_by_magnet is None
        else {"hot": margins.hot_by_magnet, "cold": margins.cold_by_magnet},
        **_at_stall(margins),
    )
    is_mapped = motor.drive.controller == "sine" and not model.problem.is_linear
    return WithCurrents(
        loaded=loaded,
        inductance=fill_inductances(motor, model, found, rated_peak=branch_peak(rated, motor)),
        magnets_map=margins.worst_map,
        saturation=found if is_mapped else None,
        findings=(*demagnetisation_findings(margins), *leakage_finding(motor)),
    )


def stall_current(powered: PoweredMotor, copper_C: float) -> StallCurrent:
    """Return what the supply drives through a motor that is held, with copper at `copper_C`.

    All of the throttle through supply, controller, leads and direct-current resistance of the
    winding, or the controller's limit where that comes first.
    """
    machine = replace(
        powered.machine(copper_C=copper_C),
        resistance=powered.losses.branch_resistance_at(0.0, copper_C),
    )
    limit = powered.bridge.current_limit
    peak = limit_state(machine, powered.bridge, speed=0.0).line_current_peak
    is_limited = peak >= limit * (1 - HELD)
    return StallCurrent(line_peak=peak, held_by="current limit" if is_limited else "resistance")


def _at_stall(margins: DemagnetisationMargins) -> dict[str, Any]:
    named = dict(zip(("hot", "cold"), margins.stall or (), strict=True))
    is_known = all(one.by_magnet is not None for one in named.values())
    return {
        "stall_line_current_A": {name: one.current.line_peak for name, one in named.items()},
        "demagnetisation_at_stall_T": {name: one.worst.margin for name, one in named.items()}
        if is_known
        else None,
        "demagnetisation_at_stall_by_magnet_T": {name: one.by_magnet for name, one in named.items()}
        if is_known
        else None,
    }


def _curve(motor: Motor, model: MotorModel, *, line_peak: float, end_factor: float) -> LoadedCurve:
    peak = branch_peak(line_peak, motor)
    loaded = loaded_torque(
        model,
        peak=peak,
        current_angle=motor.drive.timing_advance,
        waveform=motor.drive.controller,
    )
    magnet = end_factor * loaded.magnet
    torque = loaded.cogging + magnet + loaded.reluctance
    mean = float(torque.mean())
    amplitude = 2 / torque.size * np.abs(np.fft.rfft(torque))[1:]
    orders, _ = loaded.spectrum
    return LoadedCurve(
        waveform=loaded.waveform,
        current_A=peak,
        line_current_A=line_peak,
        current_angle_deg=motor.drive.timing_advance / DEG,
        angle_deg=loaded.angle / DEG,
        torque_Nm=torque,
        cogging_torque_Nm=loaded.cogging,
        magnet_torque_Nm=magnet,
        reluctance_torque_Nm=loaded.reluctance,
        mean_torque_Nm=mean,
        ripple_peak_to_peak_fraction=float(np.ptp(torque) / abs(mean)) if mean else None,
        ripple_order=orders,
        ripple_amplitude_Nm=amplitude,
    )


def _against_current(
    motor: Motor, found: DqMap, limit: float, end_factor: float
) -> tuple[tuple[float, float], ...]:
    """Return (peak line current, mean torque), sine currents at their best angle."""
    rows = []
    star = motor.winding.connection == "star"
    for line in np.linspace(0, limit, CURRENTS):
        peak = float(line if star else line / math.sqrt(3))
        angle = found.best_current_angle(peak) if peak else 0.0
        rows.append((float(line), end_factor * float(found.torque(peak, angle))))
    return tuple(rows)
