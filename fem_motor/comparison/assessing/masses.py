"""What a motor weighs, part by part."""

import math
from dataclasses import dataclass

from fem_motor.design import Motor
from fem_motor.materials import Structure
from fem_motor.section import HalfCellOutline, cross_section
from fem_motor.winding import Winding

THINNEST_BELL = 1e-3
"""m: the closed end of the housing, where its wall is thinner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Masses:
    """Parts of a motor that the design decides, kg; shaft, bearings, mount and leads left out.

    Attributes
    ----------
    core, copper, magnets, ring, housing : float
    """

    core: float
    copper: float
    magnets: float
    ring: float
    housing: float

    @property
    def total(self) -> float:
        """All of them."""
        return self.core + self.copper + self.magnets + self.ring + self.housing


def masses(motor: Motor, winding: Winding) -> Masses:
    """Return what the parts weigh, from the exact areas of the section."""
    section, length = cross_section(motor), motor.stack_length
    stator, rotor = motor.stator, motor.rotor
    core = _area(section.stator, "core") * stator.core_fraction
    ring = 0.0 if rotor.ring is None else _area(section.rotor, "ring")
    outside = rotor.housing_outer_radius
    wall = math.pi * (outside**2 - rotor.ring_outer_radius**2)
    bell = math.pi * outside**2 * max(rotor.housing_thickness, THINNEST_BELL)
    return Masses(
        core=core * length * (stator.core.density or Structure.usual_density["sheet"]),
        copper=winding.copper_mass,
        magnets=_area(section.rotor, "magnet")
        * length
        * (rotor.magnet.density or Structure.usual_density["magnet"]),
        ring=ring
        * length
        * (
            (None if rotor.ring is None else rotor.ring.density) or Structure.usual_density["steel"]
        ),
        housing=(wall * length + bell)
        * (rotor.housing.density or Structure.usual_density["plastic"]),
    )


def _area(cell: HalfCellOutline, label: str) -> float:
    """Return the area of what has that label, all around, m²."""
    half = sum(region.area for region in cell.regions if region.label == label)
    return half * 2 * math.pi / cell.half_pitch
