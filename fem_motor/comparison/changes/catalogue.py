"""Single changes that a maker can make to a design, within declared limits."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fem_motor.design import Motor, MotorDesign
from fem_motor.materials import Core, Magnet, load_library
from fem_motor.units import MM
from fem_motor.winding import balanced_layout, is_feasible, winding_factor

LIMITS: Mapping[str, str] = MappingProxyType(
    {
        "machine.air_gap_mm": "0.6 mm and more around a printed core, 0.3 mm around sheets",
        "machine.stack_length_mm": "three quarters to one and a half times",
        "machine.slots": "six more or fewer, with at least 0.86 of the flux linked, no side pull",
        "machine.poles": "six more or fewer, as the slots",
        "rotor.magnet_layout": "alternating, or Halbach of 2, 3 and 4 magnets a pole",
        "rotor.segments_per_pole": "2, 3 and 4 where the layout is Halbach",
        "rotor.strong_side": "the stator's, where it is not",
        "rotor.magnet_thickness_mm": "1 mm more or less, at least 1 mm",
        "rotor.magnet_width_mm": "as wide as fits, or 15 % narrower",
        "rotor.magnet_arc_fraction": "0.08 more or less, at most 0.98",
        "rotor.magnet": "the strongest grade that bears as much heat, and the strongest of all",
        "rotor.ring_material": "none, or mild steel of 1 mm and of what carries half a pole's flux",
        "rotor.ring_thickness_mm": "1 mm more or less",
        "stator.core": "iron-filled plastics, powder and electrical sheet of the library",
        "stator.tooth_width_mm": "0.8 and 1.25 times; the coils fill the slot as before",
        "stator.yoke_thickness_mm": "a quarter either way; the coils fill the slot as before",
        "stator.slot_opening_mm": "0.7 and 1.4 times",
        "stator.tip_thickness_mm": "0.6 and 1.5 times; the coils fill the slot as before",
        "winding.strands": "one more, up to a fill of 0.45; twice as many of half the section",
        "winding.turns_per_tooth": "half and twice, at the same copper",
        "winding.connection": "star or delta",
    }
)
"""What is looked at, by key, in words. Common practice where it is a number; no source."""

FILL_BY_HAND = 0.45
"""Bare copper over slot, above which no hand winds; common practice."""

LEAST_LINKED, REACH = 0.86, 6
PRINTED_GAP_MM, SHEET_GAP_MM = 0.6, 0.3
LAMINATED_FRACTION = 0.96
"""Iron share of stacked sheets; common practice."""

RING = "steel-1008"
RING_FLUX_DENSITY, POLE_FLUX_DENSITY = 1.5, 0.5
"""T, allowed in the ring, and mean over a pole: for a first thickness."""

CORES = (
    "iron-filled-pla-10vol", "iron-filled-pla-20vol", "iron-filled-pla-30vol",
    "iron-filled-abs-40vol", "smc-typical", "m400-50a", "m270-50a",
)  # fmt: skip
LAMINATED = ("m400-50a", "m270-50a")

PAIRS_SHOWN = 5
CLOSE_FIT = 0.98
"""Of the width at which blocks touch."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Change:
    """One thing to change, and what has to change with it.

    Attributes
    ----------
    key : str
        ``section.key``.
    title : str
        In the maker's words.
    settings : mapping of key to value
        The key itself first.
    slot : "kept" or "refilled"
        Whether the coils have to fill a slot of another size as full as before.
    why_not : str
        Why it is outside the limits; empty where it is not.
    """

    key: str
    title: str
    settings: Mapping[str, object]
    slot: str = "kept"
    why_not: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "settings", MappingProxyType(dict(self.settings)))

    @property
    def to_value(self) -> object:
        """What the key is set to."""
        return self.settings[self.key]


def single_changes(design: MotorDesign) -> tuple[Change, ...]:
    """Return the changes to look at, in the order of the design file."""
    return (
        *_layouts(design),
        *_rings(design),
        *_cores(design),
        *_gaps(design),
        *_magnets(design),
        *_teeth(design),
        *_copper(design),
        *_lengths(design),
        *_numbers(design),
    )


