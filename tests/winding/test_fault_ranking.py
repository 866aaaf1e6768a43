"""Faults and what the terminals show: phasors by hand, networks by nodes, all found again."""

import cmath
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_winding_as_wound import DESIGN
from winding_table import ROWS, Row

from fem_motor.arrays import FloatArray
from fem_motor.errors import InputError
from fem_motor.winding import Winding, WindingFault, rank_winding_faults, wind

untimed = settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow]
)  # the machine may be busy; nothing here asserts a time

ROOT_3 = math.sqrt(3)


def winding_of(slots: int = 12, poles: int = 10, **keys: object) -> Winding:
    """Return a winding without leads, two coils of each direction in a phase."""
    changes: dict[str, Any] = {"winding__lead_length_mm": 0, **keys}
    return wind(DESIGN.replace(machine__slots=slots, machine__poles=poles, **changes).motor)


def turned(degrees: float, size: float = 1.0) -> complex:
    return size * cmath.exp(1j * math.radians(degrees))


def best(
    winding: Winding, ohms: Sequence[float], volts: Sequence[float] | None = None
) -> WindingFault:
    return rank_winding_faults(winding, resistance_line_line_ohm=ohms, line_voltage_V=volts)[0]


def in_star(u: complex, v: complex, w: complex) -> list[float]:
    return [abs(u - v), abs(v - w), abs(w - u)]


def of_kind(ranked: Sequence[WindingFault], kind: str, tooth: int = 0) -> WindingFault:
    return next(
        fault for fault in ranked if fault.kind == kind and (not tooth or tooth in fault.teeth)
    )


# -- by hand: 12 teeth, 10 poles; the coils of U lie at 0° and −30°, two each ---------------------

COIL = 1.0  # volt of one coil; a phase has 4 cos 15° of it, at −15°, 105° and 225°
PHASE = 4 * math.cos(math.radians(15))
V_PHASE, W_PHASE = turned(105, PHASE), turned(225, PHASE)
EQUAL = (2.0, 2.0, 2.0)
"""Line-line resistances of a sound star, in resistances of a phase."""


def ohms_of(winding: Winding, in_phases: Sequence[float]) -> list[float]:
    return [float(x * winding.resistance_phase) for x in in_phases]


def test_a_reversed_coil_leaves_the_resistance_alone_and_lowers_the_voltage_of_its_phase() -> None:
    # U: −1 + 1 + 2 e^(−j30°) = 2 at −30°.
    winding = winding_of()
    volts = in_star(turned(-30, 2), V_PHASE, W_PHASE)
    found = best(winding, ohms_of(winding, EQUAL), volts)
    assert (found.kind, found.phase, found.teeth) == ("reversed coil", "U", (1, 7))
    assert found.cause == "coil of tooth 1 or 7 reversed"
    assert found.predicted_resistance_ohm == pytest.approx(ohms_of(winding, EQUAL), rel=1e-9)
    assert found.predicted_voltage_V == pytest.approx(volts, rel=1e-9)
    assert found.cannot_tell == ()
    assert found.score > 0.99
    assert volts[0] < volts[1]
    assert volts[2] < volts[1]


def test_a_reversed_coil_cannot_be_seen_by_resistance_alone() -> None:
    winding = winding_of()
    ranked = rank_winding_faults(winding, resistance_line_line_ohm=ohms_of(winding, EQUAL))
    assert ranked[0].kind == "as described"
    assert of_kind(ranked, "reversed coil").cause in ranked[0].cannot_tell
    assert ranked[0].predicted_voltage_V is None
    assert ranked[0].next_measurement.startswith("turn the rotor with a drill")


def test_lost_turns_lower_resistance_and_voltage_of_one_phase() -> None:
    # Seven of the 14 turns of tooth 1: half a coil of four, U = ½ + 1 + 2 e^(−j30°) and 3.5/4 R.
    winding = winding_of()
    ohms = ohms_of(winding, (1.875, 2, 1.875))
    volts = in_star(1.5 + turned(-30, 2), V_PHASE, W_PHASE)
    ranked = rank_winding_faults(winding, resistance_line_line_ohm=ohms, line_voltage_V=volts)
    found = of_kind(ranked, "lost turns")
    assert found.score == ranked[0].score
    assert (found.teeth, found.size) == ((1, 7), 7.0)
    assert found.predicted_resistance_ohm == pytest.approx(ohms, rel=1e-9)
    assert found.predicted_voltage_V == pytest.approx(volts, rel=1e-9)


