"""Cogging repeats with the least common multiple of slots and poles: 18 and 16 give 144 a turn."""

import math

import numpy as np
from gallery_tools import design, new_figure, show, styled
from matplotlib.figure import Figure

import fem_motor as fm

SLOTS, POLES = 18, 16
POINTS = 96


@styled
def picture() -> Figure:
    """Draw cogging over a slot pitch, and its orders; no symmetry is put in."""
    machine = design("printed_18s16p")
    angles = 360 / SLOTS / POINTS * np.arange(POINTS)
    sweep = fm.rotor_sweep(machine, angles_deg=angles, extent="whole", quality="draft")
    amplitude = 2 / POINTS * np.abs(np.fft.rfft(sweep.torque_Nm))
    orders = SLOTS * np.arange(len(amplitude))  # a slot pitch is 1/18 of a turn

    # Z. Zhu and D. Howe, IEEE Trans. Energy Convers. 15 (2000) 407, from memory.
    strongest = int(orders[1:][np.argmax(amplitude[1:])])
    assert strongest == math.lcm(SLOTS, POLES)

    figure = new_figure(6.0, 4.6)
    above = figure.add_axes((0.13, 0.62, 0.83, 0.29))
    below = figure.add_axes((0.13, 0.11, 0.83, 0.33))
    above.plot(angles, 1e3 * sweep.torque_Nm)
    above.set(
        xlabel="rotor angle, degrees",
        ylabel="torque, mN m",
        title=f"Eight waves on a slot pitch: order {strongest}",
    )
    below.bar(orders[1:25], 1e3 * amplitude[1:25], width=8)
    below.set(xlabel="order, waves in a turn", ylabel="amplitude, mN m", xticks=orders[:25:4])
    below.grid(visible=False, axis="x")
    return figure


if __name__ == "__main__":
    show(picture, __file__)
