"""Coils as they were built: turns, resistances, which tooth is wrong and what it does."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_star_of_slots import same_winding
from test_winding_as_wound import DESIGN, PHASE, with_dashes
from winding_table import ROWS, Row

from fem_motor.errors import DesignError
from fem_motor.findings import Finding
from fem_motor.winding import Winding, balanced_layout, wind
from fem_motor.winding.nearest import nearest_layouts
from fem_motor.winding.star import phase_phasors, sequence_components

untimed = settings(deadline=None)  # the machine may be busy; nothing here asserts a time


def built(*changes: dict[str, object], slots: int = 12, poles: int = 10, **keys: object) -> Winding:
    given_keys: dict[str, Any] = dict(keys)
    design = DESIGN.replace(machine__slots=slots, machine__poles=poles, **given_keys)
    return wind(design.replace(as_built__coils=list(changes)).motor)


def named(winding: Winding, name: str) -> Finding:
    return next(finding for finding in winding.findings if finding.name.startswith(name))


# -- as built --------------------------------------------------------------------------------


def test_a_coil_built_the_other_way_round_is_that_of_a_list_that_says_so() -> None:
    found = built({"tooth": 1, "reversed": True})
    listed = wind(
        DESIGN.replace(
            machine__slots=12,
            machine__poles=10,
            winding__coils=with_dashes("U- U- V- V+ W+ W- U- U+ V+ V- W- W+"),
        ).motor
    )
    assert found.coils == listed.coils
    assert np.array_equal(found.side_turns, listed.side_turns)
    assert found.findings == listed.findings
    assert found.resistance_phase == listed.resistance_phase


def test_lost_turns_are_in_sides_resistance_copper_and_linkage() -> None:
    # Six coils of 14 turns in phase U, of which one has 5: 75/84 of resistance. Linkage by hand:
    # the coils of U stand at 0° and ±20°, two each; tooth 1 at 0°, 4 cos 20° + 2 − 9/14.
    sound, found = built(slots=18, poles=16), built({"tooth": 1, "turns": 5}, slots=18, poles=16)
    assert found.coil_turns == (5, *[14] * 17)
    assert found.side_turns[0, 0].tolist() == [-5, 5]
    assert np.array_equal(found.side_turns[:, 1:], sound.side_turns[:, 1:])
    assert found.phase_resistances == pytest.approx(
        np.array([75 / 84, 1, 1]) * sound.resistance_phase, rel=1e-12
    )
    assert found.resistance_phase == sound.resistance_phase == pytest.approx(PHASE, rel=5e-5)
    assert found.copper_mass / sound.copper_mass == pytest.approx(243 / 252, rel=1e-12)
    assert not found.phase_resistances.flags.writeable


@pytest.mark.parametrize(
    ("connection", "in_phases"),
    [
        # U lacks one of four coils, ¾ R. Star: ¾ + 1, 2, 1 + ¾.
        ("star", (1.75, 2, 1.75)),
        # Delta: ¾ ∥ 2 = 6/11; 1 ∥ 7/4 = 7/11 at the other pairs.
        ("delta", (6 / 11, 7 / 11, 7 / 11)),
    ],
)
def test_a_coil_left_out_shows_at_all_pairs_of_terminals(
    connection: str, in_phases: tuple[float, float, float]
) -> None:
    found = built({"tooth": 1, "turns": 0}, winding__connection=connection)
    assert found.coils[0] == ""
    leads = 2 * found.lead_resistance
    assert found.line_line_resistances == pytest.approx(
        leads + found.resistance_phase * np.array(in_phases), rel=1e-12
    )
    assert named(found, "unbalance").do.startswith("wind tooth 1 as U+;")


def test_a_coil_on_another_phase_keeps_its_direction_unless_reversed() -> None:
    found = built(
        {"tooth": 1, "phase": "V"}, {"tooth": 2, "phase": "W", "reversed": True, "turns": 13}
    )
    assert found.coils[:2] == ("V+", "W+")
    assert found.coil_turns[:2] == (14, 13)


def test_findings_of_lost_turns_say_how_many_to_wind() -> None:
    found = built({"tooth": 3, "turns": 12}, {"tooth": 5, "turns": 15})
    turns = named(found, "turns of the coil")
    assert (turns.status, turns.value) == ("watch", 12)
    assert "against 14 as designed" in turns.name  # neither a most nor a least
    assert named(found, "unbalance").bound == "at most"
    assert turns.do == "wind 2 more on tooth 3, 1 fewer on tooth 5."
    assert named(found, "difference of the phase").value == pytest.approx(3 / 56, rel=1e-12)


def test_changes_that_take_all_turns_of_a_phase_are_refused() -> None:
    with pytest.raises(DesignError) as caught:
        built(*({"tooth": tooth, "turns": 0} for tooth in (1, 4)), slots=6, poles=4)
    assert str(caught.value) == (
        "as_built.coils leaves phase U without a turn.\n"
        "  why: all three phases need coils.\n"
        "  do:  check the entries: without one of its phases the motor does not run."
    )


def test_a_reversed_coil_in_parallel_circuits_stops() -> None:
    # Of 2 cos 15° = 1.932 coils in each circuit, 2 are missing in one: 103.5 %.
    found = built({"tooth": 1, "reversed": True}, winding__parallel_circuits=2)
    finding = named(found, "voltage between parallel circuits")
    assert finding.status == "stop"
    assert finding.value == pytest.approx(1 / math.cos(math.radians(15)), rel=1e-12)


# -- diagnosis -------------------------------------------------------------------------------


def renamed(row: Row, number: int) -> tuple[str, ...]:
    """Return one of the layouts that differ from the table's by names only."""
    alike = sorted(set(same_winding(row.coils)))
    return alike[number % len(alike)]


