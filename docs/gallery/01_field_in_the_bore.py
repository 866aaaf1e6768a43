"""Inside a magnet ring in the open, the field falls as r^(p − 1): stay close to the magnets."""

import numpy as np
from gallery_tools import magnets_in_the_open, new_figure, radial_field, show, styled
from matplotlib.figure import Figure

import fem_motor as fm

POLE_PAIRS = 8


@styled
def picture() -> Figure:
    """Draw the fundamental of the radial field over the radius, and the law beside it."""
    field = fm.solve_field(magnets_in_the_open(2 * POLE_PAIRS), quality="draft")
    radius = np.linspace(18e-3, 28e-3, 11)
    found = np.array([radial_field(field, r, POLE_PAIRS) for r in radius])
    slope, _ = np.polyfit(np.log(radius), np.log(found), 1)

    # Laplace's equation in the bore: A_p ~ r^p, so B_p ~ r^(p − 1); K. Halbach (1980).
    assert abs(slope - (POLE_PAIRS - 1)) < 0.05

    figure = new_figure(6.0, 3.6)
    axes = figure.add_axes((0.12, 0.15, 0.84, 0.72))
    law = found[-1] * (radius / radius[-1]) ** (POLE_PAIRS - 1)
    axes.plot(1e3 * radius, law, label=f"law: r to the power of {POLE_PAIRS - 1}")
    axes.plot(1e3 * radius, found, "o", label="computed")
    axes.set(
        xlabel="radius, mm",
        ylabel="radial field, fundamental, T",
        title=f"Ten millimetres below the magnets little is left (power {slope:.2f})",
        ylim=(0, None),
    )
    axes.legend()
    return figure


if __name__ == "__main__":
    show(picture, __file__)
