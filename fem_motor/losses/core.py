"""Core loss of the stator, element by element, from the waves that the turning magnets drive.

P/m = k_h f (B_long^n + B_short^n) + k_e f² Σ h² B_h² + k_x f^1.5 ⟨|dB/dϑ|^1.5⟩/⟨|cos|^1.5⟩

with f the electrical frequency, ϑ the electrical angle, B_h the harmonics of both components and
B_long, B_short half the swings along the axes of the locus of B. Of a sine this is Bertotti's law,
k_h f B^n + k_e f² B² + k_x (f B)^1.5. Sources: G. Bertotti, IEEE Trans. Magn. 24 (1988) 621, from
memory; adding the short axis is common practice for turning flux, no source. Minor loops and
the change of the loops by saturation are left out.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray
from fem_motor.design import Motor
from fem_motor.losses.waves import SINE_EXCESS, rates, square, swings
from fem_motor.materials import Core
from fem_motor.quantities import MotorModel
from fem_motor.units import MU_0

NO_IRON = 1.0 + 1e-6
"""Relative permeability up to which a core has nothing in it that could lose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CoreLoss:
    """Loss of a part of the core over electrical frequency: a f + b f² + c f^1.5.

    Attributes
    ----------
    hysteresis, eddy, excess : float
        W for 1 Hz, at the flux densities that were computed.
    exponent : float
        Of the flux density in the hysteresis loss.
    """

    hysteresis: float = 0.0
    eddy: float = 0.0
    excess: float = 0.0
    exponent: float = 2.0

    def power(self, frequency: float, strength: float = 1.0) -> float:
        """Return the loss, W, at an electrical frequency in Hz, flux densities times `strength`.

        >>> round(CoreLoss(hysteresis=0.01, eddy=1e-5, excess=1e-4).power(100.0), 12)
        1.2
        """
        return sum(self.by_cause(frequency, strength).values())

    def by_cause(self, frequency: float, strength: float = 1.0) -> Mapping[str, float]:
        """Return "hysteresis", "eddy" and "excess", W, as in `power`."""
        return {
            "hysteresis": self.hysteresis * frequency * strength**self.exponent,
            "eddy": self.eddy * frequency**2 * strength**2,
            "excess": self.excess * (frequency * strength) ** 1.5,
        }


def has_loss_law(core: Core) -> bool:
    """Return whether anything is known about the loss of a core, or it has none."""
    known = (core.hysteresis_loss, core.eddy_loss, core.excess_loss)
    return core.curve.initial_permeability <= NO_IRON or (
        core.density is not None and any(value is not None for value in known)
    )


def wave_loss(
    core: Core,
    flux_density: FloatArray,
    mass: FloatArray,
    *,
    step: float,
    is_closed: bool,
) -> CoreLoss:
    """Return the loss of elements whose flux density runs through waves.

    Parameters
    ----------
    core : Core
    flux_density : (k, 2, m, n) T
        In the material itself.
    mass : (m,) kg
        Of an element, in all the copies that one of the k stands for.
    step : float
        Between samples, electrical rad.
    is_closed : bool
        Whether the samples are one period.
    """
    size = np.sqrt(square(rates(flux_density, step=step, is_closed=is_closed)))  # |dB/dϑ|
    n = core.hysteresis_exponent
    loops = np.sum(swings(flux_density) ** n, axis=(0, 1))
    return CoreLoss(
        hysteresis=float((core.hysteresis_loss or 0.0) * loops @ mass),
        # Σ h² B_h² over both components is twice the mean square of dB/dϑ (Parseval).
        eddy=float((core.eddy_loss or 0.0) * 2 * np.mean(size**2, axis=-1).sum(axis=0) @ mass),
        excess=float(
            (core.excess_loss or 0.0)
            * (np.mean(size**1.5, axis=-1).sum(axis=0) @ mass)
            / SINE_EXCESS
        ),
        exponent=n,
    )


def core_loss(
    motor: Motor, model: MotorModel, *, flux_factor: float = 1.0
) -> tuple[CoreLoss, CoreLoss] | None:
    """Return the loss of teeth and yoke; None where nothing is known about the material's.

    Parameters
    ----------
    motor, model
    flux_factor : float
        By which the ends change the flux densities of the section.
    """
    stator, core = motor.stator, motor.stator.core
    if not has_loss_law(core):
        return None
    waves = model.element_waves("stator", ("core",))
    flux_density = flux_factor * in_the_material(core, stator.core_fraction, waves.flux_density)
    length = stator.core_fraction * motor.stack_length
    mass = (core.density or 0.0) * waves.share * length * waves.area

    def of_part(is_part: BoolArray) -> CoreLoss:
        return wave_loss(
            core,
            flux_density[:, :, is_part],
            mass[is_part],
            step=motor.rotor.pole_pairs * waves.step,
            is_closed=waves.is_closed,
        )

    in_teeth = waves.radius > stator.yoke_radius
    return of_part(in_teeth), of_part(~in_teeth)


def in_the_material(core: Core, fraction: float, flux_density: FloatArray) -> FloatArray:
    """Return B in the sheets of a stack, of the mean over the stack, (k, 2, m, n) both.

    The stack carries f B + (1 − f) μ₀ H, with the same H in sheets and gaps.
    """
    if fraction == 1:
        return flux_density
    reluctivity = core.curve.stacked(fraction).reluctivity(square(flux_density))
    share = (1 - (1 - fraction) * MU_0 * reluctivity) / fraction
    return np.asarray(share[:, None] * flux_density)
