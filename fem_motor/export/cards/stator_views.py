"""Both faces of a wound stator as one SVG: tooth numbers, coils, which way the wire runs."""

import math
from collections.abc import Iterator, Sequence

SIZE = 420.0
"""Width of one view, in the picture's own units."""

_RADIUS = 0.36 * SIZE
_INK, _TONE = "#1a1a1a", "#b3b8be"


def stator_views(coils: Sequence[str]) -> str:
    """Return an SVG of the lead side and, mirrored, of the other side.

    Parameters
    ----------
    coils : sequence of str
        By tooth, "U+" … "W-" or "".
    """
    views = "".join(
        f'<g transform="translate({centre:g} {0.5 * SIZE:g})">{"".join(view)}</g>'
        for centre, view in (
            (0.5 * SIZE, _view(coils, 1, "lead side")),
            (1.55 * SIZE, _view(coils, -1, "other side")),
        )
    )
    width, height = 2.05 * SIZE, SIZE
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" font-family="DejaVu Sans, sans-serif" role="img" '
        f'aria-label="the stator from both sides">{views}</svg>'
    )


def _view(coils: Sequence[str], side: int, name: str) -> Iterator[str]:
    """Yield the shapes of one view; side 1 is the lead side, −1 the other, seen mirrored."""
    number = len(coils)
    pitch = 2 * math.pi / number
    letters = min(13.0, 0.62 * pitch * _RADIUS)
    yield f'<circle r="{0.45 * _RADIUS:.1f}" fill="{_TONE}"/>'
    yield _words(0, -12, name, 14)
    yield _words(0, 6, "numbers run", 9)
    yield _words(0, 18, "counter-clockwise" if side == 1 else "clockwise", 9)
    for tooth, coil in enumerate(coils):
        angle = tooth * pitch
        inner, outer = (_at(radius * _RADIUS, angle, side) for radius in (0.45, 1.0))
        yield (
            f'<line x1="{inner[0]:.1f}" y1="{inner[1]:.1f}" x2="{outer[0]:.1f}" '
            f'y2="{outer[1]:.1f}" stroke="{_TONE}" stroke-width="{0.3 * pitch * _RADIUS:.1f}"/>'
        )
        x, y = _at(1.12 * _RADIUS, angle, side)
        yield _words(x, y, str(tooth + 1), letters)
        if coil:
            x, y = _at(1.29 * _RADIUS, angle, side)
            yield _words(x, y, coil.replace("-", "−"), letters)
            yield from _wires(angle, pitch, coil, side)


def _wires(angle: float, pitch: float, coil: str, side: int) -> Iterator[str]:
    """Yield the marks of the wire on both sides of a tooth.

    Seen from the lead side the wire of a + coil comes towards the reader on the counter-clockwise
    side of its tooth; from the other side what comes goes.
    """
    dot = min(6.0, 0.13 * pitch * _RADIUS)
    sign = 1 if coil[1] == "+" else -1
    for beside in (1, -1):
        x, y = _at(0.8 * _RADIUS, angle + 0.3 * beside * pitch, side)
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{dot:.1f}" fill="white" stroke="{_INK}"/>'
        if sign * beside * side > 0:
            yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{0.35 * dot:.1f}" fill="{_INK}"/>'
        else:
            d = dot / math.sqrt(2)
            yield (
                f'<path d="M{x - d:.1f} {y - d:.1f}L{x + d:.1f} {y + d:.1f}'
                f'M{x - d:.1f} {y + d:.1f}L{x + d:.1f} {y - d:.1f}" stroke="{_INK}"/>'
            )


def _at(radius: float, angle: float, side: int) -> tuple[float, float]:
    """Return a place in the picture, whose y runs down."""
    return side * radius * math.cos(angle), -radius * math.sin(angle)


def _words(x: float, y: float, words: str, size: float) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:.1f}" text-anchor="middle" '
        f'dominant-baseline="central" fill="{_INK}">{words}</text>'
    )
