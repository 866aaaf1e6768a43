"""A core that is nearly air cogs in proportion to its permeability less one."""

import numpy as np
from gallery_tools import design, new_figure, show, styled
from matplotlib.figure import Figure

import fem_motor as fm

PERMEABILITIES = (1.01, 1.02, 1.04, 1.6, 4.0, 20.0, 200.0, 2000.0)
QUARTER_PERIOD_DEG = 0.625  # of 2.5°, where the first harmonic of cogging has its top


def cogging(permeability: float) -> float:
    """Return the torque of the printed geometry at a quarter of its cogging period, N m."""
    core = {"kind": "core", "relative_permeability": permeability, "source": "tried"}
    machine = design("printed_18s16p", stator={"core": "tried"}, materials={"tried": core})
    sweep = fm.rotor_sweep(machine, angles_deg=[QUARTER_PERIOD_DEG])
    return abs(float(sweep.torque_Nm[0]))


@styled
def picture() -> Figure:
    """Draw cogging over the permeability of the core, from nearly air to linear steel."""
    found = np.array([cogging(permeability) for permeability in PERMEABILITIES])

    # Weak cores: the energy is −½ ∫ χ B²/μ0 with the field of the magnets alone (first order in
    # χ = μ − 1; any text on magnetised bodies), so twice the step is twice the torque. Steps, since
    # the mesh has a little cogging of its own (2e-7 N m here) that shows where there is no core.
    steps = np.diff(found[:3])
    assert abs(steps[1] / steps[0] - 2.0) < 0.06

    worst = PERMEABILITIES[int(np.argmax(found))]
    figure = new_figure(6.0, 3.6)
    axes = figure.add_axes((0.14, 0.15, 0.82, 0.72))
    axes.loglog(np.array(PERMEABILITIES) - 1, 1e3 * found, "o-")
    axes.axvspan(0.3, 1.0, color="#e6e6e6")
    axes.text(0.55, 1e3 * found.max(), "filled\nplastic", ha="center", va="top", fontsize=8)
    axes.set(
        xlabel="relative permeability of the core, less one",
        ylabel="torque at a quarter period, mN m",
        title=f"Proportional while weak, worst near a permeability of {worst:g}",
    )
    return figure


if __name__ == "__main__":
    show(picture, __file__)
