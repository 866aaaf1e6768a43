"""Ranges hold the truth and planted causes are found; the long run is benchmarks.calibration."""

import numpy as np
import pytest

from benchmarks.calibration import PLANTS, coverage, ranking, stand_of


@pytest.mark.slow
def test_ranges_of_95_percent_hold_the_truth_of_twenty_motors() -> None:
    # Binomial: of 20 at 95 % fewer than 16 are held once in 400 times.
    held = coverage(stand_of(), 20, rng=np.random.default_rng(7), field="response")
    assert len(held) > 9
    assert min(held.values()) >= 16, held
    # All together: at least nine in ten.
    assert sum(held.values()) >= 0.9 * 20 * len(held)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["weak magnets", "more resistance", "wrong pole count"])
def test_a_planted_cause_stands_first_or_among_those_that_explain_as_well(name: str) -> None:
    plant, wanted = PLANTS[name]
    _, alike = ranking(stand_of(), plant, rng=np.random.default_rng(11))
    assert set(wanted) & set(alike)
