"""Eddy currents in magnets and ring, driven by the teeth that pass: an estimate.

Assumed: no current in the winding (its field adds to this, most of all with single-tooth coils
that have strong sub-harmonics); currents flow along the shaft and close at the ends of the stack;
magnets are in one piece, insulated from each other and from the ring, and thin against the skin
depth. In the ring, where that does not hold, the loss of the resistance-limited currents is cut
down by the skin depth at the permeability of its mean flux density.
"""

from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.design import Motor, Rotor
from fem_motor.losses.waves import rates, square
from fem_motor.quantities import MotorModel

HARMONICS = 12
"""Of the slot passing that are counted in the ring."""


def length_factor(width: float, length: float) -> float:
    """Return by how much the way back at the ends of a block lowers its eddy loss.

    l²/(w² + l²), the resistance of that way. Source: from memory, common practice.
    """
    return length**2 / (width**2 + length**2)


def magnet_width(rotor: Rotor) -> float:
    """Return how wide a magnet is along the circle, m."""
    if rotor.magnet_width is not None:
        return rotor.magnet_width
    middle = rotor.magnet_inner_radius + rotor.magnet_thickness / 2
    return (rotor.magnet_arc_fraction or 1.0) * rotor.segment_pitch * middle


def magnet_eddy_coefficient(
    motor: Motor, model: MotorModel, *, flux_factor: float = 1.0
) -> float | None:
    """Return the magnets' eddy loss over (mechanical rad/s)², W s²; None: resistivity not known.

    ρ J = −dA/dt + c, with c such that a magnet carries no net current; A is that of the section,
    so the field may vary over the magnet. In a uniform field that is the classical sheet formula,
    ω² B² w²/(24 ρ) W/m³ of a magnet of width w.
    """
    rotor = motor.rotor
    if rotor.magnet.resistivity is None:
        return None
    waves = model.element_waves("rotor", ("magnet",))
    change = rates(waves.potential, step=waves.step, is_closed=waves.is_closed)  # (k, m, n)
    if not waves.is_closed:  # the first of all copies is the second half of its magnet
        change = np.roll(change, 1, axis=0)
    square_of_change = variance_over_magnets(change, waves.area)
    length = motor.stack_length
    ends = length_factor(magnet_width(rotor), length)
    per_square = waves.share * length * ends / rotor.magnet.resistivity
    return float(flux_factor**2 * per_square * square_of_change)


def variance_over_magnets(change: FloatArray, area: FloatArray) -> float:
    """Return ∫ (Ȧ − its mean over the magnet)² dS, averaged over time, all magnets together.

    Parameters
    ----------
    change : (k, m, n)
        Ȧ in halves of magnets, two by two.
    area : (m,) m²
    """
    halves = change.reshape(-1, 2, *change.shape[1:])
    mean = np.einsum("shmn,m->sn", halves, area) / (2 * area.sum())
    apart = halves - mean[:, None, None]
    return float(np.einsum("shmn,m->", apart**2, area) / change.shape[-1])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingLoss:
    """Eddy loss of the ring over speed: Σ a ω² min(1, √(ω₀/ω)).

    Attributes
    ----------
    coefficient : (h,) W s²
        Per harmonic of the slot passing, as if resistance alone limited the currents.
    crossover : (h,) rad/s
        Mechanical speed at which the skin depth takes over.
    """

    coefficient: FloatArray
    crossover: FloatArray

    def __post_init__(self) -> None:
        object.__setattr__(self, "coefficient", frozen(self.coefficient))
        object.__setattr__(self, "crossover", frozen(self.crossover))

    def power(self, speed: float) -> float:
        """Return the loss, W, at a mechanical speed, rad/s."""
        if speed <= 0:
            return 0.0
        shielded = np.minimum(1.0, np.sqrt(self.crossover / speed))
        return float(speed**2 * (self.coefficient @ shielded))


def ring_loss(motor: Motor, model: MotorModel, *, flux_factor: float = 1.0) -> RingLoss | None:
    """Return the ring's eddy loss; None: its resistivity is not known, or it has no ring.

    Resistance-limited the loss is ω²/(2 ρ) ∫ A_h² dS per metre, over harmonics h of the slot
    passing. With A falling to 0 over the thickness t that is ω² A_h² t/(6 ρ) per surface, and where
    the skin depth δ is small ω² A_h² δ/(4 ρ): at most 1.5 δ/t of it. Derived from the surface
    impedance; the reaction of the currents on the flux that reaches the ring is left out.
    """
    rotor = motor.rotor
    if rotor.ring is None or rotor.ring.resistivity is None or not model.is_as_designed:
        return None
    waves = model.element_waves("rotor", ("ring",))
    number = waves.potential.shape[-1]
    amplitude = 2 / number * np.abs(np.fft.rfft(waves.potential)[..., 1 : HARMONICS + 1])
    order = motor.stator.slots * np.arange(1, amplitude.shape[-1] + 1)
    stored = flux_factor**2 * np.einsum("kmh,m->h", amplitude**2, waves.area)
    resistivity = rotor.ring.resistivity
    mean_square = np.mean(square(waves.flux_density), axis=(0, 2)) @ waves.area / waves.area.sum()
    permeability = 1 / float(rotor.ring.curve.reluctivity(np.array([mean_square]))[0])
    depth = 2 / 3 * rotor.ring_thickness  # δ at the crossover
    return RingLoss(
        coefficient=order**2 * waves.share * motor.stack_length * stored / (2 * resistivity),
        crossover=2 * resistivity / (permeability * order * depth**2),
    )
