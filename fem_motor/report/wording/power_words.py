"""Words for what a motor does at any throttle and number of turns: tables for page and PDF."""

from fem_motor.numbers import digits, quantity
from fem_motor.performance import PerformanceSheet

Table = tuple[tuple[str, ...], ...]

_FOR_GOOD = "for good"
_LIMIT = (
    "The limit of a plastic part is a margin below where it softens, so it comes before the "
    "softening of the core."
)


def throttle_table(sheet: PerformanceSheet) -> Table:
    """Return the load at a few throttles, the heading first; empty without a load."""
    if sheet.throttles is None or not sheet.throttles.rows:
        return ()
    rows: list[tuple[str, ...]] = [
        ("throttle", "speed", "shaft power", "supply", "efficiency", "current density",
         "can be held")
    ]  # fmt: skip
    for row in sheet.throttles.rows:
        name = f"{100 * row.throttle:.0f} %"
        if row.speed_rpm is None or row.efficiency is None:
            rows.append((name, "does not start", "", "", "", "", ""))
            continue
        held = _FOR_GOOD
        if row.seconds_to_limit is not None:
            held = f"{quantity(row.seconds_to_limit, 's', count=2)}, then {row.part}"
        density = row.current_density_A_per_mm2
        rows.append(
            (
                name,
                quantity(row.speed_rpm, "rpm", count=3),
                quantity(row.shaft_power_W, "W", count=3),
                quantity(row.supply_current_A, "A", count=3),
                f"{100 * row.efficiency:.0f} %",
                "" if density is None else f"{digits(density, 3)} A/mm²",
                held,
            )
        )
    return tuple(rows)


def throttle_note(sheet: PerformanceSheet) -> str:
    """Return what stands below the throttles: the density for good, and what a limit is."""
    rows = () if sheet.throttles is None else sheet.throttles.rows
    if all(row.seconds_to_limit is None for row in rows):
        return density_sentence(sheet)
    return f"{density_sentence(sheet)} {_LIMIT}".strip()


def turns_table(sheet: PerformanceSheet) -> Table:
    """Return power and current by turns, the heading first; empty without a load."""
    found = sheet.winding_to_load
    if found is None or not found.rows:
        return ()
    rows: list[tuple[str, ...]] = [
        ("turns", "wire", "Kv", "line to line", "full throttle", "supply", "for good", "soft after",
         "ended by")
    ]  # fmt: skip
    for row in found.rows:
        marks = [
            word
            for word, other in (("design", found.designed), ("best", found.best))
            if row is other
        ]
        name = f"{row.turns} ({', '.join(marks)})" if marks else str(row.turns)
        soft = row.seconds_to_soften_core
        rows.append(
            (
                name,
                row.wire,
                quantity(row.speed_constant_rpm_per_V, "rpm/V", count=3),
                quantity(row.resistance_line_line_ohm, "ohm", count=3),
                quantity(row.load_shaft_power_W, "W", count=3),
                quantity(row.load_supply_current_A, "A", count=3),
                quantity(row.continuous_shaft_power_W, "W", count=3),
                "never" if soft is None else quantity(soft, "s", count=2),
                row.limit,
            )
        )
    return tuple(rows)


_ENDED_BY = {
    "supply": "the supply's voltage at these turns",
    "current limit": "the controller's current limit",
    "controller speed": "the controller's speed limit",
}
_MUCH_MORE = 1.1
"""Times what the design holds, from which other turns are named with what limits it."""


def limits(sheet: PerformanceSheet) -> tuple[str, ...]:
    """Return what ends the power, where there is a load, and where the magnets' drive is spent."""
    return tuple(filter(None, (_power_limit(sheet), sheet.limiter.sentence)))


def _power_limit(sheet: PerformanceSheet) -> str:
    """Return a sentence or two about what ends the power with this load; nothing without one."""
    found = sheet.winding_to_load
    if found is None or found.designed is None:
        return ""
    designed, best = found.designed, found.best
    full, held = (
        quantity(power, "W", count=3) for power in (designed.load_shaft_power_W, designed.lasting)
    )
    if designed.limit == "start":
        return "With this supply the motor does not turn its load."
    if designed.limit not in _ENDED_BY:
        return (
            f"Heat ends the power with this load: of {full} at full throttle it holds {held} for "
            f"good; first too warm: {designed.limit}."
        )
    told = (
        f"{_ENDED_BY[designed.limit].capitalize()} ends the power with this load, at {full}, "
        "before any part gets too warm."
    )
    if best is None or best.turns == designed.turns or best.lasting < _MUCH_MORE * designed.lasting:
        return told
    more = quantity(best.lasting, "W", count=3)
    return f"{told} {best.turns} turns on a tooth instead of {designed.turns} hold {more} for good."


def density_sentence(sheet: PerformanceSheet) -> str:
    """Return what the copper carries for good, which part sets it and where that changes."""
    if sheet.throttles is None or sheet.throttles.density.lasting_A_per_mm2 is None:
        return ""
    density = sheet.throttles.density
    spread = _between(density.lasting_low_A_per_mm2, density.lasting_high_A_per_mm2)
    parts = " or ".join((density.lasting_part or "", *density.other_parts))
    lasting = density.lasting_A_per_mm2 or 0.0
    copper = density.phase_copper_mm2
    words = (
        f"At the speed of the load the copper carries {digits(lasting, 2)} A/mm² (RMS) for "
        f"good{spread}, {quantity(lasting * copper, 'A', count=2)} in each phase; first at the "
        f"limit: {parts}."
    )
    for change in density.changes:
        current = quantity(change.density_A_per_mm2 * copper, "A", count=2)
        words += (
            f" Above {digits(change.density_A_per_mm2, 2)} A/mm² or {current}"
            f"{_between(change.low_A_per_mm2, change.high_A_per_mm2)} it is {change.above} instead "
            f"of {change.below}."
        )
    return words


def _between(low: float | None, high: float | None) -> str:
    """Return a range of current densities in brackets, empty where no end is known."""
    ends = [
        f"{word} {digits(end, 2)}"
        for word, end in (("from", low), ("up to", high))
        if end is not None
    ]
    return f" ({' '.join(ends)} with other films and contacts)" if ends else ""


def equal_copper(sheet: PerformanceSheet) -> str:
    """Return why turns do not make a motor stronger."""
    return "" if sheet.winding_to_load is None else sheet.winding_to_load.explanation
