"""The winding as built: lists of coils, circuits, resistances, copper."""

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from winding_table import ROWS, Row

from fem_motor.design import Motor, MotorDesign
from fem_motor.errors import DesignError
from fem_motor.findings import Finding
from fem_motor.materials import Conductor, load_library, wire_diameter_from_awg
from fem_motor.winding import (
    Winding,
    balanced_layout,
    possible_circuits,
    wind,
    winding_factor,
)
from fem_motor.winding.star import Layers, phase_phasors
from fem_motor.winding.wound import turn_length

# A made-up motor with round numbers; the undersides of the tips are arcs, so that the area of a
# slot can be worked out by hand.
DESIGN = MotorDesign.from_toml("""
title = "Worked by hand"
[machine]
slots = 18
poles = 16
stack_length_mm = 20
air_gap_mm = 0.8
[stator]
outer_diameter_mm = 56
inner_diameter_mm = 22
yoke_thickness_mm = 4
tooth_width_mm = 4
slot_opening_mm = 1.8
tip_thickness_mm = 1
slot_liner_mm = 0.3
core = "iron-filled-pla-10vol"
[rotor]
magnet_shape = "block"
magnet_width_mm = 6
magnet_thickness_mm = 3
magnet = "ndfeb-n42h"
[winding]
turns_per_tooth = 14
strands = 2
wire_diameter_mm = 0.5
lead_length_mm = 300
""")

# Half a slot, mm, in polar form: beside a tooth whose liner ends at the height s = 2 + 0.3 the
# angle from asin(s/r) to 10° is free, from r = 11 + 4 + 0.3 to 28 − 1 − 0.3. Its area is
# F(26.7) − F(15.3) with F = r²/2 (10° − asin(s/r)) − s/2 √(r² − s²), 0.8774 + 14.6288:
AREA = 15.5062e-6
# Thickness 15.5062/11.4 = 1.36019, so a turn is 2·20 + 2·4 + π·1.36019 = 48 + 4.27318 mm:
TURN = 52.2732e-3
TURN_ONE_LAYER = 56.5464e-3  # the whole slot: 48 + 2·4.27318 mm
# Two wires of 0.5 mm, 2 · 0.1963495 mm²:
COPPER = 0.392699e-6
COPPER_RESISTIVITY = 1 / 58e6  # IEC 60028, annealed copper at 20 °C
# Six coils of 14 turns, 4.39095 m: 4.39095 / (58 · 0.392699) ohm:
PHASE = 0.192783
LEADS = 0.0263430  # two of 0.3 m: 0.6 / (58 · 0.392699) ohm

BY_HAND = 5e-5
"""Relative: six digits were carried, and the library rounds 1/58 to 0.017241."""


def motor(**winding: object) -> Motor:
    """Return the motor with other values in [winding]."""
    changes: dict[str, Any] = {f"winding__{key}": value for key, value in winding.items()}
    return DESIGN.replace(**changes).motor


def motor_of(slots: int, poles: int, **winding: object) -> Motor:
    """Return the motor with other slots and poles."""
    changes: dict[str, Any] = {f"winding__{key}": value for key, value in winding.items()}
    return DESIGN.replace(machine__slots=slots, machine__poles=poles, **changes).motor


def with_dashes(text: str) -> list[str]:
    """Return coils from a text in which - stands for a tooth without one."""
    return ["" if coil == "-" else coil for coil in text.split()]


# -- as wound --------------------------------------------------------------------------------


@pytest.mark.parametrize("layers", [1, 2])
def test_the_balanced_layout_written_out_is_the_winding_without_a_list(layers: Layers) -> None:
    found = wind(motor(layers=layers))
    written = wind(motor(layers=layers, coils=list(balanced_layout(18, 16, layers))))
    for name in {field.name for field in dataclasses.fields(Winding)} - {"findings"}:
        assert np.array_equal(getattr(written, name), getattr(found, name)), name
    assert found.findings == ()
    (confirmed,) = written.findings
    assert (confirmed.status, confirmed.why) == (
        "ok",
        "the list is the balanced layout: the same motor.",
    )


