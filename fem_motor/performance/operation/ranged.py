"""Seconds and powers of the load with both ranges: of films and contacts, and of its losses."""

from dataclasses import dataclass

from fem_motor.drive import OperatingPoint as DrivePoint
from fem_motor.findings import Finding, Headline
from fem_motor.heat import ThermalNetwork, load_limit, seconds_until_soft
from fem_motor.performance.operation.operating import Operation
from fem_motor.powered import LoadLine, PoweredMotor, heating_at
from fem_motor.units import ROOM_C


@dataclass(frozen=True, slots=True, kw_only=True)
class Largest:
    """The largest shaft power, and the parts that may set it."""

    level: Headline
    part: str | None
    other_parts: tuple[str, ...]
    findings: tuple[Finding, ...]


def soft_seconds(powered: PoweredMotor, network: ThermalNetwork, operation: Operation) -> Headline:
    """Return the seconds to soften, the range of films and that of the load's losses together."""
    cold, *others = [
        heating_at(powered, point, copper_C=ROOM_C, magnet_C=ROOM_C)
        for point in (operation.known, *_extremes(operation))
    ]
    found = [seconds_until_soft(network, heating, spread="none").value for heating in others]
    return _widened(seconds_until_soft(network, cold), found)


def largest(
    powered: PoweredMotor,
    network: ThermalNetwork,
    operation: Operation,
    *,
    seconds: float | None = None,
) -> Largest:
    """Return the largest shaft power for good, or for some seconds from cold, with both ranges."""
    known, *others = [
        LoadLine(powered, point) for point in (operation.known, *_extremes(operation))
    ]
    likely = load_limit(
        network,
        known.heating,
        highest=known.highest,
        seconds=seconds,
        measure="shaft power, W",
    )
    found = [
        load_limit(
            network, line.heating, highest=line.highest, seconds=seconds, spread="none"
        ).level.value
        for line in others
    ]
    return Largest(
        level=_widened(likely.level, found),
        part=likely.part,
        other_parts=likely.other_parts,
        findings=likely.findings,
    )


def _extremes(operation: Operation) -> list[DrivePoint]:
    """Return the load points of the least and the most copper loss that the unknowns allow."""
    loaded = [
        (point.state.losses["copper"], place)
        for place, point in enumerate(operation.corners)
        if point.state is not None and point.shaft_power
    ]
    return [operation.corners[choose(loaded)[1]] for choose in (min, max)] if loaded else []


def _widened(headline: Headline, others: list[float | None]) -> Headline:
    """Return a range made wider by the ratio of other values to the likely one.

    The two causes have nothing to do with each other: their ratios are multiplied.
    """
    value, low, high = headline.value, headline.low, headline.high
    if value is None or not value or not others:
        return headline
    ratios = [1.0, *(other / value for other in others if other is not None)]
    return Headline(
        value=value,
        low=None if low is None else low * min(ratios),
        high=None if high is None or None in others else high * max(ratios),
        because=f"{headline.because.rstrip('.')}; the load's losses by magnets, ends and winding.",
    )
