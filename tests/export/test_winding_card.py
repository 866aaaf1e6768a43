"""The winding card: what a person winds from it is the winding that was computed."""

import csv
import io
import math
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from fem_motor import performance
from fem_motor.design import MotorDesign, load_design
from fem_motor.export import winding_card
from fem_motor.export.cards.card import as_csv, as_html, as_markdown, as_text
from fem_motor.export.cards.stator_views import stator_views
from fem_motor.export.cards.winding_checks import turning
from fem_motor.winding import wind

GEOMETRIES = sorted((Path(__file__).parents[2] / "geometries").glob("*.toml"))
PRINTED = load_design(GEOMETRIES[0].with_name("printed_18s16p.toml"))
SIGNS = {"counter-clockwise": "+", "clockwise": "-"}


def changed(**keys: object) -> MotorDesign:
    """Return the printed design with keys of its winding changed, all at once."""
    plain = PRINTED.to_dict()
    plain["winding"] |= keys
    return MotorDesign.from_dict(plain)


def one_layer() -> MotorDesign:
    plain = PRINTED.to_dict()
    plain["machine"] |= {"slots": 12, "poles": 10}
    plain["rotor"] |= {"magnet_width_mm": 12.0}
    plain["winding"] |= {"layers": 1, "coils": None}
    plain["winding"] = {key: value for key, value in plain["winding"].items() if value is not None}
    return MotorDesign.from_dict(plain)


DESIGNS = {path.stem: load_design(path) for path in GEOMETRIES} | {
    "two circuits": changed(parallel_circuits=2),
    "delta": changed(connection="delta"),
    "one layer": one_layer(),
}
EVERY = pytest.mark.parametrize("name", DESIGNS)


def rows(design: MotorDesign) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(as_csv(winding_card(design.motor)))))


def as_wound(design: MotorDesign) -> list[str]:
    """Return the coils, tooth by tooth, of somebody who winds by the card."""
    coils = [""] * design.motor.stator.slots
    for row in rows(design):
        tooth = int(row["tooth"]) - 1
        assert coils[tooth] == "", "a tooth is wound twice"
        coils[tooth] = row["phase"] + SIGNS[row["direction_facing_tooth_tip"]]
    return coils


@EVERY
def test_the_card_read_again_is_the_layout(name: str) -> None:
    assert as_wound(DESIGNS[name]) == list(wind(DESIGNS[name].motor).coils)


def test_the_card_read_again_links_the_flux_that_was_computed() -> None:
    angles = [0.0, 3.0, 11.0]
    wound = PRINTED.replace("winding.coils", as_wound(PRINTED))
    of_card = performance.rotor_sweep(wound, angles_deg=angles, quality="draft")
    computed = performance.rotor_sweep(PRINTED, angles_deg=angles, quality="draft")
    np.testing.assert_allclose(of_card.flux_linkage_Wb, computed.flux_linkage_Wb, rtol=1e-9)


