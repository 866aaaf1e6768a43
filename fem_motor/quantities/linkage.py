"""From half slots to phases: ampere-turns in, flux linkage out."""

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.winding import Winding


def half_slot_turns(winding: Winding) -> FloatArray:
    """Return the turns of each phase in each half slot, (3, slots, 2), +z positive.

    Tooth by tooth, on its clockwise and its counter-clockwise side. With one layer a coil side
    fills both halves of its slot.
    """
    turns = np.asarray(winding.side_turns, dtype=np.float64)
    if winding.layers == 2:  # noqa: PLR2004  (two layers: every half slot has its own coil)
        return turns
    halves = turns / 2
    shared = halves.copy()
    shared[:, :, 0] += np.roll(halves[:, :, 1], 1, axis=1)
    shared[:, :, 1] += np.roll(halves[:, :, 0], -1, axis=1)
    return shared


def ampere_turns(turns: FloatArray, currents: FloatArray) -> FloatArray:
    """Return the ampere-turns of the half slots, (n, slots, 2), of branch currents, (3, n)."""
    return np.asarray(np.einsum("pks,pn->nks", turns, currents))


def flux_linkage(turns: FloatArray, half_slot_mean: FloatArray, length: float) -> FloatArray:
    """Return the flux linkage of the phases, (3, n) Wb, from means of A, (n, slots, 2) Wb/m."""
    return np.asarray(length * np.einsum("pks,nks->pn", turns, half_slot_mean))


def d_axis_angle(turns: FloatArray, pole_pairs: int) -> float:
    """Return the rotor angle, rad, at which phase U's fundamental linkage is most positive.

    At rotor angle 0 pole 1 is magnetised towards the shaft and stands at tooth 1. The linkage of
    a tooth at angle α is then −cos p(θ − α) times its largest, and so is that of any set of
    half slots by their phasor.
    """
    slots = turns.shape[1]
    tooth = 2 * np.pi / slots * np.arange(slots)
    signed = (turns[0, :, 1] - turns[0, :, 0]) / 2
    phasor = np.sum(signed * np.exp(1j * pole_pairs * tooth))
    return float((np.pi + np.angle(phasor)) / pole_pairs)


def turning_currents(
    angles: FloatArray, *, peak: float, current_angle: float, d_axis: float, pole_pairs: int
) -> FloatArray:
    """Return sine branch currents that turn with the rotor, (3, n) A.

    Parameters
    ----------
    angles : (n,) rad
        Of the rotor.
    peak : float
        A.
    current_angle : float
        γ, rad: i_q = I cos γ, i_d = −I sin γ; positive leads the back-EMF.
    d_axis : float
        See `d_axis_angle`.
    pole_pairs : int
    """
    i_d, i_q = -peak * np.sin(current_angle), peak * np.cos(current_angle)
    phase = 2 * np.pi / 3 * np.arange(3)[:, None]
    electrical = pole_pairs * (np.asarray(angles)[None] - d_axis) - phase
    return np.asarray(i_d * np.cos(electrical) - i_q * np.sin(electrical))


def to_dq(phases: FloatArray, electrical: FloatArray) -> FloatArray:
    """Return amplitude-invariant d and q components, (2, n), of phase quantities, (3, n).

    Parameters
    ----------
    phases : (3, n)
    electrical : (n,) rad
        Of the rotor's d axis against phase U.
    """
    angle = electrical[None] - 2 * np.pi / 3 * np.arange(3)[:, None]
    return (
        2
        / 3
        * np.array(
            [np.sum(phases * np.cos(angle), axis=0), -np.sum(phases * np.sin(angle), axis=0)]
        )
    )


def rotor_currents(
    winding: Winding, angles: FloatArray, *, peak: float, current_angle: float, pole_pairs: int
) -> FloatArray:
    """Return sine branch currents, (3, n) A, that turn with the rotor of a wound machine.

    Parameters
    ----------
    winding : Winding
    angles : (n,) rad
        Of the rotor.
    peak : float
        A.
    current_angle : float
        Lead over the back-EMF, electrical rad.
    pole_pairs : int
    """
    return turning_currents(
        angles,
        peak=peak,
        current_angle=current_angle,
        d_axis=d_axis_angle(half_slot_turns(winding), pole_pairs),
        pole_pairs=pole_pairs,
    )
