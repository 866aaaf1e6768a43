"""What the parts are made of: B-H laws, magnets over temperature, wire, plastics; a library."""

from fem_motor.materials.curves import BHCurve
from fem_motor.materials.library import load_library, material_from_table
from fem_motor.materials.records import Conductor, Core, Magnet, Material, Structure
from fem_motor.materials.wire import enamelled_diameter, wire_diameter_from_awg

__all__ = [
    "BHCurve",
    "Conductor",
    "Core",
    "Magnet",
    "Material",
    "Structure",
    "enamelled_diameter",
    "load_library",
    "material_from_table",
    "wire_diameter_from_awg",
]
