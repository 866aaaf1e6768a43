"""The field as a VTU file: what was computed is what another program reads."""

from functools import cache
from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pytest

from fem_motor import performance
from fem_motor.arrays import FloatArray
from fem_motor.design import load_design
from fem_motor.export import field_grid, field_vtu
from fem_motor.export.fields.field_grid import FieldGrid
from fem_motor.mesh import REGIONS
from fem_motor.units import DEG, MU_0
from fem_motor.winding import wind

DESIGN = load_design(Path(__file__).parents[2] / "geometries" / "printed_18s16p.toml")
MOTOR = DESIGN.motor
CURRENTS = (10.0, -4.0, -6.0)
ANGLE_DEG = 3.0


@cache
def grid() -> FieldGrid:
    return field_grid(
        MOTOR,
        wind(MOTOR),
        angle=ANGLE_DEG * DEG,
        currents=np.array(CURRENTS),
        quality="draft",
    )


def read(content: bytes, folder: Path) -> Any:  # noqa: ANN401  (meshio's mesh)
    file = folder / "field.vtu"
    file.write_bytes(content)
    return meshio.read(file)


def areas() -> FloatArray:
    """Return the areas of the curved triangles, (m,) m², clockwise ones negative."""
    x, y = grid().points[:, grid().triangles]
    total = np.zeros(x.shape[1])
    for s, t in ((1 / 6, 1 / 6), (2 / 3, 1 / 6), (1 / 6, 2 / 3)):
        d_ds, d_dt = slopes(s, t)
        total += ((d_ds @ x) * (d_dt @ y) - (d_ds @ y) * (d_dt @ x)) / 6
    return total


