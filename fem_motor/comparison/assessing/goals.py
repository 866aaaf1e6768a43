"""Which goal can be looked at, and which one instead where it cannot."""

import difflib

from fem_motor.comparison.assessing.assessment import Assessment
from fem_motor.comparison.records import GOAL_NAMES, GOAL_WORDS, Goal
from fem_motor.errors import InputError
from fem_motor.findings import Finding

INSTEAD: tuple[Goal, ...] = ("continuous-power", "continuous-torque", "motor-constant-per-mass")


def chosen_goal(base: Assessment, goal: Goal) -> tuple[Goal, tuple[Finding, ...]]:
    """Return the goal, or the first that can be computed instead of it, and what to say of it."""
    findings = []
    level = base.level(goal)
    if level is None:
        found: Goal = next((g for g in INSTEAD if base.level(g) is not None), "motor-constant")
        findings.append(_fallen_back(base, goal, found))
        goal, level = found, base.level(found)
    if level is not None and level.is_capped:
        findings.append(_capped(goal, level.estimate.value))
    core = base.design.motor.stator.core
    if goal in ("continuous-power", "60-s-power") and core.deflection_temperature_C is None:
        findings.append(
            Finding(
                name="core that softens",
                status="ok",
                why=f"{core.name} does not soften; the limits are those of the copper, the magnets "
                "and the printed housing.",
            )
        )
    return goal, tuple(findings)


def _fallen_back(base: Assessment, goal: Goal, found: Goal) -> Finding:
    if base.design.motor.load is None:
        why, do = "the design turns no load", "give a [load] that turns to rank by power"
    else:
        why = "the motor does not turn its load, or some part is too hot without any"
        do = "see fem-motor run on this design first"
    return Finding(
        name="goal",
        status="watch",
        why=f'{why}, so "{goal}" cannot be computed; looked at is "{found}": {GOAL_WORDS[found]}.',
        do=f"{do}, or choose another --goal.",
    )


def _capped(goal: Goal, value: float) -> Finding:
    return Finding(
        name="what ends the power",
        status="watch",
        value=value,
        why="supply and controller end the power before heat does, so that changes which only save "
        "heat show no gain.",
        do="give a stronger supply, a larger current_limit or a larger load, or use --hold "
        'supply-and-load; or rank by --goal "motor-constant".'
        if goal != "motor-constant"
        else "",
    )


def refuse_unknown_goal(goal: str) -> None:
    """Raise unless the goal is one of those there are."""
    if goal not in GOAL_NAMES:
        near = difflib.get_close_matches(goal, GOAL_NAMES, n=1)
        raise InputError(
            f'= "{goal}" is not known.',
            why=f"a goal is one of {', '.join(GOAL_NAMES)}.",
            do=f'did you mean "{near[0]}"?' if near else "choose one of them.",
            place="goal",
        )
