"""The field as a VTU file (VTK's unstructured grid, XML), written by meshio."""

import re
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from fem_motor.design import Motor
from fem_motor.export.fields.field_grid import FieldGrid
from fem_motor.mesh import REGIONS

FORMAT = "fem_motor.field"
VERSION = 1


def field_vtu(grid: FieldGrid, motor: Motor) -> bytes:
    """Return the field as a VTU file: second-order triangles, lengths in m, SI throughout.

    At points ``A_Wb_per_m``; in cells ``B_T`` (x, y, 0), ``B_magnitude_T``,
    ``current_density_A_per_m2``, and the numbers ``region`` and ``material``, whose meaning stands
    in a comment at the top of the file.
    """
    import meshio  # noqa: PLC0415  (heavy)

    flux = np.zeros((grid.region.size, 3))
    flux[:, :2] = grid.flux_density.T
    points = np.zeros((grid.points.shape[1], 3))
    points[:, :2] = grid.points.T
    numbers, names = _materials(motor)
    mesh = meshio.Mesh(
        points,
        [("triangle6", np.ascontiguousarray(grid.triangles.T))],
        point_data={"A_Wb_per_m": np.array(grid.vector_potential)},
        cell_data={
            "B_T": [flux],
            "B_magnitude_T": [np.hypot(*grid.flux_density)],
            "current_density_A_per_m2": [np.array(grid.current_density)],
            "region": [np.array(grid.region, dtype=np.int32)],
            "material": [np.array(numbers, dtype=np.int32)[grid.region]],
        },
    )
    with TemporaryDirectory() as folder:
        file = Path(folder) / "field.vtu"  # meshio writes to names only
        meshio.vtu.write(str(file), mesh)
        return _with_legend(file.read_bytes(), names)


def _materials(motor: Motor) -> tuple[list[int], list[str]]:
    """Return the material's number by region, and the materials' names by number."""
    rotor = motor.rotor
    of_region = {
        "core": motor.stator.core.name,
        "coil": "copper",
        "magnet": rotor.magnet.name,
        "ring": rotor.ring.name if rotor.ring else "air",
    }
    names = list(dict.fromkeys(["air", *of_region.values()]))
    return [names.index(of_region.get(region, "air")) for region in REGIONS], names


def _with_legend(content: bytes, materials: list[str]) -> bytes:
    """Return the file with a comment in front that says what the numbers stand for."""
    regions = ", ".join(f"{number} {name}" for number, name in enumerate(REGIONS))
    known = ", ".join(f"{number} {name}" for number, name in enumerate(materials))
    legend = (
        f"{FORMAT} {VERSION}; region: {regions}; material: {known} (printed parts count as air)"
    )
    comment = f"<!-- {re.sub('--+', '-', legend)} -->\n".encode()
    head, mark, rest = content.partition(b"<VTKFile")
    return head + comment + mark + rest