layouts = st.builds(
    lambda row, number: (row, renamed(row, number)),
    st.sampled_from(ROWS),
    st.integers(0, 10_000),
)


@untimed
@given(drawn=layouts)
def test_every_way_to_name_and_turn_a_balanced_layout_is_right(
    drawn: tuple[Row, tuple[str, ...]],
) -> None:
    row, coils = drawn
    assert nearest_layouts(coils, row.poles, 2)[0].cost == 0


@untimed
@given(
    drawn=layouts,
    at=st.integers(0, 1000),
    wrong=st.sampled_from(["U+", "U-", "V+", "V-", "W+", "W-", ""]),
)
def test_one_wrong_coil_is_named_with_what_belongs_there(
    drawn: tuple[Row, tuple[str, ...]], at: int, wrong: str
) -> None:
    row, coils = drawn
    tooth = at % row.slots
    listed = [*coils[:tooth], wrong, *coils[tooth + 1 :]]
    if wrong == coils[tooth]:
        return
    found = nearest_layouts(listed, row.poles, 2)
    assert {correction.cost for correction in found} == {1}
    assert ((tooth + 1, wrong, coils[tooth]),) in [correction.changes for correction in found]
    for correction in found:
        u, v, w = phase_phasors(correction.layout, row.poles)
        assert [abs(v), abs(w)] == pytest.approx([abs(u)] * 2, rel=1e-9)


@untimed
@given(drawn=layouts, phase=st.sampled_from("UVW"))
def test_a_phase_the_wrong_way_round_needs_no_rewinding(
    drawn: tuple[Row, tuple[str, ...]], phase: str
) -> None:
    row, coils = drawn
    swap = {"+": "-", "-": "+"}
    listed = [c[0] + swap[c[1]] if c.startswith(phase) else c for c in coils]
    best = nearest_layouts(listed, row.poles, 2)[0]
    assert (best.cost, best.changes) == (1, ())
    u, v, w = phase_phasors(best.layout, row.poles)
    assert abs(u + v + w) < 1e-9