def test_a_reversed_coil_is_seen_in_phasor_and_factor_and_is_found() -> None:
    # By hand: with 12 teeth and 10 poles the four coils of U stand at 0°, −30°, 0°, −30° (a coil
    # marked − counted against its tooth). The first turned round: −1 + 1 + 2 e^(−j30°), half of
    # its four coils at −30°, so 2/4 of the pitch factor. V and W keep 4 cos 15°.
    coils = with_dashes("U- U- V- V+ W+ W- U- U+ V+ V- W- W+")
    u, v, w = phase_phasors(coils, 10)
    assert u == pytest.approx(2 * np.exp(-1j * math.pi / 6), abs=1e-12)
    assert [abs(v), abs(w)] == pytest.approx([4 * math.cos(math.radians(15))] * 2, rel=1e-12)
    assert winding_factor(coils, 10) == pytest.approx(math.sin(math.radians(75)) / 2, rel=1e-12)

    (finding,) = wind(motor_of(12, 10, coils=coils)).findings
    assert (finding.name, finding.status) == ("unbalance of the phases", "stop")
    # Fortescue by hand: V and W keep 4 cos 15° = 3.8637, U lacks the vector 2 of them. A third of
    # it goes to each part, at right distance 15° from the rest: forward |3.8637 − 2/3 e^(j15°)|,
    # backward 2/3.
    forward = abs(4 * math.cos(math.radians(15)) - 2 / 3 * np.exp(1j * math.radians(15)))
    assert finding.value == pytest.approx(2 / 3 / forward, rel=1e-9)
    assert finding.limit == 0.05
    # 2/3.8637 = 51.8 %; U stands at −30° instead of −15°, so V is 135° and W 255° = −105° after.
    assert finding.why == (
        "of the balanced layout's voltage the phases have U 51.8%, V 100.0%, W 100.0%; V stands at "
        "135.0° from U and W at -105.0° (balanced 120° and -120°). They still add to a field that "
        "turns the right way, with a backward part of 20.7%; torque then ripples at twice the "
        "electrical frequency, and the copper runs hotter."
    )
    assert finding.do == (
        "turn the coil of tooth 1 round (U+ instead of U-); this gives "
        "U+ U- V- V+ W+ W- U- U+ V+ V- W- W+."
    )


def test_a_coil_in_the_wrong_phase_is_found() -> None:
    coils = with_dashes("V+ U- V- V+ W+ W- U- U+ V+ V- W- W+")
    unbalance, resistance = wind(motor_of(12, 10, coils=coils)).findings
    assert unbalance.do.startswith("connect the coil of tooth 1 as U+ instead of V+;")
    # Three coils and five coils where four should be; the designed figure is that of five.
    assert resistance.value == pytest.approx((5 - 3) / 5, rel=1e-12)


def test_the_balanced_layout_offered_has_as_many_layers_as_the_winding() -> None:
    coils = with_dashes("U- - V- - W+ - U- - V+ - W- -")
    (finding,) = wind(motor_of(12, 10, layers=1, coils=coils)).findings
    assert finding.status == "stop"
    assert finding.do == (
        "turn the coil of tooth 1 round (U+ instead of U-); this gives "
        "U+ - V- - W+ - U- - V+ - W- -."
    )


def test_swapped_phases_are_found_as_the_other_direction() -> None:
    coils = with_dashes("U+ U- W- W+ V+ V- U- U+ W+ W- V- V+")
    right, sequence = wind(motor_of(12, 10, coils=coils)).findings
    assert (right.status, right.why) == (
        "ok",
        "the list is the balanced layout, phases named U, W, V for U, V, W: the same motor.",
    )
    assert sequence == (
        Finding(
            name="phase sequence",
            status="watch",
            why="the list gives U, W, V for counter-clockwise rotation: the motor turns the other "
            "way.",
            do="swap two of the three leads, or accept it.",
        )
    )


def test_coils_that_cancel_stop() -> None:
    # Six teeth, four poles: teeth 1 and 4 are a whole pole pair and a half turn apart, the same
    # voltage; wound against each other they leave nothing. By hand 1 − 1 = 0.
    winding = wind(motor_of(6, 4, coils=with_dashes("U+ V+ W+ U- V- W-")))
    assert winding.winding_factor == pytest.approx(0, abs=1e-12)
    assert winding.findings == (
        Finding(
            name="phase without voltage",
            status="stop",
            why="in phase U, V, W the coils cancel each other: the magnets induce no voltage, and "
            "current makes no torque.",
            do="turn the coil of tooth 4 round (U+ instead of U-), turn the coil of tooth 5 round "
            "(V+ instead of V-), turn the coil of tooth 6 round (W+ instead of W-); this gives "
            "U+ V+ W+ U+ V+ W+. The list allows one way as small: turn the coil of tooth 1 round "
            "(U- instead of U+), turn the coil of tooth 2 round (V- instead of V+), turn the coil "
            "of tooth 3 round (W- instead of W+).",
        ),
    )


