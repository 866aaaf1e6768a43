"""Speed, thrust and torque of a log against the design: counters, units, spans."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from fem_motor.bench.measurements.points import Point, load_density
from fem_motor.bench.records import BenchLog
from fem_motor.design import Motor
from fem_motor.findings import Finding
from fem_motor.units import GRAVITY
from fem_motor.winding import wind

_NEAR = 0.15
"""By which a speed may differ from that of a ratio of small integers, or a factor from a unit's."""
_WELL_OFF = 1.25
"""Factor that no doubt of a design explains in a speed."""
_SPAN_OFF = 1.6
"""Factor that no propeller table explains in a thrust or torque (published ones scatter by tens
of per cent between makes)."""
_COMMUTATION_DROP, _COMMUTATION_TORQUE = 1.3, 1.15
"""By which six-step commutation may raise the drop and the torque per ampere at heavy current,
which slows the motor: computed for windings of large inductance by `fem_motor.drive`."""
_LEAST_INNER = 0.3
"""Of the voltage: a motor that lost more to its resistance would be near standstill."""
_USUAL_PAIRS = 7
"""Pole pairs that many loggers are set for when new (12 slots, 14 poles; common practice)."""
_UNIT_FACTORS = (
    (GRAVITY, "kgf read as N, or N cm as kgf cm"),
    (1 / GRAVITY, "N read as kgf"),
    (1e-3 * GRAVITY, "N read as gf"),
    (101.97, "gf read as N"),
    (10.0, "N cm and mN m, or a decimal point, confused"),
    (0.1, "N cm and mN m, or a decimal point, confused"),
    (100.0, "N m and N cm confused"),
    (0.01, "N m and N cm confused"),
    (1000.0, "m (milli) forgotten"),
    (0.001, "m (milli) put where none is"),
    (2.2046, "lb and kg confused"),
    (1 / 2.2046, "lb and kg confused"),
)


def speed_findings(
    log: BenchLog, points: Sequence[Point], *, motor: Motor, speed_constant: float | None
) -> Iterator[Finding]:
    """Yield whether the speed is that of another number of marks or poles, or the motor another.

    At full throttle ω = Kv (V − I R), less where commutation is slow; below it less.
    `speed_constant` is Kv of the design, rad/s per V, R that of winding and controller at 20 °C.
    """
    turning = [point for point in points if point.speed and point.voltage]
    full = [point for point in turning if point.is_full_throttle(log.stand)]
    if speed_constant is None or not turning or log.stand.test in {"direct current", "driven"}:
        return
    fastest = max(full or turning, key=lambda point: point.speed or 0.0)
    voltage = fastest.voltage or 0.0
    resistance = wind(motor).resistance_line_line + motor.drive.controller_resistance
    # Where throttle or current is not known, the whole voltage is the most there may have been.
    is_told = bool(full) and fastest.current is not None
    drop = resistance * (fastest.current or 0.0) if is_told else 0.0
    inner = max(voltage - drop, _LEAST_INNER * voltage)
    slow = max(voltage - _COMMUTATION_DROP * drop, _LEAST_INNER * voltage) / _COMMUTATION_TORQUE
    least = slow / inner / _WELL_OFF
    ratio = (fastest.speed or 0.0) / (speed_constant * inner)
    name = f"speed over that of the design at this voltage{' and current' * is_told}"
    if ratio < _WELL_OFF and (ratio > least or not is_told):
        why = "no other number of poles, marks or turns is needed to explain it."
        limit = _WELL_OFF if ratio > 1 else least
        yield Finding(name=name, status="ok", value=ratio, limit=limit, why=why)
        return
    count, why = _nearest_count(ratio, motor.rotor.pole_pairs)
    is_right = _fits_the_load(log, points, motor)
    limit = _WELL_OFF if ratio > 1 else least
    if is_right or count is None:
        why = "thrust and torque fit the propeller at this speed: the counter is right." * is_right
        yield Finding(
            name=name, status="watch", value=ratio, limit=limit,
            why=why or "no small number of poles or marks explains it.",
            do="look for another number of turns, star for delta (1.73), weak magnets, or a "
            "controller that does not open fully.",
        )  # fmt: skip
        return
    do = f"say scale = {1 / count:.6g} for columns.speed in the column map, if that is so."
    yield Finding(name=name, status="stop", value=ratio, limit=limit, why=why, do=do)


def _fits_the_load(log: BenchLog, points: Sequence[Point], motor: Motor) -> bool:
    """Return whether thrust or torque is that of the design's load at the speeds logged."""
    if motor.load is None or log.stand.test != "load":
        return False
    ratios = [_over_the_load(log, points, motor, name) for name in ("thrust", "torque")]
    known = [ratio for ratio in ratios if ratio is not None]
    return bool(known) and all(1 / _SPAN_OFF < ratio < _SPAN_OFF for ratio in known)


