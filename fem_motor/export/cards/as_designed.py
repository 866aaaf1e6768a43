"""The motor as it is to be made, and words for what the file says came out otherwise."""

from dataclasses import replace

from fem_motor.design import Motor
from fem_motor.units import DEG


def as_designed(motor: Motor) -> Motor:
    """Return the motor without what its making changed."""
    return replace(motor, as_built=replace(motor.as_built, magnets=(), coils=(), rotor_offset=0.0))


def changed_coils(motor: Motor) -> tuple[str, ...]:
    """Return how coils differ from the design, one sentence each."""
    found = []
    for coil in motor.as_built.coils:
        words = []
        if coil.phase is not None:
            words.append(f"on phase {coil.phase}")
        if coil.is_reversed:
            words.append("reversed")
        if coil.turns is not None:
            words.append(f"with {coil.turns} turns")
        found.append(f"tooth {coil.tooth}: {', '.join(words) or 'as designed'}")
    return tuple(found)


def changed_magnets(motor: Motor) -> tuple[str, ...]:
    """Return how magnets differ from the design, one sentence each."""
    found = []
    for magnet in motor.as_built.magnets:
        factor = magnet.remanence_factor
        if factor == 0:
            words = "missing"
        elif factor < 0:
            words = f"turned round, {abs(factor):.3g} times as strong as designed"
        else:
            words = f"{factor:.3g} times as strong as designed"
        tilt = f", tilted by {magnet.tilt / DEG:.3g}°" if magnet.tilt else ""
        found.append(f"magnet {magnet.index}: {words}{tilt}")
    return tuple(found)
