"""The section as a drawing: parts named, main dimensions given."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PolyCollection

from fem_motor.charts.drawing.shapes import (
    Kind,
    Shape,
    coil_places,
    magnetisation,
    motor_of,
    shapes_of,
)
from fem_motor.design import Motor, MotorDesign
from fem_motor.numbers import digits
from fem_motor.units import DEG, MM
from fem_motor.winding import wind

# Lightness tells the parts apart in grey; outlines and letters the coils.
_TONES: dict[Kind, str] = {
    "housing": "#ececec",
    "air": "white",
    "ring": "#6f7f8f",
    "magnet": "#3c4c5c",
    "core": "#b3b8be",
    "coil": "#f6d9b3",
}
_LABELS_UP_TO = 60
_ARROW = {"arrowstyle": "-", "linewidth": 0.6, "shrinkA": 2, "shrinkB": 0}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Size:
    """A dimension: name, value in mm, and the two points (mm) that it lies between."""

    words: str
    value: float
    ends: tuple[tuple[float, float], tuple[float, float]]

    @property
    def text(self) -> str:
        return f"{self.words}\n{digits(self.value)}"


def draw_section(design: MotorDesign | Motor, axes: Axes) -> None:
    """Draw the whole section in mm, rotor at 0, with its parts named."""
    motor = motor_of(design)
    _fill(shapes_of(motor), axes)
    _draw_magnetisation(motor, axes)
    if motor.stator.slots <= _LABELS_UP_TO:
        for name, radius, angle in coil_places(motor, wind(motor).coils):
            place = _polar(radius / MM, angle)
            axes.text(*place, name, ha="center", va="center", fontsize=6.5)
    _name_parts(motor, axes)
    axes.set(aspect="equal", xlabel="x, mm", ylabel="y, mm")
    axes.spines.bottom.set_bounds(*axes.get_ylim())
    axes.xaxis.set_label_coords(0.33, -0.08)
    axes.set_xticks([tick for tick in axes.get_yticks() if abs(tick) <= axes.get_ylim()[1]])
    axes.grid(visible=False)


def draw_detail(design: MotorDesign | Motor, axes: Axes) -> None:
    """Draw tooth 1 and what faces it in mm, with dimensions below and above it."""
    motor = motor_of(design)
    stator, rotor = motor.stator, motor.rotor
    half = 1.3 * math.pi / min(stator.slots, rotor.poles)
    low, high = stator.inner_radius / MM, rotor.housing_outer_radius / MM
    reach = stator.outer_radius / MM * math.sin(min(half, 1.2))
    _fill(shapes_of(motor), axes)
    _draw_magnetisation(motor, axes)
    room = 0.05 * (high - low)
    width, height = axes.get_window_extent().size
    # As wide as the picture, so that the texts under a short tooth have the same room.
    room = max(room, (2 * reach * width / height - (high - low)) / 2)
    axes.set_xlim(low - room, high + room)
    axes.set_ylim(-reach, reach)
    chain = _radial_sizes(motor, -reach)
    # Radii are true on the axis of the tooth: thin lines carry them down to the chain.
    axes.vlines([end[0] for size in chain for end in size.ends], -reach, 0.0, colors="#a01515",
                linewidth=0.4, linestyles=":")  # fmt: skip
    _dimensions(axes, chain, level=-0.14)
    _dimensions(axes, _tangential_sizes(motor), level=1.10, apart=0.18)
    axes.text(0.03, 1.10, "in mm", transform=axes.transAxes, fontsize=8, color="#a01515",
              ha="center", va="center")  # fmt: skip
    axes.set_aspect("equal")
    axes.set_axis_off()


def draw_borders(design: MotorDesign | Motor, axes: Axes) -> None:
    """Draw the edges of all parts in mm, thin and light, over a map of the field."""
    borders = [piece.T / MM for shape in shapes_of(motor_of(design)) for piece in shape.border]
    axes.add_collection(LineCollection(borders, colors="#d0d0d0", linewidths=0.4), autolim=False)


def _fill(shapes: Iterable[Shape], axes: Axes) -> None:
    for kind, parts in groupby(shapes, key=lambda shape: shape.kind):
        group = list(parts)
        tone = _TONES[kind]
        # Edges in the same tone close the hairlines between half cells.
        axes.add_collection(
            PolyCollection(
                [shape.outline.T / MM for shape in group],
                facecolors=tone,
                edgecolors=tone,
                linewidths=0.4,
            )
        )
        borders = [piece.T / MM for shape in group for piece in shape.border]
        axes.add_collection(LineCollection(borders, colors="#202020", linewidths=0.5))


def _draw_magnetisation(motor: Motor, axes: Axes) -> None:
    rotor = motor.rotor
    middle = rotor.magnet_inner_radius + rotor.magnet_thickness / 2
    width = rotor.magnet_width or middle * rotor.segment_pitch * (rotor.magnet_arc_fraction or 1)
    reach = 0.4 * min(rotor.magnet_thickness, width) / MM
    for axis, direction in magnetisation(motor):
        x, y = _polar(middle / MM, axis)
        step = _polar(reach, direction)
        axes.annotate(
            "",
            xy=(x + step[0], y + step[1]),
            xytext=(x - step[0], y - step[1]),
            arrowprops={
                "arrowstyle": "-|>",
                "color": "white",
                "linewidth": 0.9,
                "mutation_scale": 6,
                "shrinkA": 0,
                "shrinkB": 0,
            },
        )


def _name_parts(motor: Motor, axes: Axes) -> None:
    """Name the parts in a column on the right, each with a line to one of its places."""
    radius = motor.rotor.housing_outer_radius / MM
    parts = _part_places(motor)
    axes.set_xlim(-1.04 * radius, 2.15 * radius)
    axes.set_ylim(-1.04 * radius, 1.04 * radius)
    heights = _spread(
        [1.02 * radius * math.sin(angle) for _, _, angle in parts],
        0.13 * radius,
        low=-radius,
        high=radius,
    )
    for (words, place, angle), height in zip(parts, heights, strict=True):
        spot = _polar(place / MM, angle)
        axes.annotate(words, xy=spot, xytext=(1.15 * radius, height), va="center",
                      fontsize=8, arrowprops=_ARROW)  # fmt: skip
        axes.plot(*spot, marker="o", markersize=2.5, color="black")


def _spread(wanted: Sequence[float], gap: float, *, low: float, high: float) -> list[float]:
    """Return positions near the wanted ones, at least `gap` apart, between `low` and `high`.

    The order stays; where there is no room for all at that gap, the first may pass `low`.
    """
    order = sorted(range(len(wanted)), key=lambda place: wanted[place])
    spread = [max(wanted[place], low) for place in order]
    for place in range(1, len(spread)):
        spread[place] = max(spread[place], spread[place - 1] + gap)
    surplus = (sum(spread) - sum(wanted)) / max(len(wanted), 1)
    spread = [max(position - surplus, low) for position in spread]
    ceiling = high
    for place in reversed(range(len(spread))):
        spread[place] = min(spread[place], ceiling)
        ceiling = spread[place] - gap
    return [spread[order.index(place)] for place in range(len(wanted))]


def _part_places(motor: Motor) -> list[tuple[str, float, float]]:
    """Return name, radius (m) and angle (rad) of a point in each part, by falling angle."""
    stator, rotor = motor.stator, motor.rotor
    coil = (stator.yoke_radius + 2 * stator.tip_corner_radius) / 3
    tooth = (3 * stator.yoke_radius + stator.tip_corner_radius) / 4
    # Magnets and teeth stand at whole pitches, slots between two teeth.
    rows = [
        ("housing (non-magnetic)",
         (rotor.ring_outer_radius + rotor.housing_outer_radius) / 2, 68 * DEG),
        ("ring" if rotor.ring is not None else "",
         (rotor.magnet_outer_radius + rotor.ring_outer_radius) / 2, 55 * DEG),
        ("magnet",
         rotor.magnet_inner_radius + 0.8 * rotor.magnet_thickness,
         _nearest(rotor.segment_pitch, 40 * DEG)),
        ("air gap", stator.outer_radius + motor.air_gap / 2, 17 * DEG),
        ("coil", coil, _nearest(stator.slot_pitch, 0.0, shift=0.4)),
        ("tooth", tooth, _nearest(stator.slot_pitch, -20 * DEG)),
        ("yoke", (stator.inner_radius + stator.yoke_radius) / 2, -40 * DEG),
        ("hub bore" if stator.inner_radius > 0 else "", 0.7 * stator.inner_radius, -58 * DEG),
    ]  # fmt: skip
    return [row for row in rows if row[0]]


def _nearest(pitch: float, angle: float, *, shift: float = 0.0) -> float:
    """Return the axis nearest to `angle` in rad, axes at whole pitches plus a share of one."""
    return (round(angle / pitch - shift) + shift) * pitch


def _radial_sizes(motor: Motor, level: float) -> list[_Size]:
    """Return the chain of radial thicknesses from the bore to the outside."""
    stator, rotor = motor.stator, motor.rotor
    bore = stator.outer_radius + motor.air_gap
    radii = [
        ("yoke", stator.inner_radius, stator.yoke_radius),
        ("slot", stator.yoke_radius, stator.tip_corner_radius),
        ("tip", stator.tip_corner_radius, stator.outer_radius),
        ("air gap", stator.outer_radius, bore),
        ("skin", bore, rotor.magnet_inner_radius),
        ("magnet", rotor.magnet_inner_radius, rotor.magnet_inner_radius + rotor.magnet_thickness),
        ("ring", rotor.magnet_outer_radius, rotor.ring_outer_radius),
        ("housing", rotor.ring_outer_radius, rotor.housing_outer_radius),
    ]
    return [
        _Size(words=words, value=(outer - inner) / MM,
              ends=((inner / MM, level), (outer / MM, level)))
        for words, inner, outer in radii
        if outer - inner > 1e-9  # noqa: PLR2004  (a nanometre: there is no such part)
    ]  # fmt: skip


def _tangential_sizes(motor: Motor) -> list[_Size]:
    """Return the widths: tooth, slot opening, magnet."""
    stator, rotor = motor.stator, motor.rotor
    tooth_at = (stator.yoke_radius + 0.4 * (stator.tip_corner_radius - stator.yoke_radius)) / MM
    half_tooth = stator.tooth_width / 2 / MM
    opening, middle = stator.opening_angle / 2, stator.slot_pitch / 2
    tip = (stator.outer_radius - stator.tip_thickness / 2) / MM
    sizes = [
        _Size(words="tooth width", value=stator.tooth_width / MM,
              ends=((tooth_at, -half_tooth), (tooth_at, half_tooth))),
        _Size(words="slot opening", value=stator.slot_opening / MM,
              ends=(_polar(tip, middle - opening), _polar(tip, middle + opening))),
    ]  # fmt: skip
    if rotor.magnet_width is not None:
        at = (rotor.magnet_inner_radius + 1.15 * rotor.magnet_thickness) / MM
        half = rotor.magnet_width / 2 / MM
        sizes.append(_Size(words="magnet width", value=2 * half, ends=((at, -half), (at, half))))
    return sizes


def _polar(radius: float, angle: float) -> tuple[float, float]:
    return radius * math.cos(angle), radius * math.sin(angle)


def _dimensions(axes: Axes, sizes: Sequence[_Size], *, level: float, apart: float = 0.13) -> None:
    """Draw dimension lines; their texts stand in a row at `level`, `apart` (axes fractions)."""
    low, high = axes.get_xlim()
    middles = [sum(end[0] for end in size.ends) / 2 for size in sizes]
    places = _spread(
        [(middle - low) / (high - low) for middle in middles], apart, low=0.03, high=0.95
    )
    color = "#a01515"
    for size, place, middle in zip(sizes, places, middles, strict=True):
        (x1, y1), (x2, y2) = size.ends
        tick = "|" if abs(x2 - x1) > abs(y2 - y1) else "_"
        axes.plot((x1, x2), (y1, y2), color=color, linewidth=1.2, linestyle="-", marker=tick,
                  markersize=7, clip_on=False)  # fmt: skip
        axes.annotate(
            size.text,
            xy=(middle, (y1 + y2) / 2),
            xytext=(place, level),
            textcoords="axes fraction",
            ha="center",
            va="center",
            fontsize=8,
            annotation_clip=False,
            arrowprops={**_ARROW, "color": color},
        )
