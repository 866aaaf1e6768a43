"""Why a change helps or does not, and the verdicts, in plain words from the numbers."""

from collections.abc import Sequence
from typing import Literal

from fem_motor.comparison.assessing.assessment import Assessment
from fem_motor.comparison.assessing.estimates import CAUSE_WORDS, Difference
from fem_motor.comparison.changes.catalogue import Change
from fem_motor.comparison.records import Candidate, ChangeResult, Goal, PairResult, Verdict, Versus

EQUAL_COPPER = (
    "the same copper area gives the same motor constant whatever the turns: they only fit the "
    "motor to the battery, like a transformer"
)
"""Source: D. Hanselman, Brushless Permanent Magnet Motor Design (2006), from memory; power
balance."""

CONNECTIONS = (
    "star and delta are the same copper on another voltage: the motor constant stays, and turns "
    "make up for the rest"
)

UNITS: dict[Goal, tuple[str, str]] = {
    "continuous-power": ("shaft power for good", "W"),
    "60-s-power": ("shaft power for 60 s", "W"),
    "continuous-torque": ("torque at standstill for good", "N m"),
    "motor-constant": ("motor constant", "N m/√W"),
    "motor-constant-per-mass": ("motor constant per mass", "N m/√W/kg"),
}

MANY = 2.0
"""Share from which on so many times are easier to read than a percentage."""

VISIBLE = 0.005
"""Share below which a change of the motor constant is not worth words."""

Kind = Literal["turns", "connection", "other"]


def percent(share: float) -> str:
    """Return a share as a signed percentage, as a multiple where it is large.

    >>> percent(0.1234), percent(-0.004), percent(1.5), percent(28.6)
    ('+12 %', '-0.4 %', '+150 %', '×29.6')
    """
    if share >= MANY:
        return f"×{1 + share:.3g}"
    number = 100 * share
    digits = 0 if abs(number) >= 9.5 else 1  # noqa: PLR2004  (two digits are enough)
    return f"{number:+.{digits}f} %"


def band(low: float, high: float) -> str:
    """Return a range of shares.

    >>> band(0.1, 0.2)
    '+10 to +20 %'
    """
    return f"{percent(low).removesuffix(' %')} to {percent(high)}"


def value_text(value: float, goal: Goal) -> str:
    """Return a goal's value with its unit."""
    return f"{value:.3g} {UNITS[goal][1]}"


def why(
    changes: Sequence[Change],
    base: Assessment,
    found: Assessment,
    *,
    goal: Goal,
    gain: Difference,
    verdict: Verdict,
) -> str:
    """Return why a change does what it does, from its numbers."""
    if not changes:
        return "the design as it is."
    parts = []
    kind = _kind(changes)
    if kind == "turns" and verdict in ("no-gain", "tied"):
        parts.append(EQUAL_COPPER)
    elif kind == "connection" and verdict in ("no-gain", "tied"):
        parts.append(CONNECTIONS)
    else:
        parts.append(_motor_constant(base, found, goal))
        parts.append(_limits(base, found, goal))
        parts.append(_softening(base, found))
    if verdict == "tied" and gain.own:
        causes = " and ".join(CAUSE_WORDS[cause] for cause in gain.own)
        parts.append(f"it may go either way, for {causes} may differ between the two")
    return "; ".join(part for part in parts if part) + "."


def _kind(changes: Sequence[Change]) -> Kind:
    keys = {change.key for change in changes}
    if keys == {"winding.turns_per_tooth"}:
        return "turns"
    return "connection" if keys == {"winding.connection"} else "other"


def _motor_constant(base: Assessment, found: Assessment, goal: Goal) -> str:
    before, after = base.level("motor-constant"), found.level("motor-constant")
    if before is None or after is None:
        return ""
    share = after.estimate.value / before.estimate.value - 1
    if abs(share) < VISIBLE:
        return "the motor constant stays"
    word = "more" if share > 0 else "less"
    loss = (before.estimate.value / after.estimate.value) ** 2 - 1
    copper = (
        f"{word} torque for each watt lost in the copper, {percent(loss)} loss at the same torque"
    )
    return copper if goal == "motor-constant" else f"motor constant {percent(share)}: {copper}"


def _limits(base: Assessment, found: Assessment, goal: Goal) -> str:
    before, after = base.level(goal), found.level(goal)
    if before is None or after is None:
        return ""
    if after.is_capped:
        return "supply and controller end the power before heat does"
    if after.part is None:
        return ""
    if before.part == after.part:
        return (
            f"the {after.part} give way first as before"
            if _plural(after.part)
            else (f"the {after.part} gives way first as before")
        )
    verb = "give" if _plural(after.part) else "gives"
    return f"now the {after.part} {verb} way first"


