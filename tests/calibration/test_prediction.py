import json
import math
from pathlib import Path

import numpy as np
import pytest
from stand import solved

from fem_motor.bench import MeasuredPoint, Reading, Segment
from fem_motor.calibration import Prediction, freeze_prediction, read_prediction
from fem_motor.calibration.planned import PlannedStep, StopLimits
from fem_motor.calibration.predictions.prediction import predict
from fem_motor.errors import InputError
from fem_motor.findings import Headline
from fem_motor.units import RPM


def head(value: float, half: float) -> Headline:
    return Headline(value=value, low=value - half, high=value + half, because="")


def prediction(*, is_blind: bool = True) -> Prediction:
    names = ("speed_rpm", "torque_Nm", "voltage_V", "current_A")
    values = dict(zip(names, (head(6000, 196), head(0.1, 0.0098), head(14, 0.196), head(9, 1.96)),
                      strict=True))  # fmt: skip
    return Prediction(
        title="boat", date="2026-01-02", is_blind=is_blind, design={"title": "boat"},
        steps=(PlannedStep(throttle=1.0, values=values),),
        limits=StopLimits(current_A=10, speed_rpm=7000, winding_C=60, because=""),
    )  # fmt: skip


def point(throttle: float, **values: Headline) -> MeasuredPoint:
    reading = Reading(mean=throttle, uncertainty=0, samples=9, independent_samples=9, drift=0)
    segment = Segment(
        kind="steady", start=0, end=9, first_row=0, last_row=8, readings={"throttle": reading}
    )
    return MeasuredPoint(segment=segment, values=values)


def test_a_deviation_counts_both_uncertainties_in_squares() -> None:
    # JCGM 100, 5.1.2: u = √(100² + 75²) = 125 rpm; 250 rpm too fast are two of them.
    found = prediction().scored(
        [point(0.99, speed_rpm=head(6250, 1.96 * 75)), point(0.5, speed_rpm=head(1, 1))],
        design={"title": "boat"},
    )
    assert [one.name for one in found.values] == ["speed_rpm"]
    assert found.values[0].deviation == pytest.approx(2.0, rel=1e-12)
    assert found.held_fraction == 0.0
    assert [finding.status for finding in found.findings] == ["watch"]


def test_what_lies_within_is_held_and_a_slower_motor_deviates_downwards() -> None:
    found = prediction().scored(
        [point(1.0, speed_rpm=head(5900, 1), current_A=head(9.5, 0.1))], design={"title": "boat"}
    )
    assert found.held_fraction == 1.0
    assert [math.copysign(1, one.deviation) for one in found.values] == [-1, 1]


def test_a_late_prediction_a_changed_design_and_a_log_without_throttle_are_said() -> None:
    found = prediction(is_blind=False).scored([], design={"title": "other"})
    assert found.held_fraction is None
    assert [finding.name for finding in found.findings] == [
        "points at the planned throttle",
        "prediction made after the log",
        "design changed since the prediction",
    ]


@pytest.fixture(scope="module")
def frozen(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("frozen") / "f.json"
    freeze_prediction(
        path, solved().design, powered=solved().powered, ends=solved().end_factor,
        date="2026-01-02", log=path.parent / "no.csv", version="0",
    )  # fmt: skip
    return path


def test_a_frozen_prediction_reads_back_as_it_was_made(frozen: Path) -> None:
    read = read_prediction(frozen)
    made = predict(
        solved().design, solved().powered, ends=solved().end_factor, date="2026-01-02",
        is_blind=True,
    )  # fmt: skip
    assert read.steps == made.steps
    assert read.limits == made.limits
    assert read.design == made.design
    assert len(read.content_hash) == 64  # SHA-256 in hexadecimal


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ('"throttle": 1.0', '"throttle": 0.99', "was changed after it was frozen"),
        ('"date": "2026-01-02"', '"date": "2026-01-01"', "was changed after it was frozen"),
        ("fem_motor.prediction", "fem_motor.bench", "is no frozen prediction"),
        ("{", "[", "cannot be read as a frozen prediction"),
    ],
)
def test_a_mended_prediction_is_refused(
    frozen: Path, tmp_path: Path, old: str, new: str, what: str
) -> None:
    text = frozen.read_text(encoding="utf-8")
    assert old in text
    other = tmp_path / "f.json"
    other.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_prediction(other)
    assert what in str(caught.value)


def test_a_prediction_is_never_written_over(frozen: Path) -> None:
    before = frozen.read_bytes()
    with pytest.raises(InputError, match="is left as it is"):
        freeze_prediction(
            frozen, solved().design, powered=solved().powered, ends=solved().end_factor,
            date="2026-01-03", log="no.csv", version="0",
        )  # fmt: skip
    assert frozen.read_bytes() == before


def test_the_middle_of_a_prediction_is_the_design_at_that_throttle(frozen: Path) -> None:
    # Second method: the powered motor's own operating point, at the copper's assumed warmth.
    step = read_prediction(frozen).steps[-1]
    ambient = solved().design.motor.cooling.ambient_C
    point = solved().powered.at_load(copper_C=ambient + 15.0, magnet_C=ambient)
    assert point.state is not None
    assert step.values["speed_rpm"].value == pytest.approx(point.state.speed / RPM, rel=5e-3)
    assert step.values["current_A"].value == pytest.approx(point.state.supply_current, rel=1e-2)
    assert step.values["torque_Nm"].value == pytest.approx(point.shaft_torque, rel=1e-2)


def test_a_prediction_is_as_wide_as_what_is_not_known(frozen: Path) -> None:
    # Load line T ∝ n², so at full throttle the speed moves less than the back-EMF (2.8 % standard
    # by magnets, core, gap and ends together) and more than nothing.
    plain = json.loads(frozen.read_text(encoding="utf-8"))
    speed = plain["steps"][-1]["values"]["speed_rpm"]
    half = (speed["high"] - speed["low"]) / 2 / speed["value"]
    assert 0.02 < half < 1.96 * np.hypot(0.04, 0.03)
