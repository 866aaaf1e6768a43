"""What the measurements cannot tell apart, in numbers, and the cheapest check that parts it.

A check with value v(x) and standard uncertainty u turns the covariance C into
C − C g gᵀ C/(1 + gᵀ C g), g = ∂(v/u)/∂x (JCGM 100, annex F, for one more input; Sherman and
Morrison). Each kind of check is tried on paper; the cheapest that takes a fifth off the range of a
parameter of the group is named, with what it would leave.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.calibration.fit.causes import FOUR_WIRE, GAP, LENGTH, REVOLUTIONS
from fem_motor.calibration.fit.fitting import Fit, cannot_tell, figures_of
from fem_motor.calibration.fit.profile import Range
from fem_motor.calibration.model.forward import Figures, ForwardModel
from fem_motor.calibration.planned import COVERAGE
from fem_motor.calibration.records import BenchCheck, CheckKind
from fem_motor.findings import Finding
from fem_motor.numbers import digits, split_name

ENOUGH, BEST = 0.8, 0.95
"""Of a spread: left by a check that is worth its time; by the best one where none is."""

STEP = 1e-3

_MAGNET = (
    "One spare magnet of the batch at a teslameter, or the seller's curve of it. Magnets pinch and "
    "shatter: one at a time, eyes covered."
)
_COASTING = (
    "Coast-down without propeller, speed over time, with the inertia known. Guard on, stand behind "
    "the plane of rotation."
)

CHECKS: tuple[tuple[CheckKind, float, str], ...] = (
    ("resistance", 0.01, FOUR_WIRE),
    ("air_gap", 0.06, GAP),
    ("drill", 0.01, REVOLUTIONS),
    ("inductance", 0.05, LENGTH),
    ("magnet", 0.01, _MAGNET),
    ("coast_down", 0.05, _COASTING),
)
"""Kind, relative standard uncertainty and words, the cheapest first (by the minutes and the tools
that they take; no source)."""

HEAT = (
    "hold one load until nothing rises any more (no capacity counts then), cut the power and log "
    "the cooling (no loss counts then), below the softening temperature of the core."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Parting:
    """What a check would leave of the spread of one parameter of a group."""

    words: str
    index: int
    left: float


def open_groups(model: ForwardModel, found: Fit, ranges: Sequence[Range]) -> Iterator[Finding]:
    """Yield a finding for every group of parameters of a motor that is not told apart."""
    names = [parameter.name for parameter in found.parameters]
    for group in cannot_tell(found):
        members = [names.index(name) for name in group]
        best = parting(model, found, members)
        yield Finding(
            name=f"cannot be told apart: {_words(group)}", status="watch",
            why=f"{_bands([ranges[k] for k in members])}{_together(model, found, group)}.",
            do=_advice(found, best),
        )  # fmt: skip


def open_heat(found: Fit, ranges: Sequence[Range]) -> Iterator[Finding]:
    """Yield the same for the thermal network."""
    names = [parameter.name for parameter in found.parameters]
    for group in cannot_tell(found):
        members = [names.index(name) for name in group]
        yield Finding(
            name=f"cannot be told apart: {_words(group)}", status="watch",
            why=f"{_bands([ranges[k] for k in members])}.", do=HEAT,
        )  # fmt: skip


def parting(model: ForwardModel, found: Fit, members: Sequence[int]) -> Parting | None:
    """Return the cheapest check that parts a group, None where no check does."""
    tried = []
    for kind, share, words in CHECKS:
        gradient = _gradient(model, found, kind, share)
        with_it = found.covariance @ gradient
        left = found.covariance - np.outer(with_it, with_it) / (1 + gradient @ with_it)
        ratio = np.sqrt(np.diag(left) / np.diag(found.covariance))
        index = min(members, key=lambda k: float(ratio[k]))
        one = Parting(words=words, index=index, left=float(ratio[index]))
        if one.left <= ENOUGH:
            return one
        tried.append(one)
    best = min(tried, key=lambda one: one.left)
    return best if best.left <= BEST else None


def _gradient(model: ForwardModel, found: Fit, kind: CheckKind, share: float) -> FloatArray:
    """Return ∂(v/u)/∂x (k,) of a check at the fitted parameters."""
    speed = max((point.speed for point in model.evidence.points), default=100.0)
    check = BenchCheck(kind=kind, value=1.0, uncertainty=1.0, speed=speed)

    def value(shift: FloatArray) -> float:
        return model.check_value(figures_of(model, found.parameters, shift), check)

    spread = share * abs(value(found.shift))
    steps = STEP * np.eye(found.shift.size)
    slopes = [(value(found.shift + one) - value(found.shift - one)) / (2 * STEP) for one in steps]
    return np.array(slopes) / spread


def _bands(ranges: Sequence[Range]) -> str:
    said = []
    for one in ranges:
        words, unit = split_name(one.name)
        band = f"{digits(one.low, 3)} to {digits(one.high, 3)}"
        said.append(f"{words} {band}{f' {unit}' if unit else ''}")
    return f"{', '.join(said)}: what one of them does the others do as well"


def _together(model: ForwardModel, found: Fit, group: Sequence[str]) -> str:
    """Return how well the flux is known that magnets, core, gap and ends make together."""
    if "remanence_T" not in group:
        return ""

    def flux(shift: FloatArray) -> float:
        figures: Figures = figures_of(model, found.parameters, shift)
        return model.field_logs(figures)[0]

    steps = STEP * np.eye(found.shift.size)
    gradient = np.array(
        [(flux(found.shift + one) - flux(found.shift - one)) / (2 * STEP) for one in steps]
    )
    half = COVERAGE * math.sqrt(float(gradient @ found.covariance @ gradient))
    return f"; the flux linkage of all together is known to ±{half:.1%}"


def _advice(found: Fit, best: Parting | None) -> str:
    if best is None:
        return "believe what they do together; no single check parts them."
    words, _ = split_name(found.parameters[best.index].name)
    return f"{best.words} It would leave {best.left:.0%} of the range of the {words}."


def _words(group: Sequence[str]) -> str:
    return ", ".join(split_name(name)[0] for name in group)
