"""Designs side by side: what is held equal, who is best, and who is not to be told apart."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from importlib.metadata import version

from fem_motor.batch import ResultStore
from fem_motor.comparison.assessing.assessment import Assessment
from fem_motor.comparison.assessing.estimates import difference, shared_causes
from fem_motor.comparison.assessing.goals import chosen_goal, refuse_unknown_goal
from fem_motor.comparison.assessing.pool import Answer, Bench, executor_of
from fem_motor.comparison.equal import held_equal, with_use_of
from fem_motor.comparison.records import (
    GOAL_NAMES,
    Candidate,
    Comparison,
    Goal,
    Hold,
    Quality,
    Versus,
)
from fem_motor.comparison.trying import verdict_of
from fem_motor.comparison.wording import sentences
from fem_motor.design import MotorDesign
from fem_motor.errors import FemMotorError, InputError
from fem_motor.findings import Finding, Headline
from fem_motor.progress import OnStage, ignore

FEWEST = 2


def compare(
    designs: Sequence[MotorDesign],
    *,
    goal: Goal = "continuous-power",
    hold: Hold = "supply-and-load",
    quality: Quality = "standard",
    workers: int = 1,
    store: ResultStore | None = None,
    on_step: OnStage = ignore,
) -> Comparison:
    """Return designs side by side on the same job, best first by a goal.

    Parameters
    ----------
    designs : sequence of MotorDesign
        Two or more.
    goal : Goal
        As of `rank`.
    hold : "as-drawn" or "supply-and-load"
        "supply-and-load": drive, load and cooling of the first for all, and each at the turns
        that suit the load, at its copper area, for equal copper gives the same motor constant
        whatever the turns. "as-drawn": each as its file says.
    quality : "draft", "standard" or "fine"
    workers : int
        Processes. Above 1 a script needs the usual ``if __name__ == "__main__":``.
    store : fem_motor.batch.ResultStore, optional
        Keeps what is computed, for another time.
    on_step : callable
        Called with (done, of, stage).

    Raises
    ------
    InputError
        Where there are fewer than two designs, or the goal is not known.
    FemMotorError
        Where one of them cannot be computed.

    Examples
    --------
    >>> import fem_motor as fm
    >>> plain = fm.load_design("geometries/printed_18s16p.toml")
    >>> halbach = fm.load_design("geometries/halbach_18s16p.toml")
    >>> found = fm.compare([plain, halbach], quality="draft")
    >>> found.order[0]
    'geometries/halbach_18s16p.toml'
    """
    refuse_unknown_goal(goal)
    _refuse_few(designs)
    given = _named_apart(designs)
    used = given if hold == "as-drawn" else [with_use_of(given[0], one) for one in given]
    with executor_of(min(workers, len(used))) as executor:
        bench = Bench(hold=hold, picture=goal, executor=executor, store=store, on_step=on_step)
        found = bench.assessed(used, quality=quality, stage="designs")
    return _comparison(list(_computed(used, found)), goal=goal, hold=hold, quality=quality)


def _refuse_few(designs: Sequence[MotorDesign]) -> None:
    if len(designs) < FEWEST:
        raise InputError(
            f"= {len(designs)} is too few to compare.",
            why="a comparison needs two designs at least.",
            do="name two or more; fem-motor rank looks for changes to one.",
            place="designs",
        )


def _comparison(
    assessed: list[Assessment], *, goal: Goal, hold: Hold, quality: Quality
) -> Comparison:
    goal, findings = _common_goal(assessed, goal)
    candidates = tuple(_candidate(one, goal) for one in assessed)
    order = sorted(assessed, key=lambda one: -_value(one, goal))
    differences = tuple(
        _versus(order[0], one, goal) for one in order[1:] if one.level(goal) is not None
    )
    return Comparison(
        version=version("fem_motor"),
        quality=quality,
        goal=goal,
        hold=hold,
        held_equal=held_equal(
            [one.design for one in assessed],
            hold=hold,
            windings=[one.winding for one in candidates],
        ),
        candidates=candidates,
        order=tuple(one.design.name for one in order),
        ties=_ties(order, goal),
        differences=differences,
        verdict=sentences.comparison_verdict(candidates, differences, order=order, goal=goal),
        findings=findings,
    )


def _named_apart(designs: Sequence[MotorDesign]) -> list[MotorDesign]:
    """Return the designs with a name each, for a file may be given twice."""
    seen: dict[str, int] = {}
    named = []
    for design in designs:
        seen[design.name] = seen.get(design.name, 0) + 1
        count = seen[design.name]
        named.append(design if count == 1 else replace(design, name=f"{design.name} ({count})"))
    return named


def _computed(designs: Sequence[MotorDesign], found: Sequence[Answer]) -> Iterator[Assessment]:
    """Yield what each can do; the error of the first that cannot be computed is raised."""
    for design, one in zip(designs, found, strict=True):
        if isinstance(one, FemMotorError):
            raise one.placed_in(design.name)
        yield one


def _common_goal(assessed: Sequence[Assessment], goal: Goal) -> tuple[Goal, tuple[Finding, ...]]:
    """Return a goal that all have, and what to say of it."""
    findings: dict[str, Finding] = {}
    for one in assessed:
        goal, told = chosen_goal(one, goal)
        for finding in told:
            findings.setdefault(finding.why, finding)
    return goal, tuple(findings.values())


def _value(assessment: Assessment, goal: Goal) -> float:
    level = assessment.level(goal)
    return -math.inf if level is None else level.estimate.value


def _candidate(assessment: Assessment, goal: Goal) -> Candidate:
    """Return the design with its answers."""
    level, throttle, design = assessment.level(goal), assessment.full_throttle, assessment.design
    if throttle is None:
        msg = "a candidate is assessed with its picture"
        raise TypeError(msg)
    answers = {
        GOAL_NAMES[one.goal]: one.estimate.headline(assessment.because) for one in assessment.levels
    }
    at = f"at full throttle with {throttle.winding}, 20 °C; fem-motor run gives its range"
    for name in FULL_THROTTLE:
        value = getattr(throttle, name)
        if value is not None:
            answers[f"full_throttle_{name}"] = _plain(value, at)
    if throttle.seconds_to_soften is not None:
        answers["seconds_to_soften_core"] = throttle.seconds_to_soften
    answers["cogging_peak_to_peak_Nm"] = assessment.cogging
    if assessment.ripple is not None:
        answers["ripple_peak_to_peak_fraction"] = _plain(
            assessment.ripple, "at rated current from the fields without current"
        )
    answers["mass_kg"] = _plain(
        assessment.masses.total, "core, copper, magnets, ring and housing, from their areas"
    )
    return Candidate(
        title=design.title,
        file=design.name,
        answers=answers,
        winding=throttle.winding,
        limiting_part=None if level is None else level.part,
        limiter=assessment.limiter,
        curves=throttle.curves,
        design=design.to_dict(),
    )


FULL_THROTTLE = ("shaft_power_W", "speed_rpm", "supply_current_A", "efficiency", "thrust_N")


def _plain(value: float, because: str) -> Headline:
    return Headline(value=value, low=None, high=None, because=because)


def _versus(best: Assessment, other: Assessment, goal: Goal) -> Versus:
    """Return `other` against the best."""
    first, second = best.level(goal), other.level(goal)
    if first is None or second is None:
        msg = "both have the goal"
        raise TypeError(msg)
    shared = shared_causes(best.design, other.design)
    found = difference(first.estimate, second.estimate, shared=shared)
    verdict = verdict_of(found)
    return Versus(
        file=other.design.name,
        of=best.design.name,
        gain_fraction=found.gain,
        low=found.low,
        high=found.high,
        verdict=verdict,
        why=sentences.why_different(best, other, goal=goal, gain=found, verdict=verdict),
    )


def _ties(order: Sequence[Assessment], goal: Goal) -> tuple[tuple[str, ...], ...]:
    """Return groups of which none is surely better than the first of its group."""
    rest = [one for one in order if one.level(goal) is not None]
    groups = []
    while rest:
        group = [rest[0]]
        group += [one for one in rest[1:] if _versus(rest[0], one, goal).verdict in EVEN]
        rest = [one for one in rest if one not in group]
        if len(group) > 1:
            groups.append(tuple(one.design.name for one in group))
    return tuple(groups)


EVEN = ("tied", "no-gain")
