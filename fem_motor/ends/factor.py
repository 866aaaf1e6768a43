"""The end factor: flux linkage with the two ends over that of the plane section."""

import math
from dataclasses import dataclass

import numpy as np

from fem_motor.design import Motor
from fem_motor.ends.coils import coil_weights, overhang
from fem_motor.ends.fields import mean_field, plane_field
from fem_motor.ends.poles import PoleCharge, pole_charge
from fem_motor.units import MM

NEARLY_AIR = 5.0
"""Relative permeability from which a core leads the flux, and its ends are not computed."""

CORE_MARGIN = 0.02
"""Change of the factor by a core, over pole pitch/stack length and 1 − 1/μ, that losing 1/μ of
the loss does not explain: for coils right under the gap, from finite elements of the harmonic p
around smooth cores of permeability 1.35 to 4."""

IRON_LOW, IRON_HIGH = 0.95, 1.0
"""Range of the factor with a steel core; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndFactor:
    """Flux linkage with the true ends over that of the plane section, and its range.

    Attributes
    ----------
    value, low, high : float
    because : str
        What was computed, and what makes the range.
    """

    value: float
    low: float
    high: float
    because: str


def ends_are_computed(motor: Motor) -> bool:
    """Return whether the core is nearly air, so that the magnets' own field tells the ends."""
    return _permeability(motor) < NEARLY_AIR


def same_kind_of_ends(one: Motor, other: Motor) -> bool:
    """Return whether what is not known of the ends is the same in both.

    Both computed or both not, one layout of magnets, both with a ring or both without: then what a
    coil's overhang or a core makes of the flux at the ends moves both the same way. Stack length,
    gap and sizes do not matter. Common practice, no source.
    """
    kinds = [
        (ends_are_computed(each), each.rotor.magnet_layout, each.rotor.ring is None)
        for each in (one, other)
    ]
    return kinds[0] == kinds[1]


def end_factor(motor: Motor) -> EndFactor:
    """Return the end factor of `motor`, computed unless its core leads the flux.

    The fundamental of the flux linkage in the magnets' field of finite length, over that in
    their endless field, both without the core; a ring mirrors the magnets. The range holds the
    coils' straight part alone and their outermost turn, what the core may change, and the ring.

    Examples
    --------
    >>> from fem_motor.design import load_design
    >>> found = end_factor(load_design("geometries/printed_18s16p.toml").motor)
    >>> found.low < found.value < found.high < 1
    True
    """
    refusal = _not_computed(motor)
    if refusal is not None:
        return refusal
    mean, outermost = overhang(motor)
    strengths = _ring_strengths(motor)
    in_air = {
        out: [linkage_ratio(motor, stands_out=out, ring=ring) for ring in strengths]
        for out in (0.0, mean, outermost)
    }
    all_in_air = [ratio for ratios in in_air.values() for ratio in ratios]
    worst, best = _core_permeabilities(motor)
    ends = [
        1 - (1 - ratio) / mu for ratio in (min(all_in_air), max(all_in_air)) for mu in (1, best)
    ]
    margin = CORE_MARGIN * (1 - 1 / best) * _pole_pitch(motor) / motor.stack_length
    return EndFactor(
        value=1 - (1 - in_air[mean][0]) / (worst * best) ** 0.25,
        # The margin is drawn for stacks of half a pole pitch and more; some flux is always left.
        low=max(min(ends) - margin, min(ends) / 2),
        high=max(ends) + margin,
        because=_because(motor, straight=in_air[0.0][0], mean=in_air[mean][0]),
    )


def _not_computed(motor: Motor) -> EndFactor | None:
    """Return the factor of a motor whose ends the magnets' own field does not tell."""
    rotor = motor.rotor
    if not ends_are_computed(motor):
        return EndFactor(
            value=1.0,
            low=IRON_LOW,
            high=IRON_HIGH,
            because="the core's iron carries the flux into the stack; ends not computed, range "
            "from common practice, no source",
        )
    if rotor.magnet_layout == "halbach" and rotor.strong_side == "outside":
        # The fundamental of endless magnets vanishes in their bore, so nothing can be over it.
        return EndFactor(
            value=1.0,
            low=0.5,
            high=2.0,
            because="the strong side of the magnets looks away from the coils, which link next to "
            "nothing; ends not computed, the range is a guess",
        )
    return None


def linkage_ratio(motor: Motor, *, stands_out: float, ring: float = 0.0) -> float:
    """Return flux linkage of coils in the finite magnets' field over that of the plane section.

    Fundamental, permeability 1 but for the ring.

    Parameters
    ----------
    motor : Motor
    stands_out : float
        How far the coils stand out of the stack at either end, m.
    ring : float
        (μ − 1)/(μ + 1) of the ring: the strength of the magnets' image in it.
    """
    charge = _with_image(pole_charge(motor.rotor), motor.rotor.magnet_outer_radius, ring)
    radii, weights = coil_weights(motor)
    length = motor.stack_length + 2 * stands_out
    mean = mean_field(charge, radii, stack_length=motor.stack_length, coil_length=length)
    linked = length * (weights @ mean)
    plane = motor.stack_length * (weights @ plane_field(charge, radii))
    return float(np.real(linked / plane))


def _with_image(charge: PoleCharge, circle: float, strength: float) -> PoleCharge:
    """Return the charge with its image outside a circle: −s times itself, at R²/r′.

    Exact for an endless thick ring; finite elements of the harmonic p show the image of a
    finite one to be as long as the stack within 0.001 of the end factor.
    """
    if strength == 0:
        return charge
    return PoleCharge(
        pole_pairs=charge.pole_pairs,
        radius=np.concatenate([charge.radius, circle**2 / charge.radius]),
        amount=np.concatenate([charge.amount, -strength * charge.amount]),
    )


def _ring_strengths(motor: Motor) -> tuple[float, ...]:
    """Return the likely strength of the image in the ring, and those of none and of all."""
    ring = motor.rotor.ring
    if ring is None:
        return (0.0,)
    mu = ring.curve.initial_permeability
    return (mu - 1) / (mu + 1), 0.0, 1.0


def _permeability(motor: Motor) -> float:
    return motor.stator.core.curve.initial_permeability


def _core_permeabilities(motor: Motor) -> tuple[float, float]:
    """Return the range of the core's permeability, its share of the stack counted."""
    low, high = motor.stator.core.relative_permeability_range or (_permeability(motor),) * 2
    fraction = motor.stator.core_fraction
    return 1 + fraction * (low - 1), 1 + fraction * (high - 1)


def _pole_pitch(motor: Motor) -> float:
    return math.pi * motor.stator.outer_radius / motor.rotor.pole_pairs


def _because(motor: Motor, *, straight: float, mean: float) -> str:
    ring = "" if motor.rotor.ring is None else " and their image in the ring"
    return (
        f"computed from the field of magnets {motor.stack_length / MM:g} mm long{ring}: "
        f"{straight:.3f} without the ends of the coils, {mean:.3f} with them, "
        f"{overhang(motor)[0] / MM:.1f} mm out; the core lessens the loss; the range holds coils "
        "without ends and their outermost turns, with and without the core"
    )
