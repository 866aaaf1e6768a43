"""One machine solved in two ways gives one answer: symmetry, and the library that factorises."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import sparse
from test_saturating_ring import brauer_law, ring_problem
from test_slotless import DESIGN

import fem_motor as fm
from fem_motor.field.elimination import cholesky
from fem_motor.field.solving import system

GEOMETRIES = Path(__file__).parents[2] / "geometries"
CURRENTS = (12.0, -4.0, -8.0)


def shipped(name: str) -> fm.MotorDesign:
    return fm.load_design(GEOMETRIES / f"{name}.toml")


def linear() -> fm.MotorDesign:
    """Return slots and teeth of permeability 3: linear, and not axisymmetric."""
    return DESIGN.replace("materials.as-air.relative_permeability", 3.0)


def saturating() -> fm.MotorDesign:
    return shipped("steel_9s12p")


def assert_same(one: fm.RotorSweep, other: fm.RotorSweep) -> None:
    """Compare with 1e-9 of the largest: rounding, magnified by the condition of the equations."""
    for found, expected in (
        (one.flux_linkage_Wb, other.flux_linkage_Wb),
        (one.torque_Nm, other.torque_Nm),
    ):
        assert np.abs(found - expected).max() < 1e-9 * np.abs(expected).max()


def swept(design: fm.MotorDesign, extent: str = "sector") -> fm.RotorSweep:
    return fm.rotor_sweep(
        design, angles_deg=[0.7, 3.3], currents_A=CURRENTS, quality="draft", extent=extent
    )  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("design", "sectors"),
    [
        pytest.param(linear, 2, id="linear, antiperiodic"),
        pytest.param(saturating, 3, id="saturating, periodic", marks=pytest.mark.slow),
        pytest.param(
            lambda: shipped("steel_12s14p"), 2, id="saturating, antiperiodic",
            marks=pytest.mark.slow,
        ),
    ],
)  # fmt: skip
def test_a_sector_gives_the_answer_of_the_whole_circle(
    design: Callable[[], fm.MotorDesign], sectors: int
) -> None:
    # By symmetry; the whole circle has that many times the unknowns.
    sector, whole = swept(design()), swept(design(), "whole")
    assert_same(sector, whole)
    assert whole.dofs == sectors * sector.dofs


@pytest.mark.parametrize(
    "design",
    [
        pytest.param(linear, id="linear"),
        pytest.param(saturating, id="saturating", marks=pytest.mark.slow),
    ],
)
def test_superlu_gives_the_answer_of_cholmod(
    design: Callable[[], fm.MotorDesign], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Two independent libraries and two elimination orders.
    assert cholesky.default_library() == "cholmod"
    first = swept(design())
    monkeypatch.setattr(cholesky, "default_library", lambda: "superlu")
    assert_same(swept(design()), first)


def test_entries_that_cancel_exactly_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    # Copies can add up to a stored 0 where two nodes meet: an entry like any other.
    problem = ring_problem(brauer_law()[0], level=1)
    plain = system.CoupledSystem(problem)
    joined = system._joined  # noqa: SLF001  (the sum of all copies, whose entries may cancel)

    def with_zeros(*args: Any) -> sparse.csr_matrix:  # noqa: ANN401
        entries = joined(*args).tocoo()
        rows, columns = np.random.default_rng(5).integers(0, plain.size, (2, 200))
        return sparse.coo_matrix(
            (
                np.concatenate([entries.data, np.zeros(400)]),
                (
                    np.concatenate([entries.row, rows, columns]),
                    np.concatenate([entries.col, columns, rows]),
                ),
            ),
            shape=entries.shape,
        ).tocsr()

    monkeypatch.setattr(system, "_joined", with_zeros)
    padded = system.CoupledSystem(problem)
    right = np.random.default_rng(6).normal(size=plain.size)
    solutions = []
    for one in (plain, padded):
        one.factorise(one.residual(np.zeros(one.size), 0.0, right)[1], 0.0)
        solutions.append(one.solve(right))
    assert solutions[1] == pytest.approx(solutions[0], rel=1e-6, abs=1e-9 * abs(solutions[0]).max())
