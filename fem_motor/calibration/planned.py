"""A planned test with what it should read, and how a log lies in those ranges."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from fem_motor.bench import MeasuredPoint
from fem_motor.findings import Finding, Headline

COVERAGE = 1.96
"""Standard deviations that hold 95 % of a normal distribution."""
NAMES = ("speed_rpm", "torque_Nm", "voltage_V", "current_A")
NEAR = 0.03
"""Of the throttle, within which a point belongs to a planned step."""
FEWEST_HELD = 0.8
"""Of values within their ranges, below which the prediction failed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """A throttle, 0 to 1, and what should be read there."""

    throttle: float
    values: Mapping[str, Headline]

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", MappingProxyType(dict(self.values)))


@dataclass(frozen=True, slots=True, kw_only=True)
class StopLimits:
    """Readings at which the test ends at once."""

    current_A: float
    speed_rpm: float
    winding_C: float
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """A test that is planned.

    Attributes
    ----------
    title : str
    date : str
        On which it was frozen, year-month-day.
    is_blind : bool
        False where the log was there already.
    design : mapping
        The complete design, section by section.
    steps : tuple of PlannedStep
    limits : StopLimits
    content_hash : str
        Of its file; empty where it is in none.
    """

    title: str
    date: str
    is_blind: bool
    design: Mapping[str, object]
    steps: tuple[PlannedStep, ...]
    limits: StopLimits
    content_hash: str = ""

    def scored(
        self, points: Sequence[MeasuredPoint], *, design: Mapping[str, object]
    ) -> "PredictionScore":
        """Return how points of a log lie in the predicted ranges.

        Parameters
        ----------
        points : sequence of MeasuredPoint
            Their throttle as logged says which step they belong to.
        design : mapping
            Of today, to say where it is no longer the one that was predicted for.
        """
        return _score(self, points, design)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoredValue:
    """A reading beside what was predicted; deviation in standard uncertainties of both."""

    throttle: float
    name: str
    predicted: Headline
    measured: Headline
    deviation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictionScore:
    """How a prediction did.

    Attributes
    ----------
    date : str
        Of the prediction.
    content_hash : str
        Of its file.
    values : tuple of ScoredValue
    held_fraction : float or None
        Of the values within 1.96 standard uncertainties; None where there is none.
    findings : tuple of Finding
    """

    date: str
    content_hash: str
    values: tuple[ScoredValue, ...]
    held_fraction: float | None
    findings: tuple[Finding, ...]


def _score(
    prediction: Prediction, points: Sequence[MeasuredPoint], design: Mapping[str, object]
) -> PredictionScore:
    """Return how the points lie in the predicted ranges."""
    values: list[ScoredValue] = []
    for step in prediction.steps:
        point = _nearest(step, points)
        if point is None:
            continue
        values += [
            _scored(step, name, point.values[name])
            for name in NAMES
            if name in point.values and point.values[name].value is not None
        ]
    held = [abs(one.deviation) <= COVERAGE for one in values]
    fraction = sum(held) / len(held) if held else None
    return PredictionScore(
        date=prediction.date,
        content_hash=prediction.content_hash,
        values=tuple(values),
        held_fraction=fraction,
        findings=tuple(_score_findings(prediction, fraction, design)),
    )


def _nearest(step: PlannedStep, points: Sequence[MeasuredPoint]) -> MeasuredPoint | None:
    def distance(point: MeasuredPoint) -> float:
        reading = point.segment.readings.get("throttle")
        return math.inf if reading is None else abs(reading.mean - step.throttle)

    best = min(points, key=distance, default=None)
    return best if best is not None and distance(best) <= NEAR else None


def _scored(step: PlannedStep, name: str, measured: Headline) -> ScoredValue:
    predicted = step.values[name]
    spread = math.hypot(_standard(predicted), _standard(measured))
    gap = (measured.value or 0.0) - (predicted.value or 0.0)
    return ScoredValue(
        throttle=step.throttle,
        name=name,
        predicted=predicted,
        measured=measured,
        deviation=gap / spread if spread else math.copysign(math.inf, gap) if gap else 0.0,
    )


def _standard(head: Headline) -> float:
    """Return the standard uncertainty of a range of about 95 %, by its upper half."""
    return ((head.high or 0.0) - (head.value or 0.0)) / COVERAGE


def _score_findings(
    prediction: Prediction, fraction: float | None, design: Mapping[str, object]
) -> Sequence[Finding]:
    found = []
    if fraction is None:
        found.append(
            Finding(
                name="points at the planned throttle", status="watch", value=0.0, limit=1.0,
                why="no steady point of the log lies within 3 % of a planned throttle.",
                do="log the throttle, and hold each planned step for fifteen seconds.",
            )
        )  # fmt: skip
    else:
        found.append(
            Finding(
                name="share of readings within their predicted range",
                status="ok" if fraction >= FEWEST_HELD else "watch",
                value=fraction, limit=FEWEST_HELD,
                why="ranges of about 95 %; the readings of one motor share its magnets and its "
                "battery, so that they miss together or not at all.",
                do="" if fraction >= FEWEST_HELD else "read the explanations: the cause that "
                "stands first is what the prediction did not know.",
            )
        )  # fmt: skip
    if not prediction.is_blind:
        found.append(
            Finding(
                name="prediction made after the log", status="watch",
                why="the log was there when the prediction was frozen.",
                do="freeze the next prediction before the test.",
            )
        )  # fmt: skip
    if dict(prediction.design) != dict(design):
        found.append(
            Finding(
                name="design changed since the prediction", status="watch",
                why="the prediction holds the design of its day; this one differs.",
                do="compare the two files, or freeze a new prediction before the next test.",
            )
        )  # fmt: skip
    return found
