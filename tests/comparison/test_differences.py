"""Shared doubts cancel in a difference, own ones add; the verdict follows from the band."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

import fem_motor as fm
from fem_motor.comparison.assessing.estimates import (
    Difference,
    Doubts,
    Estimate,
    difference,
    shared_causes,
)
from fem_motor.comparison.trying import verdict_of

PLAIN = "geometries/printed_18s16p.toml"

ratios = st.tuples(st.floats(0.3, 1.0), st.floats(1.0, 3.0))
estimates = st.builds(
    Estimate,
    value=st.floats(0.1, 10.0),
    doubts=st.builds(Doubts, magnets=ratios, cooling=ratios, ends=ratios),
)
CAUSES = frozenset(("magnets", "cooling", "ends", "core", "mesh", "winding"))


def test_the_same_poor_cooling_in_both_does_not_blur_their_difference() -> None:
    # 12/10 whatever the films do, when they do the same to both.
    films = Doubts(cooling=(0.5, 1.5))
    found = difference(
        Estimate(value=10.0, doubts=films), Estimate(value=12.0, doubts=films), shared={"cooling"}
    )
    assert (found.low, found.gain, found.high) == pytest.approx((0.2, 0.2, 0.2), abs=1e-12)


def test_doubts_of_its_own_widen_the_difference_by_both() -> None:
    # Worst cases: 12·0.9/(10·1.1) and 12·1.1/(10·0.9).
    own = Doubts(magnets=(0.9, 1.1))
    found = difference(Estimate(value=10.0, doubts=own), Estimate(value=12.0, doubts=own))
    assert found.low == pytest.approx(12 * 0.9 / (10 * 1.1) - 1, rel=1e-12)
    assert found.high == pytest.approx(12 * 1.1 / (10 * 0.9) - 1, rel=1e-12)
    assert found.own == ("magnets",)


def test_a_shared_cause_that_hurts_one_more_than_the_other_moves_the_difference() -> None:
    # At the low end 10·0.8 and 12·0.6, at the high end both as they are.
    found = difference(
        Estimate(value=10.0, doubts=Doubts(core=(0.8, 1.0))),
        Estimate(value=12.0, doubts=Doubts(core=(0.6, 1.0))),
        shared={"core"},
    )
    assert found.low == pytest.approx(7.2 / 8 - 1, rel=1e-12)
    assert found.high == pytest.approx(0.2, rel=1e-12)


@given(one=estimates, other=estimates, shared=st.sets(st.sampled_from(sorted(CAUSES))))
def test_the_way_back_is_the_inverse(one: Estimate, other: Estimate, shared: set[str]) -> None:
    there, back = difference(one, other, shared=shared), difference(other, one, shared=shared)
    assert (1 + there.gain) * (1 + back.gain) == pytest.approx(1, rel=1e-9)
    assert (1 + there.low) * (1 + back.high) == pytest.approx(1, rel=1e-9)
    assert 1 + there.low <= (1 + there.gain) * (1 + 1e-9)
    assert 1 + there.gain <= (1 + there.high) * (1 + 1e-9)


@given(one=estimates)
def test_a_design_against_itself_is_no_gain_when_all_is_shared(one: Estimate) -> None:
    found = difference(one, one, shared=CAUSES)
    assert max(abs(found.low), abs(found.high)) < 1e-12
    assert verdict_of(found) == "no-gain"


@pytest.mark.parametrize(
    ("low", "gain", "high", "word"),
    [
        (0.02, 0.05, 0.08, "gain"),
        (-0.02, 0.05, 0.12, "tied"),
        (-0.005, 0.0, 0.005, "no-gain"),
        (0.001, 0.004, 0.009, "no-gain"),
        (-0.2, -0.1, -0.02, "loss"),
        (-0.2, -0.1, 0.02, "tied"),
    ],
)
def test_the_verdict_is_read_off_the_band(low: float, gain: float, high: float, word: str) -> None:
    assert verdict_of(Difference(gain=gain, low=low, high=high)) == word


def test_an_estimate_shows_all_its_causes_at_their_worst() -> None:
    doubts = Doubts(magnets=(0.9, 1.1), winding=(1.05, 0.95))
    shown = Estimate(value=2.0, doubts=doubts).headline("")
    assert (shown.low, shown.high) == pytest.approx((2 * 0.9 * 0.95, 2 * 1.1 * 1.05))


def test_magnets_of_one_grade_are_shared_and_of_two_are_not() -> None:
    design = fm.load_design(PLAIN)
    stronger = design.replace("rotor.magnet", "ndfeb-n52")
    longer = design.replace("machine.stack_length_mm", 30.0)
    assert "magnets" not in shared_causes(design, stronger)
    assert {"magnets", "core", "ends", "winding", "cooling"} <= shared_causes(design, longer)
    assert "mesh" not in shared_causes(design, longer)


def test_turns_leave_every_cause_shared() -> None:
    design = fm.load_design(PLAIN)
    rewound = design.replace(winding__turns_per_tooth=7, winding__strands=4)
    assert shared_causes(design, rewound) == CAUSES


def test_a_core_of_the_same_name_and_other_values_is_another_core() -> None:
    core = {"like": "iron-filled-pla-10vol", "relative_permeability": 1.4}
    one = fm.load_design(PLAIN).replace(materials={"mine": core}, stator__core="mine")
    other = one.replace("materials.mine.relative_permeability", 1.8)
    assert "core" not in shared_causes(one, other)


def test_the_logarithms_are_natural() -> None:
    # e times as much is e − 1 more.
    found = difference(
        Estimate(value=1.0, doubts=Doubts()), Estimate(value=math.e, doubts=Doubts())
    )
    assert found.gain == pytest.approx(math.e - 1, rel=1e-12)
