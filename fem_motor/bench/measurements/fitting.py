"""Constants of the motor from its steady points: drag, motor constant, torque per ampere.

Power balance, whatever the duty is     V I − Q ω = Q0 ω + (Q + Q0)²/Km²
drag                                    Q0 = a + b ω
at full throttle                        (Q + Q0)/I = Kt + X I

with direct voltage V and current I at the controller. Km = Kt/√R follows from points at part
throttle alone. At full throttle the commutation of a real winding takes time, which lowers the
speed and raises the torque per ampere with the current (X): Kt itself needs points with unlike
currents, or a known resistance: Kt = Km √R. Basis: Drela, First-order DC electric motor model
(2007); X is seen in this program's six-step drive, and in any inductance.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import least_squares

from fem_motor.arrays import BoolArray, FloatArray
from fem_motor.bench.measurements.points import Estimate, Point, span_of
from fem_motor.bench.records import Stand
from fem_motor.units import ROOM_C

COPPER_PER_K = 0.00393
"""1/K at 20 °C (IEC 60028)."""
_MODEL_SHARE = 0.003
"""Of the supply power: what the balance leaves out (ripple, switching; no source)."""
_RESISTANCE_SHARE = 0.01
"""Standard uncertainty of a winding resistance that the user measured with four wires."""
COMMUTATION_SHARE = 0.15
"""By which the torque per ampere at full throttle may exceed Kt (assumed; the printed reference
design, no timing advance, shows 12 % at its load)."""
_UNLIKE_CURRENTS = 1.5
"""Ratio of currents from which a line through them is extended to zero."""
_FEWEST_FOR_LINE = 3
_FEWEST_FOR_SLOPE = 5
_CHANNELS = ("torque", "speed", "voltage", "current")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """What the points agree on; None where they cannot tell.

    Attributes
    ----------
    motor_constant : Estimate
        Km at 20 °C (as warm as it was where the log has no winding temperature), N m/√W.
    drag_at_top : Estimate
        Q0 at the highest speed, N m.
    torque_per_ampere : Estimate or None
        (Q + Q0)/I at full throttle, at the largest current there, N m/A.
    torque_constant : Estimate or None
        Kt without commutation; None where currents are alike and no resistance is known.
    resistance : Estimate or None
        Of winding and controller with Kt from unlike currents: R = (Kt/Km)², ohm.
    no_load_current : Estimate or None
        Q0/Kt at V/Kt of the highest voltage, A.
    scatter_ratio : float
        Scatter about the balance over what uncertainties explain (Birge ratio).
    """

    motor_constant: Estimate
    drag_at_top: Estimate
    torque_per_ampere: Estimate | None
    torque_constant: Estimate | None
    resistance: Estimate | None
    no_load_current: Estimate | None
    scatter_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Data:
    """The points as arrays (n,), SI."""

    torque: FloatArray
    speed: FloatArray
    voltage: FloatArray
    current: FloatArray
    warmth: FloatArray
    is_full: BoolArray
    scatter: Mapping[str, FloatArray]
    known_resistance: float | None

    @property
    def in_balance(self) -> BoolArray:
        """Points at part throttle; all where there are fewer than three of them."""
        part = ~self.is_full
        return part if part.sum() >= _FEWEST_FOR_LINE else np.ones_like(part)


def fit_constants(points: Sequence[Point], *, stand: Stand, series_resistance: float) -> Fit | None:
    """Return the fit, None where fewer than three points have torque, speed, voltage and current.

    Parameters
    ----------
    points, stand
    series_resistance : float
        Of the controller, ohm: with the winding's it makes R.
    """
    data = _data(points, stand, series_resistance)
    if data is None or len(data.speed) < _FEWEST_FOR_LINE:
        return None
    best, covariance, ratio = _balance(data)
    spans = {channel: _scaled(data, channel, span_of(channel, stand)) for channel in _CHANNELS}
    shifted = {channel: (other, _balance(other)[0]) for channel, other in spans.items()}

    def estimate(figure: Callable[[_Data, FloatArray], float | None]) -> Estimate | None:
        value = figure(data, best)
        if value is None:
            return None
        gradient = _gradient(figure, data, best)
        parts = {"scatter of the points": float(np.sqrt(gradient @ covariance @ gradient))}
        for channel, (other, others_best) in shifted.items():
            there = figure(other, others_best)
            parts[f"span of {channel}"] = 0.0 if there is None else abs(there - value)
        if figure is _torque_constant and data.known_resistance is not None:
            parts["resistance as stated"] = _RESISTANCE_SHARE / 2 * value
        if figure is _torque_per_ampere:
            parts["scatter of the current"] = _own_scatter(data) * value
        return Estimate(value=value, parts=parts)

    km, drag = estimate(_motor_constant), estimate(_drag_at_top)
    if km is None or drag is None:
        return None
    return Fit(
        motor_constant=km,
        drag_at_top=drag,
        torque_per_ampere=estimate(_torque_per_ampere),
        torque_constant=estimate(_torque_constant),
        resistance=estimate(_resistance) if data.known_resistance is None else None,
        no_load_current=estimate(_no_load_current),
        scatter_ratio=ratio,
    )


def _data(points: Sequence[Point], stand: Stand, series: float) -> _Data | None:
    rows = []
    for point in points:
        numbers = (point.torque, point.speed, point.voltage, point.current)
        if None in numbers or not point.speed or not point.current:
            continue
        scatter = [point.scatter.get(name, 0.0) for name in _CHANNELS]
        warm_C = ROOM_C if point.winding_C is None else point.winding_C
        rows.append([*numbers, warm_C, float(point.is_full_throttle(stand)), *scatter])
    if not rows:
        return None
    table = np.array(rows, dtype=np.float64).T
    known = stand.winding_resistance_20
    return _Data(
        torque=table[0],
        speed=table[1],
        voltage=table[2],
        current=table[3],
        warmth=1 + COPPER_PER_K * (table[4] - ROOM_C),
        is_full=table[5] > 0,
        scatter=dict(zip(_CHANNELS, table[6:], strict=True)),
        known_resistance=None if known is None else known + series,
    )


def _scaled(data: _Data, channel: str, share: float) -> _Data:
    """Return the data of an instrument whose span is too large by `share`."""
    if channel == "torque":
        return replace(data, torque=data.torque * (1 + share))
    if channel == "speed":
        return replace(data, speed=data.speed * (1 + share))
    if channel == "voltage":
        return replace(data, voltage=data.voltage * (1 + share))
    return replace(data, current=data.current * (1 + share))


def _balance(data: _Data) -> tuple[FloatArray, FloatArray, float]:
    """Return 1/Km², a, b with their covariance by scatter, and the Birge ratio.

    None of them is negative. With fewer than five points b is held at 0.
    """
    use = data.in_balance
    torque, speed, warmth = data.torque[use], data.speed[use], data.warmth[use]
    power = (data.voltage * data.current)[use]
    u = {name: values[use] for name, values in data.scatter.items()}
    sigma = np.sqrt(
        (data.current[use] * u["voltage"]) ** 2 + (data.voltage[use] * u["current"]) ** 2
        + (speed * u["torque"]) ** 2 + (torque * u["speed"]) ** 2 + (_MODEL_SHARE * power) ** 2
    )  # fmt: skip
    loss = power - torque * speed
    top = int(np.argmax(power))
    most = max(float(loss[top]), 1e-6 * float(power[top]), 1e-9)
    scale = np.array((most / max(float(torque[top]), 1e-6) ** 2, most / speed[top], 0.0))
    scale[2] = scale[1] / speed[top]
    count = 3 if len(loss) >= _FEWEST_FOR_SLOPE else 2

    def residuals(values: FloatArray) -> FloatArray:
        inverse, a, b = (*(values * scale[:count]), 0.0)[:3]
        drag = a + b * speed
        return np.asarray((drag * speed + inverse * warmth * (torque + drag) ** 2 - loss) / sigma)

    start = np.array((0.7, 0.2, 0.1))[:count]
    solution = least_squares(residuals, start, bounds=(0.0, np.inf), xtol=1e-14, ftol=1e-14)
    spare = len(loss) - count
    ratio = float(np.sqrt(2 * solution.cost / spare)) if spare > 0 else 1.0
    best, covariance = np.zeros(3), np.zeros((3, 3))
    best[:count] = solution.x * scale[:count]
    inner = np.linalg.pinv(solution.jac.T @ solution.jac) * max(1.0, ratio) ** 2
    covariance[:count, :count] = inner * np.outer(scale[:count], scale[:count])
    return best, covariance, ratio


def _gradient(
    figure: Callable[[_Data, FloatArray], float | None], data: _Data, best: FloatArray
) -> FloatArray:
    """Return the slope of a figure by each parameter of the balance, by a small step."""
    middle = figure(data, best) or 0.0
    steps = np.maximum(1e-6 * np.abs(best), 1e-12)
    slopes = []
    for at, step in enumerate(steps):
        moved = best.copy()
        moved[at] += step
        there = figure(data, moved)
        slopes.append(0.0 if there is None else (there - middle) / step)
    return np.array(slopes)


def _motor_constant(_: _Data, best: FloatArray) -> float | None:
    return float(best[0] ** -0.5) if best[0] > 0 else None


def _drag_at_top(data: _Data, best: FloatArray) -> float:
    return float(best[1] + best[2] * data.speed.max())


def _per_ampere(data: _Data, best: FloatArray) -> FloatArray:
    """Return (Q + Q0)/I at full throttle, one for each such point."""
    full = data.is_full
    drag = best[1] + best[2] * data.speed[full]
    return np.asarray((data.torque[full] + drag) / data.current[full])


def _torque_per_ampere(data: _Data, best: FloatArray) -> float | None:
    if not data.is_full.any():
        return None
    return float(_per_ampere(data, best)[int(np.argmax(data.current[data.is_full]))])


def _own_scatter(data: _Data) -> float:
    """Return the relative scatter of torque and current at full throttle."""
    at = int(np.argmax(np.where(data.is_full, data.current, -1.0)))
    shares = [data.scatter[name][at] / getattr(data, name)[at] for name in ("torque", "current")]
    return float(np.hypot(*shares))


def _torque_constant(data: _Data, best: FloatArray) -> float | None:
    """Return Kt = Km √R where R is known, else by unlike currents extended to none, else None."""
    if data.known_resistance is not None:
        km = _motor_constant(data, best)
        return None if km is None else float(km * data.known_resistance**0.5)
    current = data.current[data.is_full]
    if len(current) < _FEWEST_FOR_LINE or current.max() < _UNLIKE_CURRENTS * current.min():
        return None
    return float(np.polyfit(current, _per_ampere(data, best), 1)[1])


def _resistance(data: _Data, best: FloatArray) -> float | None:
    kt, km = _torque_constant(data, best), _motor_constant(data, best)
    return None if kt is None or km is None else (kt / km) ** 2


def _no_load_current(data: _Data, best: FloatArray) -> float | None:
    kt = _torque_constant(data, best) or _torque_per_ampere(data, best)
    if kt is None:
        return None
    return float((best[1] + best[2] * data.voltage.max() / kt) / kt)
