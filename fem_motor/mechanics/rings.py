"""Spinning rings: what a wall carries of its own weight and of what lies inside it.

Thin ring: σ = p r_i/t + ρ (ω r_m)², the mean over the wall. Thick ring: the largest stress, at the
inside. Sources: S. Timoshenko, Strength of Materials; G. Lamé; both from memory.
"""


def magnet_pressure(
    *,
    cover: float,
    density: float,
    thickness: float,
    mean_radius: float,
    wall_radius: float,
    speed: float,
) -> float:
    """Return the pressure of magnets on the wall outside them, Pa.

    p = cover · ρ t r_m ω² (r_m/r_i): the load spreads over the larger circle of the wall.

    Parameters
    ----------
    cover : float
        Share of the annulus that is magnet.
    density : float
        Of the magnets, kg/m³.
    thickness, mean_radius : float
        Of the magnets, m.
    wall_radius : float
        Inside of the wall, m.
    speed : float
        rad/s.
    """
    load = cover * density * thickness * mean_radius * speed**2
    return load * mean_radius / wall_radius


def thin_ring_stress(
    *, pressure: float, inner_radius: float, thickness: float, density: float, speed: float
) -> float:
    """Return the mean hoop stress of a ring that spins under pressure from inside, Pa."""
    mean_radius = inner_radius + thickness / 2
    return pressure * inner_radius / thickness + density * (speed * mean_radius) ** 2


def thick_ring_stress(
    *,
    pressure: float,
    inner_radius: float,
    thickness: float,
    density: float,
    speed: float,
    poisson: float,
) -> float:
    """Return the largest hoop stress of a ring that spins under pressure from inside, Pa.

    σ = p (r_o² + r_i²)/(r_o² − r_i²) + ρ ω²/4 [(3 + ν) r_o² + (1 − ν) r_i²], at the inside.
    """
    outer, inner = (inner_radius + thickness) ** 2, inner_radius**2
    from_pressure = pressure * (outer + inner) / (outer - inner)
    own = density * speed**2 / 4 * ((3 + poisson) * outer + (1 - poisson) * inner)
    return from_pressure + own


def centrifugal_pull(*, mass: float, radius: float, speed: float) -> float:
    """Return F = m r ω², N: what flings a part outwards.

    >>> round(centrifugal_pull(mass=1.35e-3, radius=26.5e-3, speed=1047.2), 1)
    39.2
    """
    return mass * radius * speed**2
