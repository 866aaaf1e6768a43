"""The verdict in plain words: can it be built, what limits it, what to change first."""

from fem_motor.numbers import quantity
from fem_motor.performance import PerformanceSheet
from fem_motor.report.wording.heat_words import lasts
from fem_motor.report.wording.words import open_checks

_UNITS = frozenset(("A", "K", "MPa", "N", "V", "W", "m", "m/s", "mm", "rpm", "s", "T", "°C"))
"""That stand behind a comma in the names of checks."""


def verdict(sheet: PerformanceSheet) -> tuple[str, ...]:
    """Return three or four sentences, the most important first; all from the sheet's own figures.

    What can be built is what a check would stop; whether it survives is what heat says.
    """
    return (_building(sheet), *_load(sheet), *_advice(sheet))


def _building(sheet: PerformanceSheet) -> str:
    left = open_checks(sheet)
    stops = [in_a_sentence(finding.name) for finding in left if finding.status == "stop"]
    watch = len(left) - len(stops)
    more = (
        f" {watch} more {'point needs' if watch == 1 else 'points need'} an eye." if watch else ""
    )
    if stops:
        names = joined(tuple(dict.fromkeys(stops)))
        return f"Do not build or run it like this. To be put right first: {names}.{more}"
    return f"Nothing was found that stops this motor from being built and run.{more}"


def _load(sheet: PerformanceSheet) -> list[str]:
    heat = sheet.thermal
    load = next((point for point in sheet.operating_points if point.name == "load"), None)
    if load is None or load.shaft_power_W is None:
        return []
    power, speed = (
        quantity(load.shaft_power_W, "W", count=3),
        quantity(load.speed_rpm, "rpm", count=3),
    )
    sentences = [f"At full throttle: {power} at the shaft, {speed} (computed, cold at 20 °C)."]
    held, soft = heat.continuous_shaft_power_W, heat.seconds_to_soften_core
    if held is not None:
        sentences.append(_for_good(held, heat.limiting_part, all_of_it=lasts(sheet)))
    if soft is not None:
        sentences.append(f"From cold, the core softens after {quantity(soft, 's', count=2)}.")
    return sentences


def _for_good(held: float, part: str | None, *, all_of_it: bool) -> str:
    """Return what heat leaves of the power, and the part that says so or comes nearest to it."""
    if all_of_it:
        nearest = f"; nearest to its limit: {part}" if part else ""
        return f"It can hold that for good{nearest}."
    first = f"; first at its limit: {part}" if part else ""
    return f"It can hold {quantity(held, 'W', count=3)} for good{first}."


def _advice(sheet: PerformanceSheet) -> list[str]:
    first = next((finding for finding in open_checks(sheet) if finding.do), None)
    return (
        []
        if first is None
        else [f"First thing to do, about the {in_a_sentence(first.name)}: {first.do}"]
    )


def in_a_sentence(name: str) -> str:
    """Return the name of a check without the unit that its number has.

    >>> in_a_sentence("rim speed with magnets held by a print alone, m/s")
    'rim speed with magnets held by a print alone'
    >>> in_a_sentence("slot opening, mm, against one enamelled wire")
    'slot opening against one enamelled wire'
    """
    words, *more = name.split(", ")
    kept = [word for word in more if word.split()[0] not in _UNITS]
    return ", ".join([words, *kept]).replace(", against", " against")


def joined(names: tuple[str, ...]) -> str:
    """Return names as a sentence lists them.

    >>> joined(("air gap", "slot fill", "heat"))
    'air gap, slot fill and heat'
    """
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last