def test_a_phase_the_wrong_way_round_turns_the_motor_backwards() -> None:
    # −1, e^(j120°), e^(j240°): forward (−1 + 1 + 1)/3 = 1/3, backward (−1 − 1)/3 = 2/3.
    finding = wind(
        DESIGN.replace(
            machine__slots=6,
            machine__poles=4,
            winding__coils=with_dashes("U- V+ W+ U- V+ W+"),
        ).motor
    ).findings[0]
    assert (finding.name, finding.status) == ("unbalance of the phases", "stop")
    assert finding.value == pytest.approx(1 / 2, rel=1e-9)
    assert "the motor turns backwards" in finding.why
    assert finding.do.startswith("swap the two ends of phase U, rewinding nothing;")


def test_voltages_that_do_not_add_up_drive_a_current_around_a_delta() -> None:
    # −1 + e^(j120°) + e^(j240°) = −2: twice a phase's voltage.
    changes = [{"tooth": tooth, "reversed": True} for tooth in (1, 4)]
    in_delta = built(*changes, slots=6, poles=4, winding__connection="delta")
    in_star = built(*changes, slots=6, poles=4)
    assert "driven by 200.0% of a phase's voltage" in named(in_delta, "unbalance").why
    assert "delta" not in named(in_star, "unbalance").why


def test_two_phases_of_one_voltage_pulsate() -> None:
    # Six teeth, four poles: teeth 1 and 4 at 0°, 2 and 5 at 120°. U has 2, V and W e^(j120°) each.
    # Forward |2 + 1 + e^(j240°)|/3 and backward |2 + e^(j240°) + 1|/3 are equal.
    coils = with_dashes("U+ V+ - U+ W+ -")
    finding = wind(
        DESIGN.replace(machine__slots=6, machine__poles=4, winding__coils=coils).motor
    ).findings[0]
    assert finding.status == "stop"
    assert "may start in either direction or not at all" in finding.why


def test_a_list_that_is_right_up_to_naming_says_which_naming() -> None:
    coils = [*balanced_layout(18, 16)[-3:], *balanced_layout(18, 16)[:-3]]
    (finding,) = wind(DESIGN.replace("winding.coils", coils).motor).findings
    assert finding.status == "ok"
    assert finding.why == "the list is the balanced layout, turned by 3 teeth: the same motor."


def test_every_other_tooth_wound_has_less_voltage_and_this_is_said() -> None:
    coils = list(balanced_layout(12, 10, layers=1))
    (finding,) = wind(
        DESIGN.replace(machine__slots=12, machine__poles=10, winding__coils=coils).motor
    ).findings
    # Two coils in phase of 4 cos 15°.
    assert finding.status == "watch"
    assert "a coil on every other tooth; each phase has 51.8% of the voltage" in finding.why


@untimed
@given(
    sizes=st.tuples(*[st.floats(0.2, 2)] * 3), angles=st.tuples(*[st.floats(-math.pi, math.pi)] * 3)
)
def test_the_backward_part_is_the_torque_ripple_of_equal_sine_currents(
    sizes: tuple[float, float, float], angles: tuple[float, float, float]
) -> None:
    # In time: three equal currents 120° apart on voltages of any size and angle. The torque's mean
    # is that of the forward part, its pulsation at twice the frequency that of the backward one.
    phasors = tuple(size * np.exp(1j * angle) for size, angle in zip(sizes, angles, strict=True))
    time = np.linspace(0, 2 * math.pi, 48, endpoint=False)
    lead = np.linspace(0, 2 * math.pi, 720, endpoint=False)[:, None, None]
    axis = 2 * math.pi / 3 * np.arange(3)[:, None]
    voltages = np.array([(phasor * np.exp(-1j * time)).real for phasor in phasors])
    torque = np.sum(np.cos(time - axis + lead) * voltages, axis=1)  # (leads, times)
    strongest = torque[np.argmax(torque.mean(axis=1))]
    forward, backward, _ = sequence_components((phasors[0], phasors[1], phasors[2]))
    assert strongest.mean() == pytest.approx(1.5 * abs(forward), rel=1e-4, abs=1e-4)
    assert np.ptp(strongest) / 2 == pytest.approx(1.5 * abs(backward), rel=1e-2, abs=1e-2)