def _layouts(design: MotorDesign) -> Iterator[Change]:
    rotor = design.motor.rotor
    if rotor.magnet_layout == "halbach":
        settings = {"rotor.magnet_layout": "alternating", "rotor.segments_per_pole": 1}
        yield Change(
            key="rotor.magnet_layout",
            title="alternating magnets, one a pole",
            settings=settings | _block_width(design.motor, rotor.poles) | _no_odd_magnets(design),
        )
        if rotor.strong_side == "outside":
            yield Change(
                key="rotor.strong_side",
                title="Halbach layout the right way round for an outrunner",
                settings={"rotor.strong_side": "stator"},
            )
    is_halbach = rotor.magnet_layout == "halbach"
    key = "rotor.segments_per_pole" if is_halbach else "rotor.magnet_layout"
    for segments in (2, 3, 4):
        if is_halbach and segments == rotor.segments_per_pole:
            continue
        halbach: dict[str, object] = {
            "rotor.magnet_layout": "halbach",
            "rotor.segments_per_pole": segments,
            "rotor.magnetisation": "parallel",
        }
        first = {key: halbach.pop(key)}
        width = _block_width(design.motor, segments * rotor.poles)
        yield Change(
            key=key,
            title=f"Halbach layout, {segments} magnets a pole",
            settings=first | halbach | width | _no_odd_magnets(design),
        )


def _block_width(motor: Motor, magnets: int) -> dict[str, object]:
    """Return the width at which so many blocks nearly touch; nothing for arcs."""
    if motor.rotor.magnet_width is None:
        return {}
    touch = 2 * motor.rotor.magnet_inner_radius * math.tan(math.pi / magnets) / MM
    return {"rotor.magnet_width_mm": math.floor(10 * CLOSE_FIT * touch) / 10}


def _no_odd_magnets(design: MotorDesign) -> dict[str, object]:
    """Return that magnets which are not as drawn are no more, where another count renames them."""
    return {} if not design.values["as_built"]["magnets"] else {"as_built.magnets": None}


def _rings(design: MotorDesign) -> Iterator[Change]:
    rotor = design.motor.rotor
    if rotor.ring is not None:
        yield Change(
            key="rotor.ring_material",
            title="no ring",
            settings={"rotor.ring_material": "none", "rotor.ring_thickness_mm": 0.0},
        )
        for step in (-1.0, 1.0):
            thickness = round(rotor.ring_thickness / MM + step, 2)
            if thickness > 0:
                yield Change(
                    key="rotor.ring_thickness_mm",
                    title=f"ring of {thickness:g} mm",
                    settings={"rotor.ring_thickness_mm": thickness},
                )
        return
    half_pole = math.pi * rotor.magnet_outer_radius / rotor.poles
    full = half_pole * POLE_FLUX_DENSITY / RING_FLUX_DENSITY / MM
    for thickness in sorted({1.0, max(1.0, round(2 * full) / 2)}):
        yield Change(
            key="rotor.ring_material",
            title=f"steel ring of {thickness:g} mm behind the magnets",
            settings={"rotor.ring_material": RING, "rotor.ring_thickness_mm": thickness},
        )


def _cores(design: MotorDesign) -> Iterator[Change]:
    library, now = load_library(), design.values["stator"]["core"]
    was_sheet = design.motor.stator.core.deflection_temperature_C is None
    for name in CORES:
        core = library[name]
        if name == now or not isinstance(core, Core):
            continue
        settings: dict[str, object] = {"stator.core": name}
        is_sheet = core.deflection_temperature_C is None
        if name in LAMINATED:
            settings["stator.core_fraction"] = LAMINATED_FRACTION
        elif is_sheet or was_sheet:
            settings["stator.core_fraction"] = 1.0
        yield Change(key="stator.core", title=f"core of {name}", settings=settings)