def test_shorted_turns_and_lost_turns_look_the_same_at_the_terminals_and_this_is_said() -> None:
    winding = winding_of()
    ranked = rank_winding_faults(
        winding,
        resistance_line_line_ohm=ohms_of(winding, (1.875, 2, 1.875)),
        line_voltage_V=in_star(1.5 + turned(-30, 2), V_PHASE, W_PHASE),
    )
    lost, shorted = (of_kind(ranked[:2], kind) for kind in ("lost turns", "shorted turns"))
    assert shorted.cause in lost.cannot_tell
    assert lost.cause in shorted.cannot_tell
    assert "brake" in shorted.next_measurement


def test_a_phase_the_wrong_way_round_gives_line_voltages_of_1_root_3_1_in_star() -> None:
    # |−1 − e^(j120°)| = 1, |e^(j120°) − e^(j240°)| = √3, |e^(j240°) + 1| = 1.
    winding = winding_of()
    for phase, volts in zip("UVW", ((1, ROOT_3, 1), (1, 1, ROOT_3), (ROOT_3, 1, 1)), strict=True):
        found = best(winding, ohms_of(winding, EQUAL), volts)
        assert (found.kind, found.phase, found.cannot_tell) == ("reversed phase", phase, ())
        assert found.predicted_voltage_V == pytest.approx(volts, rel=1e-9)


def test_a_phase_the_wrong_way_round_gives_1_root_7_root_7_in_delta() -> None:
    # The sum −1 + e^(j120°) + e^(j240°) = −2 drives a current around; each branch takes a third:
    # |−1 + 2/3| = 1/3, |e^(j120°) + 2/3| = |1/6 + j√3/2| = √28/6 = √7/3.
    winding = winding_of(winding__connection="delta")
    found = best(winding, ohms_of(winding, [2 / 3] * 3), (1, math.sqrt(7), math.sqrt(7)))
    assert (found.kind, found.phase, found.cannot_tell) == ("reversed phase", "U", ())
    assert found.misfit == pytest.approx(0, abs=1e-9)


def test_a_coil_on_the_wrong_phase_moves_resistance_and_voltage() -> None:
    # Tooth 1 gives its phasor 1 at 0° to V: U = 1 + 2 e^(−j30°), V = V + 1; ¾ R and 5/4 R.
    winding = winding_of()
    volts = in_star(1 + turned(-30, 2), V_PHASE + 1, W_PHASE)
    found = best(winding, ohms_of(winding, (2, 2.25, 1.75)), volts)
    assert found.cause == "coil of tooth 1 or 7 on phase V instead of U, direction kept"
    assert found.misfit == pytest.approx(0, abs=1e-9)
    assert found.cannot_tell == ()


def test_a_coil_not_connected_is_found() -> None:
    winding = winding_of()
    volts = in_star(1 + turned(-30, 2), V_PHASE, W_PHASE)
    found = best(winding, ohms_of(winding, (1.75, 2, 1.75)), volts)
    assert found.cause == "coil of tooth 1 or 7 not connected"
    assert any("14 turns of the coil of tooth 1 or 7 shorted" in tie for tie in found.cannot_tell)


def test_swapped_leads_change_no_reading_and_this_is_said() -> None:
    winding = winding_of()
    ranked = rank_winding_faults(
        winding, resistance_line_line_ohm=ohms_of(winding, EQUAL), line_voltage_V=(5, 5, 5)
    )
    assert [fault.kind for fault in ranked[:2]] == ["as described", "swapped leads"]
    assert ranked[0].score == pytest.approx(ranked[1].score)
    assert ranked[1].cause in ranked[0].cannot_tell
    assert ranked[1].predicted_voltage_V == pytest.approx([5, 5, 5])


