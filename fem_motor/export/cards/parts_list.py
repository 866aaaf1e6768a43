"""The parts list: what to buy and print, how much of it, and what of that is assumed."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from fem_motor.design import Motor
from fem_motor.export.cards.as_designed import as_designed
from fem_motor.export.cards.card import Card, Section, Table, table
from fem_motor.export.cards.magnet_card import magnet_sizes, magnetised_words
from fem_motor.export.cards.winding_card import ALLOWANCE
from fem_motor.export.drawings.outlines import Part, liner_length, part_area
from fem_motor.materials import Core, Magnet, Structure
from fem_motor.units import MM
from fem_motor.winding import Winding, wind

FORMAT = "fem_motor.parts_list"
VERSION = 1

OVERHANG = 2 * MM
"""Of the slot liner beyond each end of the stack. Our assumption, common practice."""

LEADS = 3
CM = 1e-2
GRAM = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class PartItem:
    """One line of the list; None where a figure is not known or means nothing.

    Attributes
    ----------
    part, what, material : str
    count : int
    length : m, all pieces and strands together
    area : m²
    volume : m³, all pieces together
    mass : kg, all pieces together
    basis : str
        Computed from what, or assumed.
    """

    part: str
    what: str
    material: str
    count: int
    length: float | None = None
    area: float | None = None
    volume: float | None = None
    mass: float | None = None
    basis: str


def part_items(motor: Motor) -> tuple[PartItem, ...]:
    """Return the parts of `motor` as designed, SI.

    Masses and volumes come from the exact areas of the section, times the stack length.
    """
    designed = as_designed(motor)
    winding = wind(designed)
    return (
        _magnets(designed),
        *_wires(designed, winding),
        _core(designed),
        _liner(designed),
        *_rotor_parts(designed),
    )


def parts_list(motor: Motor) -> Card:
    """Return the parts list of `motor` as designed."""
    items = part_items(motor)
    return Card(
        title=f"Parts list: {motor.title}",
        format=FORMAT,
        version=VERSION,
        sections=(
            Section(heading="Parts", blocks=(_for_people(items),)),
            Section(heading="What is assumed, and what is not here", blocks=(_ASSUMED,)),
        ),
        records=_records(items),
    )


_ASSUMED = (
    "Lengths along the shaft are the stack length, for core, magnets, ring and housing.",
    (
        "Volumes are those of solid prints: a slicer's infill, walls and supports change what is "
        "used, and the mass with it. Brim, purge and failed prints come on top."
    ),
    (
        f"Wire for coils: {100 * ALLOWANCE:.0f} % are added for links and loose turns. Leads: of "
        "the same wire and strands as the coils."
    ),
    "Closed end of the housing: a disc as thick as its wall.",
    f"Slot liner: one sheet in each slot from tip to tip, {OVERHANG / MM:.0f} mm over at each end.",
    (
        "Not here, since the design file does not describe them: shaft, bearings, hub, screws, "
        "glue, varnish, connectors. Order spare magnets and test their strength."
    ),
    (
        "Magnets pinch and shatter; keep them from pacemakers, cards and children. Resin and "
        "varnish want gloves and ventilation. Rules of your country and workplace come first."
    ),
)


def _magnets(motor: Motor) -> PartItem:
    magnet = motor.rotor.magnet
    volume = part_area(motor, "magnets") * motor.stack_length
    mass = _mass(volume, magnet)
    each = "" if mass is None else f"; {mass / motor.rotor.segments / GRAM:.3g} g each"
    return PartItem(
        part="magnets",
        what=f"{magnet_sizes(motor)}; {magnetised_words(motor.rotor)}{each}",
        material=magnet.name,
        count=motor.rotor.segments,
        volume=volume,
        mass=mass,
        basis="computed",
    )


def _wires(motor: Motor, winding: Winding) -> Iterator[PartItem]:
    spec = motor.winding
    what = f"enamelled, {spec.wire_diameter / MM:.3f} mm bare, {spec.strands} strands in hand"
    per_metre = winding.copper_mass / winding.wire_length
    coils = sum(1 for coil in winding.coils if coil)
    length = winding.wire_length
    leads = LEADS * spec.lead_length * spec.strands
    for part, count, metres, basis in (
        ("wire in the coils", coils, length, "computed"),
        (
            "wire to buy for the coils",
            1,
            (1 + ALLOWANCE) * length,
            f"computed, {100 * ALLOWANCE:.0f} % allowance assumed",
        ),
        ("leads", LEADS, leads, "computed, same wire assumed"),
    ):
        yield PartItem(
            part=part,
            what=what,
            material="copper",
            count=count,
            length=metres,
            volume=metres * math.pi / 4 * spec.wire_diameter**2,
            mass=metres * per_metre,
            basis=basis,
        )


def _core(motor: Motor) -> PartItem:
    stator = motor.stator
    volume = part_area(motor, "stator core") * motor.stack_length
    share = stator.core_fraction
    words = "" if share == 1 else f", {100 * share:.4g} % of it material (core_fraction)"
    mass = _mass(volume, stator.core)
    return PartItem(
        part="stator core",
        what=f"{2 * stator.outer_radius / MM:g} mm across, {motor.stack_length / MM:g} mm long"
        f"{words}",
        material=stator.core.name,
        count=1,
        volume=volume,
        mass=None if mass is None else share * mass,
        basis="computed",
    )


def _liner(motor: Motor) -> PartItem:
    length = motor.stack_length + 2 * OVERHANG
    area = liner_length(motor) * length
    return PartItem(
        part="slot liner",
        what=f"{motor.stator.slot_liner / MM:g} mm thick, one piece a slot",
        material="paper or film (assumed)",
        count=motor.stator.slots,
        area=area,
        volume=area * motor.stator.slot_liner,
        basis=f"computed, {OVERHANG / MM:.0f} mm over at each end assumed",
    )


def _rotor_parts(motor: Motor) -> Iterator[PartItem]:
    rotor, length = motor.rotor, motor.stack_length
    outer = f"{2 * rotor.housing_outer_radius / MM:.2f} mm across, {length / MM:g} mm long"
    rows: tuple[tuple[Part, str, str, Core | Structure | None], ...] = (
        ("ring", "ring", _ring_words(motor), rotor.ring),
        ("magnet pockets", "plastic around the magnets", ("ribs and skin, from the air gap to the "
         "magnets' outermost points"), rotor.housing),
        ("housing", "housing wall", outer, rotor.housing),
    )  # fmt: skip
    for name, part, words, material in rows:
        volume = part_area(motor, name) * length
        if material is not None and volume > 0:
            yield PartItem(
                part=part,
                what=words,
                material=material.name,
                count=1,
                volume=volume,
                mass=_mass(volume, material),
                basis="computed",
            )
    if rotor.housing_thickness > 0:
        volume = math.pi * rotor.housing_outer_radius**2 * rotor.housing_thickness
        yield PartItem(
            part="housing, closed end",
            what=f"disc, {rotor.housing_thickness / MM:g} mm thick",
            material=rotor.housing.name,
            count=1,
            volume=volume,
            mass=_mass(volume, rotor.housing),
            basis="assumed",
        )


def _ring_words(motor: Motor) -> str:
    rotor = motor.rotor
    return (
        f"{2 * rotor.magnet_outer_radius / MM:.2f} mm inside, "
        f"{2 * rotor.ring_outer_radius / MM:.2f} mm outside, {motor.stack_length / MM:g} mm long"
    )


def _mass(volume: float, material: Core | Magnet | Structure) -> float | None:
    return None if material.density is None else material.density * volume


def _for_people(items: tuple[PartItem, ...]) -> Table:
    return table(
        ["part", "what", "material", "count", "length", "area", "volume", "mass", "basis"],
        [
            [
                item.part,
                item.what,
                item.material,
                str(item.count),
                _with_unit(item.length, 1.0, "m"),
                _with_unit(item.area, CM**2, "cm²"),
                _with_unit(item.volume, CM**3, "cm³"),
                _with_unit(item.mass, GRAM, "g") or "not known",
                item.basis,
            ]
            for item in items
        ],
    )


def _with_unit(value: float | None, unit: float, name: str) -> str:
    return "" if value is None else f"{value / unit:.4g} {name}"


def _records(items: tuple[PartItem, ...]) -> Table:
    return table(
        ["part", "what", "material", "count", "length_m", "area_mm2", "volume_mm3", "mass_kg",
         "basis"],
        [
            [
                item.part, item.what, item.material, str(item.count),
                _plain(item.length, 1.0), _plain(item.area, MM**2), _plain(item.volume, MM**3),
                _plain(item.mass, 1.0), item.basis,
            ]
            for item in items
        ],
    )  # fmt: skip


def _plain(value: float | None, unit: float) -> str:
    return "" if value is None else f"{value / unit:.8g}"
