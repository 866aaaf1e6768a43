"""What a whole log measured: points, and the constants that they agree on."""

import math
from collections.abc import Mapping, Sequence

from fem_motor.bench.measurements.fitting import COMMUTATION_SHARE, COPPER_PER_K, Fit, fit_constants
from fem_motor.bench.measurements.points import (
    COVERAGE,
    Estimate,
    Point,
    load_density,
    measured_point,
    points_of,
    product,
    span_of,
)
from fem_motor.bench.measurements.transients import spin_down, thermal_time_constant
from fem_motor.bench.records import BenchLog, Measured, Segment
from fem_motor.design import Motor
from fem_motor.findings import Finding, Headline
from fem_motor.numbers import split_name
from fem_motor.units import ROOM_C, RPM
from fem_motor.winding import wind

_USELESS = 0.5
"""Relative standard uncertainty from which on a figure is not told."""
_SINE_SIX_STEP = 3 / math.pi
"""Mean of a sine line voltage over the sixty degrees around its peak, over the peak."""
_ODD_SCATTER = 3.0
_RESISTANCE_DOUBT = 0.2
"""Of the design's resistance, standard: hand winding and leads (assumed)."""


def measured(
    log: BenchLog, segments: Sequence[Segment], *, motor: Motor, doubts: Sequence[Finding] = ()
) -> Measured:
    """Return the figures of each steady segment and of the whole log, with uncertainty.

    No figure stands without range; what the log cannot tell is None, with a finding.

    Parameters
    ----------
    log, segments, motor
    doubts : sequence of Finding
        Of the audit: where one says stop, the points are given as they are and nothing is fitted.

    Examples
    --------
    >>> from fem_motor.bench import read_log, steady_segments
    >>> from fem_motor.design import load_design
    >>> log = read_log("geometries/printed_18s16p_bench.csv")
    >>> motor = load_design("geometries/printed_18s16p.toml").motor
    >>> found = measured(log, steady_segments(log), motor=motor)
    >>> found.values["power_coefficient"].low < 0.048 < found.values["power_coefficient"].high
    True
    """
    points = points_of(log, segments)
    density = load_density(log, motor)
    diameter: float | None = getattr(motor.load, "diameter", None)  # only a propeller has one
    rows = tuple(
        measured_point(point, stand=log.stand, density=density, diameter=diameter)
        for point in points
    )
    if any(doubt.status == "stop" for doubt in doubts):
        return Measured(points=rows, values={}, findings=(_stopped(doubts),))
    values: dict[str, Headline] = {}
    findings: list[Finding] = []
    for name in ("thrust_coefficient", "power_coefficient"):
        heads = [row.values[name] for row in rows if name in row.values]
        if heads:
            values[name] = _over_the_range(heads)
    if log.stand.test == "direct current":
        values |= _resistances(log, points)
    elif log.stand.test == "driven":
        values |= _driven(log, points)
    elif log.stand.test == "no load":
        values |= _no_load(log, points, motor)
    else:
        found, doubts = _constants(log, points, motor)
        values |= found
        findings += doubts
    values |= _coasting(log, segments, findings)
    constant = thermal_time_constant(log, segments)
    values |= {} if constant is None else {"thermal_time_constant_s": constant.headline()}
    return Measured(points=rows, values=values, findings=tuple(findings))


def _stopped(doubts: Sequence[Finding]) -> Finding:
    stops = [doubt.name for doubt in doubts if doubt.status == "stop"]
    return Finding(
        name="reasons not to fit anything to this log",
        status="stop",
        value=float(len(stops)),
        limit=0.0,
        why="; ".join(stops) + ".",
        do="mend them in the column map or on the stand, and read the log again.",
    )


def _over_the_range(heads: Sequence[Headline]) -> Headline:
    """Return the mean of a figure over the points, its range that of all points' ranges."""
    numbers = [head.value for head in heads if head.value is not None]
    lows = [head.low for head in heads if head.low is not None]
    highs = [head.high for head in heads if head.high is not None]
    return Headline(
        value=sum(numbers) / len(numbers),
        low=min(lows),
        high=max(highs),
        because=f"measured; mean of {len(numbers)} points, the range holds those of all points",
    )


