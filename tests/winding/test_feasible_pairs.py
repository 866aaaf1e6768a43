"""Which pairs of slots and poles can be wound, what is said of the others, and cogging periods."""

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fem_motor.design import MotorDesign, starter_design
from fem_motor.errors import DesignError
from fem_motor.winding import (
    balanced_layout,
    cogging_period,
    is_feasible,
    nearest_feasible,
    wind,
)
from fem_motor.winding.star import Layers

BELOW_SLOTS = 60
LAYERS: tuple[Layers, Layers] = (1, 2)
ROUNDING = 1e-12

untimed = settings(deadline=None)  # the machine may be busy; nothing here asserts a time


@pytest.mark.parametrize(("slots", "poles"), [(12, 12), (9, 18), (12, 18), (15, 12), (18, 18)])
def test_slots_over_three_times_the_common_divisor_must_be_whole(slots: int, poles: int) -> None:
    # slots / (3 gcd(slots, pole pairs)): J. Cros and P. Viarouge, IEEE Trans. Energy Convers. 17
    # (2002) 248, from memory.
    assert Fraction(slots, 3 * math.gcd(slots, poles // 2)).denominator > 1
    assert not is_feasible(slots, poles)


@pytest.mark.parametrize("layers", LAYERS)
def test_a_pair_is_feasible_where_the_star_looks_the_same_turned_by_a_third(
    layers: Layers,
) -> None:
    # Second method, by counting: how many coils point in each direction (a turn is `slots`).
    for slots in range(3, BELOW_SLOTS):
        for pole_pairs in range(1, slots + 1):
            teeth = range(0, slots, 3 - layers)
            star = sorted(pole_pairs * tooth % slots for tooth in teeth)
            turned = sorted((angle + slots // 3) % slots for angle in star)
            whole = slots % 3 == 0 and (layers == 2 or slots % 2 == 0)
            expected = whole and star == turned
            assert is_feasible(slots, 2 * pole_pairs, layers) == expected, (slots, pole_pairs)


@untimed
@given(slots=st.integers(1, 12).map(lambda thirds: 3 * thirds), pole_pairs=st.integers(1, 40))
def test_pole_pairs_that_differ_by_the_slots_are_wound_alike(slots: int, pole_pairs: int) -> None:
    # Tooth by tooth the electrical angle differs by whole turns.
    few, many = 2 * pole_pairs, 2 * (pole_pairs + slots)
    assert is_feasible(slots, few) == is_feasible(slots, many)
    if is_feasible(slots, few):
        assert balanced_layout(slots, few) == balanced_layout(slots, many)


def test_an_odd_number_of_poles_is_never_feasible() -> None:
    assert not any(is_feasible(slots, 7) for slots in range(3, BELOW_SLOTS))


@pytest.mark.parametrize("layers", LAYERS)
def test_the_nearest_pairs_named_are_feasible_and_none_is_nearer(layers: Layers) -> None:
    for slots in range(3, 40):
        for poles in range(2, 60, 2):
            other_poles, other_slots = nearest_feasible(slots, poles, layers)
            for number in other_poles:
                assert is_feasible(slots, number, layers)
                between = range(min(number, poles) + 1, max(number, poles))
                assert not any(is_feasible(slots, n, layers) for n in between)
            for number in other_slots:
                assert is_feasible(number, poles, layers)
                between = range(min(number, slots) + 1, max(number, slots))
                assert not any(is_feasible(n, poles, layers) for n in between)


THREE_GROUPS = "which do not fall into three equal groups 120° apart."
ODD_TEETH = "one layer puts a coil on every other tooth, and 9 teeth are an odd number."


@pytest.mark.parametrize(
    ("slots", "poles", "layers", "why", "do"),
    [
        (
            *(12, 12, 2),
            f"around 6 pole pairs the voltages of 12 coils have 2 directions, {THREE_GROUPS}",
            "use machine.poles = 10 or 14 with 12 slots, or machine.slots = 9 or 18 with 12 poles.",
        ),
        (
            *(10, 8, 2),
            f"around 4 pole pairs the voltages of 10 coils have 5 directions, {THREE_GROUPS}",
            "use machine.slots = 9 or 12 with 8 poles.",
        ),
        (*(9, 8, 1), ODD_TEETH, "use machine.slots = 6 or 12 with 8 poles."),
        (
            *(10, 7, 2),
            "north and south poles come in pairs.",
            "use an even number of poles and slots in threes.",
        ),
    ],
)
def test_an_infeasible_pair_says_why_and_what_would_do(
    slots: int, poles: int, layers: Layers, why: str, do: str
) -> None:
    with pytest.raises(DesignError) as caught:
        balanced_layout(slots, poles, layers)
    assert str(caught.value) == (
        f"machine.slots, machine.poles = {slots}, {poles} has no balanced three-phase winding.\n"
        f"  why: {why}\n"
        f"  do:  {do}"
    )


@pytest.mark.parametrize("coils", [None, "U+ V+ W+ U+ V+ W+ U+ V+ W+ U+ V+ W+".split()])
def test_an_infeasible_pair_is_refused_also_where_the_file_lists_its_coils(
    coils: list[str] | None,
) -> None:
    # Twelve teeth around six pole pairs: all coils have the voltage of the first or its reverse.
    design = MotorDesign.from_toml(starter_design()).replace(
        machine__slots=12, machine__poles=12, winding__coils=coils
    )
    with pytest.raises(DesignError) as caught:
        wind(design.motor)
    assert caught.value.problems[0].place == "machine.slots, machine.poles"
    assert caught.value.problems[0].what == "= 12, 12 has no balanced three-phase winding."


@pytest.mark.parametrize("layers", LAYERS)
def test_wind_takes_just_the_pairs_that_are_feasible(layers: Layers) -> None:
    base = MotorDesign.from_toml(starter_design()).replace(
        stator__tooth_width_mm=1.0, rotor__magnet_width_mm=2.0, winding__turns_per_tooth=1
    )
    for slots in (6, 9, 12, 18):
        for poles in range(2, 22, 2):
            motor = base.replace(
                machine__slots=slots, machine__poles=poles, stator__slot_opening_mm=1.0
            ).motor
            motor = replace(motor, winding=replace(motor.winding, layers=layers))
            if is_feasible(slots, poles, layers):
                assert wind(motor).findings == ()
            else:
                with pytest.raises(DesignError):
                    wind(motor)


# -- cogging ---------------------------------------------------------------------------------


@untimed
@given(slots=st.integers(3, 60), pole_pairs=st.integers(1, 40))
def test_cogging_repeats_lcm_of_slots_and_poles_times_a_turn(slots: int, pole_pairs: int) -> None:
    # Second method: the smallest turn after which the poles stand to the teeth as before. A pole
    # pitch is `slots` steps, a tooth pitch `poles` steps; all in whole numbers.
    poles = 2 * pole_pairs
    standing = {pole * slots % poles for pole in range(poles)}
    steps = next(
        turn for turn in range(1, poles + 1) if {(at + turn) % poles for at in standing} == standing
    )
    turn = 2 * math.pi * steps / (slots * poles)
    assert cogging_period(slots, poles) == pytest.approx(turn, rel=ROUNDING)


@pytest.mark.parametrize(("slots", "poles", "periods"), [(12, 14, 84), (9, 12, 36), (36, 42, 252)])
def test_cogging_periods_in_a_turn(slots: int, poles: int, periods: int) -> None:
    # Z. Zhu and D. Howe, IEEE Trans. Energy Convers. 15 (2000) 407: the lcm; numbers by hand.
    assert 2 * math.pi / cogging_period(slots, poles) == pytest.approx(periods, rel=ROUNDING)
