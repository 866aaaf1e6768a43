"""Cogging, tooth flux and loaded torque of slotted machines against semi-analytical solutions.

Sources: see `slotted`. Quality classes: the error of cogging over its peak is at most 5 %, 1 % and
0.1 % (draft, standard, fine), whatever the position of the gap circles; at fine an error of 2e-5
of the loaded torque is as good.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from slotted import (
    CASES,
    LOADED,
    REFERENCES,
    problem_of,
    solve_case,
    tooth_linkage,
)

from fem_motor.mesh import Quality
from fem_motor.performance.doubts.quality import SETTINGS

POSITIONS = (0.2, 0.25, 0.3)
"""Of the gap circles, as parts of the air gap from either side."""


def _sweeps() -> Iterator[object]:
    """Pair cases and qualities; the larger meshes are slow."""
    for name in CASES:
        for quality in ("draft", "standard", "fine"):
            marks = [pytest.mark.slow] if quality == "fine" else []
            yield pytest.param(name, quality, marks=marks, id=f"{name} {quality}")


@pytest.mark.parametrize(("name", "quality"), list(_sweeps()))
def test_cogging_and_tooth_flux_are_as_exact_as_the_quality_says(
    name: str, quality: Quality
) -> None:
    case, reference, settings = CASES[name], REFERENCES[name], SETTINGS[quality]
    angles = np.array(list(reference.torque))
    expected = np.array(list(reference.torque.values()))
    tolerance = settings.cogging_error * reference.peak
    if quality == "fine" and name in LOADED:
        tolerance = max(tolerance, 2e-5 * max(map(abs, LOADED[name][1].values())))
    for position in POSITIONS:
        problem = problem_of(case, quality=quality, gap_position=position)
        field = solve_case(case, problem, angles, {})
        assert field.torque == pytest.approx(expected, abs=tolerance)
        assert tooth_linkage(field)[1] == pytest.approx(
            reference.linkage * 1e-3, rel=settings.flux_error
        )


@pytest.mark.parametrize("name", LOADED)
def test_torque_with_currents_is_exact_to_a_thousandth(name: str) -> None:
    currents, expected = LOADED[name]
    problem = problem_of(CASES[name], quality="standard", gap_position=0.25)
    field = solve_case(CASES[name], problem, np.array(list(expected)), currents)
    assert field.torque == pytest.approx(list(expected.values()), rel=1e-3)


def test_the_whole_circle_gives_the_torque_of_the_sector() -> None:
    case = CASES["semi-closed 12/8"]
    angles = np.array([1.0, 3.0])
    sector = problem_of(case, quality="draft", gap_position=0.25)
    whole = problem_of(case, quality="draft", gap_position=0.25, sectors=1)
    assert whole.unknowns == case.sectors * sector.unknowns
    assert solve_case(case, whole, angles, {}).torque == pytest.approx(
        solve_case(case, sector, angles, {}).torque, rel=1e-8
    )


def test_a_machine_turned_round_by_mirror_cogs_the_other_way() -> None:
    case = CASES["semi-closed 12/8"]
    problem = problem_of(case, quality="draft", gap_position=0.25)
    there, back = solve_case(case, problem, np.array([2.0, -2.0]), {}).torque
    assert there == pytest.approx(-back, rel=1e-8)


def test_torque_goes_with_the_square_of_the_remanence() -> None:
    case = CASES["open 9/12"]
    weak = replace(case, remanence=case.remanence / 2)
    torque = [
        solve_case(one, problem_of(one, quality="draft", gap_position=0.25), np.array([2.5]), {})
        for one in (case, weak)
    ]
    assert torque[0].torque == pytest.approx(4 * torque[1].torque, rel=1e-9)


def test_a_tooth_coil_has_the_inductance_of_an_independent_solution() -> None:
    # Semi-closed 12/14 without remanence, one coil around a tooth, one turn: 7.17254e-6 H per
    # metre (finite elements of another code, orders 5 and 6 agree to 1e-6), and no torque.
    case = CASES["semi-closed 12/14"]
    problem = problem_of(case, quality="standard", gap_position=0.25, sectors=1)
    problem = problem.with_remanence_times(0.0)
    field = solve_case(case, problem, np.array([0.5]), {0: 100.0, 1: -100.0})
    assert -tooth_linkage(field) / 100 == pytest.approx(
        7.17254e-6, rel=SETTINGS["standard"].flux_error
    )
    # Without magnets twice the energy is current times linkage; the functional is minus it.
    assert -2 * field.energy / 100**2 == pytest.approx(
        7.17254e-6, rel=SETTINGS["standard"].flux_error
    )
    assert field.torque == pytest.approx(0, abs=2e-4 * 1e-2)


def test_torque_of_currents_is_current_times_the_slope_of_the_linkage() -> None:
    # Magnets and the space between them have one permeability, so there is no reluctance torque:
    # T(I) − T(0) = Σ I dA/dθ exactly, A counted with the current (power balance).
    case = CASES["semi-closed 12/14"]
    currents, _ = LOADED[case.name]
    problem = problem_of(case, quality="standard", gap_position=0.25)
    step = 1e-3  # degrees
    angles = np.array([0.5 - step, 0.5, 0.5 + step])
    loaded = solve_case(case, problem, angles, currents).torque[1]
    free = solve_case(case, problem, angles, {})
    tooth = -tooth_linkage(free)
    # Slots 0 and 1, and 6 and 7 half a turn further with the other sign: the same coil twice.
    slope = 2 * 100.0 * (tooth[2] - tooth[0]) / (2 * np.radians(step))
    assert loaded - free.torque[1] == pytest.approx(slope, rel=1e-5)