def _gaps(design: MotorDesign) -> Iterator[Change]:
    gap = design.motor.air_gap / MM
    printed = design.motor.stator.core.deflection_temperature_C is not None
    least = PRINTED_GAP_MM if printed else SHEET_GAP_MM
    for factor in (0.75, 1.25):
        to = round(round(factor * gap / 0.05) * 0.05, 2)
        if to == gap:
            continue
        yield Change(
            key="machine.air_gap_mm",
            title=f"air gap of {to:g} mm",
            settings={"machine.air_gap_mm": to},
            why_not=f"below {least:g} mm the rotor touches a core made this way."
            if to < least and to < gap
            else "",
        )


def _magnets(design: MotorDesign) -> Iterator[Change]:
    rotor = design.motor.rotor
    for step in (-1.0, 1.0):
        to = round(rotor.magnet_thickness / MM + step, 2)
        if to >= 1:
            yield Change(
                key="rotor.magnet_thickness_mm",
                title=f"magnets {to:g} mm thick",
                settings={"rotor.magnet_thickness_mm": to},
            )
    yield from _widths(design)
    library = load_library()
    sintered = [m for m in library.values() if isinstance(m, Magnet) and _is_sintered(m)]
    stronger = [m for m in sintered if m.remanence > rotor.magnet.remanence]
    heat = rotor.magnet.maximum_temperature_C or 0.0
    same = [m for m in stronger if (m.maximum_temperature_C or 0.0) >= heat]
    found = [max(some, key=lambda m: m.remanence) for some in (same, stronger) if some]
    for name in dict.fromkeys(magnet.name for magnet in found):
        yield Change(
            key="rotor.magnet", title=f"magnets of {name}", settings={"rotor.magnet": name}
        )


def _is_sintered(magnet: Magnet) -> bool:
    return magnet.name.startswith("ndfeb")


def _widths(design: MotorDesign) -> Iterator[Change]:
    rotor = design.motor.rotor
    if rotor.magnet_width is not None:
        now = rotor.magnet_width / MM
        widest = _block_width(design.motor, rotor.segments)["rotor.magnet_width_mm"]
        for to in (round(0.85 * now, 1), widest):
            if to != now:
                yield Change(
                    key="rotor.magnet_width_mm",
                    title=f"magnets {to:g} mm wide",
                    settings={"rotor.magnet_width_mm": to},
                )
        # Wider than fits now, but perhaps with another change.
        wider = round(1.15 * now, 1)
        if isinstance(widest, float) and wider > widest:
            yield Change(
                key="rotor.magnet_width_mm",
                title=f"magnets {wider:g} mm wide",
                settings={"rotor.magnet_width_mm": wider},
            )
        return
    now = rotor.magnet_arc_fraction or 1.0
    for to in (round(now - 0.08, 3), min(0.98, round(now + 0.08, 3))):
        if to != now:
            yield Change(
                key="rotor.magnet_arc_fraction",
                title=f"magnets over {to:g} of their pitch",
                settings={"rotor.magnet_arc_fraction": to},
            )


def _teeth(design: MotorDesign) -> Iterator[Change]:
    stator = design.values["stator"]
    words = {
        "tooth_width_mm": ("teeth {:g} mm wide", (0.8, 1.25), "refilled"),
        "yoke_thickness_mm": ("yoke {:g} mm thick", (0.75, 1.25), "refilled"),
        "slot_opening_mm": ("slot opening of {:g} mm", (0.7, 1.4), "kept"),
        "tip_thickness_mm": ("tips {:g} mm thick", (0.6, 1.5), "refilled"),
    }
    for name, (title, factors, slot) in words.items():
        for factor in factors:
            to = round(factor * stator[name], 2)
            yield Change(
                key=f"stator.{name}",
                title=title.format(to),
                settings={f"stator.{name}": to},
                slot=slot,
            )