def _constants(
    log: BenchLog, points: Sequence[Point], motor: Motor
) -> tuple[dict[str, Headline], list[Finding]]:
    """Return the constants of the first-order model, and what cannot be told."""
    series = motor.drive.controller_resistance
    fit = fit_constants(points, stand=log.stand, series_resistance=series)
    if fit is None:
        return {}, [_too_few(log, points)]
    findings = _scatter_finding(fit)
    found: dict[str, Estimate | None] = {
        "motor_constant_Nm_per_sqrtW": fit.motor_constant,
        "no_load_torque_Nm": fit.drag_at_top,
        "no_load_current_A": fit.no_load_current,
        "torque_per_ampere_full_throttle_Nm_per_A": fit.torque_per_ampere,
        "torque_constant_Nm_per_A": fit.torque_constant,
        "resistance_ohm": fit.resistance,
    }
    if fit.torque_constant is not None:
        found["speed_constant_rpm_per_V"] = _inverse(fit.torque_constant, scale=RPM)
    heads: dict[str, Headline] = {}
    for name, estimate in found.items():
        if estimate is None:
            continue
        if estimate.uncertainty > _USELESS * abs(estimate.value):
            heads[name] = Headline(value=None, low=None, high=None, because="not told by this log")
            findings.append(_not_told(name, estimate))
        else:
            heads[name] = estimate.headline()
    if fit.torque_constant is None and fit.torque_per_ampere is not None:
        heads |= _with_commutation(fit.torque_per_ampere)
    if fit.torque_per_ampere is None and fit.torque_constant is None:
        findings.append(_not_parted())
    return heads, findings


def _with_commutation(per_ampere: Estimate) -> dict[str, Headline]:
    """Return Kt and Kv whose ranges reach as far as commutation may have moved the point."""
    kt, width = per_ampere.value, COVERAGE * per_ampere.uncertainty
    low, high = kt / (1 + COMMUTATION_SHARE) - width, kt + width
    because = (
        "measured at full throttle at one current, where commutation may add "
        f"{100 * COMMUTATION_SHARE:.0f} % to the torque per ampere (assumed); a four-wire "
        "resistance in the column map narrows it"
    )
    middle = (low + high) / 2
    return {
        "torque_constant_Nm_per_A": Headline(value=middle, low=low, high=high, because=because),
        "speed_constant_rpm_per_V": Headline(
            value=1 / middle / RPM, low=1 / high / RPM, high=1 / low / RPM, because=because
        ),
    }


def _inverse(estimate: Estimate, *, scale: float) -> Estimate:
    value = 1 / estimate.value / scale
    share = value / abs(estimate.value)
    return Estimate(
        value=value, parts={name: part * share for name, part in estimate.parts.items()}
    )


def _too_few(log: BenchLog, points: Sequence[Point]) -> Finding:
    needed = {"speed", "voltage", "current"} | ({"torque"} if log.stand.test == "load" else set())
    missing = sorted(name for name in needed if name not in log.channels)
    if missing:
        why = f"the log has no {', '.join(missing)}: Kt, resistance and drag stay unknown."
        do = "log it, or name its column in a column map."
    else:
        why = f"{len(points)} steady segments are too few for Kt, resistance and drag."
        do = "hold five throttle steps of fifteen seconds, the last at full throttle."
    return Finding(
        name="steady segments for the motor's constants", status="watch",
        value=None if missing else float(len(points)), limit=None if missing else 5.0,
        why=why, do=do,
    )  # fmt: skip


def _not_parted() -> Finding:
    return Finding(
        name="points at full throttle",
        status="watch",
        value=0.0,
        limit=1.0,
        why="at part throttle the direct current is not that of the motor, so Kv, Kt and "
        "resistance cannot be told apart; the motor constant can.",
        do="give winding_resistance_20C_ohm in [stand] of the column map (four wires), or hold "
        "full throttle for fifteen seconds and log the throttle; where every step was at full "
        "throttle, say full_throttle = true there.",
    )


def _scatter_finding(fit: Fit) -> list[Finding]:
    if fit.scatter_ratio <= _ODD_SCATTER:
        return []
    return [
        Finding(
            name="scatter of the points about the power balance, in their uncertainties",
            status="watch",
            value=fit.scatter_ratio,
            limit=_ODD_SCATTER,
            why="a resistance and a steady drag do not explain them; ranges are widened by it.",
            do="look at the findings of the audit, and whether all points are of one motor as "
            "warm.",
        )
    ]


def _not_told(name: str, estimate: Estimate) -> Finding:
    return Finding(
        name=f"{split_name(name)[0]}, standard uncertainty over value",
        status="watch",
        value=estimate.uncertainty / abs(estimate.value) if estimate.value else None,
        limit=_USELESS,
        why="the points do not tell it apart from the other constants.",
        do="spread the throttle steps more widely, end at full throttle, and measure the "
        "winding's resistance with four wires (winding_resistance_20C_ohm in [stand]).",
    )


