"""A design with changes made to it, or the reason why it cannot be built."""

import math
from collections.abc import Mapping, Sequence
from typing import Literal

from fem_motor.comparison.changes.catalogue import FILL_BY_HAND, Change
from fem_motor.design import MotorDesign, coil_side_area
from fem_motor.errors import DesignError
from fem_motor.units import MM
from fem_motor.winding import wind

THIN: dict[str, object] = {
    "winding.strands": 1,
    "winding.wire_awg": None,
    "winding.wire_diameter_mm": 0.02,
    "winding.turns_per_tooth": 1,
}
"""A winding that fits any slot, to see the slot before it is filled."""

Turns = Literal["as drawn", "free"]


def changed(design: MotorDesign, changes: Sequence[Change], *, turns: Turns) -> MotorDesign:
    """Return the design with all `changes`.

    Where one of them alters the slots, the coils fill them as full as before: with other turns of
    the same wire where turns are free, with another wire where they are as drawn.

    Raises
    ------
    DesignError
        Where it cannot be built, or is wound fuller than hands can.
    """
    for change in changes:
        if change.why_not:
            raise DesignError("is outside the limits.", why=change.why_not, place=change.key)
    settings = {key: value for change in changes for key, value in change.settings.items()}
    if any(change.slot == "refilled" for change in changes):
        settings |= _refilled(design, settings, turns)
    found = _with(design, settings)
    fullest = max(FILL_BY_HAND, wind(design.motor).fill_factor * (1 + 1e-6))
    fill = wind(found.motor).fill_factor
    if fill > fullest:
        raise DesignError(
            f"fills the slot to {fill:.2f} with bare copper.",
            why=f"bare copper would fill {fill:.2f} of the slot; by hand 0.30 to 0.45 can be "
            "reached (common practice, no source).",
            do="make the slot larger.",
            place="winding",
        )
    return found


def _with(design: MotorDesign, settings: Mapping[str, object]) -> MotorDesign:
    return design.replace(None, None, **dict(settings))


def _refilled(design: MotorDesign, settings: dict[str, object], turns: Turns) -> dict[str, object]:
    """Return turns and wire that fill the new slots as full as the old ones."""
    shape = {key: value for key, value in settings.items() if not key.startswith("winding.")}
    wire = {key: value for key, value in settings.items() if key.startswith("winding.")}
    before, slot = _with(design, wire | _unlisted(settings)), coil_side_area
    after = _with(design, shape | THIN | _unlisted(settings))
    share = slot(after.motor.stator) / slot(before.motor.stator)
    spec = before.motor.winding
    number = spec.turns_per_tooth
    if turns == "free":
        number = max(1, round(number * share))
    diameter = spec.wire_diameter * math.sqrt(share * spec.turns_per_tooth / number)
    return {
        "winding.turns_per_tooth": number,
        "winding.wire_awg": None,
        "winding.wire_diameter_mm": diameter / MM,
    }


def _unlisted(settings: dict[str, object]) -> dict[str, object]:
    """Return that coils are not listed tooth by tooth where the number of teeth changes."""
    keys = ("winding.coils", "winding.parallel_circuits", "as_built.coils")
    return {key: settings[key] for key in keys if key in settings}
