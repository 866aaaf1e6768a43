"""From half slots to phases: ampere-turns in, flux linkage out."""

import math
from dataclasses import dataclass
from typing import Literal, Self

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.design import Connection, Motor
from fem_motor.units import DEG
from fem_motor.winding import Winding

Layers = Literal[1, 2]

STEP_ORDERS = (1, 5, 7, 11)
"""Electrical orders of six-step currents that a symmetry must carry over; later ones repeat."""

EVEN_BLOCK = 1e-9
"""Cosine of half the width of a block, below which it is one of 180°."""


def half_slot_turns(winding: Winding) -> FloatArray:
    """Return the turns of each phase in each half slot, (3, slots, 2), +z positive.

    Tooth by tooth, on its clockwise and its counter-clockwise side. With one layer a coil side
    fills both halves of its slot.
    """
    return spread_over_slots(np.asarray(winding.side_turns, dtype=np.float64), winding.layers)


def spread_over_slots(turns: FloatArray, layers: Layers) -> FloatArray:
    """Return the turns in each half slot, (k, slots, 2), of turns beside each tooth."""
    if layers == 2:  # noqa: PLR2004  (two layers: every half slot has its own coil)
        return turns
    halves = turns / 2
    shared = halves.copy()
    shared[:, :, 0] += np.roll(halves[:, :, 1], 1, axis=1)
    shared[:, :, 1] += np.roll(halves[:, :, 0], -1, axis=1)
    return shared


def single_coils(slots: int, layers: Layers) -> FloatArray:
    """Return one turn around each tooth by half slots, (slots, slots, 2), outward flux positive."""
    each = np.eye(slots)
    return spread_over_slots(np.stack([-each, each], axis=2), layers)


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Phases:
    """The three branches of a machine: currents into half slots, means of A out of them.

    Attributes
    ----------
    turns : (3, slots, 2)
        See `half_slot_turns`.
    pole_pairs : int
    length : float
        Of the stack, m.
    d_axis : float
        Rotor angle at which phase U's fundamental linkage is most positive, rad.
    connection : "star" or "delta"
    layers : 1 or 2
    """

    turns: FloatArray
    pole_pairs: int
    length: float
    d_axis: float
    connection: Connection
    layers: Layers

    def __post_init__(self) -> None:
        object.__setattr__(self, "turns", frozen(self.turns))

    @classmethod
    def of(cls, winding: Winding, motor: Motor) -> Self:
        """Return the branches of a wound machine."""
        turns = half_slot_turns(winding)
        pole_pairs = motor.rotor.pole_pairs
        return cls(
            turns=turns,
            pole_pairs=pole_pairs,
            length=motor.stack_length,
            d_axis=d_axis_angle(turns, pole_pairs),
            connection=winding.connection,
            layers=winding.layers,
        )

    def ampere_turns(self, currents: FloatArray) -> FloatArray:
        """Return those of the half slots, (n, slots, 2), of branch currents, (3, n)."""
        return ampere_turns(self.turns, currents)

    def linkage(self, half_slot_mean: FloatArray) -> FloatArray:
        """Return the flux linkage, (3, n) Wb, from means of A, (n, slots, 2)."""
        return flux_linkage(self.turns, half_slot_mean, self.length)

    def tooth_linkage(self, half_slot_mean: FloatArray) -> FloatArray:
        """Return that of one turn around each tooth, (slots, n) Wb, outward flux positive."""
        coils = single_coils(self.turns.shape[1], self.layers)
        return flux_linkage(coils, half_slot_mean, self.length)

    def electrical(self, angles: FloatArray) -> FloatArray:
        """Return the electrical angle of the d axis against phase U, rad."""
        return np.asarray(self.pole_pairs * (np.asarray(angles) - self.d_axis))

    def sine(self, angles: FloatArray, *, peak: float, current_angle: float) -> FloatArray:
        """Return sine currents that turn with the rotor, (3, n) A, see `turning_currents`."""
        return turning_currents(
            angles,
            peak=peak,
            current_angle=current_angle,
            d_axis=self.d_axis,
            pole_pairs=self.pole_pairs,
        )

    def six_step(self, angles: FloatArray, *, peak: float, current_angle: float) -> FloatArray:
        """Return branch currents, (3, n) A, of ideal six-step line currents.

        Star: blocks of 120° around the back-EMF's top. Delta: the whole current for 60° around
        it, half of it for 60° on either side, as two branches in series lie beside one. At a
        corner the mean of both sides.
        """
        # The back-EMF of phase U is −sin: its top lies 90° before the d axis comes to phase U.
        top = self.electrical(angles) + math.pi / 2 + current_angle
        phase = top[None] - 2 * math.pi / 3 * np.arange(3)[:, None]
        wave = np.cos(phase)
        if self.connection == "star":
            return peak * _block(wave, 60 * DEG)
        return peak / 2 * (_block(wave, 30 * DEG) + _block(wave, 90 * DEG))

    def to_dq(self, values: FloatArray, angles: FloatArray) -> FloatArray:
        """Return amplitude-invariant d and q components, (2, n), of phase quantities, (3, n)."""
        return to_dq(values, self.electrical(angles))

    def repeats_after(self, *, sign: int, slots: int, angle: float) -> bool:
        """Return whether turning currents repeat `slots` further on when the rotor has turned.

        Parameters
        ----------
        sign : 1 or -1
            With which the field of the magnets repeats.
        slots : int
        angle : float
            By which the rotor turns, rad.
        """
        phase = 2 * math.pi / 3 * np.arange(3)
        for order in STEP_ORDERS:
            wave = np.einsum("p,pks->ks", np.exp(-1j * order * phase), self.turns)
            ahead = np.exp(1j * order * self.pole_pairs * angle) * wave
            if not np.allclose(ahead, sign * np.roll(wave, slots, axis=0), atol=1e-9):
                return False
        return True


def _block(cosine: FloatArray, half_width: float) -> FloatArray:
    """Return ±1 within `half_width` of the tops of a cosine, 0 elsewhere, ±½ at the corners."""
    edge = math.cos(half_width)
    inside = np.where(np.abs(cosine) > edge, np.sign(cosine), 0.0)
    at_corner = np.isclose(np.abs(cosine), edge, rtol=0, atol=1e-9)
    # Blocks of 180° follow each other with both signs: nothing is left between them.
    beside = np.sign(cosine) / 2 if edge > EVEN_BLOCK else np.zeros_like(cosine)
    return np.where(at_corner, beside, inside)
