"""Constants of the motor from its steady points: the first-order model, drag included.

At full throttle                  V = R I + Kt ω,   Q + Q0 = Kt I
at any throttle (power balance)   V I = Q ω + Q0 ω + R ((Q + Q0)/Kt)²
drag                              Q0 = a + b ω

with direct voltage V and current I at the controller, R in their way, Kt = 1/Kv as six-step drive
sees both. The balance holds whatever the duty is, so that points at part throttle tell R/Kt² and
the drag, and one point at full throttle parts R from Kt. Source: Drela, First-order DC electric
motor model (2007).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from scipy.optimize import least_squares

from fem_motor.arrays import FloatArray
from fem_motor.bench.points import Estimate, Point, span_of
from fem_motor.bench.records import Stand

COPPER_PER_K = 0.00393
"""1/K at 20 °C (IEC 60028)."""
_MODEL_SHARE = 0.005
"""Of the supply power: what the first-order model leaves out (ripple, commutation; no source)."""
_RESISTANCE_SHARE = 0.01
"""Standard uncertainty of a winding resistance that the user measured with four wires."""
_FEWEST_SPARE = 1
"""Equations more than unknowns, at least."""
_TINY_DRAG = 1e-9
PARAMETERS = ("torque_constant", "winding_resistance", "drag_a", "drag_b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """The first-order model that fits the points best.

    Attributes
    ----------
    torque_constant, winding_resistance, drag_a, drag_b : Estimate
        N m/A, ohm between two leads at 20 °C (as warm as it was where the log has no winding
        temperature), N m, N m s. Drag b is 0 without uncertainty where there are too few points.
    motor_constant : Estimate
        Kt/√R, controller included in R, N m/√W.
    drag_at_top : Estimate
        a + b ω at the highest speed measured, N m.
    no_load_current : Estimate
        (a + b ω)/Kt at ω = V/Kt of the highest voltage measured, A.
    temperature_C : float or None
        Mean of the winding over the points.
    is_parted : bool
        False where no point was at full throttle: only the motor constant and drag are known.
    scatter_ratio : float
        Scatter about the model over what uncertainties explain (Birge ratio).
    points : int
    """

    torque_constant: Estimate
    winding_resistance: Estimate
    drag_a: Estimate
    drag_b: Estimate
    motor_constant: Estimate
    drag_at_top: Estimate
    no_load_current: Estimate
    temperature_C: float | None
    is_parted: bool
    scatter_ratio: float
    points: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Data:
    """The points as arrays (n,), SI, with the standard uncertainties of their equations."""

    speed: FloatArray
    torque: FloatArray
    voltage: FloatArray
    current: FloatArray
    warmth: FloatArray
    is_full: FloatArray
    scatter: Mapping[str, FloatArray]
    is_parted: bool
    series_resistance: float
    known_resistance: float | None


def fit_constants(points: Sequence[Point], *, stand: Stand, series_resistance: float) -> Fit | None:
    """Return the fit, None where the points are too few or lack speed, voltage or current.

    Parameters
    ----------
    points
        Torque is taken as 0 where the test was without load; else it must have been logged.
    stand
    series_resistance : float
        Of the controller, ohm.
    """
    data = _data(points, stand, series_resistance)
    if data is None:
        return None
    equations = int(np.sum(1 + data.is_full)) + (data.known_resistance is not None)
    free = 4 if equations >= 4 + _FEWEST_SPARE else 3
    if equations < free + (0 if data.is_parted else -1):
        return None
    start = _start(data, free)
    best, covariance, ratio = _solved(data, start)
    shifts = {
        channel: _solved(_scaled(data, channel, span_of(channel, stand)), best)[0] - best
        for channel in ("torque", "speed", "voltage", "current")
    }
    return _fit(data, best, covariance, shifts, ratio)


def _data(points: Sequence[Point], stand: Stand, series: float) -> _Data | None:
    is_unloaded = stand.test == "no load"
    rows = []
    for point in points:
        torque = 0.0 if is_unloaded else point.torque
        numbers = (point.speed, torque, point.voltage, point.current)
        if None in numbers or not point.speed or not point.current:
            continue
        full = float(point.is_full_throttle(stand))
        warmth = 20.0 if point.winding_C is None else point.winding_C
        scatter = [
            point.scatter.get(name, 0.0) for name in ("speed", "torque", "voltage", "current")
        ]
        rows.append([*numbers, warmth, full, *scatter])
    if not rows:
        return None
    table = np.array(rows, dtype=np.float64).T
    has_warmth = all(point.winding_C is not None for point in points)
    return _Data(
        speed=table[0],
        torque=table[1],
        voltage=table[2],
        current=table[3],
        warmth=1 + COPPER_PER_K * (table[4] - 20) if has_warmth else np.ones(len(rows)),
        is_full=table[5],
        scatter=dict(zip(("speed", "torque", "voltage", "current"), table[6:], strict=True)),
        is_parted=bool(table[5].any()) or stand.winding_resistance_20 is not None,
        series_resistance=series,
        known_resistance=stand.winding_resistance_20,
    )


def _start(data: _Data, free: int) -> FloatArray:
    """Return a guess of Kt, R, a and b: lossless at the fastest point, a tenth of the loss drag."""
    fastest = int(np.argmax(data.speed))
    kt = 0.9 * data.voltage[fastest] / data.speed[fastest]
    if not data.is_full.any() and data.torque[fastest] > 0:
        kt = max(kt, 1.0 * data.torque[fastest] / data.current[fastest])
    loss = abs(data.voltage * data.current - data.torque * data.speed)[fastest]
    current = max(data.current[fastest], 1e-6)
    start = [kt, 0.5 * loss / current**2, 0.1 * loss / data.speed[fastest], _TINY_DRAG]
    return np.array(start[:free])


def _residuals(parameters: FloatArray, data: _Data) -> FloatArray:
    kt, winding, drag = parameters[0], parameters[1], parameters[2]
    slope = parameters[3] if len(parameters) > 3 else 0.0  # noqa: PLR2004  (the fourth)
    torque = data.torque + drag + slope * data.speed
    resistance = winding * data.warmth + data.series_resistance
    power = data.voltage * data.current
    balance = power - torque * data.speed - resistance * (torque / kt) ** 2
    volts = data.voltage - resistance * data.current - kt * data.speed
    amperes = torque - kt * data.current
    u = data.scatter
    u_power = np.sqrt(
        (data.current * u["voltage"]) ** 2 + (data.voltage * u["current"]) ** 2
        + (data.speed * u["torque"]) ** 2 + (data.torque * u["speed"]) ** 2
        + (_MODEL_SHARE * power) ** 2
    )  # fmt: skip
    u_volts = np.sqrt(
        u["voltage"] ** 2 + (resistance * u["current"]) ** 2 + (kt * u["speed"]) ** 2
        + (_MODEL_SHARE * data.voltage) ** 2
    )  # fmt: skip
    u_amperes = np.sqrt(
        u["torque"] ** 2 + (kt * u["current"]) ** 2 + (_MODEL_SHARE * kt * data.current) ** 2
    )
    full = data.is_full > 0
    parts = [(balance / u_power)[~full], (volts / u_volts)[full], (amperes / u_amperes)[full]]
    if data.known_resistance is not None:
        known = data.known_resistance
        parts.append(np.array([(winding - known) / (_RESISTANCE_SHARE * known)]))
    return np.concatenate(parts)


def _solved(data: _Data, start: FloatArray) -> tuple[FloatArray, FloatArray, float]:
    """Return parameters, their covariance by scatter, and the Birge ratio.

    Where R and Kt cannot be parted Kt is held at its start, and only R/Kt² means something.
    """
    scale = np.where(np.abs(start) > 0, np.abs(start), 1.0)
    scale[2:] = np.maximum(scale[2:], 1e-3 * float(np.max(data.torque + 1e-3)))
    if len(start) > 3:  # noqa: PLR2004  (the fourth)
        scale[3] = scale[2] / float(data.speed.max())
    free = np.ones(len(start), dtype=bool)
    free[0] = data.is_parted
    whole = start.copy()

    def residuals(values: FloatArray) -> FloatArray:
        whole[free] = values * scale[free]
        return _residuals(whole, data)

    lowest = np.zeros(int(free.sum()))
    first = np.maximum((start / scale)[free], 1e-6)
    solution = least_squares(residuals, first, bounds=(lowest, np.inf), x_scale=1.0, xtol=1e-14)
    whole[free] = solution.x * scale[free]
    spare = len(solution.fun) - int(free.sum())
    ratio = float(np.sqrt(2 * solution.cost / spare)) if spare > 0 else 1.0
    inner = np.linalg.pinv(solution.jac.T @ solution.jac)
    covariance = np.zeros((len(start), len(start)))
    covariance[np.ix_(free, free)] = inner * np.outer(scale[free], scale[free])
    return whole.copy(), covariance * max(1.0, ratio) ** 2, ratio


def _scaled(data: _Data, channel: str, share: float) -> _Data:
    """Return the data as an instrument with a span too large by `share` would have given them."""
    changed = partial(replace, data)
    values = {"torque": data.torque, "speed": data.speed, "voltage": data.voltage,
              "current": data.current}[channel]  # fmt: skip
    return changed(**{channel: values * (1 + share)})


def _fit(
    data: _Data,
    best: FloatArray,
    covariance: FloatArray,
    shifts: Mapping[str, FloatArray],
    ratio: float,
) -> Fit:
    def estimate(gradient: FloatArray, value: float) -> Estimate:
        parts = {"scatter of the points": float(np.sqrt(gradient @ covariance @ gradient))}
        parts |= {f"span of {name}": abs(float(gradient @ shift)) for name, shift in shifts.items()}
        return Estimate(value=value, parts=parts)

    unit = np.eye(max(len(best), 4))[:, : len(best)]  # d of Kt, R, a, b by what was fitted
    kt, winding, drag = (float(value) for value in best[:3])
    slope = float(best[3]) if len(best) > 3 else 0.0  # noqa: PLR2004  (the fourth)
    warmth = float(data.warmth.mean())
    hot = winding * warmth + data.series_resistance
    fastest, voltage = float(data.speed.max()), float(data.voltage.max())
    # Km = Kt/√R;  Q0 = a + b ω;  I0 = a/Kt + b V/Kt²
    to_motor_constant = unit[0] / hot**0.5 - kt / (2 * hot**1.5) * warmth * unit[1]
    to_drag = unit[2] + fastest * unit[3]
    to_current = unit[2] / kt + voltage / kt**2 * unit[3]
    to_current = to_current - (drag / kt**2 + 2 * slope * voltage / kt**3) * unit[0]
    return Fit(
        torque_constant=estimate(unit[0], kt),
        winding_resistance=estimate(unit[1], winding),
        drag_a=estimate(unit[2], drag),
        drag_b=estimate(unit[3], slope),
        motor_constant=estimate(to_motor_constant, kt / hot**0.5),
        drag_at_top=estimate(to_drag, drag + slope * fastest),
        no_load_current=estimate(to_current, drag / kt + slope * voltage / kt**2),
        temperature_C=20 + (warmth - 1) / COPPER_PER_K if np.any(data.warmth != 1) else None,
        is_parted=data.is_parted,
        scatter_ratio=ratio,
        points=len(data.speed),
    )
