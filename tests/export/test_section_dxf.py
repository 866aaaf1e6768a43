"""The drawing of the section: closed, true to size, in millimetres, clean."""

import io
import math
from collections import defaultdict
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from fem_motor.design import Motor, MotorDesign, load_design
from fem_motor.export import section_dxf
from fem_motor.mesh import REGIONS, HalfCell, mesh_motor
from fem_motor.units import MM
from fem_motor.winding import wind

GEOMETRIES = sorted((Path(__file__).parents[2] / "geometries").glob("*.toml"))
SHIPPED = pytest.mark.parametrize("file", GEOMETRIES, ids=lambda path: path.stem)

STARTER = GEOMETRIES[[path.stem for path in GEOMETRIES].index("printed_18s16p")]


def drawing(motor: Motor) -> Any:  # noqa: ANN401  (ezdxf's document)
    return ezdxf.read(io.StringIO(section_dxf(motor, wind(motor).coils).decode()))


def enclosed(polyline: Any) -> float:  # noqa: ANN401  (ezdxf's entity)
    """Return the area inside a closed polyline with bulges, mm², by the corners and the arcs.

    Each arc of bulge b over a chord c adds its segment r² (θ − sin θ)/2 with θ = 4 atan b and
    r = c (1 + b²)/(4 b).
    """
    corners = [(x, y, bulge) for x, y, _, _, bulge in polyline]
    area = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        area += (x0 * y1 - x1 * y0) / 2
        if bulge:
            radius = math.hypot(x1 - x0, y1 - y0) * (1 + bulge**2) / (4 * bulge)
            angle = 4 * math.atan(bulge)
            area += radius**2 * (angle - math.sin(angle)) / 2
    return area


def areas_by_layer(motor: Motor) -> dict[str, float]:
    areas: dict[str, float] = defaultdict(float)
    for polyline in drawing(motor).modelspace().query("LWPOLYLINE"):
        areas[polyline.dxf.layer] += enclosed(polyline)
    return areas


def meshed(cell: HalfCell, region: str) -> float:
    """Return the area of a region's curved triangles, m², by ∫ det J over each."""
    x, y = cell.points[:, cell.triangles[:, cell.region == REGIONS.index(region)]]  # type: ignore[arg-type]
    total = 0.0
    # Three points, exact for the quadratic Jacobian of six-node triangles.
    for s, t in ((1 / 6, 1 / 6), (2 / 3, 1 / 6), (1 / 6, 2 / 3)):
        r = 1 - s - t
        d_ds = np.array([1 - 4 * r, 4 * s - 1, 0, 4 * (r - s), 4 * t, -4 * t])
        d_dt = np.array([1 - 4 * r, 0, 4 * t - 1, -4 * s, 4 * s, 4 * (r - t)])
        jacobian = (d_ds @ x) * (d_dt @ y) - (d_ds @ y) * (d_dt @ x)
        total += float(jacobian.sum()) / 6
    return total


@SHIPPED
def test_a_drawing_has_nothing_for_the_auditor_to_mend(file: Path) -> None:
    audit = drawing(load_design(file).motor).audit()
    assert (audit.errors, audit.fixes) == ([], [])


def test_a_drawing_says_that_it_is_in_millimetres() -> None:
    # DXF reference: $INSUNITS 4 is millimetres.
    assert drawing(load_design(STARTER).motor).header["$INSUNITS"] == 4


@SHIPPED
def test_every_outline_is_closed(file: Path) -> None:
    polylines = drawing(load_design(file).motor).modelspace().query("LWPOLYLINE")
    assert all(polyline.closed for polyline in polylines)


@SHIPPED
def test_drawn_areas_are_those_of_the_mesh(file: Path) -> None:
    # The mesh has parabolas for arcs: of a step of 10° they miss 2e-6 of the segment.
    motor = load_design(file).motor
    mesh, drawn = mesh_motor(motor, quality="draft"), areas_by_layer(motor)
    slots, segments = 2 * motor.stator.slots, 2 * motor.rotor.segments
    for name, region, cell, copies in (
        ("STATOR_CORE", "core", mesh.stator, slots),
        ("SLOT_COPPER", "coil", mesh.stator, slots),
        ("MAGNETS", "magnet", mesh.rotor, segments),
        ("RING", "ring", mesh.rotor, segments),
    ):
        expected = copies * meshed(cell, region) / MM**2
        assert drawn[name] == pytest.approx(expected, rel=2e-5), name


@SHIPPED
def test_rotor_parts_fill_the_rotor_from_its_surface_to_its_outside(file: Path) -> None:
    motor = load_design(file).motor
    drawn = areas_by_layer(motor)
    inner = motor.stator.outer_radius + motor.air_gap
    whole = math.pi * (motor.rotor.housing_outer_radius**2 - inner**2) / MM**2
    parts = sum(drawn[name] for name in ("MAGNETS", "MAGNET_POCKETS", "RING", "HOUSING"))
    assert parts == pytest.approx(whole, rel=1e-9)


def test_arcs_with_a_skin_leave_a_ring_with_ribs() -> None:
    design = load_design(GEOMETRIES[[path.stem for path in GEOMETRIES].index("steel_12s14p")])
    motor = design.replace("rotor.pocket_skin_mm", 0.4).motor
    rotor, drawn = motor.rotor, areas_by_layer(motor)
    inner, low, high = (
        motor.stator.outer_radius + motor.air_gap,
        rotor.magnet_inner_radius,
        rotor.magnet_inner_radius + rotor.magnet_thickness,
    )
    assert rotor.magnet_arc_fraction is not None
    ribs = (1 - rotor.magnet_arc_fraction) * math.pi * (high**2 - low**2)
    skin = math.pi * (low**2 - inner**2)
    assert drawn["MAGNET_POCKETS"] == pytest.approx((ribs + skin) / MM**2, rel=1e-9)


def test_with_one_layer_a_coil_side_fills_its_slot() -> None:
    design = load_design(STARTER)
    one = design.replace("machine.slots", 12).replace("machine.poles", 10)
    one = one.replace("rotor.magnet_width_mm", 12.0).replace("winding.layers", 1)
    polylines = drawing(one.motor).modelspace().query('LWPOLYLINE[layer=="SLOT_COPPER"]')
    assert len(polylines) == 12


def test_a_solid_core_has_no_seat_for_a_hub() -> None:
    plain = load_design(STARTER).to_dict()
    plain["stator"] |= {"inner_diameter_mm": 0.0, "yoke_thickness_mm": 15.0}
    solid = MotorDesign.from_dict(plain)
    layers = [entity.dxf.layer for entity in drawing(solid.motor).modelspace()]
    assert layers.count("STATOR_CORE") == 1
    assert layers.count("HUB_SEAT") == 0


def test_the_widest_coordinate_is_the_outside_of_the_housing() -> None:
    motor = load_design(STARTER).motor
    housing = drawing(motor).modelspace().query('LWPOLYLINE[layer=="HOUSING"]')
    reach = max(math.hypot(x, y) for polyline in housing for x, y, *_ in polyline)
    # 28 + 0.8 + √…: outer corner of a block 8 wide, 3 thick, at 28.8; housing 3 mm over it.
    assert reach == pytest.approx(math.hypot(28.8 + 3.0, 4.0) + 3.0, abs=1e-9)


def test_the_same_motor_gives_the_same_bytes() -> None:
    motor = load_design(STARTER).motor
    assert section_dxf(motor, wind(motor).coils) == section_dxf(motor, wind(motor).coils)
