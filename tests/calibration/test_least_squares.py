"""Least squares against the Guide (JCGM 100:2008), closed forms, and identifiability."""

import numpy as np
import pytest
from scipy.optimize import curve_fit

from fem_motor.arrays import FloatArray
from fem_motor.calibration.fit.fitting import (
    cannot_tell,
    correlation,
    fit,
    flattened,
    interval,
)
from fem_motor.calibration.model.forward import Figures, ForwardModel
from fem_motor.calibration.model.surface import Surface
from fem_motor.calibration.records import Evidence, Parameter

# JCGM 100:2008, H.3, table H.6: calibration of a thermometer, °C and correction.
READING = np.array(
    "21.521 22.012 22.512 23.003 23.507 23.999 24.513 25.002 25.503 26.010 26.511".split(), float
)
CORRECTION = -np.array(
    "0.171 0.169 0.166 0.159 0.164 0.165 0.156 0.157 0.159 0.161 0.160".split(), float
)


class Line(ForwardModel):
    """A forward model that is y1 + y2 (t − 20), with y3 beside y1 where there are three terms."""

    def __init__(self, time: FloatArray, value: FloatArray, spread: float, terms: int = 2) -> None:
        # Subclasses of a slotted record have a dict, but their assignment is still frozen.
        object.__setattr__(self, "data", (time, value, spread, terms))
        object.__setattr__(self, "evidence", Evidence(points=(), spans={}))
        object.__setattr__(self, "prior", {})

    def residuals(self, figures: Figures, expanded: tuple[Surface, ...]) -> FloatArray:
        """Return them for the two or three terms."""
        assert expanded == ()
        time, value, spread, terms = self.data
        offset = figures["y1"] + (figures["y3"] if terms > 2 else 0)
        return np.asarray((offset + figures["y2"] * time - value) / spread)


def loose(name: str, spread: float = 10.0) -> Parameter:
    return Parameter(name=name, prior=0.0, spread=spread, because="", scale="difference")


def test_the_guides_thermometer_is_calibrated_as_in_the_guide() -> None:
    residual_spread = 0.0035  # s of H.3.4
    wide = 10  # residuals far below the clip: plain least squares
    found = fit(Line(READING - 20, CORRECTION, wide * residual_spread), (loose("y1"), loose("y2")))
    assert found.figures["y1"] == pytest.approx(-0.1712, abs=5e-5)
    assert found.figures["y2"] == pytest.approx(0.00218, abs=5e-6)
    spread = 10 / wide * np.sqrt(np.diag(found.covariance))
    assert spread == pytest.approx([0.0029, 0.00067], rel=0.03)
    assert correlation(found.covariance)[0, 1] == pytest.approx(-0.930, abs=1e-3)


def test_scipys_curve_fit_finds_the_same_line_and_covariance() -> None:
    time, value = READING - 20, CORRECTION
    best, covariance = curve_fit(
        lambda t, a, b: a + b * t, time, value, sigma=np.full(11, 0.02), absolute_sigma=True
    )
    found = fit(Line(time, value, 0.02), (loose("y1"), loose("y2")))
    assert [found.figures["y1"], found.figures["y2"]] == pytest.approx(best, rel=1e-3)
    assert 100 * found.covariance == pytest.approx(covariance, rel=5e-3)


def test_a_prior_is_a_further_measurement_with_its_weight() -> None:
    """One mean of 4 readings, each ±1, and a prior ±0.5: weights 4 and 4 (closed form)."""
    model = Line(np.zeros(4), np.array([0.09, 0.1, 0.1, 0.11]), 1.0)
    found = fit(model, (loose("y1", spread=0.5), loose("y2", spread=1e-9)))
    value, low, high = interval(found, 0)
    assert value == pytest.approx(0.05, rel=2e-3)
    assert high - low == pytest.approx(2 * 1.96 / np.sqrt(8), rel=1e-2)


def test_of_a_sum_the_terms_cannot_be_told() -> None:
    """Measured is (a + c) + b t: only a + c is known of, the textbook case."""
    model = Line(READING - 20, CORRECTION, 0.0035, terms=3)
    found = fit(model, (loose("y1", 0.1), loose("y2", 0.1), loose("y3", 0.1)))
    assert ("y1", "y3") in [tuple(name for name in g if name != "y2") for g in cannot_tell(found)]
    assert correlation(found.covariance)[0, 2] == pytest.approx(-1, abs=2e-3)


def test_one_bad_point_of_ten_pulls_a_tenth_of_what_it_would_in_plain_squares() -> None:
    value = np.ones(10)
    value[3] = 101.0
    found = fit(Line(np.zeros(10), value, 0.1), (loose("y1"), loose("y2", 1e-9)))
    assert abs(found.figures["y1"] - 1) < (value.mean() - 1) / 10


def test_small_residuals_stay_and_large_ones_grow_like_their_root() -> None:
    assert flattened(np.array([0.1]))[0] == pytest.approx(0.1, rel=1e-3)
    ratio = flattened(np.array([4e6]))[0] / flattened(np.array([1e6]))[0]
    assert ratio == pytest.approx(2.0, rel=1e-3)