def _copper(design: MotorDesign) -> Iterator[Change]:
    winding, spec = design.values["winding"], design.motor.winding
    turns, strands = spec.turns_per_tooth, spec.strands
    yield Change(
        key="winding.strands",
        title=f"{strands + 1} wires side by side instead of {strands}: more copper in the slot",
        settings={"winding.strands": strands + 1},
    )
    if turns > 1:
        # Odd turns: the wire takes up what is left, so that the copper is the same.
        half = max(1, round(turns / 2))
        yield _same_copper(design, half, 2 * strands)
    doubled = max(1, strands // 2)
    yield _same_copper(design, 2 * turns, doubled)
    thin: dict[str, object] = {
        "winding.wire_diameter_mm": round(spec.wire_diameter / MM / math.sqrt(2), 4)
    }
    if winding["wire_awg"] is not None:
        thin = {"winding.wire_awg": winding["wire_awg"] + 3}
    yield Change(
        key="winding.strands",
        title=f"{2 * strands} wires of half the section: less eddy loss in the wire",
        settings={"winding.strands": 2 * strands, **thin},
    )
    other = "delta" if spec.connection == "star" else "star"
    yield Change(
        key="winding.connection",
        title=f"phases in {other}",
        settings={"winding.connection": other},
    )


def _same_copper(design: MotorDesign, turns: int, strands: int) -> Change:
    spec = design.motor.winding
    area = spec.turns_per_tooth * spec.strands * spec.wire_diameter**2
    diameter = math.sqrt(area / (turns * strands))
    settings: dict[str, object] = {"winding.turns_per_tooth": turns, "winding.strands": strands}
    if abs(diameter - spec.wire_diameter) > 1e-9 * diameter:
        settings |= {"winding.wire_awg": None, "winding.wire_diameter_mm": diameter / MM}
    wires = "one wire" if strands == 1 else f"{strands} wires"
    return Change(
        key="winding.turns_per_tooth",
        title=f"{turns} turns of {wires} in the same copper",
        settings=settings,
    )


def _lengths(design: MotorDesign) -> Iterator[Change]:
    for factor in (0.75, 1.25, 1.5):
        to = round(factor * design.motor.stack_length / MM, 2)
        yield Change(
            key="machine.stack_length_mm",
            title=f"stack {to:g} mm long",
            settings={"machine.stack_length_mm": to},
        )


def _numbers(design: MotorDesign) -> Iterator[Change]:
    """Yield other slots and poles, teeth and magnets scaled to their pitch."""
    motor = design.motor
    slots, poles, layers = motor.stator.slots, motor.rotor.poles, motor.winding.layers
    found = []
    for more in range(-REACH, REACH + 1, 3):
        for ahead in range(-REACH, REACH + 1, 2):
            pair = slots + more, poles + ahead
            # Rotor and stator with a common factor pull evenly: others shake their bearings.
            usable = is_feasible(*pair, layers) and math.gcd(*pair) > 1
            if pair != (slots, poles) and usable:
                layout = balanced_layout(*pair, layers)
                if winding_factor(layout, pair[1]) >= LEAST_LINKED:
                    found.append(pair)
    found.sort(key=lambda pair: (abs(pair[0] - slots) + abs(pair[1] - poles), pair))
    for pair in found[:PAIRS_SHOWN]:
        yield _other_numbers(design, *pair)


def _other_numbers(design: MotorDesign, slots: int, poles: int) -> Change:
    motor, values = design.motor, design.values
    settings: dict[str, object] = {}
    key = "machine.slots" if slots != motor.stator.slots else "machine.poles"
    settings[key] = slots if key == "machine.slots" else poles
    if slots != motor.stator.slots:
        share = motor.stator.slots / slots
        for name in ("tooth_width_mm", "slot_opening_mm"):
            settings[f"stator.{name}"] = round(share * values["stator"][name], 2)
        settings["as_built.coils"] = None
    if poles != motor.rotor.poles:
        settings["machine.poles"] = poles
        if motor.rotor.magnet_width is not None:
            share = motor.rotor.poles / poles
            width = round(share * values["rotor"]["magnet_width_mm"], 2)
            settings["rotor.magnet_width_mm"] = width
        settings |= _no_odd_magnets(design)
    settings |= {"winding.coils": None, "winding.parallel_circuits": 1}
    return Change(
        key=key,
        title=f"{slots} slots and {poles} poles",
        settings={key: settings.pop(key), **settings},
        slot="refilled",
    )
