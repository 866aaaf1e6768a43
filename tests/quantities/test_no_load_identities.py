"""Half a cogging period says all: shifted by slots and mirrored, it is the whole period."""

import math

import numpy as np
import pytest
from small_machines import machine

from fem_motor.field import solve
from fem_motor.quantities.fields.linkage import flux_linkage, half_slot_turns
from fem_motor.quantities.fields.no_load import (
    derivative_over_angle,
    direct_no_load_fields,
    folded_no_load_fields,
    no_load_fields,
    slot_shift,
)

TIGHT = 1e-8
"""Residual over load; rounding leaves 5e-10 of it."""


@pytest.mark.parametrize(
    ("name", "per_period"),
    [
        ("printed_18s16p", 6),
        ("single layer", 6),
        pytest.param("steel_9s12p", 4, marks=pytest.mark.slow),
    ],
)
def test_half_a_cogging_period_gives_every_point_of_the_electrical_period(
    name: str, per_period: int
) -> None:
    # Second method: every angle solved for itself. Linear and saturating, periodic and
    # antiperiodic sectors, odd and even numbers of pole pitches in the shift.
    one = machine(name)
    poles = one.motor.rotor.poles
    half = no_load_fields(one.problem, poles=poles, angles_per_period=per_period, tolerance=TIGHT)
    direct = direct_no_load_fields(
        one.problem, poles=poles, angles=half.angle.size, tolerance=TIGHT
    )
    assert half.angle == pytest.approx(direct.angle, abs=1e-14)
    assert half.angle[-1] + half.angle[1] == pytest.approx(4 * math.pi / poles)
    means = np.abs(direct.half_slot_mean).max()
    assert np.abs(half.half_slot_mean - direct.half_slot_mean).max() < 1e-6 * means
    peak = np.abs(direct.torque).max()
    assert np.abs(half.torque - direct.torque).max() < 1e-6 * peak
    turns = half_slot_turns(one.winding)
    found, expected = (flux_linkage(turns, fields.half_slot_mean, 1.0) for fields in (half, direct))
    assert np.abs(found - expected).max() < 1e-6 * np.abs(expected).max()


@pytest.mark.slow
def test_the_steel_machine_cogs_alike_in_all_its_cogging_periods() -> None:
    # Two angles solved for themselves, in two of the twelve periods, one past the middle of its
    # period, against half a period that was shifted and mirrored.
    one = machine("steel_12s14p")
    half = no_load_fields(one.problem, poles=14, angles_per_period=4, tolerance=TIGHT)
    at = np.array([4 * 3 + 1, 4 * 6 + 3])
    direct = solve(
        one.problem, angles=half.angle[at], ampere_turns=np.zeros((2, 12, 2)), tolerance=TIGHT
    )
    peak, means = np.abs(half.torque).max(), np.abs(half.half_slot_mean).max()
    assert np.abs(half.torque[at] - direct.torque).max() < 1e-6 * peak
    assert np.abs(half.half_slot_mean[at] - direct.half_slot_mean).max() < 1e-6 * means


def test_any_angle_folds_into_half_a_cogging_period_side_pull_and_all() -> None:
    # Second method: the same angles solved for themselves, behind, ahead and turns away. Three
    # teeth under four poles pull sideways though nothing is off centre.
    one = machine("three teeth")
    angles = one.cogging_period * np.array([-20.3, -1.6, -0.3, 0, 0.3, 0.5, 0.7, 1.3, 17.25, 40.8])
    none = np.zeros((angles.size, 3, 2))
    folded = folded_no_load_fields(one.problem, poles=4, angles=angles, tolerance=TIGHT)
    direct = solve(one.problem, angles=angles, ampere_turns=none, tolerance=TIGHT)
    assert folded.solved.angle.size == 6  # rests of 0, 0.2, 0.25, 0.3, 0.4 and 0.5 periods
    means = np.abs(direct.half_slot_mean).max()
    assert np.abs(folded.half_slot_mean - direct.half_slot_mean).max() < 1e-6 * means
    assert np.abs(folded.torque - direct.torque).max() < 1e-6 * np.abs(direct.torque).max()
    pull = np.hypot(*direct.pull.T).max()
    assert pull > 0
    assert np.abs(folded.pull - direct.pull).max() < 1e-6 * pull


@pytest.mark.parametrize(
    ("slots", "poles"), [(12, 14), (18, 16), (9, 12), (9, 8), (24, 20), (3, 2), (36, 42)]
)
def test_pole_pitches_less_slot_pitches_make_one_cogging_period(slots: int, poles: int) -> None:
    # m 360°/poles − s 360°/slots = 360°/lcm, in whole numbers of 360°/lcm.
    m, s = slot_shift(slots, poles)
    period = math.lcm(slots, poles)
    assert m * (period // poles) - s * (period // slots) == 1


def test_the_slope_of_a_fourier_series_is_that_of_its_terms() -> None:
    # d/dθ of cos 3θ and of −0.2 sin 5θ over a period of 2π/7, by hand.
    period = 2 * math.pi / 7
    x = 7 * period / 40 * np.arange(40)
    values = np.array([np.cos(3 * x), 1.0 - 0.2 * np.sin(5 * x)])
    expected = np.array([-21 * np.sin(3 * x), -7.0 * np.cos(5 * x)])
    assert derivative_over_angle(values, period) == pytest.approx(expected, abs=1e-11)