@pytest.mark.parametrize(
    ("connection", "ohms", "volts"),
    [
        # Only V-W is left of a star whose branch U is broken.
        ("star", (math.inf, 2, math.inf), (0, 1, 0)),
        # Delta: V and W in series at U-V, each alone at its own pair. No current runs around; at
        # U-V stands what V and W leave, |e^(j120°) + e^(j240°)| = 1.
        ("delta", (2, 1, 1), (1, 1, 1)),
    ],
)
def test_an_open_phase(connection: str, ohms: Sequence[float], volts: Sequence[float]) -> None:
    winding = winding_of(winding__connection=connection)
    found = best(winding, ohms_of(winding, ohms), volts)
    assert (found.kind, found.phase) == ("open phase", "U")
    assert found.misfit == pytest.approx(0, abs=1e-9)
    # In delta a joint of a hundred branches is as good as open.
    assert all(tie.startswith("bad joint in phase U") for tie in found.cannot_tell)


def test_an_open_lead_of_a_delta_leaves_the_other_pair_alone() -> None:
    winding = winding_of(winding__connection="delta")
    found = best(winding, ohms_of(winding, (math.inf, 2 / 3, math.inf)), (0, 1, 0))
    assert (found.kind, found.phase) == ("open lead", "U")


def test_a_bad_joint_raises_resistance_only_and_its_ohms_come_out() -> None:
    # 0.7 R more in U: 2.7, 2, 2.7.
    winding = winding_of()
    found = best(winding, ohms_of(winding, (2.7, 2, 2.7)), (1, 1, 1))
    assert (found.kind, found.phase) == ("bad joint in a phase", "U")
    assert found.size == pytest.approx(0.7 * winding.resistance_phase, rel=0.02)


def test_bad_joints_of_lead_and_phase_differ_in_delta() -> None:
    # In the lead r adds to both pairs of U; in the branch R + r lies beside 2 R, and R beside
    # 2 R + r at the other pairs.
    winding = winding_of(winding__connection="delta")
    lead = best(winding, ohms_of(winding, (2 / 3 + 0.5, 2 / 3, 2 / 3 + 0.5)), (1, 1, 1))
    assert (lead.kind, lead.phase) == ("bad joint in a lead", "U")
    phase = best(winding, ohms_of(winding, (2 * 2 / 4, 3 / 4, 3 / 4)), (1, 1, 1))
    assert phase.phase == "U"
    assert phase.kind in {"bad joint in a phase", "missing strands"}  # the same with r = R
    assert len(phase.cannot_tell) == 1


def test_a_missing_strand_of_two_doubles_its_phase() -> None:
    winding = winding_of()
    ranked = rank_winding_faults(
        winding, resistance_line_line_ohm=ohms_of(winding, (3, 2, 3)), line_voltage_V=(1, 1, 1)
    )
    assert ranked[0].cause == "1 of 2 strands of phase U not connected"
    joint = of_kind(ranked, "bad joint in a phase")
    assert joint.phase == "U"
    assert joint.cause in ranked[0].cannot_tell
    assert "along a coil" in ranked[0].next_measurement


def test_a_strand_missing_in_one_of_two_circuits_counts_by_a_third() -> None:
    # A circuit has 2 R; with one strand of two 4 R; 2 R ∥ 4 R = 4/3 R.
    winding = winding_of(winding__parallel_circuits=2)
    found = best(winding, ohms_of(winding, (7 / 3, 2, 7 / 3)), (1, 1, 1))
    assert found.misfit == pytest.approx(0, abs=0.1)
    assert "1 of 2 strands of phase U not connected" in {found.cause, *found.cannot_tell}


def test_a_broken_circuit_of_two_doubles_its_phase_at_the_same_voltage() -> None:
    winding = winding_of(winding__parallel_circuits=2)
    found = best(winding, ohms_of(winding, (3, 2, 3)), (1, 1, 1))
    assert found.cause == "1 of 2 circuits of phase U open"


def test_a_reversed_coil_in_one_of_two_circuits_takes_half_of_its_two_coils() -> None:
    # Circuits of 1 + e^(−j30°) and, reversed, −1 + e^(−j30°), equal ohms: the mean, e^(−j30°).
    winding = winding_of(winding__parallel_circuits=2)
    volts = in_star(turned(-30), V_PHASE / 2, W_PHASE / 2)
    found = best(winding, ohms_of(winding, EQUAL), volts)
    assert (found.kind, found.teeth) == ("reversed coil", (1, 7))
    assert found.misfit == pytest.approx(0, abs=1e-9)