def test_counter_clockwise_on_the_tooth_facing_the_reader_drives_flux_outward() -> None:
    # Up on the right of the tooth, over to the left, down on the left, with the lead side up, is
    # walked in space at tooth 1 on +x, lead side +z, seen from outside, that is towards −x: right
    # is then +y (right = looking × up). The right-hand rule (Ampère) gives the direction of flux.
    looking, up = np.array([-1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    right = np.cross(looking, up)
    path = [right - up, right + up, -right + up, -right - up]
    area = sum(np.cross(a, b) for a, b in zip(path, path[1:] + path[:1], strict=True)) / 2
    assert area @ np.array([1.0, 0.0, 0.0]) > 0
    text = as_text(winding_card(PRINTED.motor)).replace("\n  ", " ")
    assert (
        "counter-clockwise means: up on the right of the tooth, over to the left, down on the left"
        in text
    )
    # A coil marked + counts outward flux (the convention of the design file), so + must be this.
    assert next(row for row in rows(PRINTED) if row["tooth"] == "1")["phase"] == "U"
    assert as_wound(PRINTED)[0] == "U+"


@EVERY
def test_every_wire_runs_from_its_start_through_its_teeth_to_its_finish(name: str) -> None:
    design = DESIGNS[name]
    wires: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in rows(design):
        wires.setdefault((row["phase"], row["circuit"]), []).append(row)
    assert len(wires) == 3 * design.motor.winding.parallel_circuits
    for wire in wires.values():
        assert wire[0]["comes_from"].startswith("start of ")
        assert wire[-1]["goes_to"].startswith("finish of ")
        for here, after in pairwise(wire):
            assert here["goes_to"] == f"on to tooth {after['tooth']}"
            assert after["comes_from"] == f"wire from tooth {here['tooth']}"


def test_parallel_circuits_carry_the_same_voltage() -> None:
    # Kirchhoff: what differs would drive a current around. Voltages by Σ ± exp(i p α).
    design = DESIGNS["two circuits"]
    pole_pairs, slots = design.motor.rotor.pole_pairs, design.motor.stator.slots
    sums: dict[tuple[str, str], complex] = {}
    for row in rows(design):
        sign = 1 if row["direction_facing_tooth_tip"] == "counter-clockwise" else -1
        angle = 2 * math.pi * pole_pairs * (int(row["tooth"]) - 1) / slots
        key = (row["phase"], row["circuit"])
        sums[key] = sums.get(key, 0) + sign * complex(math.cos(angle), math.sin(angle))
    for phase in "UVW":
        assert sums[phase, "1"] == pytest.approx(sums[phase, "2"], abs=1e-12)


def test_in_star_all_finishes_meet_and_every_start_has_a_lead() -> None:
    text = as_markdown(winding_card(PRINTED.motor))
    for phase in "UVW":
        assert f"| terminal {phase} | start of {phase} |" in text
    assert "| star point, insulated, no lead | finish of U, V and W, all together |" in text


def test_in_delta_each_phase_lies_between_its_terminal_and_the_next() -> None:
    # U from U to V, V from V to W, W from W to U.
    text = as_markdown(winding_card(DESIGNS["delta"].motor))
    assert "| terminal U | start of U and finish of W |" in text
    assert "| terminal V | start of V and finish of U |" in text
    assert "| terminal W | start of W and finish of V |" in text


def test_resistances_on_the_card_are_those_of_the_sheet() -> None:
    winding = wind(PRINTED.motor)
    text = as_markdown(winding_card(PRINTED.motor))
    assert f"{1e3 * winding.resistance_phase:.4g} mΩ" in text
    assert f"{1e3 * winding.resistance_line_line:.4g} mΩ" in text


def test_one_reversed_coil_of_eighteen_takes_a_sixth_from_two_line_voltages() -> None:
    # 18 teeth, 16 poles: a phase is 2 (1 + 2 cos 20°) coils; less twice one coil on its axis. Lines
    # are |u − v| of phasors 120° apart: √(u² + v² + u v).
    whole = 2 * (1 + 2 * math.cos(math.radians(20)))
    left = whole - 2
    ratio = math.sqrt(left**2 + whole**2 + left * whole) / (math.sqrt(3) * whole)
    text = as_markdown(winding_card(PRINTED.motor))
    row = f"| the coil of tooth 1 the wrong way round | {ratio:.3f} | 1.000 | {ratio:.3f} |"
    assert row in text


def test_a_phase_joined_end_for_end_leaves_the_root_of_a_third() -> None:
    # |−u − v| = |w|: a phase voltage instead of √3 of it.
    row = f"| all of U the wrong way round | {1 / math.sqrt(3):.3f} | 1.000 |"
    assert row in as_markdown(winding_card(PRINTED.motor))


def test_two_phases_exchanged_turn_the_motor_the_other_way() -> None:
    coils = wind(PRINTED.motor).coils
    exchanged = [coil.translate(str.maketrans("VW", "WV")) for coil in coils]
    assert turning(coils, 8) == "counter-clockwise"
    assert turning(exchanged, 8) == "clockwise"


def test_the_torque_of_the_sequence_u_v_w_turns_counter_clockwise() -> None:
    # The field solution as witness: currents that follow U, V, W in time, in step with a rotor
    # that turns counter-clockwise, give positive torque all the way round.
    sweep = performance.rotor_sweep(
        PRINTED, angles_deg=np.linspace(0, 22.5, 7), current_peak_A=10.0, quality="draft"
    )
    assert sweep.torque_Nm.min() > 0
    peaks = [float(sweep.angle_deg[np.argmax(current)]) for current in sweep.currents_A]
    # A third of an electrical period is 15° at 8 pole pairs.
    assert (peaks[1] - peaks[0]) % 45 == pytest.approx(15, abs=3.75)


def test_wire_is_turns_times_the_mean_turn() -> None:
    winding = wind(PRINTED.motor)
    total = sum(int(row["turns"]) for row in rows(PRINTED)) * winding.turn_length * winding.strands
    assert total == pytest.approx(winding.wire_length, rel=1e-12)
    length = float(rows(PRINTED)[0]["wire_length_of_a_strand_m"])
    assert length == pytest.approx(14 * winding.turn_length, abs=1e-4)


def test_what_came_out_otherwise_is_named_apart_from_the_design() -> None:
    built = PRINTED.replace("as_built.coils", [{"tooth": 4, "reversed": True, "turns": 13}])
    assert as_wound(built) == as_wound(PRINTED)
    text = as_text(winding_card(built.motor))
    assert "- tooth 4: reversed, with 13 turns" in text
    assert "As built" not in as_text(winding_card(PRINTED.motor))


def test_a_layout_with_a_coil_the_wrong_way_round_is_warned_of_first() -> None:
    coils = list(wind(PRINTED.motor).coils)
    coils[3] = coils[3].replace("+", "-")
    text = as_text(winding_card(changed(coils=coils).motor))
    warned = text.index("Before you wind")
    assert warned < text.index("What is wound")
    assert "tooth 4" in text[warned : text.index("What is wound")].replace("\n  ", " ")
    assert "Before you wind" not in as_text(winding_card(PRINTED.motor))


def test_the_other_side_shows_the_teeth_in_mirrored_order() -> None:
    text = as_markdown(winding_card(PRINTED.motor))
    assert "| 2 | 2 U- | 18 U- |" in text
    assert "| 18 | 18 U- | 2 U- |" in text


def test_dots_and_crosses_change_places_on_the_other_side() -> None:
    # Tooth 1 lies right of the lead side's view; U+ comes towards the reader on its upper side.
    # Turned over about the upright axis it lies left, and what came goes.
    lead_side, other_side = stator_views(wind(PRINTED.motor).coils).split("<g ")[1:]
    for view, rightwards, above, below in ((lead_side, 1, "dot", "cross"),
                                           (other_side, -1, "cross", "dot")):  # fmt: skip
        wires = re.findall(
            r'<circle cx="(\S+)" cy="(\S+)" r="\S+" fill="white" stroke="#1a1a1a"/><(circle|path)',
            view,
        )
        assert len(wires) == 36
        marks = {"circle": "dot", "path": "cross"}
        beside = sorted(wires, key=lambda wire: -rightwards * float(wire[0]))[:2]
        found = {("above" if float(y) < 0 else "below"): marks[mark] for _, y, mark in beside}
        assert found == {"above": above, "below": below}


def test_every_form_says_which_it_is_and_shows_every_coil() -> None:
    card = winding_card(PRINTED.motor)
    for write in (as_text, as_markdown, as_html, as_csv):
        words = write(card)
        assert "fem_motor.winding_card" in words
        assert words.count("on to tooth") == 15