def _nearest_count(ratio: float, pole_pairs: int) -> tuple[float | None, str]:
    """Return the factor by which a counter counts amiss, and the words for it."""
    candidates = {
        float(pole_pairs): f"the counter counts electrical turns, {pole_pairs} in a turn",
        2.0 * pole_pairs: f"the counter counts poles, {2 * pole_pairs} in a turn",
        2.0: "the counter sees two marks or blades in a turn",
        3.0: "the counter sees three marks or blades in a turn",
        4.0: "the counter sees four marks or blades in a turn",
        1 / 2: "the counter is set for two marks in a turn and sees one",
        1 / 3: "the counter is set for three marks in a turn and sees one",
        1 / pole_pairs: "electrical turns were divided by the pole pairs twice",
        pole_pairs / _USUAL_PAIRS: f"the counter is set for {2 * _USUAL_PAIRS} poles, the motor "
        f"has {2 * pole_pairs}",
    }
    nearest = min(candidates, key=lambda factor: abs(math.log(ratio / factor)))
    if abs(math.log(ratio / nearest)) > _NEAR or abs(math.log(nearest)) < 2 * _NEAR:
        return None, ""
    return nearest, f"{candidates[nearest]} (factor {nearest:.4g})."


def span_findings(log: BenchLog, points: Sequence[Point], *, motor: Motor) -> Iterator[Finding]:
    """Yield findings where thrust or torque is far from the design's propeller at that speed."""
    if motor.load is None or log.stand.test != "load":
        return
    ratios = {
        name: ratio
        for name in ("thrust", "torque")
        if (ratio := _over_the_load(log, points, motor, name)) is not None
    }
    if len(ratios) == 2:  # noqa: PLR2004  (both)
        thrust, torque = ratios["thrust"], ratios["torque"]
        is_off = not 1 / _SPAN_OFF < thrust < _SPAN_OFF
        # Both go with the square of the speed: off together, it is the speed.
        if is_off and abs(math.log(thrust / torque)) < _NEAR:
            speed = (thrust * torque) ** -0.25
            count, why = _nearest_count(speed, motor.rotor.pole_pairs)
            if count:
                yield _speed_by_propeller(speed, count, why)
                return
    for name, ratio in ratios.items():
        yield _span_finding(name, ratio)


def _over_the_load(log: BenchLog, points: Sequence[Point], motor: Motor, name: str) -> float | None:
    """Return the middle ratio of a channel to the design's load at the speeds of the points."""
    density = load_density(log, motor).value
    ratios = []
    for point in points:
        value, speed = getattr(point, name), point.speed
        expected = getattr(motor.load, name)(speed, density) if speed else None
        if value and expected and value > 0:
            ratios.append(value / expected)
    return float(np.median(ratios)) if ratios else None


def _speed_by_propeller(speed: float, count: float, why: str) -> Finding:
    return Finding(
        name="speed over that at which the design's propeller pushes and turns so hard",
        status="stop",
        value=speed,
        limit=math.sqrt(_SPAN_OFF) if speed > 1 else 1 / math.sqrt(_SPAN_OFF),
        why=f"thrust and torque are off by the same factor; {why}",
        do=f"say scale = {1 / count:.6g} for columns.speed in the column map, if that is so.",
    )


def _span_finding(name: str, ratio: float) -> Finding:
    said = f"{name} over that of the design's propeller at the same speed"
    if 1 / _SPAN_OFF < ratio < _SPAN_OFF:
        why = "within what propellers of one size differ."
        end = _SPAN_OFF if ratio > 1 else 1 / _SPAN_OFF
        return Finding(name=said, status="ok", value=ratio, limit=end, why=why)
    factor, words = min(_UNIT_FACTORS, key=lambda entry: abs(math.log(ratio / entry[0])))
    is_unit = abs(math.log(ratio / factor)) < _NEAR
    return Finding(
        name=said,
        status="stop" if is_unit else "watch",
        value=ratio,
        limit=_SPAN_OFF if ratio > 1 else 1 / _SPAN_OFF,
        why=f"a factor of {factor:.4g} is near: {words}."
        if is_unit
        else "propellers of one size differ by less; a speed that is wrong by k shows as k².",
        do="hang a known weight on the cell, check its arm and its unit."
        if is_unit
        else "check the propeller's size and coefficients in [load], the span of the cell with "
        "a known weight, and the speed.",
    )
