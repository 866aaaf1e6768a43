"""Coefficients of the propeller: published points give back the published coefficients."""

import math

import numpy as np
import pytest
from stand import solved

from fem_motor.calibration.propeller import propeller_values
from fem_motor.calibration.records import Evidence
from fem_motor.findings import Headline
from fem_motor.units import RPM

# University of Illinois propeller data site, 10x4.7 slow flight, static (Brandt and Selig 2011).
SPEEDS_RPM = (2377, 2947, 3494, 4029, 4590, 5147, 5715, 6226)
THRUST = (0.1059, 0.1079, 0.1117, 0.1158, 0.1200, 0.1237, 0.1263, 0.1286)
POWER = (0.0431, 0.0437, 0.0450, 0.0466, 0.0484, 0.0500, 0.0513, 0.0524)


def read(values: tuple[float, ...], share: float) -> tuple[tuple[float, Headline], ...]:
    """Return readings with a relative standard uncertainty, two of them each way."""
    return tuple(
        (
            rpm * RPM,
            Headline(value=c, low=c * (1 - 2 * share), high=c * (1 + 2 * share), because=""),
        )
        for rpm, c in zip(SPEEDS_RPM, values, strict=True)
    )


def evidence(share: float) -> Evidence:
    return Evidence(
        points=(), spans={},
        propeller={"thrust_coefficient": read(THRUST, share),
                   "power_coefficient": read(POWER, share)},
    )  # fmt: skip


def test_sharp_readings_of_published_points_give_their_mean() -> None:
    found = propeller_values(solved().design.motor, evidence(1e-4))
    for name, published in (("thrust_coefficient", THRUST), ("power_coefficient", POWER)):
        middle = math.exp(float(np.log(published).mean()))
        assert found[name].value == pytest.approx(middle, rel=0.02)
        assert found[name].low < middle < found[name].high


def test_prior_and_readings_are_weighted_by_their_variances() -> None:
    # Normal prior of 7 % and one common error of 7 %: half way, and 7 %/√2 wide.
    motor = solved().design.motor
    head = Headline(value=0.132, low=0.132 * 0.86, high=0.132 * 1.14, because="")
    found = propeller_values(
        motor, Evidence(points=(), spans={}, propeller={"thrust_coefficient": ((500.0, head),)})
    )["thrust_coefficient"]
    assert found.prior == pytest.approx(0.12, rel=1e-9)
    assert found.value == pytest.approx(math.sqrt(0.12 * 0.132), rel=1e-6)
    assert math.log(found.high / found.value) == pytest.approx(1.96 * 0.07 / math.sqrt(2), rel=1e-6)