def _resistances(log: BenchLog, points: Sequence[Point]) -> dict[str, Headline]:
    """Return V/I of a test with direct current, also at 20 °C where the log has the winding's."""
    found: dict[str, Headline] = {}
    for point in points:
        if not point.voltage or not point.current or "resistance_ohm" in found:
            continue
        parts = {
            name: math.hypot(point.scatter[name] / value, span_of(name, log.stand))
            for name, value in (("voltage", point.voltage), ("current", point.current))
        }
        value = point.voltage / point.current
        warm = Estimate(value=value, parts={name: value * part for name, part in parts.items()})
        found["resistance_ohm"] = warm.headline()
        if point.winding_C is not None:
            warmth = 1 + COPPER_PER_K * (point.winding_C - ROOM_C)
            found["winding_resistance_20C_ohm"] = warm.headline(scale=warmth)
    return found


def _driven(log: BenchLog, points: Sequence[Point]) -> dict[str, Headline]:
    """Return Kv from speeds and RMS line voltages of a motor turned from outside."""
    pairs = [
        (point.speed, reading.mean)
        for point in points
        if point.speed and (reading := point.segment.readings.get("line_voltage_rms"))
    ]
    if not pairs:
        return {}
    # Least squares through the origin: V = ω/Kv.
    value = sum(speed * speed for speed, _ in pairs) / sum(speed * volt for speed, volt in pairs)
    scatter = max(abs(speed / volt / value - 1) for speed, volt in pairs)
    parts = {
        "span of voltage": span_of("line_voltage_rms", log.stand) * value,
        "span of speed": span_of("speed", log.stand) * value,
        "scatter of the points": scatter * value / math.sqrt(len(pairs)),
    }
    rms = Estimate(value=value, parts=parts)
    # Sine: RMS = peak/√2, and six-step drive meets 3/π of the peak.
    six_step = math.sqrt(0.5) / _SINE_SIX_STEP
    return {
        "speed_constant_line_line_rms_rpm_per_V": rms.headline(scale=RPM),
        "speed_constant_rpm_per_V": rms.headline(scale=RPM / six_step),
    }


def _no_load(log: BenchLog, points: Sequence[Point], motor: Motor) -> dict[str, Headline]:
    """Return Kv, no-load current and drag of the fastest point at full throttle without load.

    Kt = (V − I R)/ω with R of the design, of which a fifth is doubted; drag Q0 = Kt I.
    """
    full = [one for one in points if one.speed and one.voltage and one.is_full_throttle(log.stand)]
    if not full:
        return {}
    fastest = max(full, key=lambda one: one.speed or 0.0)
    speed, voltage, current = fastest.speed or 1.0, fastest.voltage or 0.0, fastest.current or 0.0
    resistance = wind(motor).resistance_line_line + motor.drive.controller_resistance
    kt = (voltage - current * resistance) / speed
    parts = {
        "span of voltage": span_of("voltage", log.stand) * voltage / speed,
        "span of speed": span_of("speed", log.stand) * kt,
        "resistance of the design": _RESISTANCE_DOUBT * resistance * current / speed,
    }
    constant = Estimate(value=kt, parts=parts)
    shares = {
        "scatter": fastest.scatter.get("current", 0.0),
        "span of current": span_of("current", log.stand) * current,
    }
    idle = Estimate(value=current, parts=shares)
    drag = product(
        {
            "torque constant": (kt, constant.uncertainty, 1),
            "current": (current, idle.uncertainty, 1),
        }
    )
    return {
        "torque_constant_Nm_per_A": constant.headline(),
        "speed_constant_rpm_per_V": _inverse(constant, scale=RPM).headline(),
        "no_load_current_A": idle.headline(),
        "no_load_torque_Nm": drag.headline(),
    }


def _coasting(
    log: BenchLog, segments: Sequence[Segment], findings: list[Finding]
) -> Mapping[str, Headline]:
    """Return a, b, c of the spin-down where the inertia is known; else a finding says so."""
    if log.stand.inertia is None:
        if any(segment.kind == "coast-down" for segment in segments):
            findings.append(
                Finding(
                    name="coast-down without inertia",
                    status="ok",
                    why="the log shows one; with the inertia of all that turns it tells friction.",
                    do="measure the inertia (a bifilar swing, or a ring of known weight) and give "
                    "inertia_kg_m2 in [stand] of the column map.",
                )
            )
        return {}
    found = spin_down(log, segments, inertia=log.stand.inertia)
    if found is None:
        return {}
    names = ("spin_down_a_Nm", "spin_down_b_Nm_s", "spin_down_c_Nm_s2")
    return {name: estimate.headline() for name, estimate in zip(names, found, strict=True)}
