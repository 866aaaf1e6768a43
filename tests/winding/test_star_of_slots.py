"""The star of slots against published factors, closed forms and the wires in the slots."""

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import permutations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from winding_table import ORDERS, ROWS, Row

from fem_motor.arrays import FloatArray
from fem_motor.winding import balanced_layout, cogging_period, is_feasible, winding_factor
from fem_motor.winding.star import Layers, phase_phasors
from fem_motor.winding.wound import side_turns

BELOW_SLOTS = 60
LAYERS: tuple[Layers, Layers] = (1, 2)
ROUNDING = 1e-12

untimed = settings(deadline=None)  # the machine may be busy; nothing here asserts a time

COILS = ("U+", "U-", "V+", "V-", "W+", "W-", "")
wound = st.lists(st.sampled_from(COILS), min_size=3, max_size=36).map(lambda rest: ["U+", *rest])
pole_numbers = st.integers(1, 40).map(lambda pairs: 2 * pairs)


def pairs(layers: Layers) -> Iterator[tuple[int, int]]:
    """Yield slots and poles with a balanced winding; more pole pairs than slots repeat these."""
    for slots in range(3, BELOW_SLOTS):
        for poles in range(2, 2 * slots + 1, 2):
            if is_feasible(slots, poles, layers):
                yield slots, poles


def label(row: Row) -> str:
    return f"{row.slots} slots, {row.poles} poles"


# -- the table -------------------------------------------------------------------------------


@pytest.mark.parametrize("row", ROWS, ids=label)
def test_winding_factors_are_the_published_ones_to_four_digits(row: Row) -> None:
    # Sources at the table. Half a unit in its last digit.
    coils = balanced_layout(row.slots, row.poles)
    found = [winding_factor(coils, row.poles, order) for order in ORDERS]
    assert found == pytest.approx(row.factors, abs=0.5e-4)


@pytest.mark.parametrize("row", ROWS, ids=label)
def test_layouts_are_the_tabulated_ones_up_to_names_and_where_one_begins(row: Row) -> None:
    # Turning the stator, naming the phases otherwise and reversing all coils change nothing.
    assert tuple(balanced_layout(row.slots, row.poles)) in set(same_winding(row.coils))


def same_winding(coils: Sequence[str]) -> Iterator[tuple[str, ...]]:
    for names in permutations("UVW"):
        for signs in ("+-", "-+"):
            other = str.maketrans("UVW+-", "".join(names) + signs)
            renamed = [coil.translate(other) for coil in coils]
            yield from ((*renamed[at:], *renamed[:at]) for at in range(len(renamed)))


@pytest.mark.parametrize("row", ROWS, ids=label)
def test_cogging_periods_are_the_tabulated_ones(row: Row) -> None:
    period = math.degrees(cogging_period(row.slots, row.poles))
    assert period == pytest.approx(row.period_deg, abs=0.5e-3)
    assert 360 / period == pytest.approx(row.periods, rel=1e-12)


def test_the_table_is_whole_and_agrees_with_itself() -> None:
    assert len({(row.slots, row.poles) for row in ROWS}) == len(ROWS) == 36
    for row in ROWS:
        assert len(row.coils) == row.slots
        assert row.pull_pairs * row.periods == row.slots * row.poles  # gcd × lcm = product


# -- second methods for the factor -----------------------------------------------------------


def test_twelve_teeth_and_ten_poles_have_winding_factor_0_933() -> None:
    # By hand: pitch sin 75°, two phasors 30° apart cos 15°; product (2 + √3)/4.
    assert winding_factor(balanced_layout(12, 10), 10) == pytest.approx(
        (2 + math.sqrt(3)) / 4, rel=ROUNDING
    )


def test_with_one_layer_twelve_teeth_and_ten_poles_keep_the_whole_pitch_factor() -> None:
    # By hand: the two coils of a phase are opposite, 5 × 180° apart, and wound against each
    # other, so their phasors coincide; what is left is the pitch, sin 75°.
    coils = balanced_layout(12, 10, layers=1)
    assert winding_factor(coils, 10) == pytest.approx(math.sin(math.radians(75)), rel=ROUNDING)


