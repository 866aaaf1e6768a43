"""Findings on magnets, bearings, gap, speed and orientation."""

import math

from fem_motor.design import Motor
from fem_motor.findings import Finding, Status
from fem_motor.mechanics.rotor import Magnets, Wall
from fem_motor.units import MM, RPM

GLUE = 1e6
"""Pa of pull on a glue line to design with (1 to 2 MPa, ideal 5 to 15); common practice."""

GAP_SHARE = 0.10
"""Of the air gap that eccentricity may take; common practice, no source."""

CRITICAL_SHARE = 1.3
"""First bending speed over top speed, at least; common practice, no source."""

PRINT_ALONE = 5000 * RPM * 25 * MM
"""Rim speed, m/s, above which a print wants a ring or thread around: 5000 rpm at 50 mm across;
common practice, no source."""

WET_RIM = 5.0
"""m/s at the rim under water; common practice, no source."""


def retention_finding(
    magnets: Magnets, *, pull: float, attraction: float, has_skin: bool, carrier: Wall | None
) -> Finding:
    """Return what holds a magnet: outwards a wall, inwards its glue (or the skin over it)."""
    if carrier is None:
        return Finding(
            name="pull that flings one magnet outwards at top speed, N",
            status="stop",
            value=pull,
            limit=0.0,
            why="there is no wall outside the magnets to hold them.",
            do="give the housing or the ring a thickness.",
        )
    holds = GLUE * magnets.back_area
    status: Status = "ok" if attraction <= holds or has_skin else "watch"
    glue = f"the glue behind it holds {holds:.3g} N by a cautious 1 MPa"
    return Finding(
        name="pull that flings one magnet outwards at top speed, N",
        status=status,
        value=pull,
        why=f"the {carrier.name} carries it; at rest {attraction:.3g} N pull inwards, and {glue}"
        + (", besides the skin." if has_skin else "."),
        do=""
        if status == "ok"
        else "roughen the plating, use epoxy (cyanoacrylate softens at 80 °C), add a skin.",
    )


def print_alone_finding(carrier: Wall | None, rim_speed: float) -> tuple[Finding, ...]:
    """Return a warning where fast magnets hang in a print alone."""
    if carrier is None or not carrier.is_printed:
        return ()
    status: Status = "ok" if rim_speed <= PRINT_ALONE else "watch"
    return (
        Finding(
            name="rim speed with magnets held by a print alone, m/s",
            status=status,
            value=rim_speed,
            limit=PRINT_ALONE,
            why="creep, heat and layer seams make prints give way without warning; above about "
            "5000 rpm at 50 mm a ring or thread should carry the magnets (common practice).",
            do="" if status == "ok" else "add a steel ring, or wind glass or aramid thread around.",
        ),
    )


def orientation_finding(carrier: Wall | None) -> tuple[Finding, ...]:
    """Return how the printed wall that holds the magnets must lie on the printer."""
    if carrier is None or not carrier.is_printed:
        return ()
    along, across = carrier.material.strength, carrier.material.strength_across_layers
    known = along is not None and across is not None and along > 0
    return (
        Finding(
            name="strength of the print across its layers over that along them",
            status="watch" if not known or float(across or 0) < float(along or 1) else "ok",
            value=float(across or 0) / float(along or 1) if known else None,
            limit=1.0 if known else None,
            why="hoop stress must not pull layers apart; where the end of the housing meets its "
            "wall it does, whatever the orientation.",
            do=f"print the {carrier.name} upright, layers square to the shaft, with a fillet "
            "inside; a quarter of the strength across layers is counted on.",
        ),
    )


def gap_finding(motor: Motor, deflection: float | None) -> Finding:
    """Return how much of the gap the side pull takes, mm."""
    limit = GAP_SHARE * motor.air_gap
    holds = deflection is not None and deflection <= limit
    touches = deflection is None or deflection >= motor.air_gap
    status: Status = "ok" if holds else "stop" if touches else "watch"
    return Finding(
        name="deflection of the shaft by the side pull, mm",
        status=status,
        value=None if deflection is None else deflection / MM,
        limit=limit / MM,
        why=(
            "the pull grows faster with the offset than the shaft pushes back."
            if deflection is None
            else "a tenth of the air gap is the limit (common practice); seats that give way "
            "and play in the bearings come on top."
        ),
        do="" if holds else "use a thicker or shorter shaft, or a larger air gap.",
    )


def critical_finding(critical: float | None, top_speed: float) -> Finding:
    """Return the first bending speed against top speed, rpm; a coarse estimate."""
    least = CRITICAL_SHARE * top_speed
    is_clear = critical is not None and critical >= least
    return Finding(
        name="first bending speed of the overhung rotor, rpm",
        status="ok" if is_clear else "watch",
        value=None if critical is None else critical / RPM,
        limit=least / RPM,
        why="by the assumed shaft alone; printed seats are softer. 1.3 times top speed is common "
        "practice.",
        do="" if is_clear else "use a thicker or shorter shaft, or a lighter rotor.",
    )


def overspeed_finding(test_speed: float) -> Finding:
    """Return the overspeed test that a new rotor should pass before use."""
    return Finding(
        name="speed of the overspeed test, rpm",
        status="watch",
        value=test_speed / RPM,
        why="1.2 times top speed for two minutes (IEC 60034-1, from memory) shows what no "
        "calculation knows of a print.",
        do="spin it in a closed box (polycarbonate of 6 mm or plywood), nobody in the plane of "
        "rotation; afterwards look for cracks and loose magnets.",
    )


def water_finding(motor: Motor, rim_speed: float) -> tuple[Finding, ...]:
    """Return the rim speed under water against what drag allows."""
    if motor.cooling.medium != "water":
        return ()
    status: Status = "ok" if rim_speed <= WET_RIM else "watch"
    return (
        Finding(
            name="rim speed under water, m/s",
            status=status,
            value=rim_speed,
            limit=WET_RIM,
            why="drag grows with the cube of the speed; common practice, no source.",
            do="" if status == "ok" else "use a smaller rotor, or turn slower.",
        ),
    )


def critical_speed(stiffness: float, mass: float) -> float | None:
    """Return √(k/m), rad/s; None where nothing is left of the stiffness."""
    return math.sqrt(stiffness / mass) if stiffness > 0 else None
