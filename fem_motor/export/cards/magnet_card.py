"""The magnet card: magnet by magnet, which way its north looks, how to check and insert it."""

import math

from fem_motor.design import Motor, Rotor
from fem_motor.export.cards.as_designed import changed_magnets
from fem_motor.export.cards.card import Card, Section, Table, table
from fem_motor.units import DEG, MM

FORMAT = "fem_motor.magnet_card"
VERSION = 1

FACES = {
    0: "outward, away from the shaft",
    90: "counter-clockwise, along the rim",
    180: "inward, to the shaft",
    270: "clockwise, along the rim",
}
"""Where the north face looks, by the angle of the magnetisation from the outward axis, degrees."""

UP_TO = 0.5
"""Degrees within which a magnet counts as magnetised along one of its own axes."""

CAUTIONS = (
    (
        "Strong magnets pinch: two of them jump together from a hand's breadth and crush skin. "
        "Keep one at a time on the bench, the others in their spacers, well away."
    ),
    (
        "They shatter when they snap together: eye protection always. Do not cut or drill them; "
        "their dust burns."
    ),
    "Keep them from pacemakers and other implants, cards, disks and compasses.",
    "Keep them from children: two swallowed magnets are a surgical emergency.",
    (
        "A magnet that comes loose in a turning rotor leaves it like shot: let glue cure as its "
        "maker says, turn every new rotor first in a closed box, and stand out of its plane."
    ),
    (
        "Rules of your country and workplace, and the magnets' and glue's maker, come before "
        "anything written here."
    ),
)


def magnet_card(motor: Motor) -> Card:
    """Return the magnet card of `motor` as designed; what came out otherwise stands apart."""
    changes = changed_magnets(motor)
    apart = (
        (
            "This card shows the design. The design file also says (as_built.magnets) that the "
            "magnets below came out otherwise; nothing above follows them."
        ),
        changes,
    )
    return Card(
        title=f"Magnet card: {motor.title}",
        format=FORMAT,
        version=VERSION,
        sections=(
            Section(heading="What is inserted", blocks=(_figures(motor),)),
            Section(heading="How to read this card", blocks=(_reading(motor.rotor),)),
            Section(heading="Magnet by magnet", blocks=(_directions(motor.rotor),)),
            Section(heading="How to find north, and to check", blocks=(_checks(motor.rotor),)),
            Section(heading="In which order", blocks=(_order(motor.rotor),)),
            *([Section(heading="As built, otherwise than designed", blocks=apart)] if changes
              else []),
            Section(heading="Cautions", blocks=(CAUTIONS,)),
        ),
        records=_records(motor.rotor),
    )  # fmt: skip


def _figures(motor: Motor) -> Table:
    rotor = motor.rotor
    sizes = magnet_sizes(motor)
    return table(
        ["figure", "value", "basis"],
        [
            ["magnets", str(rotor.segments), "design file"],
            ["poles", str(rotor.poles), "design file"],
            ["layout", layout_words(rotor), "design file"],
            ["size of a magnet", sizes, "design file"],
            ["magnetised", magnetised_words(rotor), "computed"],
            ["magnetisation inside each", inside_words(rotor), "design file"],
            ["grade", rotor.magnet.name, "design file"],
            [
                "inner faces on a circle of",
                f"{2 * rotor.magnet_inner_radius / MM:.2f} mm diameter",
                "computed",
            ],
        ],
    )


def layout_words(rotor: Rotor) -> str:
    """Return alternating or Halbach, with how many magnets a pole has."""
    if rotor.magnet_layout == "alternating":
        return "alternating, one magnet a pole"
    side = "the stator" if rotor.strong_side == "stator" else "the outside"
    return f"Halbach, {rotor.segments_per_pole} magnets a pole, strong side to {side}"


def magnetised_words(rotor: Rotor) -> str:
    """Return how magnets have to be magnetised, kind by kind, with how many of each.

    A block can be turned over and end for end; an arc only end for end, so that north inside and
    north outside are two kinds.
    """
    kinds: dict[str, int] = {}
    for angle in _angles(rotor):
        words = _kind(angle) if rotor.magnet_shape == "block" else _kind_of_arc(angle)
        kinds[words] = kinds.get(words, 0) + 1
    return "; ".join(f"{number} {words}" for words, number in kinds.items())


def inside_words(rotor: Rotor) -> str:
    """Return whether the magnetisation keeps one direction or follows the radius."""
    return "radial" if rotor.magnetisation == "radial" else "parallel, one direction throughout"


def _kind(angle: float) -> str:
    across = min(angle % 180, 180 - angle % 180)
    if across < UP_TO:
        return "through the thickness"
    if abs(across - 90) < UP_TO:
        return "along the width"
    return f"at {across:.4g}° to the thickness (made to order)"


def _kind_of_arc(angle: float) -> str:
    signed = abs(math.remainder(angle, 360))
    if signed < UP_TO:
        return "with north on the outer face"
    if 180 - signed < UP_TO:
        return "with north on the inner face"
    return f"with north {signed:.4g}° from outward (made to order)"


