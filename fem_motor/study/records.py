"""A study as its file says it, and what came of it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from fem_motor.batch import Outcome
from fem_motor.design import MotorDesign
from fem_motor.findings import Headline
from fem_motor.numbers import split_name

Quality = Literal["draft", "standard", "fine"]
Method = Literal["all", "random", "low-discrepancy", "optimise"]
Better = Literal["more", "less", "spread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One place on an axis: a label, and the design keys that it sets."""

    label: str
    changes: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """What is varied: steps, or any number of a range.

    Attributes
    ----------
    name : str
    steps : tuple of Step
        Empty where a range is to be drawn from.
    key : str
        The design key of a range, or of the numbers of a list; empty where steps set keys.
    low, high : float
        Of a range.
    """

    name: str
    steps: tuple[Step, ...] = ()
    key: str = ""
    low: float = 0.0
    high: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A bound on a recorded value."""

    of: str
    at_least: float | None = None
    at_most: float | None = None

    def violation(self, value: float | None) -> float:
        """Return by how much `value` breaks it, as part of the bound; 0 where it is kept."""
        if value is None:
            return 1.0
        found = 0.0
        if self.at_least is not None:
            found = max(found, (self.at_least - value) / (abs(self.at_least) or 1.0))
        if self.at_most is not None:
            found = max(found, (value - self.at_most) / (abs(self.at_most) or 1.0))
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class FigurePlan:
    """A figure: recorded values by variant, or curves of every variant.

    Attributes
    ----------
    kind : "values" or "curves"
    of : str
        What stands upwards: a recorded name; of curves, a pair in `CURVES`.
    along : str
        Of values: the axis that goes to the right; the first one where empty.
    """

    kind: Literal["values", "curves"]
    of: str
    along: str = ""

    def name(self, number: int) -> str:
        """Return the name of the picture, the first figure of the study being number 1."""
        return f"figure_{number}_{self.of.replace('.', '_').replace(' ', '_')}"


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictPlan:
    """How the numbers become a verdict.

    Attributes
    ----------
    of : str
        A recorded name.
    better : "more", "less" or "spread"
        Spread: nothing is chosen, and the verdict says how far the figure scatters.
    against : str
        Label of the variant that the best is held against; the first one where empty.
    least_gain : float
        Part by which the best must be better for the change to be called worth it: a choice of
        the study.
    doubts : "own" or "shared"
        Whether what is not known is another for each variant, or the same.
    """

    of: str
    better: Better = "more"
    against: str = ""
    least_gain: float = 0.1
    doubts: Literal["own", "shared"] = "own"


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """A base design, what is varied, recorded, drawn and judged.

    Attributes
    ----------
    title, question, note : str
        Note: assumptions that the reader of the verdict must know.
    base : MotorDesign
    quality : "draft", "standard" or "fine"
    method : "all", "random", "low-discrepancy" or "optimise"
        Every combination of steps, or so many draws from the ranges, or a search.
    number : int
        Of draws or of designs tried.
    start : int
        Of the draws: another number, other draws.
    axes, record, limits, figures, verdict
    """

    title: str
    question: str
    note: str
    base: MotorDesign
    quality: Quality
    axes: tuple[Axis, ...]
    record: tuple[str, ...]
    method: Method = "all"
    number: int = 0
    start: int = 1
    limits: tuple[Limit, ...] = ()
    figures: tuple[FigurePlan, ...] = ()
    verdict: VerdictPlan | None = None

    @property
    def designs(self) -> int:
        """How many designs it makes; of a search, about how many it tries."""
        if self.method != "all":
            return self.number
        return math.prod(len(axis.steps) for axis in self.axes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One design of a study: the label of each axis, and the keys it sets."""

    labels: Mapping[str, str]
    changes: Mapping[str, Any]

    def __post_init__(self) -> None:
        for name in ("labels", "changes"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    @property
    def label(self) -> str:
        """All labels in one."""
        return ", ".join(self.labels.values())

    @property
    def named(self) -> str:
        """The same for a sentence: a label that is a bare number has its axis before it.

        >>> Variant(labels={"gap": "0.6", "core": "plain"}, changes={}).named
        'gap 0.6, plain'
        >>> Variant(labels={"machine.air_gap_mm": "0.6", "lot, T": "1.25"}, changes={}).named
        'air gap 0.6 mm, lot 1.25 T'
        """
        return ", ".join(_named(axis, label) for axis, label in self.labels.items())

    def __reduce__(self) -> tuple[object, ...]:
        return _variant, (dict(self.labels), dict(self.changes))


def _named(axis: str, label: str) -> str:
    try:
        float(label)
    except ValueError:
        return label
    words, _, unit = axis.partition(", ")
    if "." in axis:
        words, unit = split_name(axis.rpartition(".")[2])
    return f"{words} {label} {unit}".rstrip()


def _variant(labels: dict[str, str], changes: dict[str, Any]) -> Variant:
    return Variant(labels=labels, changes=changes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the table.

    Attributes
    ----------
    variant : Variant
    outcome : Outcome
    values : mapping of recorded name to Headline
        None where the sheet has none; a number without a range of its own has none here.
    """

    variant: Variant
    outcome: Outcome
    values: Mapping[str, Headline | None]

    def value(self, name: str) -> float | None:
        """Return a recorded number, None where there is none."""
        headline = self.values.get(name)
        return None if headline is None else headline.value


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyResult:
    """The table of a study, and what it says.

    Attributes
    ----------
    study : Study
    rows : tuple of Row
        In the order of the variants.
    verdict : tuple of str
        Sentences; the first answers the question.
    store : Path or None
    """

    study: Study
    rows: tuple[Row, ...]
    verdict: tuple[str, ...] = ()
    store: Path | None = None
    best: Row | None = field(default=None)

    @property
    def solved(self) -> tuple[Row, ...]:
        """The rows that have answers."""
        return tuple(row for row in self.rows if row.outcome.status == "solved")

    @property
    def failed(self) -> tuple[Row, ...]:
        """The rows that have a reason instead."""
        return tuple(row for row in self.rows if row.outcome.status != "solved")

    def to_dict(self) -> dict[str, Any]:
        """Return the result as plain data for JSON."""
        return {
            "format": "fem_motor.study",
            "title": self.study.title,
            "question": self.study.question,
            "quality": self.study.quality,
            "store": None if self.store is None else str(self.store),
            "rows": [_plain_row(row) for row in self.solved],
            "failed": [
                {**_plain_variant(row.variant), "reason": row.outcome.reason} for row in self.failed
            ],
            "figures": self._plain_figures(),
            "verdict": list(self.verdict),
        }

    def _plain_figures(self) -> list[dict[str, str]]:
        """Return the figures, named as their pictures in a report folder; none without answers."""
        return [
            {"name": plan.name(number), "kind": plan.kind, "of": plan.of, "along": plan.along}
            for number, plan in enumerate(self.study.figures if self.solved else (), 1)
        ]


def _plain_variant(variant: Variant) -> dict[str, Any]:
    return {"labels": dict(variant.labels), "changes": dict(variant.changes)}


def _plain_row(row: Row) -> dict[str, Any]:
    values = {
        name: None
        if one is None
        else {"value": one.value, "low": one.low, "high": one.high, "because": one.because}
        for name, one in row.values.items()
    }
    return {**_plain_variant(row.variant), "key": row.outcome.key, "values": values}
