"""What a sweep says in words: its ripple, and where its torque comes from."""

import math

import numpy as np

from fem_motor.charts.drawing.ripple import Ripple, ripple_of_sweep, turns_with_rotor
from fem_motor.design import MotorDesign
from fem_motor.numbers import digits, quantity
from fem_motor.quantities import RotorSweep

_MOST_ORDERS = 6
_ROUNDING = 1e-6
_SHOWN_DOWN_TO = 0.02  # of the largest amplitude


def sweep_text(sweep: RotorSweep, design: MotorDesign | None = None) -> str:
    """Return mean, ripple, orders and parts of the torque; empty where no currents turn."""
    if sweep.waveform not in {"sine", "six-step"}:
        return ""
    ripple = ripple_of_sweep(sweep, design)
    lines = [f"Torque with {currents_in_words(sweep)}:", f"  {ripple.sentence}", *_orders(ripple)]
    return "\n".join([*lines, *_parts(sweep)])


def currents_in_words(sweep: RotorSweep, current_angle_deg: float | None = None) -> str:
    """Return which currents flow that turn with the rotor."""
    words = (
        ""
        if current_angle_deg is None
        else f", current angle {digits(current_angle_deg)}° electrical"
    )
    peak = quantity(peak_of(sweep), "A")
    kind = "" if sweep.waveform == "held" else f"{sweep.waveform} "
    return f"{kind}branch currents of {peak} peak turning with the rotor{words}"


def peak_of(sweep: RotorSweep) -> float:
    """Return the peak of the branch currents, A."""
    # Of blocks one branch is at the peak at every instant.
    if sweep.waveform != "six-step" and turns_with_rotor(sweep.currents_A):
        # Of three sines of one amplitude the squares add up to 3/2 of its square at every instant.
        return math.sqrt(2 / 3 * float((sweep.currents_A[:, 0] ** 2).sum()))
    return float(np.abs(sweep.currents_A).max())


def _orders(ripple: Ripple) -> list[str]:
    if ripple.no_spectrum:
        return [f"  {ripple.no_spectrum}"]
    largest = float(ripple.amplitude_Nm.max())
    if not largest:
        return []
    places = [
        place
        for place in np.argsort(-ripple.amplitude_Nm)[:_MOST_ORDERS]
        if ripple.amplitude_Nm[place] >= _SHOWN_DOWN_TO * largest
    ]
    pole_pairs, kind = ripple.pole_pairs or 1, "electrical" if ripple.pole_pairs else "mechanical"
    words = ", ".join(
        f"{digits(ripple.order[place] / pole_pairs)}: "
        f"{quantity(float(ripple.amplitude_Nm[place]), 'N m', count=3)}"
        for place in sorted(places)
    )
    return [f"  {kind} orders and amplitudes of the ripple: {words}"]


def _parts(sweep: RotorSweep) -> list[str]:
    if sweep.parts is None:
        return []
    rows = (
        ("cogging, without current", sweep.parts.cogging_Nm),
        ("magnets, by the back-EMF", sweep.parts.magnet_Nm),
        ("reluctance and saturation", sweep.parts.reluctance_Nm),
    )
    # Below a millionth of the torque a mean is rounding.
    least = _ROUNDING * float(np.abs(sweep.torque_Nm).max())
    means = [float(part.mean()) if abs(part.mean()) > least else 0.0 for _, part in rows]
    return [
        f"  {name:<26} mean {quantity(mean, 'N m', count=3):>12}, "
        f"peak to peak {quantity(float(np.ptp(part)), 'N m', count=3):>12}"
        for (name, part), mean in zip(rows, means, strict=True)
    ]