def closed_form(slots: int, poles: int, layers: Layers, order: int) -> float:
    """Return pitch × distribution: sin(hpπ/Q) · sin(hπ/6) / (z sin(hπ/(6z))), odd orders.

    z is the numerator of q = coils / (3 · poles), in lowest terms, with two layers the slots and
    with one half of them as coils. Source: J. Pyrhönen, T. Jokinen, V. Hrabovcová, Design of
    Rotating Electrical Machines, from memory.
    """
    coils = slots if layers == 2 else slots // 2
    z = Fraction(coils, 3 * poles).numerator
    half_step = order * math.pi / (6 * z)
    if abs(math.sin(half_step)) < ROUNDING:
        distribution = 1.0  # all phasors of a belt point the same way
    else:
        distribution = math.sin(order * math.pi / 6) / (z * math.sin(half_step))
    return abs(distribution * math.sin(order * poles / 2 * math.pi / slots))


@pytest.mark.parametrize("layers", LAYERS)
@pytest.mark.parametrize("order", [1, 3, 5, 7, 11, 13, 29])
def test_factors_of_all_harmonics_follow_the_closed_form(layers: Layers, order: int) -> None:
    wrong = {
        (slots, poles): (found, expected)
        for slots, poles in pairs(layers)
        if abs(
            (found := winding_factor(balanced_layout(slots, poles, layers), poles, order))
            - (expected := closed_form(slots, poles, layers, order))
        )
        > 1e-11
    }
    assert wrong == {}


def conductors(coils: Sequence[str]) -> FloatArray:
    """Return phase U's signed turns in every slot, one turn a coil."""
    sides = side_turns(coils, turns=1)[0]
    # A slot lies between a tooth's counter-clockwise side and the next one's clockwise side.
    return np.asarray(sides[:, 1] + np.roll(sides[:, 0], -1))


