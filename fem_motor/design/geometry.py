"""Can it be built? Every reason why not, in the maker's words."""

import math
from collections.abc import Iterator

from fem_motor.design.motor import Motor, Rotor, Stator
from fem_motor.design.slot import coil_side_area
from fem_motor.errors import Problem
from fem_motor.units import MM

DENSEST = 0.9069
"""Largest share of round wires in a plane: π/√12."""

TOUCH = 1e-9


def build_problems(motor: Motor) -> list[Problem]:
    """Return why a motor cannot be built, with places as key paths; empty where it can."""
    found = list(_stator(motor.stator))
    if not found:
        found += _copper(motor)
    return [*found, *_rotor(motor.rotor)]


def _mm(length: float) -> str:
    return f"{length / MM:.4g} mm"


def _stator(stator: Stator) -> Iterator[Problem]:
    half_pitch = stator.slot_pitch / 2
    depth = stator.tip_corner_radius - stator.yoke_radius
    if depth <= 0:
        yield Problem(
            place="stator.yoke_thickness_mm",
            what=f"= {stator.yoke_thickness / MM:g} leaves no slot.",
            why=f"the yoke ends at a radius of {_mm(stator.yoke_radius)}, the tips begin at "
            f"{_mm(stator.tip_corner_radius)}.",
            do="make the yoke or the tips thinner, or the hub seat smaller.",
        )
        return
    at_yoke = 2 * stator.yoke_radius * math.sin(half_pitch)
    if stator.tooth_width >= at_yoke * (1 - TOUCH):
        yield Problem(
            place="stator.tooth_width_mm",
            what=f"= {stator.tooth_width / MM:g} makes the teeth meet at the yoke.",
            why=f"{stator.slots} teeth around a yoke of radius {_mm(stator.yoke_radius)} touch at "
            f"a width of {_mm(at_yoke)}.",
            do="narrow the teeth, use fewer slots, or a larger yoke radius.",
        )
        return
    pitch = stator.outer_radius * stator.slot_pitch
    if stator.slot_opening >= pitch:
        yield Problem(
            place="stator.slot_opening_mm",
            what=f"= {stator.slot_opening / MM:g} is wider than the slot pitch.",
            why=f"{stator.slots} slots share {_mm(pitch)} each of the tooth-tip circle.",
            do="narrow the opening.",
        )
        return
    opening = half_pitch - stator.opening_angle / 2
    tip = stator.tip_corner_radius * math.sin(opening)
    if tip < stator.tooth_width / 2 * (1 - TOUCH):
        widest = (
            2
            * stator.outer_radius
            * (half_pitch - math.asin(stator.tooth_width / 2 / stator.tip_corner_radius))
        )
        yield Problem(
            place="stator.slot_opening_mm",
            what=f"= {stator.slot_opening / MM:g} cuts into the teeth.",
            why=f"the opening is wider than the slot behind it; it fits up to {_mm(widest)}.",
            do="narrow the opening or the teeth.",
        )
        return
    yield from _taper(stator, opening, tip)


def _taper(stator: Stator, opening: float, tip: float) -> Iterator[Problem]:
    if stator.tip_taper == 0 or tip <= stator.tooth_width / 2:
        return
    turn = opening - math.pi / 2 - stator.tip_taper
    corner = stator.tip_corner_radius * math.cos(opening), tip
    reach = (stator.tooth_width / 2 - corner[1]) / math.sin(turn)
    meets = math.hypot(corner[0] + reach * math.cos(turn), stator.tooth_width / 2)
    lowest = stator.yoke_radius + 2 * stator.slot_liner
    if meets <= lowest:
        yield Problem(
            place="stator.tip_taper_deg",
            what=f"= {math.degrees(stator.tip_taper):g} runs into the slot bottom.",
            why=f"the underside of the tip meets the tooth at a radius of {_mm(meets)}; yoke and "
            f"liner end at {_mm(lowest)}.",
            do="use a smaller taper or a deeper slot.",
        )
    if meets >= stator.outer_radius:
        yield Problem(
            place="stator.tip_taper_deg",
            what=f"= {math.degrees(stator.tip_taper):g} lets the tip vanish at the tooth.",
            why="a nearly straight underside leaves the round tip on the way to the tooth.",
            do="use 0 for a concentric arc, or a larger taper.",
        )


def _copper(motor: Motor) -> Iterator[Problem]:
    stator, winding = motor.stator, motor.winding
    area = coil_side_area(stator)
    side = stator.tooth_width / 2 + stator.slot_liner
    low, high = stator.yoke_radius + stator.slot_liner, stator.tip_corner_radius - stator.slot_liner
    closed = low <= side or math.asin(side / low) >= stator.slot_pitch / 2
    if area <= 0 or high <= low or closed:
        yield Problem(
            place="stator.slot_liner_mm",
            what=f"= {stator.slot_liner / MM:g} leaves no room for copper.",
            why=f"the slot is {_mm(high - low + 2 * stator.slot_liner)} deep between yoke and "
            "tips, and the liner covers both sides.",
            do="use a thinner liner, narrower teeth or a deeper slot.",
        )
        return
    wire = math.pi / 4 * winding.wire_diameter**2 * winding.strands * winding.turns_per_tooth
    room = area * (2 if winding.layers == 1 else 1)
    if wire > DENSEST * room:
        yield Problem(
            place="winding.turns_per_tooth",
            what=f"= {winding.turns_per_tooth} does not fit the slot.",
            why=f"a coil side holds {room / MM**2:.4g} mm² inside the liner, the bare copper of "
            f"{winding.turns_per_tooth} turns of {winding.strands} × "
            f"{winding.wire_diameter / MM:.3g} mm takes {wire / MM**2:.4g} mm²; round wire fills "
            f"at most {100 * DENSEST:.0f} %.",
            do="use fewer turns or strands, a thinner wire, or a larger slot; by hand 30 to 45 % "
            "can be reached (common practice, no source).",
        )


def _rotor(rotor: Rotor) -> Iterator[Problem]:
    if rotor.magnet_width is not None:
        limit = 2 * rotor.magnet_inner_radius * math.tan(rotor.segment_pitch / 2)
        if rotor.magnet_width > limit * (1 + TOUCH):
            yield Problem(
                place="rotor.magnet_width_mm",
                what=f"= {rotor.magnet_width / MM:g} does not fit.",
                why=f"{rotor.segments} blocks around a bore of "
                f"{2 * rotor.magnet_inner_radius / MM:g} mm touch at a width of "
                f"{limit / MM:.2f} mm.",
                do='narrow the magnet, use fewer poles, or set magnet_shape = "arc".',
            )
