"""The parts list: lengths, areas, volumes and masses."""

import csv
import io
import math
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from fem_motor.design import Motor, MotorDesign, load_design
from fem_motor.export import parts_list, section_dxf
from fem_motor.export.cards.card import as_csv, as_text
from fem_motor.export.drawings.outlines import liner_length
from fem_motor.units import MM
from fem_motor.winding import wind

GEOMETRIES = sorted((Path(__file__).parents[2] / "geometries").glob("*.toml"))
SHIPPED = pytest.mark.parametrize("file", GEOMETRIES, ids=lambda path: path.stem)
PRINTED = load_design(GEOMETRIES[0].with_name("printed_18s16p.toml"))
STEEL = load_design(GEOMETRIES[0].with_name("steel_12s14p.toml"))


def parts(motor: Motor) -> dict[str, dict[str, str]]:
    table = csv.DictReader(io.StringIO(as_csv(parts_list(motor))))
    return {row["part"]: row for row in table}


def test_sixteen_blocks_weigh_their_volume_times_the_density_of_their_grade() -> None:
    row = parts(PRINTED.motor)["magnets"]
    volume = 16 * 8.0 * 3.0 * 20.0
    assert float(row["volume_mm3"]) == pytest.approx(volume, rel=1e-7)
    # Sintered NdFeB: 7500 kg/m³ (makers' sheets: 7400 to 7600).
    assert float(row["mass_kg"]) == pytest.approx(7500 * volume * 1e-9, rel=0.015)
    assert row["count"] == "16"


@SHIPPED
def test_copper_in_the_coils_is_that_of_the_sheet(file: Path) -> None:
    motor = load_design(file).motor
    row, winding = parts(motor)["wire in the coils"], wind(motor)
    assert float(row["mass_kg"]) == pytest.approx(winding.copper_mass, rel=1e-7)
    # Copper: 8900 kg/m³ within half a per cent (handbooks: 8890 to 8960).
    wire = math.pi / 4 * motor.winding.wire_diameter**2 * float(row["length_m"])
    assert float(row["mass_kg"]) == pytest.approx(8920 * wire, rel=0.005)


def test_wire_to_buy_has_a_tenth_more_and_says_so() -> None:
    found = parts(PRINTED.motor)
    bought, wound = found["wire to buy for the coils"], found["wire in the coils"]
    assert float(bought["length_m"]) == pytest.approx(1.1 * float(wound["length_m"]), rel=1e-7)
    assert "assumed" in bought["basis"]


def test_three_leads_have_all_strands() -> None:
    # 300 mm each by default, two strands.
    assert float(parts(PRINTED.motor)["leads"]["length_m"]) == pytest.approx(3 * 0.3 * 2)


def test_a_stacked_core_weighs_its_iron_share() -> None:
    motor = STEEL.motor
    share = motor.stator.core_fraction
    row = parts(motor)["stator core"]
    density = motor.stator.core.density
    assert density is not None
    assert share < 1
    expected = share * density * float(row["volume_mm3"]) * MM**3
    assert float(row["mass_kg"]) == pytest.approx(expected, rel=1e-7)


def test_a_housing_wall_is_a_tube() -> None:
    motor = PRINTED.motor
    inner = math.hypot(28.8 + 3.0, 4.0)
    volume = math.pi * ((inner + 3.0) ** 2 - inner**2) * 20.0
    assert float(parts(motor)["housing wall"]["volume_mm3"]) == pytest.approx(volume, rel=1e-7)


def test_a_ring_is_in_the_list_where_there_is_one() -> None:
    assert "ring" in parts(STEEL.motor)
    assert "ring" not in parts(PRINTED.motor)
    row, rotor = parts(STEEL.motor)["ring"], STEEL.motor.rotor
    tube = math.pi * (rotor.ring_outer_radius**2 - rotor.magnet_outer_radius**2)
    volume = tube * STEEL.motor.stack_length / MM**3
    assert float(row["volume_mm3"]) == pytest.approx(volume, rel=1e-7)


def length(vertices: list[Any]) -> float:
    total = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(vertices, vertices[1:] + vertices[:1], strict=True):
        chord = math.hypot(x1 - x0, y1 - y0)
        angle = 4 * math.atan(abs(bulge))
        total += chord if not bulge else chord / (2 * math.sin(angle / 2)) * angle
    return total


@SHIPPED
def test_slot_walls_are_the_outline_of_the_core_without_tips_and_openings(file: Path) -> None:
    # The whole outline, read from the drawing, less the faces of the tips in the gap and the two
    # radial sides of every opening.
    motor = load_design(file).motor
    stator = motor.stator
    drawing = ezdxf.read(io.StringIO(section_dxf(motor, wind(motor).coils).decode()))
    outlines = [
        [(x, y, bulge) for x, y, _, _, bulge in polyline]
        for polyline in drawing.modelspace().query('LWPOLYLINE[layer=="STATOR_CORE"]')
    ]
    outer = max(outlines, key=len)
    tips = 2 * math.pi * stator.outer_radius - stator.slots * stator.slot_opening
    sides = 2 * stator.slots * stator.tip_thickness
    expected = length(outer) * MM - tips - sides
    assert liner_length(motor) == pytest.approx(expected, rel=1e-9)


def test_the_liner_reaches_two_millimetres_over_each_end() -> None:
    row = parts(PRINTED.motor)["slot liner"]
    assert float(row["area_mm2"]) == pytest.approx(liner_length(PRINTED.motor) / MM * 24.0)
    assert "assumed" in row["basis"]


def test_a_mass_that_is_not_known_is_left_open() -> None:
    plain = PRINTED.to_dict()
    plain["materials"] = {
        "secret-core": {"kind": "core", "relative_permeability": 1.5, "source": "a friend"}
    }
    plain["stator"]["core"] = "secret-core"
    motor = MotorDesign.from_dict(plain).motor
    assert parts(motor)["stator core"]["mass_kg"] == ""
    assert "not known" in as_text(parts_list(motor))


def test_every_line_says_whether_it_is_computed_or_assumed() -> None:
    assert all(
        "computed" in row["basis"] or "assumed" in row["basis"]
        for row in parts(STEEL.motor).values()
    )