@untimed
@given(coils=wound, poles=pole_numbers, order=st.integers(1, 15))
def test_the_factor_is_the_spectrum_of_the_wires_in_the_slots(
    coils: list[str], poles: int, order: int
) -> None:
    # Fourier: a full-pitch turn puts ±1 half a period apart, amplitude 2, so the factor is the
    # component of `order` × pole pairs over twice the number of coils. No phasor of a coil, no
    # pitch factor.
    slots = len(coils)
    spectrum = np.fft.fft(conductors(coils))
    component = abs(spectrum[order * poles // 2 % slots])
    number = sum(coil.startswith("U") for coil in coils)
    assert winding_factor(coils, poles, order) == pytest.approx(
        component / (2 * number),
        abs=1e-10,  # angles of some thousand radians lose four digits
    )


def test_a_phase_without_coils_has_no_winding_factor() -> None:
    assert winding_factor(["V+", "W+", "V-"], poles=2) == 0


# -- balance ---------------------------------------------------------------------------------


@pytest.mark.parametrize("layers", LAYERS)
def test_phases_are_equal_and_120_degrees_apart_for_every_feasible_pair(layers: Layers) -> None:
    turn = np.exp(2j * math.pi / 3)
    wrong = []
    number = 0
    for slots, poles in pairs(layers):
        number += 1
        u, v, w = phase_phasors(balanced_layout(slots, poles, layers), poles)
        error = max(abs(v - u * turn), abs(w - v * turn)) / abs(u)
        if error > 1e-11:
            wrong.append((slots, poles, error))
    assert wrong == []
    assert number > 200  # the loop was not empty


@pytest.mark.parametrize("layers", LAYERS)
def test_every_coil_belongs_to_a_phase_and_the_phases_have_equally_many(layers: Layers) -> None:
    for slots, poles in pairs(layers):
        coils = balanced_layout(slots, poles, layers)
        counts = [sum(coil.startswith(phase) for coil in coils) for phase in "UVW"]
        assert counts == [slots // 3 // (3 - layers)] * 3
        if layers == 1:
            assert not any(coils[1::2])


@pytest.mark.parametrize("layers", LAYERS)
def test_each_coil_is_in_the_phase_whose_axis_is_nearest(layers: Layers) -> None:
    # What makes the factor the largest a balanced winding can have: no phasor is more than 30°
    # off. Axis of U at 0°, V at 120°, W at 240°; a coil marked − stands opposite.
    axes = {"U+": 0, "V+": 120, "W+": 240, "U-": 180, "V-": 300, "W-": 60}
    for slots, poles in pairs(layers):
        for tooth, coil in enumerate(balanced_layout(slots, poles, layers)):
            if coil:
                off = Fraction(180 * poles * tooth, slots) - axes[coil]
                assert abs((off + 180) % 360 - 180) <= 30


@pytest.mark.parametrize("row", ROWS, ids=label)
def test_linkages_peak_in_the_order_u_v_w_as_the_rotor_turns_counter_clockwise(row: Row) -> None:
    # In time instead of phasors: a coil marked + on a tooth at angle α links −cos p(θ − α) while
    # the rotor turns by θ, because pole 1 on +x looks at the shaft.
    coils, p = balanced_layout(row.slots, row.poles), row.poles // 2
    rotor = np.linspace(0, 2 * math.pi / p, 720, endpoint=False)
    linkage = dict.fromkeys("UVW", np.zeros(720))
    for tooth, coil in enumerate(coils):
        sign = 1 if coil[1] == "+" else -1
        alpha = 2 * math.pi * tooth / row.slots
        linkage[coil[0]] = linkage[coil[0]] - sign * np.cos(p * (rotor - alpha))
    # A third of an electrical period is 240 samples.
    assert linkage["V"] == pytest.approx(np.roll(linkage["U"], 240), abs=1e-9)
    assert linkage["W"] == pytest.approx(np.roll(linkage["V"], 240), abs=1e-9)
    assert np.ptp(linkage["U"]) > 1


@untimed
@given(coils=wound, poles=pole_numbers)
def test_turning_the_stator_by_a_tooth_changes_no_winding_factor(
    coils: list[str], poles: int
) -> None:
    turned = [*coils[1:], coils[0]]
    assert winding_factor(turned, poles) == pytest.approx(
        winding_factor(coils, poles), abs=ROUNDING * len(coils)
    )


@untimed
@given(coils=wound, poles=pole_numbers)
def test_turning_the_stator_by_a_tooth_turns_every_phasor_by_its_electrical_angle(
    coils: list[str], poles: int
) -> None:
    turned = np.array(phase_phasors([coils[-1], *coils[:-1]], poles))
    by_hand = np.array(phase_phasors(coils, poles)) * np.exp(1j * math.pi * poles / len(coils))
    assert np.abs(turned - by_hand).max() < 1e-10


@untimed
@given(
    slots=st.integers(1, 12).map(lambda thirds: 3 * thirds),
    poles=pole_numbers,
    swap=st.sampled_from(["VUW", "WVU", "UWV"]),
)
def test_swapping_two_phases_reverses_the_sequence(slots: int, poles: int, swap: str) -> None:
    assume(is_feasible(slots, poles))
    coils = balanced_layout(slots, poles)
    swapped = [coil.translate(str.maketrans("UVW", swap)) for coil in coils]
    assert sequence(coils, poles) == pytest.approx((1, 0), abs=1e-10)
    assert sequence(swapped, poles) == pytest.approx((0, 1), abs=1e-10)


def sequence(coils: Sequence[str], poles: int) -> tuple[float, float]:
    """Return the forward and the backward symmetrical component over the size of phase U.

    Source: C. Fortescue, Trans. AIEE 37 (1918) 1027, from memory.
    """
    u, v, w = phase_phasors(coils, poles)
    turn = np.exp(2j * math.pi / 3)
    forward, backward = u + v / turn + w / turn**2, u + v * turn + w * turn**2
    return abs(forward) / 3 / abs(u), abs(backward) / 3 / abs(u)
