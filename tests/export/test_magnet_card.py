"""The magnet card: which way every north face looks."""

import csv
import io
import math
from pathlib import Path

import numpy as np
import pytest

from fem_motor.design import Motor, MotorDesign, load_design
from fem_motor.export import field_grid, magnet_card
from fem_motor.export.cards.card import as_csv, as_markdown, as_text
from fem_motor.mesh import REGIONS
from fem_motor.winding import wind

GEOMETRIES = Path(__file__).parents[2] / "geometries"
PRINTED = load_design(GEOMETRIES / "printed_18s16p.toml")
HALBACH = load_design(GEOMETRIES / "halbach_18s16p.toml")
STEEL = load_design(GEOMETRIES / "steel_12s14p.toml")


def rows(motor: Motor) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(as_csv(magnet_card(motor)))))


def norths(motor: Motor) -> list[str]:
    return [row["north_face"].partition(",")[0] for row in rows(motor)]


def halbach(**keys: object) -> Motor:
    plain = HALBACH.to_dict()
    plain["rotor"] |= keys
    return MotorDesign.from_dict(plain).motor


def test_poles_alternate_and_the_first_looks_at_the_shaft() -> None:
    assert norths(PRINTED.motor) == ["inward", "outward"] * 8


def test_between_two_poles_a_halbach_magnet_points_to_the_north_pole_of_the_strong_side() -> None:
    # It feeds the flux that leaves there. Strong side inside: from the pole whose north looks out
    # to the one whose north looks in; magnet 2 thus back to magnet 1, clockwise.
    assert norths(HALBACH.motor)[:4] == ["inward", "clockwise", "outward", "counter-clockwise"]
    weak = halbach(strong_side="outside")
    assert norths(weak)[:4] == ["inward", "counter-clockwise", "outward", "clockwise"]


@pytest.mark.parametrize("design", [PRINTED, HALBACH], ids=["alternating", "halbach"])
def test_the_computed_field_in_every_magnet_runs_along_its_arrow(design: MotorDesign) -> None:
    motor = design.motor
    grid = field_grid(motor, wind(motor), angle=0.0, currents=np.zeros(3), quality="draft")
    x, y = grid.points[:, grid.triangles].mean(axis=1)
    pitch = motor.rotor.segment_pitch
    for row in rows(motor):
        axis = math.radians(float(row["angle_deg"]))
        off = np.angle(np.exp(1j * (np.arctan2(y, x) - axis)))
        inside = (grid.region == REGIONS.index("magnet")) & (np.abs(off) < pitch / 2)
        arrow = axis + math.radians(float(row["magnetisation_from_outward_deg"]))
        along = grid.flux_density[0] * math.cos(arrow) + grid.flux_density[1] * math.sin(arrow)
        assert along[inside].mean() > 0.3  # T: well above nothing, below the remanence
        assert len(along[inside])


def test_arcs_come_in_two_kinds_and_blocks_in_one() -> None:
    # A block can be turned over; an arc with north inside cannot become one with north outside.
    text = as_markdown(magnet_card(STEEL.motor))
    assert "7 with north on the inner" in text
    assert "7 with north on the outer" in text
    assert "16 through the thickness" in as_text(magnet_card(PRINTED.motor))


def test_three_magnets_a_pole_need_some_made_to_order() -> None:
    # Halbach: from magnet to magnet the direction turns by 180°/3 against the magnet's own axis.
    text = as_text(magnet_card(halbach(segments_per_pole=3, magnet_width_mm=3.5)))
    assert "16 through the thickness; 32 at 60°" in text.replace("\n", " ")


def test_what_came_out_otherwise_is_named_apart_from_the_design() -> None:
    changes = [{"index": 3, "remanence_factor": -0.9, "tilt_deg": 3.0}, {"index": 5,
               "remanence_factor": 0.0}]  # fmt: skip
    built = PRINTED.replace("as_built.magnets", changes).motor
    assert norths(built) == norths(PRINTED.motor)
    text = as_text(magnet_card(built))
    assert "- magnet 3: turned round, 0.9 times as strong as designed, tilted by 3°" in text
    assert "- magnet 5: missing" in text
    assert "As built" not in as_text(magnet_card(PRINTED.motor))


def test_the_card_warns_of_pinching_splinters_and_implants() -> None:
    text = as_text(magnet_card(PRINTED.motor))
    for word in ("pinch", "shatter", "pacemakers", "swallowed"):
        assert word in text
