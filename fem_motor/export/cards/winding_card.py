"""The winding card: tooth by tooth, which way round, how many turns, where each end goes."""

from collections.abc import Iterator
from dataclasses import dataclass

from fem_motor.design import Motor
from fem_motor.export.cards.as_designed import as_designed, changed_coils
from fem_motor.export.cards.card import Card, Drawing, Section, Table, table
from fem_motor.export.cards.stator_views import stator_views
from fem_motor.export.cards.winding_checks import check_section, turning
from fem_motor.materials import enamelled_diameter
from fem_motor.units import MM
from fem_motor.winding import Winding, wind

FORMAT = "fem_motor.winding_card"
VERSION = 1

ALLOWANCE = 0.10
"""Of wire for links between coils and turns that do not lie straight. Our assumption."""

PHASES = ("U", "V", "W")
DIRECTIONS = {"+": "counter-clockwise", "-": "clockwise"}
"""Of the wire from start to finish, seen with the tooth tip facing the reader.

A coil marked + drives flux outward, towards that reader, when current enters at its start: by the
right-hand rule it then runs counter-clockwise.
"""

CAUTIONS = (
    (
        "Scrape or burn enamel off only with ventilation: its fumes irritate. Wear eye protection: "
        "sprung wire ends whip."
    ),
    "Sharp edges of the core cut enamel: line every slot first, round the edges at both ends.",
    (
        "Test the insulation between every lead and the core, and between phases, before the "
        "controller is connected. Use an insulation tester within its maker's rules and keep hands "
        "off the leads."
    ),
    (
        "A motor turned by a drill is a generator: its leads are live and its propeller, if any, "
        "cuts. Take the propeller off, cover the magnets, keep fingers and sleeves away."
    ),
    (
        "Rules of your country and workplace, and the battery's and controller's maker, come "
        "before anything written here."
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Coil:
    """One coil in winding order; tooth and circuit from 1."""

    tooth: int
    phase: str
    circuit: int
    sign: str
    begins: str
    ends: str


def winding_card(motor: Motor) -> Card:
    """Return the winding card of `motor` as designed."""
    designed = as_designed(motor)
    winding = wind(designed)
    coils = tuple(_coils(winding))
    return Card(
        title=f"Winding card: {motor.title}",
        format=FORMAT,
        version=VERSION,
        sections=(
            *_doubts(winding),
            Section(heading="What is wound", blocks=(_figures(designed, winding),)),
            Section(heading="How to hold the stator", blocks=(_holding(winding),)),
            Section(heading="Coils in the order of winding", blocks=_coil_blocks(coils, winding)),
            Section(heading="Where each end goes", blocks=_join_blocks(winding)),
            Section(heading="Both sides of the stator", blocks=_sides(winding)),
            Section(heading="Wire", blocks=_wire(designed, winding)),
            check_section(designed, winding),
            *_as_built(motor),
            Section(heading="Cautions", blocks=(CAUTIONS,)),
        ),
        records=_records(coils, winding),
    )


def _doubts(winding: Winding) -> Iterator[Section]:
    """Yield what is wrong with the layout itself, before anybody winds it."""
    found = tuple(
        f"{finding.name}: {finding.why} To mend: {finding.do}"
        for finding in winding.findings
        if finding.status != "ok"
    )
    if found:
        yield Section(
            heading="Before you wind: what the check says of this layout", blocks=(found,)
        )


def _coils(winding: Winding) -> Iterator[_Coil]:
    """Yield the coils in winding order: phase by phase, circuit by circuit."""
    for phase in PHASES:
        circuits = winding.circuits(phase)
        for number, teeth in enumerate(circuits, 1):
            name = wire_name(phase, number, len(circuits))
            last = len(teeth) - 1
            for place, tooth in enumerate(teeth):
                before, after = teeth[max(place - 1, 0)] + 1, teeth[min(place + 1, last)] + 1
                yield _Coil(
                    tooth=tooth + 1,
                    phase=phase,
                    circuit=number,
                    sign=winding.coils[tooth][1],
                    begins=f"start of {name}" if place == 0 else f"wire from tooth {before}",
                    ends=f"finish of {name}" if place == last else f"on to tooth {after}",
                )


def wire_name(phase: str, circuit: int, circuits: int) -> str:
    """Return what one wire is called.

    >>> wire_name("U", 1, 1), wire_name("U", 2, 2)
    ('U', 'U, circuit 2')
    """
    return phase if circuits == 1 else f"{phase}, circuit {circuit}"


def _figures(motor: Motor, winding: Winding) -> Table:
    spec = motor.winding
    coils = sum(1 for coil in winding.coils if coil)
    return table(
        ["figure", "value", "basis"],
        [
            ["teeth, coils", f"{len(winding.coils)}, {coils}", "design file"],
            ["turns of each coil", str(spec.turns_per_tooth), "design file"],
            ["wires side by side (strands)", str(spec.strands), "design file"],
            ["bare diameter of a wire", f"{spec.wire_diameter / MM:.3f} mm", "design file"],
            [
                "over its enamel, grade 1, at most",
                f"{enamelled_diameter(spec.wire_diameter) / MM:.3f} mm",
                "IEC 60317-0-1, from memory",
            ],
            ["connection", spec.connection, "design file"],
            ["parallel circuits of a phase", str(spec.parallel_circuits), "design file"],
            ["copper over slot area", f"{100 * winding.fill_factor:.0f} %", "computed, bare wire"],
            ["winding factor", f"{winding.winding_factor:.4f}", "computed, star of slots"],
        ],
    )


def _holding(winding: Winding) -> tuple[str, ...]:
    number = len(winding.coils)
    return (
        (
            "The lead side is the face of the stack at which the leads come out. Mark it, and mark "
            "tooth 1: any tooth."
        ),
        (
            f"Looking at the lead side, count the teeth counter-clockwise: 1, 2 … {number}. "
            "Looking at the other side the same numbers run clockwise."
        ),
        (
            "To wind a tooth, turn the stator until its tip faces you, and look along the tooth "
            "towards the shaft. Clockwise and counter-clockwise on this card are what you see "
            "then. They are the same whichever face is up."
        ),
        (
            "With the lead side up, counter-clockwise means: up on the right of the tooth, over to "
            "the left, down on the left."
        ),
        "The direction is that of the wire from its start to its finish.",
    )


def _coil_blocks(coils: tuple[_Coil, ...], winding: Winding) -> tuple[str | Table, ...]:
    wires = 3 * winding.parallel_circuits
    return (
        (
            f"{wires} wires (each of {winding.strands} strands), one after the other: U, then V, "
            "then W. Wind a wire through all its teeth without cutting it, and label its start "
            "at once."
        ),
        table(
            ["order", "tooth", "phase", "direction", "turns", "comes from", "goes to"],
            [
                [
                    str(order),
                    str(coil.tooth),
                    coil.phase,
                    DIRECTIONS[coil.sign],
                    str(winding.turns_per_tooth),
                    coil.begins,
                    coil.ends,
                ]
                for order, coil in enumerate(coils, 1)
            ],
        ),
    )


def _join_blocks(winding: Winding) -> tuple[str | Table, ...]:
    circuits = winding.parallel_circuits
    many = f"all {circuits} " if circuits > 1 else ""
    ends = f"{many}starts" if circuits > 1 else "start", f"{many}finishes" if many else "finish"
    if winding.connection == "star":
        rows = [[f"terminal {phase}", f"{ends[0]} of {phase}"] for phase in PHASES]
        rows.append(["star point, insulated, no lead", f"{ends[1]} of U, V and W, all together"])
    else:
        rows = [
            [f"terminal {phase}", f"{ends[0]} of {phase} and {ends[1]} of {before}"]
            for phase, before in zip(PHASES, ("W", "U", "V"), strict=True)
        ]
    return (
        table(["joint", "what is joined there"], rows),
        (
            "Join and solder only after the checks below. With the supply in the sequence U, V, "
            f"W the rotor turns {turning(winding.coils, winding.pole_pairs)}, seen from the lead "
            "side; exchange any two leads to turn the other way."
        ),
    )


def _sides(winding: Winding) -> tuple[str | Table | Drawing, ...]:
    names = [f"{tooth} {coil}".strip() for tooth, coil in enumerate(winding.coils, 1)]
    mirrored = [names[0], *names[:0:-1]]
    return (
        (
            "Beware of the mirrored view: from the other side the teeth run the other way round. "
            "Facing the tooth tip, the direction of a coil does not change. + is "
            "counter-clockwise, − clockwise."
        ),
        Drawing(
            svg=stator_views(winding.coils),
            caption="Both faces. A dot: the wire, on its way from start to finish, comes towards "
            "you there; a cross: it goes away.",
        ),
        table(
            ["place, counter-clockwise", "tooth seen from the lead side", "from the other side"],
            [
                [str(place), name, other]
                for place, (name, other) in enumerate(zip(names, mirrored, strict=True), 1)
            ],
        ),
    )


def _wire(motor: Motor, winding: Winding) -> tuple[str | Table, ...]:
    coil = winding.turns_per_tooth * winding.turn_length
    coils = max(len(teeth) for phase in PHASES for teeth in winding.circuits(phase))
    ends = 2 * motor.winding.lead_length
    cut = coils * coil * (1 + ALLOWANCE) + ends
    phase = coils * coil * winding.parallel_circuits * winding.strands
    return (
        table(
            ["length", "value", "basis"],
            [
                ["mean turn", f"{winding.turn_length / MM:.1f} mm", "computed"],
                ["one coil, one strand", f"{coil:.2f} m", "computed"],
                ["one phase, all coils and strands", f"{phase:.2f} m", "computed"],
                ["all phases, coils only", f"{winding.wire_length:.2f} m", "computed"],
                [
                    "cut each strand of a wire to",
                    f"{cut:.2f} m",
                    (
                        f"computed, plus {100 * ALLOWANCE:.0f} % and "
                        f"{ends / MM:.0f} mm for both ends (assumed)"
                    ),
                ],
            ],
        ),
    )


def _as_built(motor: Motor) -> Iterator[Section]:
    changes = changed_coils(motor)
    if changes:
        words = (
            "This card shows the design. The design file also says (as_built.coils) that the coils "
            "below came out otherwise; nothing above follows them."
        )
        yield Section(heading="As built, otherwise than designed", blocks=(words, changes))


def _records(coils: tuple[_Coil, ...], winding: Winding) -> Table:
    length = winding.turns_per_tooth * winding.turn_length
    return table(
        [
            "order", "tooth", "phase", "circuit", "direction_facing_tooth_tip", "turns", "strands",
            "comes_from", "goes_to", "wire_length_of_a_strand_m", "basis",
        ],
        [
            [
                str(order), str(coil.tooth), coil.phase, str(coil.circuit), DIRECTIONS[coil.sign],
                str(winding.turns_per_tooth), str(winding.strands), coil.begins, coil.ends,
                f"{length:.4f}", "computed",
            ]
            for order, coil in enumerate(coils, 1)
        ],
    )  # fmt: skip
