"""What to do about magnets that come near their knee, and the findings that say so."""

import math

from fem_motor.design import Motor
from fem_motor.findings import Finding, Status
from fem_motor.loading.margins import DemagnetisationMargins, StallMargin, TemperatureMargin
from fem_motor.units import DEG, ROOM_C

LEAST_MARGIN = 0.05
"""T above the knee that a design should keep; common practice, no source."""

COOLEST_C = 40.0
"""No motor at work keeps its magnets below this, °C; a choice of this project."""

MEASURE = (
    "take the intrinsic coercivity from the maker's sheet, as intrinsic_coercivity_kA_per_m",
    (
        "or measure a magnet's flux with a coil or Hall probe, warm the rotor to its hottest, let "
        "it cool and measure again: flux that stays away shows that the knee was passed"
    ),
)


def demagnetisation_findings(margins: DemagnetisationMargins) -> tuple[Finding, ...]:
    """Return the findings on hot and on cold magnets, and the same at stall where it is known."""
    return (
        *(
            _finding(found, case="", words=_in_words(found, margins))
            for found in (margins.hot, margins.cold)
        ),
        *(
            _finding(one.worst, case=" at stall", words=_stalled_in_words(one))
            for one in margins.stall or ()
        ),
    )


def _finding(found: TemperatureMargin, *, case: str, words: str) -> Finding:
    name = f"demagnetisation margin{case}, magnets at {found.temperature_C:g} °C, T"
    place = (
        f"1 % of the area of magnet {found.magnet} works below {found.flux_density:.2f} T along "
        f"its magnetisation, {words}"
    )
    if found.margin is None:
        return Finding(
            name=name,
            status="watch",
            limit=LEAST_MARGIN,
            why=f"not computed: the magnet's coercivity is not known, and so neither is its knee. "
            f"{place}; the knee must lie at least {LEAST_MARGIN:g} T lower.",
            do=_joined(found.advice),
        )
    return Finding(
        name=name,
        status=_status(found.margin),
        value=found.margin,
        limit=LEAST_MARGIN,
        why=f"{place}; the knee lies at {found.knee:.2f} T, and {found.area_below_knee:.1%} of "
        "the magnet lies below it. What has been below stays weaker for good. The limit is common "
        "practice, no source; at the two ends of the stack magnets work somewhat lower.",
        do=_joined(found.advice),
    )


def _status(margin: float) -> Status:
    if margin < 0:
        return "stop"
    return "ok" if margin >= LEAST_MARGIN else "watch"


def _in_words(found: TemperatureMargin, margins: DemagnetisationMargins) -> str:
    if found.case == "no current":
        return "without any current"
    return (
        f"with currents of {margins.demagnetising_current:.3g} A in the branches held against the "
        f"magnets (from the current limit of {margins.line_peak:.3g} A, half as much again for "
        "transients)"
    )


def _stalled_in_words(stalled: StallMargin) -> str:
    found, current = stalled.worst, stalled.current
    by = (
        "the controller's limit"
        if current.held_by == "current limit"
        else "what the supply drives through all resistances"
    )
    lead = 0.0 if found.current_angle is None else found.current_angle / DEG
    return (
        f"the rotor held at {found.rotor_angle / DEG:.3g}° with {current.line_peak:.3g} A in the "
        f"lines ({by}, copper at {found.temperature_C:g} °C), {lead:.0f}° electrical ahead of the "
        "back-EMF (90° is straight against the magnets), the worst of the positions tried"
    )


def _joined(advice: tuple[str, ...]) -> str:
    return "; ".join(advice) + "." if advice else ""


def remedies(
    motor: Motor, found: TemperatureMargin, *, other: TemperatureMargin | None, line_peak: float
) -> tuple[str, ...]:
    """Return what would bring the margin to `LEAST_MARGIN`, the cheapest first.

    Parameters
    ----------
    motor : Motor
    found : TemperatureMargin
    other : TemperatureMargin or None
        At the other temperature; None where the current differs too.
    line_peak : float
        The current limit, or the current at stall, A.
    """
    if found.margin is None:
        return MEASURE
    if found.margin >= LEAST_MARGIN:
        return ()
    lines = [
        _turned_magnets(motor),
        _less_current(found, line_peak),
        _other_temperature(found, other),
        _harder_grade(motor, found),
        _better_circuit(motor),
    ]
    return tuple(line for line in lines if line)


def _turned_magnets(motor: Motor) -> str:
    turned = [str(one.index) for one in motor.as_built.magnets if one.remanence_factor < 0]
    if not turned:
        return ""
    return f"magnet {', '.join(turned)} stands the wrong way round: turn it first"


def _less_current(found: TemperatureMargin, line_peak: float) -> str:
    """Take the margin as falling in proportion to the current.

    It bends downwards, as another magnet or corner becomes the worst: this is on the safe side.
    """
    margin, without = found.margin, found.margin_without_current
    if margin is None or without is None or found.case == "no current":
        return ""
    if without < LEAST_MARGIN:
        return f"a lower current alone is not enough: without any the margin is {without:.2f} T"
    allowed = line_peak * (without - LEAST_MARGIN) / (without - margin)
    if found.case == "stall":
        return (
            f"hold the current of a stalled motor to {_down(allowed):g} A (now {line_peak:.3g}): "
            "drive.current_limit_A, or a controller that lets go when the rotor is held"
        )
    return f"lower drive.current_limit_A from {line_peak:.3g} to {_down(allowed):g} A"


def _other_temperature(found: TemperatureMargin, other: TemperatureMargin | None) -> str:
    """Use that remanence and knee, and so the margin, change in proportion to temperature."""
    if (
        found.margin is None
        or other is None
        or other.margin is None
        or other.margin <= LEAST_MARGIN
    ):
        return ""
    part = (LEAST_MARGIN - found.margin) / (other.margin - found.margin)
    meeting = found.temperature_C + part * (other.temperature_C - found.temperature_C)
    if found.temperature_C > other.temperature_C:
        below = f"keep the magnets below {math.floor(meeting):g} °C"
        return below if meeting >= COOLEST_C else ""
    return f"let the magnets come to {math.ceil(meeting):g} °C before full current"


def _harder_grade(motor: Motor, found: TemperatureMargin) -> str:
    """Use that the knee falls in proportion to the coercivity: B_k = B_r − μ₀ μ_rec H_k."""
    magnet = motor.rotor.magnet
    coercivity = magnet.intrinsic_coercivity
    knee = magnet.knee_flux_density(found.temperature_C)
    if coercivity is None or knee is None or found.margin is None:
        return ""
    span = magnet.remanence_at(found.temperature_C) - knee
    if span <= 0:  # nothing is left of the coercivity at this temperature
        return "choose a grade that is made for this temperature"
    needed = coercivity * (1 + (LEAST_MARGIN - found.margin) / span)
    return (
        f"choose a grade with an intrinsic coercivity of at least {_tens(needed / 1e3):g} kA/m at "
        f"{ROOM_C:g} °C (now {coercivity / 1e3:.4g})"
    )


def _better_circuit(motor: Motor) -> str:
    ring = motor.rotor.ring
    if ring is None or ring.curve.is_nearly_air:
        return "take thicker magnets, or put a steel ring behind them"
    return "take thicker magnets, or a smaller air gap"


def _down(value: float) -> float:
    """Round down to two figures."""
    if value <= 0:
        return 0.0
    unit = 10.0 ** (math.floor(math.log10(value)) - 1)
    return math.floor(value / unit) * unit


def _tens(value: float) -> float:
    """Round up to a multiple of ten."""
    return math.ceil(value / 10) * 10.0