def test_a_coil_missing_in_one_of_two_circuits_counts_by_its_conductance() -> None:
    # Millman: 2 R with 1 + e^(−j30°) beside R (one coil of two) with e^(−j30°):
    # R_U = 2/3 R, E_U = (½ (1 + z) + z)/(3/2) = 1/3 + z.
    winding = winding_of(winding__parallel_circuits=2)
    volts = in_star(1 / 3 + turned(-30), V_PHASE / 2, W_PHASE / 2)
    found = best(winding, ohms_of(winding, (5 / 3, 2, 5 / 3)), volts)
    assert found.cause == "coil of tooth 1 or 7 not connected"
    assert found.misfit == pytest.approx(0, abs=1e-9)


def test_readings_that_no_single_fault_explains_say_so() -> None:
    winding = winding_of()
    found = best(winding, ohms_of(winding, (1, 2, 3)), (1, 5, 2))
    assert found.kind == "something else"
    assert found.predicted_resistance_ohm is None
    assert found.score > 0.99


def test_weaker_magnets_and_longer_turns_are_no_winding_fault() -> None:
    winding = winding_of()
    expected = 4.0
    for size in (0.93, 1.07):
        ranked = rank_winding_faults(
            winding,
            resistance_line_line_ohm=ohms_of(winding, [2 * size] * 3),
            line_voltage_V=[expected * size] * 3,
            expected_line_voltage_V=expected,
        )
        assert ranked[0].kind == "as described"


def test_half_the_voltage_on_all_pairs_is_no_single_fault_where_the_voltage_is_known() -> None:
    winding = winding_of()
    ohms = ohms_of(winding, EQUAL)
    assert best(winding, ohms, (2, 2, 2)).kind == "as described"  # only ratios count
    (found, *_) = rank_winding_faults(
        winding,
        resistance_line_line_ohm=ohms,
        line_voltage_V=(2, 2, 2),
        expected_line_voltage_V=4.0,
    )
    assert found.kind == "something else"


def test_readings_as_computed_leave_no_misfit_and_are_predicted_as_they_were_read() -> None:
    # All three alike and as expected: nothing is left for a scale of wire or magnets to make up.
    # Twice what is expected leaves (2 − 1)² over both spreads; the scale meets them in between.
    winding = winding_of()
    ohms = [float(one) for one in winding.line_line_resistances]

    def sound(volts: float) -> WindingFault:
        ranked = rank_winding_faults(
            winding,
            resistance_line_line_ohm=ohms,
            line_voltage_V=(volts, volts, volts),
            expected_line_voltage_V=1.7,
        )
        return of_kind(ranked, "as described")

    assert sound(1.7).misfit == pytest.approx(0, abs=1e-12)
    assert sound(1.7).predicted_voltage_V == pytest.approx([1.7] * 3, rel=1e-12)
    # min over f of 3 ((2 − f)/(0.01 · 2))² + ((f − 1)/0.1)²: weights 7500 and 100 of one unit off.
    assert sound(3.4).misfit == pytest.approx(7500 * 100 / (7500 + 100), rel=1e-9)


def test_warm_copper_is_no_fault() -> None:
    # IEC 60028: 0.00393 per kelvin; at 60 °C 1.1572 times as much.
    winding = winding_of()
    warm = ohms_of(winding, [2 * 1.1572] * 3)
    (found, *_) = rank_winding_faults(winding, resistance_line_line_ohm=warm, temperature_C=60.0)
    assert found.kind == "as described"
    assert found.misfit == pytest.approx(0, abs=1e-9)
    assert found.predicted_resistance_ohm == pytest.approx(warm, rel=1e-9)


def test_a_turn_that_meters_cannot_tell_is_said_to_be_possible() -> None:
    # One turn of 56 in U: 0.9 % of a line resistance, under the 2 % of the meter.
    winding = winding_of()
    ranked = rank_winding_faults(
        winding, resistance_line_line_ohm=ohms_of(winding, (2 - 1 / 56, 2, 2 - 1 / 56))
    )
    assert ranked[0].kind == "as described"
    assert any(tie.startswith("coil of tooth 1 or 7 short of") for tie in ranked[0].cannot_tell)