def slopes(s: float, t: float) -> tuple[FloatArray, FloatArray]:
    """Return ∂N/∂s and ∂N/∂t of the six-node triangle (textbook shape functions)."""
    r = 1 - s - t
    d_ds = np.array([1 - 4 * r, 4 * s - 1, 0, 4 * (r - s), 4 * t, -4 * t])
    d_dt = np.array([1 - 4 * r, 0, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
    return d_ds, d_dt


def curl_at_centre() -> FloatArray:
    """Return (∂A/∂y, −∂A/∂x) at the centres of the triangles, (2, m), from A at their nodes."""
    x, y = grid().points[:, grid().triangles]
    potential = grid().vector_potential[grid().triangles]
    d_ds, d_dt = slopes(1 / 3, 1 / 3)
    xs, xt, ys, yt = d_ds @ x, d_dt @ x, d_ds @ y, d_dt @ y
    a_s, a_t = d_ds @ potential, d_dt @ potential
    double = xs * yt - xt * ys
    return np.array([(xs * a_t - xt * a_s) / double, -(yt * a_s - ys * a_t) / double])


def test_a_field_read_back_is_the_field_that_was_written(tmp_path: Path) -> None:
    mesh = read(field_vtu(grid(), MOTOR), tmp_path)
    (block,) = mesh.cells
    assert block.type == "triangle6"
    np.testing.assert_array_equal(block.data.T, grid().triangles)
    np.testing.assert_array_equal(mesh.points[:, :2].T, grid().points)
    np.testing.assert_array_equal(mesh.point_data["A_Wb_per_m"], grid().vector_potential)
    (flux,) = mesh.cell_data["B_T"]
    np.testing.assert_array_equal(flux[:, :2].T, grid().flux_density)
    np.testing.assert_array_equal(mesh.cell_data["B_magnitude_T"][0], np.hypot(*flux[:, :2].T))
    np.testing.assert_array_equal(mesh.cell_data["region"][0], grid().region)


def test_the_legend_names_every_material_in_use(tmp_path: Path) -> None:
    content = field_vtu(grid(), MOTOR)
    legend = content.split(b"-->")[0].decode()
    assert "0 air, 1 iron-filled-pla-10vol, 2 copper, 3 ndfeb-n42h" in legend
    material = read(content, tmp_path).cell_data["material"][0]
    assert set(material[grid().region == REGIONS.index("core")]) == {1}
    assert set(material[grid().region == REGIONS.index("coil")]) == {2}
    assert set(material[grid().region == REGIONS.index("magnet")]) == {3}
    assert set(material[grid().region == REGIONS.index("gap")]) == {0}


def test_no_triangle_is_turned_inside_out() -> None:
    assert areas().min() > 0


def test_triangles_cover_the_machine_between_its_two_open_circles() -> None:
    radius = np.hypot(*grid().points)
    whole = np.pi * (radius.max() ** 2 - radius.min() ** 2)
    assert areas().sum() == pytest.approx(whole, rel=1e-5)


def test_flux_density_is_the_curl_of_the_potential() -> None:
    # B = ∇ × (A e_z) = (∂A/∂y, −∂A/∂x); at the centre it differs from the mean only where the
    # triangle is curved, and in the gap by what three nodes across it leave out.
    inside = areas() > 0
    error = np.hypot(*(curl_at_centre() - grid().flux_density))[inside]
    weight = areas()[inside]
    level = np.sqrt(np.average(np.hypot(*grid().flux_density) ** 2, weights=weight))
    assert np.sqrt(np.average(error**2, weights=weight)) < 5e-3 * level


def test_currents_in_the_slots_are_turns_times_branch_current() -> None:
    # Half a slot beside tooth 1, counter-clockwise of it: U+ flows towards the viewer.
    turns = MOTOR.winding.turns_per_tooth
    is_coil = grid().region == REGIONS.index("coil")
    x, y = grid().points[:, grid().triangles].mean(axis=1)
    angle = np.arctan2(y, x)
    beside = is_coil & (angle > 0) & (angle < MOTOR.stator.slot_pitch / 2)
    total = np.sum(areas()[beside] * grid().current_density[beside])
    assert total == pytest.approx(turns * CURRENTS[0], rel=1e-4)
    everywhere = np.sum(areas() * grid().current_density)
    assert everywhere == pytest.approx(0.0, abs=1e-6 * turns * CURRENTS[0])


def test_current_through_a_loop_is_the_field_around_it() -> None:
    # Ampère: along the gap circle of the stator, ∮ H dl is the sum of all currents, none.
    gap = grid().region == REGIONS.index("gap")
    x, y = grid().points[:, grid().triangles].mean(axis=1)
    radius = np.hypot(x, y)
    tangential = (grid().flux_density[1] * x - grid().flux_density[0] * y) / radius
    around = np.sum((areas() * tangential / MU_0)[gap])
    size = np.sum((areas() * np.abs(tangential) / MU_0)[gap])
    assert abs(around) < 1e-3 * size


def test_the_potential_is_that_of_the_picture_of_the_field() -> None:
    # The picture comes by way of the smallest sector and the linear law of a weak core: their
    # extremes of A agree with those of the whole circle.
    picture = performance.solve_field(
        DESIGN, angle_deg=ANGLE_DEG, currents_A=CURRENTS, quality="draft"
    )
    ours = grid().vector_potential
    assert ours.max() == pytest.approx(picture.vector_potential.max(), rel=1e-3)
    assert ours.min() == pytest.approx(picture.vector_potential.min(), rel=1e-3)


def test_the_same_field_gives_the_same_bytes() -> None:
    assert field_vtu(grid(), MOTOR) == field_vtu(grid(), MOTOR)


@pytest.mark.slow
def test_an_offset_rotor_is_drawn_where_it_stands() -> None:
    moved = DESIGN.replace("as_built.rotor_offset_mm", 0.2).motor
    shifted = field_grid(moved, wind(moved), angle=0.0, currents=np.zeros(3), quality="draft")
    magnet = shifted.region == REGIONS.index("magnet")
    x, y = shifted.points[:, shifted.triangles[:, magnet]].reshape(2, -1)
    assert (x.max() + x.min()) / 2 == pytest.approx(0.2e-3, abs=1e-6)
    assert (y.max() + y.min()) / 2 == pytest.approx(0.0, abs=1e-6)