def _softening(base: Assessment, found: Assessment) -> str:
    """Return that another core softens at another temperature."""
    before, after = (one.design.motor.stator.core for one in (base, found))
    old, new = before.deflection_temperature_C, after.deflection_temperature_C
    if old == new:
        return ""
    if new is None:
        return f"{after.name} does not soften"
    if old is None:
        return f"{after.name} softens at {new:g} °C"
    return f"the core softens at {new:g} °C instead of {old:g} °C"


def _plural(part: str) -> bool:
    return part.endswith("s")


def next_limit(ranked: Sequence[ChangeResult], pairs: Sequence[PairResult], goal: Goal) -> str:
    """Return what limits the motor after the best pair, or the best single change."""
    best = pairs[0].both if pairs else ranked[0]
    if not pairs and (best.verdict != "gain"):
        return "no change in the catalogue moves the limit."
    first = f"After {best.title}"
    if best.value is not None:
        first += f" ({value_text(best.value, goal)})"
    if best.limiting_part is not None:
        verb = "give" if _plural(best.limiting_part) else "gives"
        first += f" the {best.limiting_part} {verb} way first"
    elif goal.endswith("power"):
        first += " supply and controller end the power"
    return f"{first}. {_sentence(best.limiter)}"


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def ranking_verdict(
    base: Assessment,
    ranked: Sequence[ChangeResult],
    pairs: Sequence[PairResult],
    goal: Goal,
) -> tuple[str, ...]:
    """Return the answer in sentences: what first, what with it, what does nothing."""
    words, level = UNITS[goal][0], base.level(goal)
    told = []
    gains = [one for one in ranked if one.verdict == "gain"]
    if level is not None:
        told.append(f"As it is: {value_text(level.estimate.value, goal)} {words}.")
    firsts: dict[str, ChangeResult] = {}
    for one in gains:
        firsts.setdefault(one.key, one)
    for place, one in zip(("Change first", "Then", "Then"), firsts.values(), strict=False):
        told.append(f"{place}: {_told(one, goal)}.")
    if not gains:
        told.append("No single change in the catalogue is sure to help.")
    if pairs:
        told.append(f"Best pair: {_told(pairs[0].both, goal)}; the two {_verb(pairs[0])}.")
    idle = [one for one in ranked if one.verdict == "no-gain" and one.key != "nothing"]
    if idle:
        names = "; ".join(one.title for one in idle[:3])
        told.append(f"No gain: {names}.")
    return tuple(told)


def _told(result: ChangeResult, goal: Goal) -> str:
    value = "" if result.value is None else f", {value_text(result.value, goal)}"
    if result.gain_fraction is None or result.low is None or result.high is None:
        return result.title
    span = band(result.low, result.high)
    return f"{result.title} ({percent(result.gain_fraction)}, {span}{value})"


def _verb(pair: PairResult) -> str:
    return pair.together if pair.together != "only together" else "only work together"


def why_different(
    best: Assessment, other: Assessment, *, goal: Goal, gain: Difference, verdict: Verdict
) -> str:
    """Return why one design stands where it does against the best."""
    parts = [_motor_constant(best, other, goal), _limits(best, other, goal)]
    parts.append(_softening(best, other))
    if gain.own:
        causes = " and ".join(CAUSE_WORDS[cause] for cause in gain.own)
        parts.append(f"what is not known of the {causes} is each one's own and widens the band")
    if verdict in ("tied", "no-gain"):
        parts.append("the two are not to be told apart")
    return "; ".join(part for part in parts if part) + "."


def comparison_verdict(
    candidates: Sequence[Candidate],
    differences: Sequence[Versus],
    *,
    order: Sequence[Assessment],
    goal: Goal,
) -> tuple[str, ...]:
    """Return who is best and by how much, in sentences."""
    titles = _titles(candidates)
    best = order[0]
    level = best.level(goal)
    if level is None:
        return ("None of the designs reaches the goal.",)
    span = level.estimate.headline("")
    unit = UNITS[goal][1]
    told = [
        (
            f"{titles[best.design.name]}: the most {UNITS[goal][0]}, "
            f"{value_text(level.estimate.value, goal)} ({span.low:.3g} to {span.high:.3g} {unit})."
        )
    ]
    for one in differences:
        name = titles[one.file]
        spread = f"{percent(one.gain_fraction)} ({band(one.low, one.high)})"
        if one.verdict == "no-gain":
            told.append(f"{name}: the same, {spread}.")
        elif one.verdict == "tied":
            told.append(f"{name}: tied with it, {spread}; the difference may go either way.")
        else:
            told.append(f"{name}: {spread} against it.")
    told.append(
        "The bands of the differences are narrower than those of the answers: cooling, hand "
        "winding and all else that is the same in both is not counted twice."
    )
    return tuple(told)


def _titles(candidates: Sequence[Candidate]) -> dict[str, str]:
    """Return what to call each file: its title, with the file where titles repeat."""
    titles = [one.title for one in candidates]
    return {
        one.file: one.title if titles.count(one.title) == 1 else f"{one.title} [{one.file}]"
        for one in candidates
    }
