"""What a wall may bear: cold and hot, along and across its layers, and the findings on it."""

from dataclasses import dataclass

from fem_motor.findings import Finding, Status
from fem_motor.mechanics.rotor import STEEL_YIELD, Wall

PRINT_SHARE = 0.25
"""Of the strength of a print, for creep, heat, notches and scatter; common practice, no source."""

YIELD_SHARE = 0.5
"""Of the yield strength of metal; common practice, no source."""

COLD_C = 23.0
"""°C of tensile tests (ISO 527)."""

HOT_SHARE = 0.05
"""Of the cold strength that is left at the deflection temperature: a few per cent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """Stress a wall may bear, Pa.

    Attributes
    ----------
    across : float or None
        Whatever way it was printed; of metal the only one. None: not known.
    along : float or None
        Printed upright, so that its layers run around the axis.
    is_assumed : bool
    """

    across: float | None
    along: float | None
    is_assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """How warm a wall gets, °C, and when, in words that follow the temperature."""

    at_C: float
    when: str = ""


def allowed_stress(wall: Wall, *, temperature_C: float) -> Allowed:
    """Return what the wall may bear at its temperature.

    Parameters
    ----------
    wall : Wall
    temperature_C : float
        Of the wall when it is hottest.
    """
    material = wall.material
    if not wall.is_printed:
        # A metal's `strength` is taken as its yield.
        metal = material.strength or (STEEL_YIELD if wall.name == "ring" else None)
        share = None if metal is None else YIELD_SHARE * metal
        return Allowed(across=share, along=share, is_assumed=material.strength is None)
    warm = PRINT_SHARE * hot_share(temperature_C, material.deflection_temperature_C)
    along, across = material.strength, material.strength_across_layers
    return Allowed(
        across=None if across is None else warm * across,
        along=None if along is None else warm * along,
    )


def hot_share(temperature_C: float, deflection_C: float | None) -> float:
    """Return what is left of the strength of plastic: a straight line down to a twentieth.

    From 1 at 23 °C to 0.05 at the deflection temperature; our assumption between two points of
    common practice.

    >>> hot_share(23.0, 53.0), hot_share(53.0, 53.0)
    (1.0, 0.05)
    """
    if deflection_C is None or temperature_C <= COLD_C:
        return 1.0
    if temperature_C >= deflection_C:
        return HOT_SHARE
    return 1.0 - (1.0 - HOT_SHARE) * (temperature_C - COLD_C) / (deflection_C - COLD_C)


def wall_finding(wall: Wall, stress: float, allowed: Allowed, *, warmth: Warmth) -> Finding:
    """Return the stress (Pa) at the test speed against what the wall may bear, in MPa."""
    if allowed.across is None:
        return Finding(
            name=f"largest hoop stress of the {wall.name} at 1.2 times top speed, MPa",
            status="watch",
            value=stress / 1e6,
            why=f"the strength of {wall.material.name} is not known.",
            do="give strength_MPa and strength_across_layers_MPa in [materials].",
        )
    status: Status = "ok" if stress <= allowed.across else "stop"
    if status == "stop" and allowed.along is not None and stress <= allowed.along:
        status = "watch"
    return Finding(
        name=f"largest hoop stress of the {wall.name} at 1.2 times top speed, MPa",
        status=status,
        value=stress / 1e6,
        limit=allowed.across / 1e6,
        why=_why(wall, allowed, warmth),
        do=_do(wall, status),
    )


def _why(wall: Wall, allowed: Allowed, warmth: Warmth) -> str:
    if not wall.is_printed:
        assumed = " (assumed: soft steel)" if allowed.is_assumed else ""
        return f"half the yield strength{assumed} is the limit; common practice, no source."
    along = "unknown" if allowed.along is None else f"{allowed.along / 1e6:.2g} MPa"
    left = hot_share(warmth.at_C, wall.material.deflection_temperature_C)
    warm = f"{warmth.at_C:.0f} °C{f' ({warmth.when})' if warmth.when else ''}"
    at = f"at {warm}" if left == 1.0 else f"of which {left:.0%} is left at {warm}"
    return (
        f"a quarter of the strength across layers, {at}, is the "
        f"limit (common practice); along the layers it is {along}. Printed strength varies by "
        "printer."
    )


def _do(wall: Wall, status: Status) -> str:
    if status == "ok":
        return ""
    if status == "watch":
        return (
            "print it upright, with layers square to the shaft, so that the stress runs along "
            "them; test behind a guard."
        )
    if wall.is_printed:
        return "thicken the wall, add a steel ring or wound thread outside, or lower the speed."
    return "thicken the ring, use stronger steel, or lower the speed."
