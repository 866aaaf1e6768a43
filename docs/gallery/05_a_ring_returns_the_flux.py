"""A ring of steel behind the magnets returns their flux: more in the gap, almost none outside."""

import math

import numpy as np
from gallery_tools import magnets_in_the_open, new_figure, radial_field, show, styled
from matplotlib.figure import Figure

import fem_motor as fm

POLE_PAIRS = 8
INSIDE, OUTSIDE, GAP = 28.8e-3, 33.8e-3, 28.4e-3


def gain() -> float:
    """Return the field with a perfect ring over that without one, radial magnets in the open.

    Magnetic charge of M cos pθ along the radius, −M at the inner face and −M/r inside; each shell
    at r' gives r'/(2 p) (r/r')^p, and with the potential 0 on the ring less its image, times
    1 − (r'/R)^(2 p). Derived here; without ring it is K. Halbach's p/(p − 1) law.
    """
    p, a, b = POLE_PAIRS, INSIDE, OUTSIDE
    straight = a ** (1 - p) - b ** (1 - p)
    without = straight * p / (p - 1)
    image = (b ** (p + 1) - a ** (p + 1)) / ((p + 1) * b ** (2 * p))
    inner = a ** (1 - p) * (1 - (a / b) ** (2 * p))
    return (inner + straight / (p - 1) - image) / without


@styled
def picture() -> Figure:
    """Draw the radial field along a radius through a magnet, with and without the ring."""
    ring = {"ring_material": "perfect-steel", "ring_thickness_mm": 3.0}
    figure = new_figure(6.0, 3.6)
    axes = figure.add_axes((0.12, 0.15, 0.84, 0.72))
    radius = np.concatenate([np.linspace(20e-3, 28e-3, 9), np.linspace(38e-3, 41e-3, 4)])
    found = []
    for keys, name, style in (({}, "no ring", "o-"), (ring, "ring of steel", "s--")):
        machine = magnets_in_the_open(2 * POLE_PAIRS, magnetisation="radial", **keys)
        field = fm.solve_field(machine, quality="draft")
        found.append(radial_field(field, GAP, POLE_PAIRS))
        values = np.array([radial_field(field, r, POLE_PAIRS) for r in radius])
        (line,) = axes.plot(1e3 * radius[:9], values[:9], style, label=name)
        axes.plot(1e3 * radius[9:], values[9:], style, color=line.get_color())

    assert math.isclose(found[1] / found[0], gain(), rel_tol=0.01)

    axes.axvspan(1e3 * INSIDE, 1e3 * OUTSIDE, color="#d9dde2")
    axes.text(31.3, 0.05, "magnets", ha="center", fontsize=8)
    axes.set(
        xlabel="radius, mm",
        ylabel="radial field, fundamental, T",
        title=f"{100 * (found[1] / found[0] - 1):.0f} % more in the gap, nothing outside",
        ylim=(0, None),
    )
    axes.legend()
    return figure


if __name__ == "__main__":
    show(picture, __file__)
