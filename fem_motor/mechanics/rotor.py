"""The rotor of a motor as mechanics sees it: walls, magnets, masses, shaft."""

import math
from dataclasses import dataclass
from typing import Literal

from fem_motor.design import Motor
from fem_motor.errors import InputError
from fem_motor.materials import Core, Structure
from fem_motor.mechanics.rings import magnet_pressure, thick_ring_stress, thin_ring_stress
from fem_motor.units import MM, MU_0

Carrier = Literal["ring", "housing"]

GRAVITY = 9.81
"""m/s²."""

STEEL_YIELD = 180e6
"""Pa, of soft low-carbon steel, annealed, where the material does not tell; from memory."""

STEEL_MODULUS = 210e9
"""Pa, of shafts."""

PRINT_POISSON, METAL_POISSON = 0.36, 0.29
"""From memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A ring around the rotor's axis, SI.

    Attributes
    ----------
    name : "ring" or "housing"
    material : Core or Structure
    inner_radius, thickness : float
    """

    name: Carrier
    material: Core | Structure
    inner_radius: float
    thickness: float

    @property
    def is_printed(self) -> bool:
        """Whether it is plastic, that is, has a deflection temperature."""
        return self.material.deflection_temperature_C is not None

    @property
    def density(self) -> float:
        """kg/m³; that of PLA or of steel where the material does not tell."""
        return (
            self.material.density
            or Structure.usual_density["plastic" if self.is_printed else "steel"]
        )

    @property
    def section(self) -> float:
        """Area across the axis, m²."""
        return math.pi * self.thickness * (2 * self.inner_radius + self.thickness)

    def mean_stress(self, pressure: float, speed: float) -> float:
        """Return the hoop stress of the thin ring, Pa."""
        return thin_ring_stress(
            pressure=pressure,
            inner_radius=self.inner_radius,
            thickness=self.thickness,
            density=self.density,
            speed=speed,
        )

    def peak_stress(self, pressure: float, speed: float) -> float:
        """Return the largest hoop stress, of the thick ring, Pa."""
        return thick_ring_stress(
            pressure=pressure,
            inner_radius=self.inner_radius,
            thickness=self.thickness,
            density=self.density,
            speed=speed,
            poisson=PRINT_POISSON if self.is_printed else METAL_POISSON,
        )


def walls(motor: Motor) -> tuple[Wall, ...]:
    """Return ring and housing, from inside out, as far as the motor has them."""
    rotor = motor.rotor
    found = []
    if rotor.ring is not None and rotor.ring_thickness > 0:
        found.append(
            Wall(
                name="ring",
                material=rotor.ring,
                inner_radius=rotor.magnet_outer_radius,
                thickness=rotor.ring_thickness,
            )
        )
    if rotor.housing_thickness > 0:
        found.append(
            Wall(
                name="housing",
                material=rotor.housing,
                inner_radius=rotor.ring_outer_radius,
                thickness=rotor.housing_thickness,
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Magnets:
    """All magnets, one size, SI.

    Attributes
    ----------
    count : int
    mass : float
        Of one.
    centre_radius : float
        Of its centre of mass.
    back_area : float
        Of the outer face of one, m².
    cover : float
        Share of the annulus of their thickness that they fill.
    thickness, mean_radius, wall_radius : float
    density : float
    """

    count: int
    mass: float
    centre_radius: float
    back_area: float
    cover: float
    thickness: float
    mean_radius: float
    wall_radius: float
    density: float

    def pressure(self, speed: float) -> float:
        """Return the mean pressure on the wall outside, Pa."""
        return magnet_pressure(
            cover=self.cover,
            density=self.density,
            thickness=self.thickness,
            mean_radius=self.mean_radius,
            wall_radius=self.wall_radius,
            speed=speed,
        )


def magnets(motor: Motor) -> Magnets:
    """Return the magnets of a motor."""
    rotor, length = motor.rotor, motor.stack_length
    inner, thick = rotor.magnet_inner_radius, rotor.magnet_thickness
    mean = inner + thick / 2
    density = rotor.magnet.density or Structure.usual_density["magnet"]
    if rotor.magnet_width is not None:
        section, centre = rotor.magnet_width * thick, mean
    else:
        half = (rotor.magnet_arc_fraction or 1.0) * rotor.segment_pitch / 2
        outer = inner + thick
        section = half * (outer**2 - inner**2)
        # Centre of mass of a sector of an annulus.
        centre = 2 / 3 * math.sin(half) / half * (outer**3 - inner**3) / (outer**2 - inner**2)
    return Magnets(
        count=rotor.segments,
        mass=density * section * length,
        centre_radius=centre,
        back_area=section / thick * length,
        cover=rotor.segments * section / (2 * math.pi * mean * thick),
        thickness=thick,
        mean_radius=mean,
        wall_radius=rotor.magnet_outer_radius,
        density=density,
    )


def rotor_mass(motor: Motor) -> float:
    """Return the mass of magnets, ring, housing and its closed end, kg; shaft left out."""
    rotor, length = motor.rotor, motor.stack_length
    own, found = magnets(motor), walls(motor)
    barrel = sum(wall.section * wall.density * length for wall in found)
    plastic = rotor.housing.density or Structure.usual_density["plastic"]
    bell = math.pi * rotor.housing_outer_radius**2 * max(rotor.housing_thickness, 1e-3) * plastic
    return own.count * own.mass + barrel + bell


def eccentric_stiffness(
    *,
    diameter: float,
    length: float,
    flux_density: float,
    gap: float,
    magnet_thickness: float,
    recoil_permeability: float,
) -> float:
    """Return how much the side pull of a rotor between iron grows with its offset, N/m.

    π D L B²/(4 μ₀ (g + l_m/μ_rec)), B the peak of the gap field. Source: the form as in D. Dorrell
    et al. (2011), from memory. Iron on both sides of gap and magnet is assumed.

    Parameters
    ----------
    diameter, length : float
        Of the gap, m.
    flux_density : float
        T.
    gap, magnet_thickness : float
        m.
    recoil_permeability : float
        Relative.

    >>> stiffness = eccentric_stiffness(
    ...     diameter=50e-3, length=10e-3, flux_density=0.8, gap=0.5e-3,
    ...     magnet_thickness=3e-3, recoil_permeability=1.05)
    >>> round(stiffness * 0.1e-3, 2)  # N for a tenth of a millimetre
    5.96
    """
    reluctance_length = gap + magnet_thickness / recoil_permeability
    area = math.pi * diameter * length
    return area * flux_density**2 / (4 * MU_0 * reluctance_length)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaft:
    """A steel shaft that carries the rotor on one side of its bearings, SI.

    Attributes
    ----------
    diameter : float
        m; 5 mm is common practice in small outrunners.
    overhang : float or None
        From the bearing that holds it to the middle of the pull, m; None: the stack length.
    """

    diameter: float = 5 * MM
    overhang: float | None = None

    def __post_init__(self) -> None:
        for name in ("diameter", "overhang"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value > 0):
                raise InputError(
                    f"= {value} is impossible.",
                    why="a shaft has a size.",
                    do="give metres above 0.",
                    place=f"shaft.{name}",
                )

    def stiffness(self, stack_length: float) -> float:
        """Return force over deflection of a cantilever, N/m: 3 E I/l³ with I = π d⁴/64.

        Source: S. Timoshenko, Strength of Materials, from memory.
        """
        overhang = self.overhang or stack_length
        return 3 * STEEL_MODULUS * math.pi * self.diameter**4 / 64 / overhang**3
