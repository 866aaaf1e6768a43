"""The section as a DXF drawing in millimetres: closed polylines with true arcs, part by part."""

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from fem_motor.design import Motor
from fem_motor.export.drawings.outlines import PARTS, Part, bulge, outlines
from fem_motor.section import Edge
from fem_motor.units import MM

FORMAT = "fem_motor.section"
VERSION = 1

COLOURS = {part: colour for colour, part in enumerate(PARTS, 1)}
"""Colour number of each part's layer; numbers and arrows have 8, a grey."""

NUMBERS, ARROWS, GREY = "NUMBERS", "MAGNETISATION", 8


def layer(part: Part) -> str:
    """Return the name of a part's layer.

    >>> layer("stator core")
    'STATOR_CORE'
    """
    return part.upper().replace(" ", "_")


def section_dxf(motor: Motor, coils: Sequence[str]) -> bytes:
    """Return the drawing of `motor` as designed, rotor at 0, whole circle.

    One layer for each part; the areas of a layer's outlines, holes negative, add up to the area of
    the part in the section. The layer NUMBERS holds teeth and magnets by number, MAGNETISATION an
    arrow in each magnet that points to its north face. The same motor gives the same bytes.

    Parameters
    ----------
    motor : Motor
    coils : sequence of str
        By tooth, as written on it.
    """
    with _no_clock():
        drawing = _empty_drawing(motor.title)
        space = drawing.modelspace()
        for outline in outlines(motor):
            space.add_lwpolyline(
                [_vertex(edge) for edge in outline.edges],
                format="xyb",
                close=True,
                dxfattribs={"layer": layer(outline.part)},
            )
        _add_numbers(space, motor, coils)
        _add_arrows(space, motor)
        stream = io.StringIO()
        drawing.write(stream)
    return stream.getvalue().encode()


def _empty_drawing(title: str) -> Any:  # noqa: ANN401  (ezdxf's document)
    from ezdxf.filemanagement import new  # noqa: PLC0415  (heavy)
    from ezdxf.units import MM as MILLIMETRES  # noqa: PLC0415

    drawing = new("R2010", units=MILLIMETRES)
    for name, value in (("format", FORMAT), ("version", str(VERSION)), ("title", title)):
        drawing.header.custom_vars.append(name, value)
    for part in PARTS:
        drawing.layers.add(layer(part), color=COLOURS[part])
    for name in (NUMBERS, ARROWS):
        drawing.layers.add(name, color=GREY)
    return drawing


@contextmanager
def _no_clock() -> Iterator[None]:
    """Let ezdxf write no date and no random name into the file: same motor, same bytes."""
    from ezdxf._options import options  # noqa: PLC0415

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _vertex(edge: Edge) -> tuple[float, float, float]:
    """Return where an edge begins, mm, and its bulge."""
    x, y = edge.start
    return x / MM, y / MM, bulge(edge)


def _add_numbers(space: Any, motor: Motor, coils: Sequence[str]) -> None:  # noqa: ANN401  (ezdxf's layout)
    stator, rotor = motor.stator, motor.rotor
    on_tooth = (stator.yoke_radius + 2 * stator.tip_corner_radius) / 3
    for tooth, coil in enumerate(coils):
        _write(space, f"{tooth + 1} {coil}".strip(), on_tooth, tooth * stator.slot_pitch,
               height=stator.tooth_width / 4)  # fmt: skip
    outside = rotor.housing_outer_radius + rotor.magnet_thickness
    height = min(0.6 * rotor.magnet_thickness, 0.3 * rotor.segment_pitch * outside)
    for segment in range(rotor.segments):
        _write(space, str(segment + 1), outside, segment * rotor.segment_pitch, height=height)


def _write(space: Any, words: str, radius: float, angle: float, *, height: float) -> None:  # noqa: ANN401  (ezdxf's layout)
    from ezdxf.enums import TextEntityAlignment  # noqa: PLC0415

    text = space.add_text(words, height=height / MM, dxfattribs={"layer": NUMBERS})
    text.set_placement(_polar(radius / MM, angle), align=TextEntityAlignment.MIDDLE_CENTER)


def _add_arrows(space: Any, motor: Motor) -> None:  # noqa: ANN401  (ezdxf's layout)
    rotor = motor.rotor
    middle = (rotor.magnet_inner_radius + rotor.magnet_thickness / 2) / MM
    reach = 0.35 * rotor.magnet_thickness / MM
    for segment, direction in enumerate(rotor.magnet_directions):
        axis = segment * rotor.segment_pitch
        x, y = _polar(middle, axis)
        dx, dy = _polar(reach, axis + float(direction))
        tip = (x + dx, y + dy)
        space.add_line((x - dx, y - dy), tip, dxfattribs={"layer": ARROWS})
        for side in (-1, 1):
            hx, hy = _polar(0.5 * reach, axis + float(direction) + side * math.radians(150))
            space.add_line(tip, (tip[0] + hx, tip[1] + hy), dxfattribs={"layer": ARROWS})


def _polar(radius: float, angle: float) -> tuple[float, float]:
    return radius * math.cos(angle), radius * math.sin(angle)
