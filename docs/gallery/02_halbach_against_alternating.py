"""Without iron, four segments a pole in a Halbach layout give 74 % more than one magnet a pole."""

import math

from gallery_tools import magnets_in_the_open, new_figure, radial_field, show, styled
from matplotlib.figure import Figure

import fem_motor as fm

POLE_PAIRS = 8
RADIUS = 28.4e-3
SEGMENTS = (1, 2, 4)


def law(segments: int) -> float:
    """Return what segments a pole reach of an ideal Halbach ring: sin x/x, x = (p + 1) π/M.

    M magnets around the ring, all of one material, each magnetised in one direction. Alternating
    poles are the case of one segment. Source: K. Halbach, Nucl. Instrum. Methods 169 (1980) 1.
    """
    x = (POLE_PAIRS + 1) * math.pi / (2 * POLE_PAIRS * segments)
    return math.sin(x) / x


@styled
def picture() -> Figure:
    """Draw the fundamental in the air gap for one, two and four segments a pole."""
    found = []
    for segments in SEGMENTS:
        layout = "alternating" if segments == 1 else "halbach"
        ring = magnets_in_the_open(2 * POLE_PAIRS, magnet_layout=layout, segments_per_pole=segments)
        field = fm.solve_field(ring, quality="draft")
        found.append(radial_field(field, RADIUS, POLE_PAIRS))

    assert math.isclose(found[-1] / found[0], law(4) / law(1), rel_tol=0.01)

    figure = new_figure(6.0, 3.6)
    axes = figure.add_axes((0.12, 0.15, 0.84, 0.72))
    names = ["alternating", "Halbach, 2", "Halbach, 4"]
    axes.bar(names, found, width=0.5, color="#6b8cb0", label="computed")
    exact = [found[0] * law(segments) / law(1) for segments in SEGMENTS]
    axes.plot(names, exact, "o", color="#c8500a", label="law of segments, from the first bar")
    axes.set(
        ylabel="radial field in the gap, T",
        title=f"The same magnet material, {100 * (found[-1] / found[0] - 1):.0f} % more field",
    )
    axes.set_xlabel("magnets a pole")
    axes.grid(visible=False, axis="x")
    axes.legend(loc="upper left")
    axes.set_ylim(0, 1.35 * max(found))
    return figure


if __name__ == "__main__":
    show(picture, __file__)