def test_scores_add_up_to_one_and_fall() -> None:
    winding = winding_of()
    ranked = rank_winding_faults(
        winding, resistance_line_line_ohm=ohms_of(winding, EQUAL), line_voltage_V=(1, 1.1, 0.95)
    )
    scores = [fault.score for fault in ranked]
    assert sum(scores) == pytest.approx(1)
    assert scores == pytest.approx(sorted(scores, reverse=True), abs=1e-8)


def test_readings_that_cannot_be_are_refused() -> None:
    winding = winding_of()
    with pytest.raises(InputError) as caught:
        rank_winding_faults(winding, resistance_line_line_ohm=(0.3, 0.3))
    assert str(caught.value) == (
        "resistance_line_line_ohm = 0.3, 0.3 cannot be.\n"
        "  why: three readings are wanted, none of them zero; an open pair is infinite.\n"
        "  do:  give the readings at U-V, V-W and W-U."
    )
    for volts in ((1, -1, 1), (0, 0, 0), (1, math.nan, 1), (1, math.inf, 1)):
        with pytest.raises(InputError, match="line_voltage_V"):
            rank_winding_faults(winding, resistance_line_line_ohm=(1, 1, 1), line_voltage_V=volts)


@pytest.mark.slow
def test_the_noise_of_meters_is_seldom_taken_for_a_fault_and_never_hides_a_reversed_coil() -> None:
    # Readings with the stated noise, 2 % and 1 %, from a fixed seed; both shares are those of a
    # detector that asks for two standard deviations, not exact ones.
    winding, rng = winding_of(), np.random.default_rng(20)
    reversed_coil = in_star(turned(-30, 2), V_PHASE, W_PHASE)
    sound, found = 0, 0
    for _ in range(30):
        ohms = ohms_of(winding, EQUAL * (1 + 0.02 * rng.normal(size=3)))
        noise = 1 + 0.01 * rng.normal(size=3)
        sound += best(winding, ohms, list(noise)).kind == "as described"
        found += best(winding, ohms, list(reversed_coil * noise)).kind == "reversed coil"
    assert found == 30
    assert sound >= 24


# -- second method: nodes ------------------------------------------------------------------------


def by_nodes(
    volts: Sequence[complex], ohms: Sequence[float], lead: float, connection: str
) -> tuple[list[float], list[float]]:
    """Return line-line resistances and voltages from the conductance matrix of the network."""
    ends = {"star": [(0, 3), (1, 3), (2, 3)], "delta": [(0, 1), (1, 2), (2, 0)]}[connection]
    matrix, source = np.zeros((4, 4)), np.zeros(4, dtype=complex)
    for (start, end), ohm, volt in zip(ends, ohms, volts, strict=True):
        for a, b, sign in ((start, start, 1), (end, end, 1), (start, end, -1), (end, start, -1)):
            matrix[a, b] += sign / ohm
        source[start] += volt / ohm
        source[end] -= volt / ohm
    inverse: FloatArray = np.linalg.pinv(matrix)
    open_circuit = inverse @ source
    resistances, voltages = [], []
    for a, b in ((0, 1), (1, 2), (2, 0)):
        ampere = np.zeros(4)
        ampere[a], ampere[b] = 1, -1
        drop = inverse @ ampere
        resistances.append(float(drop[a] - drop[b]) + 2 * lead)
        voltages.append(float(abs(open_circuit[a] - open_circuit[b])))
    return resistances, voltages


def measured(
    coils: Sequence[str], turns: Sequence[float], poles: int, connection: str, extra: FloatArray
) -> tuple[list[float], list[float]]:
    """Return readings of coils at one ohm a hundred turns; `extra` ohm in the phases."""
    volts, ohms = [0j, 0j, 0j], list(extra)
    for tooth, (coil, number) in enumerate(zip(coils, turns, strict=True)):
        if coil:
            sign = 1 if coil[1] == "+" else -1
            angle = math.pi * poles * tooth / len(coils)
            volts["UVW".index(coil[0])] += sign * number * cmath.exp(1j * angle)
            ohms["UVW".index(coil[0])] += number / 100
    return by_nodes(volts, ohms, 0.0, connection)