def magnet_sizes(motor: Motor) -> str:
    """Return width, thickness and length of one magnet, or the radii and angle of an arc."""
    rotor, length = motor.rotor, motor.stack_length / MM
    thick = rotor.magnet_thickness / MM
    if rotor.magnet_width is not None:
        return f"{rotor.magnet_width / MM:g} mm wide, {thick:g} mm thick, {length:g} mm long"
    inner = rotor.magnet_inner_radius / MM
    angle = (rotor.magnet_arc_fraction or 1.0) * rotor.segment_pitch / DEG
    return (
        f"arc of {angle:.4g}°, radii {inner:g} and {inner + thick:g} mm "
        f"({thick:g} mm thick), {length:g} mm long"
    )


def _angles(rotor: Rotor) -> list[float]:
    """Return the direction of each magnetisation from its outward axis, degrees, 0 … 360."""
    return [round(math.degrees(float(angle)), 6) % 360 for angle in rotor.magnet_directions]


def facing(angle: float) -> str:
    """Return in words where a north face looks, from its angle to the outward axis in degrees.

    >>> facing(180.0), facing(60.0)
    ('inward, to the shaft', '60° from outward, towards counter-clockwise')
    """
    for straight, words in FACES.items():
        if abs(math.remainder(angle - straight, 360)) < UP_TO:
            return words
    signed = math.remainder(angle, 360)
    way = "counter-clockwise" if signed > 0 else "clockwise"
    return f"{abs(signed):.4g}° from outward, towards {way}"


def _reading(rotor: Rotor) -> tuple[str, ...]:
    step = rotor.segment_pitch / DEG
    return (
        (
            "Look into the rotor from the lead side, where the stator's leads will come out. "
            "Mark a pocket as 1 and count counter-clockwise. From the other side the numbers run "
            "clockwise: beware of the mirrored view."
        ),
        (
            f"The pockets are {step:.4g}° apart. Angles are those of the middle of each pocket, "
            "counter-clockwise from pocket 1."
        ),
        (
            "North is the pole from which the field leaves the magnet, the one that makers mark N. "
            "A free magnet's north end turns to geographic north."
        ),
        (
            "Outward is away from the shaft, inward to the stator and shaft; along the rim means "
            "that the north face touches the neighbour on that side."
        ),
    )


def _directions(rotor: Rotor) -> Table:
    return table(
        ["magnet", "at", "north face looks", "arrow from outward"],
        [
            [
                str(number),
                f"{(number - 1) * rotor.segment_pitch / DEG:.4g}°",
                facing(angle),
                f"{angle:.4g}°",
            ]
            for number, angle in enumerate(_angles(rotor), 1)
        ],
    )


def _checks(rotor: Rotor) -> tuple[str, ...]:
    common = (
        (
            "Make one marked magnet: hang it on a thread, away from iron; the end that points to "
            "geographic north is its north end. Mark that face, and check it against a second one."
        ),
        (
            "A north face pulls the marked magnet's unmarked side and pushes its marked side. Hold "
            "on to it with a stick, not with fingers."
        ),
        (
            "A compass does the same at a distance of several hand's breadths: its north end "
            "turns away from a north face. Bring it no nearer: a strong magnet can turn its "
            "needle's poles round for good."
        ),
    )
    if rotor.magnet_layout == "alternating":
        return (
            *common,
            (
                "Go around the finished rotor on the inside: the marked magnet must be pulled and "
                f"pushed by turns, {rotor.poles} times. Two alike side by side are a mistake."
            ),
        )
    return (
        *common,
        (
            "Mark every magnet with an arrow from its south to its north face before it goes near "
            "the rotor; check the arrow against the list when it is in."
        ),
        (
            f"On the strong side the finished rotor shows {rotor.poles} poles by turns; the other "
            "side pulls steel much less."
        ),
    )


def _order(rotor: Rotor) -> tuple[str, ...]:
    dry = "Try the pockets with one magnet first: it must slide in without force or rocking."
    if rotor.magnet_layout == "alternating":
        return (
            dry,
            (
                "First every magnet whose north looks inward (odd numbers), glued and wedged; "
                "let the glue cure. They stand two pockets apart and hardly pull at each other."
            ),
            (
                "Then the even numbers, north outward. Each is pulled towards its neighbours: "
                "slide it in along the shaft with a wooden stick, do not let it jump."
            ),
            "Common practice, from memory.",
        )
    return (
        dry,
        (
            "First the magnets whose north looks straight inward or outward, glued and wedged; let "
            "the glue cure."
        ),
        (
            "Then those between. Their neighbours push them out and turn them: press them in "
            "with a non-magnetic jig and keep them clamped until the glue has cured."
        ),
        "Common practice, from memory.",
    )


def _records(rotor: Rotor) -> Table:
    return table(
        ["magnet", "angle_deg", "north_face", "magnetisation_from_outward_deg", "basis"],
        [
            [
                str(number),
                f"{(number - 1) * rotor.segment_pitch / DEG:.6g}",
                facing(angle),
                f"{angle:.6g}",
                "as designed",
            ]
            for number, angle in enumerate(_angles(rotor), 1)
        ],
    )
