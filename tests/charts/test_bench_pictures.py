"""Measured points on the model's curves: where they stand and what is said of them."""

import numpy as np
import pytest
from matplotlib.figure import Figure

from fem_motor.bench import MeasuredPoint, Segment
from fem_motor.calibration import Calibration
from fem_motor.calibration.records import ComputedPoint
from fem_motor.charts.pictures.bench_pictures import current_off, draw_points
from fem_motor.findings import Headline


def measured(speed_rpm: float, current_A: float, efficiency: float) -> MeasuredPoint:
    def around(value: float) -> Headline:
        return Headline(value=value, low=0.98 * value, high=1.03 * value, because="measured")

    return MeasuredPoint(
        segment=Segment(kind="steady", start=0.0, end=10.0, first_row=0, last_row=9, readings={}),
        values={
            "speed_rpm": around(speed_rpm),
            "current_A": around(current_A),
            "efficiency": around(efficiency),
        },
    )


def computed(speed_rpm: float, current_A: float) -> ComputedPoint:
    return ComputedPoint(
        speed_rpm=speed_rpm, voltage_V=14.0, torque_Nm=0.1, current_A=current_A, throttle="part"
    )


def calibration(*points: ComputedPoint) -> Calibration:
    return Calibration(
        calibrated={}, correlation=np.zeros((0, 0)), cannot_tell=(), explanations=(),
        misfit_before=1.0, misfit_after=1.0, residuals=np.zeros(0), calibrated_design="",
        as_designed=points, as_calibrated=points,
    )  # fmt: skip


POINTS = (measured(3000.0, 1.0, 0.7), measured(6000.0, 8.0, 0.6))


def test_points_bars_and_curves_stand_at_their_values() -> None:
    above, below = Figure().subplots(2)
    draw_points(
        POINTS, above, below, calibration=calibration(computed(3000, 1.1), computed(6000, 8.8))
    )
    names = above.get_legend_handles_labels()[1]
    assert names == ["model as designed", "model calibrated", "measured"]
    np.testing.assert_allclose(above.get_lines()[0].get_ydata(), [1.1, 8.8])
    # T ω over V I: 0.1 N m at 3000 rpm is 31.4 W, of 14 V and 1.1 A.
    np.testing.assert_allclose(below.get_lines()[0].get_ydata()[0], 10 * np.pi / (14 * 1.1))
    (bars,) = above.containers
    ends = [segment[:, 1] for segment in bars[2][1].get_segments()]
    np.testing.assert_allclose(ends, [[0.98, 1.03], [7.84, 8.24]])


def test_what_is_off_is_a_root_mean_square_in_per_cent() -> None:
    # +10 % and −10 %: root mean square 10 %.
    assert current_off(POINTS, [(3000.0, 1.1), (6000.0, 7.2)]) == pytest.approx(10.0)
    assert current_off(POINTS, [(1234.0, 1.0)]) is None
