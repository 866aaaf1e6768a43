"""What the report says of heat: temperatures, what can be held, rests."""

import math

from fem_motor.numbers import NOT_COMPUTED, quantity, value_and_range
from fem_motor.performance import PerformanceSheet, Thermal

_ALL_OF_IT = 0.999
"""Of the power at full throttle: the rest is what its level is found to."""


def heat_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return heat at the load point and what the motor can hold, as (what, value)."""
    heat = sheet.thermal
    rows = [
        (f"{part[:1].upper()}{part[1:]} at full throttle for good", quantity(at, "°C", count=3))
        for part, at in heat.temperatures_C.items()
    ]
    answer = sheet.answers.get("seconds_to_soften_core")
    alone = _seconds_from_cold(sheet)
    soft = quantity(heat.seconds_to_soften_core, "s", count=3)
    if answer is not None and answer.value is None:
        soft, _ = value_and_range(answer, "s")
    rows += [
        ("Core softens, from cold, after", soft),
        ("Shaft power at full throttle once warm", _once_warm(heat)),
        ("Shaft power for good", quantity(heat.continuous_shaft_power_W, "W", count=3)),
        *[
            (f"Shaft power for {length} from cold", quantity(watt, "W", count=3))
            for length, watt in heat.burst_shaft_power_W.items()
        ],
        (
            "Part that comes nearest to its limit" if lasts(sheet) else "Part that gives way first",
            _first_part(heat),
        ),
        *[
            (
                f"Rest after each {row.on_s:g} s at full throttle",
                _rest(row.rest_s, row.rest_low_s, row.rest_high_s)
                if row.rest_s is not None or row.on_s <= alone
                else f"none: from cold the limit comes after {quantity(alone, 's', count=2)}",
            )
            for row in heat.duty_card
        ],
    ]
    return tuple(rows)


def _seconds_from_cold(sheet: PerformanceSheet) -> float:
    """Return the s at full throttle from cold until the first limit; infinite where there is none.

    What is longer needs no rest to be told of: it cannot be done once.
    """
    rows = () if sheet.throttles is None else sheet.throttles.rows
    full = [row.seconds_to_limit for row in rows if row.throttle == 1.0]
    return next((seconds for seconds in full if seconds is not None), math.inf)


def lasts(sheet: PerformanceSheet) -> bool:
    """Return whether the load at full throttle can be held for good: no part gets too warm."""
    held = sheet.thermal.continuous_shaft_power_W
    load = next((point for point in sheet.operating_points if point.name == "load"), None)
    if held is None or load is None or load.shaft_power_W is None:
        return False
    return held >= _ALL_OF_IT * load.shaft_power_W


def _first_part(heat: Thermal) -> str:
    """Return the part that gives way first, and those that may."""
    others = " or ".join(heat.other_limiting_parts)
    likely = heat.limiting_part or NOT_COMPUTED
    return f"{likely} (with other films and contacts {others})" if others else likely


def _rest(likely: float | None, low: float | None, high: float | None) -> str:
    """Return the rest and its range in words."""
    words = "none needed" if likely == 0 and low == high else _seconds(likely)
    return words if low == high else f"{words} ({_seconds(low)} to {_seconds(high)})"


def _seconds(rest: float | None) -> str:
    return "no rest is long enough" if rest is None else quantity(rest, "s", count=3)


def _once_warm(heat: Thermal) -> str:
    if heat.warm_shaft_power_W is None and heat.history_time_s.size:
        return "no steady state: see the checks"
    return quantity(heat.warm_shaft_power_W, "W", count=3)
