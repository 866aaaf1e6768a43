"""Meshes: one half cell of each body, second order, by gmsh."""

from fem_motor.mesh.motor_mesh import mesh_motor
from fem_motor.mesh.records import REGIONS, HalfCell, MotorMesh, Region
from fem_motor.mesh.sizing import FINENESS, Fineness, Quality, cross_cut

__all__ = [
    "FINENESS",
    "REGIONS",
    "Fineness",
    "HalfCell",
    "MotorMesh",
    "Quality",
    "Region",
    "cross_cut",
    "mesh_motor",
]