def test_a_phase_without_a_coil_is_refused() -> None:
    with pytest.raises(DesignError) as caught:
        wind(motor_of(6, 4, coils=with_dashes("U+ V+ V+ U+ V+ V+")))
    assert str(caught.value) == (
        "winding.coils leaves phase W without a coil.\n"
        "  why: all three phases need coils.\n"
        "  do:  check the list, or leave it out for the best balanced layout."
    )


def test_a_positive_coil_drives_flux_outward() -> None:
    # Ampère for straight wires, B = μ0 I/(2πd) ẑ × d̂: around tooth 1 on +x the wires stand at
    # ±y, and their field between them must point along +x.
    turns = wind(motor()).side_turns[0, 0]
    wires = np.array([[20.0, -2.0], [20.0, 2.0]])  # mm; clockwise side, counter-clockwise side
    to_tooth = np.array([20.0, 0.0]) - wires
    field = turns[:, None] * np.stack([-to_tooth[:, 1], to_tooth[:, 0]], axis=1) / 4
    assert np.sum(field, axis=0) == pytest.approx([14.0, 0.0])


def test_each_tooth_has_as_many_turns_going_as_coming_back() -> None:
    turns = wind(motor()).side_turns
    assert turns.shape == (3, 18, 2)
    assert np.array_equal(turns.sum(axis=2), np.zeros((3, 18)))
    assert np.array_equal(np.abs(turns).sum(axis=0), np.full((18, 2), 14.0))
    assert not turns.flags.writeable


# -- parallel circuits -----------------------------------------------------------------------


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.slots} slots, {row.poles} poles")
def test_circuits_can_be_as_many_as_equal_sectors_or_a_divisor_of_that(row: Row) -> None:
    # gcd(slots, poles) sectors carry the same voltages, reversed or not: a circuit takes whole
    # sectors. Column of the table.
    divisors = [n for n in range(1, row.pull_pairs + 1) if row.pull_pairs % n == 0]
    assert list(possible_circuits(row.coils, row.poles)) == divisors


def test_two_circuits_quarter_the_resistance_and_halve_the_turns_per_ampere() -> None:
    # Two halves, each with half of the resistance, side by side: R/2 ∥ R/2 = R/4.
    one, two = wind(motor()), wind(motor(parallel_circuits=2))
    assert two.resistance_phase == pytest.approx(one.resistance_phase / 4, rel=1e-12)
    assert np.array_equal(2 * two.side_turns, one.side_turns)
    for same in ("turn_length", "wire_length", "copper_mass", "fill_factor", "winding_factor"):
        assert getattr(two, same) == getattr(one, same)


def test_circuits_of_unequal_voltage_are_refused() -> None:
    with pytest.raises(DesignError) as caught:
        wind(motor(parallel_circuits=3))
    assert str(caught.value) == (
        "winding.parallel_circuits = 3 would drive currents around between the circuits.\n"
        "  why: the coils of a phase do not divide into that many groups of the same voltage.\n"
        "  do:  use 1 or 2."
    )


# -- copper ----------------------------------------------------------------------------------


def test_a_turn_is_two_sides_two_tooth_widths_and_four_quarter_circles() -> None:
    # Sum by hand above; common practice, no source for the rounded ends.
    found = DESIGN.motor
    assert turn_length(found.stator, found.stack_length, 2) == pytest.approx(TURN, rel=2e-6)
    assert turn_length(found.stator, found.stack_length, 1) == pytest.approx(
        TURN_ONE_LAYER, rel=2e-6
    )


def test_the_slot_of_the_hand_calculation_has_its_area_also_by_strips() -> None:
    # Second method for the constant above: 100 000 concentric strips.
    edges = np.linspace(15.3, 26.7, 100_001)
    radius = (edges[1:] + edges[:-1]) / 2
    strips = radius * (math.radians(10) - np.arcsin(2.3 / radius)) * np.diff(edges)
    assert 1e-6 * np.sum(strips) == pytest.approx(AREA, rel=5e-6)


def test_the_winding_worked_by_hand() -> None:
    winding = wind(motor())
    assert winding.turn_length == pytest.approx(TURN, rel=2e-6)
    assert winding.copper_area == pytest.approx(COPPER, rel=2e-6)
    assert winding.resistance_phase == pytest.approx(PHASE, rel=BY_HAND)
    assert winding.fill_factor == pytest.approx(14 * COPPER / AREA, rel=1e-5)
    # 18 coils of 14 turns and 2 wires: 504 · 52.2732 mm; times 0.1963495 mm² and 8890 kg/m³.
    assert winding.wire_length == pytest.approx(26.3457, rel=1e-5)
    assert winding.copper_mass == pytest.approx(45.9875e-3, rel=2e-5)