FAULTS = ("reversed coil", "lost turns", "skipped coil", "wrong phase", "reversed phase",
          "bad joint in a phase", "as described")  # fmt: skip


@st.composite
def faulty(draw: st.DrawFn) -> dict[str, Any]:
    row: Row = draw(st.sampled_from([row for row in ROWS if row.slots <= 24]))
    teeth = [tooth for tooth, coil in enumerate(row.coils) if coil]
    return {
        "row": row,
        "connection": draw(st.sampled_from(["star", "delta"])),
        "kind": draw(st.sampled_from(FAULTS)),
        "tooth": draw(st.sampled_from(teeth)),
        "phase": draw(st.sampled_from("UVW")),
        "is_reversed": draw(st.booleans()),
        "lost": draw(st.integers(1, 13)),
        "joint": draw(st.floats(0.1, 10.0)),
        "magnets": draw(st.floats(0.2, 5.0)),
    }


def other_sign(coil: str) -> str:
    return coil[0] + {"+": "-", "-": "+"}[coil[1]]


def inject(case: Mapping[str, Any]) -> tuple[list[str], list[float], FloatArray]:
    coils, tooth, kind = list(case["row"].coils), case["tooth"], case["kind"]
    turns, extra = [14.0] * len(coils), np.zeros(3)
    if kind == "reversed coil":
        coils[tooth] = other_sign(coils[tooth])
    elif kind == "lost turns":
        turns[tooth] -= case["lost"]
    elif kind == "skipped coil":
        turns[tooth] = 1e-9  # a branch of wire, however short
    elif kind == "wrong phase":
        coils[tooth] = case["phase"] + coils[tooth][1]
        if case["is_reversed"]:
            coils[tooth] = other_sign(coils[tooth])
    elif kind == "reversed phase":
        coils = [other_sign(c) if c.startswith(case["phase"]) else c for c in coils]
    elif kind == "bad joint in a phase":
        extra["UVW".index(case["phase"])] = case["joint"] * len(coils) / 3 * 14 / 100
    return coils, turns, extra


def is_injected(fault: WindingFault, case: Mapping[str, Any]) -> bool:
    """Return whether a record names the fault that was put in."""
    kind, tooth, coil = case["kind"], case["tooth"] + 1, case["row"].coils[case["tooth"]]
    if kind == "wrong phase" and case["phase"] == coil[0]:
        kind = "reversed coil" if case["is_reversed"] else "as described"
    if fault.kind != kind:
        return False
    if kind == "as described":
        return True
    if kind in {"reversed phase", "bad joint in a phase"}:
        return fault.phase == case["phase"]
    direction = "reversed" if case["is_reversed"] else "kept"
    if kind == "wrong phase" and f"on phase {case['phase']} instead" not in fault.cause:
        return False
    return tooth in fault.teeth and (kind != "wrong phase" or fault.cause.endswith(direction))


@pytest.mark.slow
@untimed
@given(case=faulty())
def test_every_single_fault_is_found_again_or_said_to_look_like_the_one_found(
    case: Mapping[str, Any],
) -> None:
    row = case["row"]
    winding = winding_of(
        row.slots,
        row.poles,
        winding__coils=list(row.coils),
        winding__connection=case["connection"],
        stator__tooth_width_mm=2,
        rotor__magnet_width_mm=4,
    )
    ohms, volts = measured(*inject(case)[:2], row.poles, case["connection"], inject(case)[2])
    scale = winding.resistance_phase / (row.slots / 3 * 14 / 100)
    ranked = rank_winding_faults(
        winding,
        resistance_line_line_ohm=[scale * ohm for ohm in ohms],
        line_voltage_V=[case["magnets"] * volt for volt in volts],
    )
    injected = next(fault for fault in ranked if is_injected(fault, case))
    assert injected.misfit < 0.6  # exact readings; a joint lies between two tried sizes
    top = ranked[0]
    assert (
        injected is top
        or injected.score == pytest.approx(top.score)
        or (injected.cause in top.cannot_tell)
    )
