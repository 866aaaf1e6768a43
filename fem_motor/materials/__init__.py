"""What the parts are made of: B-H laws, magnets over temperature, wire, plastics; a library."""

from fem_motor.materials.curves import BHCurve
from fem_motor.materials.records import Conductor, Core, Magnet, Material, Structure

__all__ = [
    "BHCurve",
    "Conductor",
    "Core",
    "Magnet",
    "Material",
    "Structure",
]