def test_one_layer_has_half_the_coils_in_whole_slots() -> None:
    # Three coils of a phase, longer turns: 3 · 14 · 56.5464 mm / (58 · 0.392699).
    winding = wind(motor(layers=1))
    assert winding.turn_length == pytest.approx(TURN_ONE_LAYER, rel=2e-6)
    assert winding.resistance_phase == pytest.approx(0.104271, rel=BY_HAND)
    assert winding.fill_factor == pytest.approx(14 * COPPER / (2 * AREA), rel=1e-5)


@pytest.mark.parametrize(
    ("connection", "between"),
    [
        ("star", 2 * PHASE),  # two branches in series
        ("delta", PHASE * 2 * PHASE / (PHASE + 2 * PHASE)),  # one beside two in series: 2/3
    ],
)
def test_between_two_terminals_lie_the_branches_and_two_leads(
    connection: str, between: float
) -> None:
    winding = wind(motor(connection=connection))
    assert winding.resistance_phase == pytest.approx(PHASE, rel=BY_HAND)
    assert winding.resistance_line_line == pytest.approx(between + LEADS, rel=BY_HAND)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_terminal_resistance_is_that_of_the_network(connection: str) -> None:
    # Second method: conductance matrix of the nodes, one ampere in at U and out at V.
    winding = wind(motor(connection=connection, lead_length_mm=0))
    branches = {"star": [(0, 3), (1, 3), (2, 3)], "delta": [(0, 1), (1, 2), (2, 0)]}[connection]
    conductance = np.zeros((4, 4))
    for start, end in branches:
        for a, b, sign in ((start, start, 1), (end, end, 1), (start, end, -1), (end, start, -1)):
            conductance[a, b] += sign / winding.resistance_phase
    voltages = np.linalg.lstsq(conductance, np.array([1.0, -1.0, 0.0, 0.0]), rcond=None)[0]
    assert winding.resistance_line_line == pytest.approx(voltages[0] - voltages[1], rel=1e-9)


def test_half_the_turns_of_two_strands_have_a_quarter_of_the_resistance() -> None:
    # Same copper: D. Hanselman, Brushless Permanent Magnet Motor Design, 2006, from memory.
    many, few = (
        wind(motor(turns_per_tooth=turns, strands=strands, lead_length_mm=0))
        for turns, strands in ((20, 1), (10, 2))
    )
    assert few.resistance_phase == pytest.approx(many.resistance_phase / 4, rel=1e-12)
    assert few.resistance_line_line == pytest.approx(many.resistance_line_line / 4, rel=1e-12)
    assert few.fill_factor == pytest.approx(many.fill_factor, rel=1e-12)
    assert few.copper_mass == pytest.approx(many.copper_mass, rel=1e-12)


def test_hot_copper_resists_by_0_393_percent_a_kelvin_leads_included() -> None:
    # IEC 60028: 0.00393 per kelvin at 20 °C; from 20 to 100 °C, 1.3144.
    cold, hot = wind(motor()), wind(motor(), temperature_C=100.0)
    assert hot.resistance_phase / cold.resistance_phase == pytest.approx(1.3144, rel=1e-9)
    assert hot.resistance_line_line / cold.resistance_line_line == pytest.approx(1.3144, rel=1e-9)


def test_copper_of_the_library_is_that_of_iec_60028() -> None:
    copper = load_library()["copper"]
    assert isinstance(copper, Conductor)
    assert copper.resistivity == pytest.approx(COPPER_RESISTIVITY, rel=BY_HAND)
    assert copper.temperature_coefficient == 0.00393


@pytest.mark.parametrize(("temperature", "ohm"), [(20.0, 5.296), (100.0, 6.961)])
def test_a_hundred_metres_of_gauge_22(temperature: float, ohm: float) -> None:
    # ASTM B258: 0.127 mm · 92^(14/39) = 0.6438 mm; IEC 60028: 100 m/(58 · 0.32552 mm²), by hand.
    copper = load_library()["copper"]
    assert isinstance(copper, Conductor)
    area = math.pi / 4 * wire_diameter_from_awg(22) ** 2
    resistance = copper.resistivity_at(temperature) * 100.0 / area
    assert resistance == pytest.approx(ohm, abs=0.5e-3 + BY_HAND * ohm)
