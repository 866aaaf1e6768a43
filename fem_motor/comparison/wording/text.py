"""A comparison and a ranking as a terminal page: the answer first, then the numbers."""

import textwrap
from collections.abc import Iterator, Sequence

from fem_motor.comparison.records import (
    GOAL_NAMES,
    GOAL_WORDS,
    ChangeResult,
    Comparison,
    Cost,
    Goal,
    Ranking,
)
from fem_motor.comparison.wording.sentences import band, percent, value_text
from fem_motor.findings import Finding, Headline
from fem_motor.numbers import digits, split_name

WIDTH = 98
SHOWN = 12
"""Changes that are told with their reasons; the others in a line each."""

LABELS = {
    "continuous_shaft_power_W": ("shaft power for good", "W", 1.0),
    "shaft_power_for_60_s_W": ("shaft power for 60 s from cold", "W", 1.0),
    "full_throttle_shaft_power_W": ("shaft power, full throttle", "W", 1.0),
    "full_throttle_speed_rpm": ("speed, full throttle", "rpm", 1.0),
    "full_throttle_thrust_N": ("thrust, full throttle", "N", 1.0),
    "full_throttle_supply_current_A": ("supply current, full throttle", "A", 1.0),
    "full_throttle_efficiency": ("efficiency, full throttle", "%", 100.0),
    "seconds_to_soften_core": ("core soft after, full throttle", "s", 1.0),
    "motor_constant_Nm_per_sqrtW": ("motor constant", "mN m/√W", 1e3),
    "motor_constant_per_mass_Nm_per_sqrtW_kg": ("motor constant per mass", "mN m/√W/kg", 1e3),
    "continuous_standstill_torque_Nm": ("torque at standstill for good", "mN m", 1e3),
    "cogging_peak_to_peak_Nm": ("cogging, peak to peak", "mN m", 1e3),
    "ripple_peak_to_peak_fraction": ("torque ripple, peak to peak", "%", 100.0),
    "mass_kg": ("mass of what the design decides", "g", 1e3),
}
"""Answers in the order shown: words, unit, and what the value is multiplied by for it."""

HOLD_WORDS = {
    "as-drawn": "each as its file says",
    "supply-and-load": "same supply and load, each at the turns that suit it in its own copper",
}


def decision_text(result: Comparison | Ranking) -> str:
    """Return a comparison or a ranking as lines of at most 98 columns, no final newline."""
    return ranking_text(result) if isinstance(result, Ranking) else comparison_text(result)


def comparison_text(comparison: Comparison) -> str:
    """Return the comparison as lines of at most 98 columns, no final newline."""
    letters = dict(zip((one.file for one in comparison.candidates), _letters(), strict=False))
    lines = [f"By {GOAL_WORDS[comparison.goal]}"]
    lines += [f"  {HOLD_WORDS[comparison.hold]}; mesh {comparison.quality}", ""]
    for one in comparison.candidates:
        lines += _wrapped(f"{one.title} ({one.file})", f"  {letters[one.file]}  ", "     ")
    lines += ["", "Verdict"]
    for sentence in comparison.verdict:
        lines += _wrapped(sentence, "  ", "    ")
    lines += ["", "Held equal", *_held(comparison)]
    lines += ["", *_answers(comparison, list(letters.values()))]
    lines += ["", "Why"]
    for versus in comparison.differences:
        head = f"  {letters[versus.file]} against {letters[versus.of]}: "
        lines += _wrapped(versus.why, head, "    ")
    for one in comparison.candidates:
        lines += _wrapped(_sentence(one.limiter), f"  {letters[one.file]}: ", "    ")
    reasons: dict[str, list[str]] = {}
    for one in comparison.candidates:
        if GOAL_NAMES[comparison.goal] in one.answers:
            because = one.answers[GOAL_NAMES[comparison.goal]].because
            reasons.setdefault(because, []).append(letters[one.file])
    lines += ["", "How far to trust the ranges"]
    for reason, whose in reasons.items():
        lines += _wrapped(f"{', '.join(whose)}: {reason}.", "  ", "    ")
    lines += list(_findings(comparison.findings))
    return "\n".join(lines)


def _letters() -> Iterator[str]:
    yield from "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    number = 27
    while True:
        yield str(number)
        number += 1


def _held(comparison: Comparison) -> Iterator[str]:
    for row in comparison.held_equal:
        text = f"{row.status}: {' | '.join(row.values)}"
        yield from _wrapped(text, f"  {row.what:<20}", " " * 22)
        if row.why:
            yield from _wrapped(f"({row.why})", " " * 22)


def _answers(comparison: Comparison, letters: Sequence[str]) -> Iterator[str]:
    width = max(10, min(20, (WIDTH - 44) // max(1, len(letters))))
    yield f"{'Answers':<44}" + "".join(f"{letter:>{width}}" for letter in letters)
    for label, cells, spans in answer_rows(comparison):
        yield f"  {label:<42}" + "".join(f"{cell:>{width}}" for cell in cells)
        if any(spans):
            yield " " * 44 + "".join(f"{span:>{width}}" for span in spans)


def answer_rows(
    comparison: Comparison,
) -> Iterator[tuple[str, tuple[str, ...], tuple[str, ...]]]:
    """Yield each answer: words with unit, then value and range of every candidate in that unit."""
    for name, (words, unit, factor) in LABELS.items():
        found = [one.answers.get(name) for one in comparison.candidates]
        if any(answer is not None for answer in found):
            cells = tuple(_cell(one, factor) for one in found)
            yield f"{words}, {unit}", cells, tuple(_span(one, factor) for one in found)


def _cell(answer: Headline | None, factor: float) -> str:
    if answer is None:
        return "not computed"
    if answer.value is None:
        return "never" if "never" in answer.because or "no plastic" in answer.because else "-"
    return digits(answer.value * factor)


def _span(answer: Headline | None, factor: float) -> str:
    if answer is None or answer.value is None or answer.low is None or answer.high is None:
        return ""
    return f"{digits(answer.low * factor, 3)} to {digits(answer.high * factor, 3)}"


def ranking_text(ranking: Ranking) -> str:
    """Return the ranking as lines of at most 98 columns, no final newline."""
    lines = [*_wrapped(ranking.title), f"By {ranking.goal_words}"]
    lines += [f"  {HOLD_WORDS[ranking.hold]}", "", "What to change first"]
    for sentence in ranking.verdict:
        lines += _wrapped(sentence, "  ", "    ")
    lines += _wrapped(ranking.next_limit, "  ", "    ")
    lines += ["", "Single changes, best first: gain, its range, what it comes to"]
    if ranking.quality != ranking.screening_quality:
        lines.append(f"  mesh {ranking.quality}; with *: {ranking.screening_quality}")
    told = ranking.changes[:SHOWN]
    for one in told:
        lines += _change(one, ranking)
    if ranking.changes[SHOWN:]:
        lines += ["", "The others", *_others(ranking)]
    lines += list(_pairs(ranking))
    lines += list(_refused(ranking))
    lines += ["", "How far to trust the ranges"]
    base = ranking.base.get(GOAL_NAMES[ranking.goal])
    if base is not None:
        lines += _wrapped(f"The design itself: {base.because}.", "  ", "    ")
    shared = (
        "A gain's range moves what is the same in both designs (cooling, hand winding, magnets of "
        "one grade, core of one material) in both at once; what is each one's own is at its worst."
    )
    lines += _wrapped(shared, "  ", "    ")
    lines += list(_findings(ranking.findings))
    return "\n".join(lines)


def _change(one: ChangeResult, ranking: Ranking) -> Iterator[str]:
    yield from _line(one, ranking)
    if one.key == "nothing":
        return
    if one.cost is not None:
        yield from _wrapped(f"costs: {cost_text(one.cost)}", " " * 4, " " * 11)
    slope = slope_words(one)
    if slope:
        yield from _wrapped(f"slope: {slope}", " " * 4, " " * 11)
    also = {key: value for key, value in one.also.items() if value is not None}
    if also:
        text = ", ".join(f"{key} = {_value(value)}" for key, value in also.items())
        yield from _wrapped(f"with:  {text}", " " * 4, " " * 11)
    yield from _wrapped(f"why:   {one.why}", " " * 4, " " * 11)


def slope_words(one: ChangeResult) -> str:
    """Return how steep the goal is along a number that changes alone, empty where none does."""
    if one.gain_per_unit is None:
        return ""
    name, unit = split_name(one.key.partition(".")[2])
    if unit:
        return f"{100 * one.gain_per_unit:+.2g} % for each {unit} of {name}"
    if isinstance(one.to_value, int):
        return f"{100 * one.gain_per_unit:+.2g} % for each one more of {name}"
    return f"{10 * one.gain_per_unit:+.2g} % for each 0.1 of {name}"


def _value(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else f"{value}"


def _others(ranking: Ranking) -> Iterator[str]:
    for one in ranking.changes[SHOWN:]:
        yield from _line(one, ranking)


def _line(one: ChangeResult, ranking: Ranking) -> Iterator[str]:
    if one.gain_fraction is None or one.low is None or one.high is None:
        yield from _wrapped(f"{one.title}: {one.why}", "  not computed  ", " " * 16)
        return
    span = f"({band(one.low, one.high)})"
    value = "" if one.value is None else value_text(one.value, ranking.goal)
    head = f"  {one.verdict or '':<8}{percent(one.gain_fraction):>8} {span:<22}{value:>9}  "
    mark = "" if one.quality == ranking.quality else " *"
    yield from _wrapped(f"{one.title}{mark}", head, " " * len(head))


def gain_words(one: ChangeResult, goal: Goal) -> tuple[str, str, str, str]:
    """Return gain, its range, what the goal comes to, and the costs of a change, in words."""
    costs = "" if one.cost is None else cost_text(one.cost)
    value = "" if one.value is None else value_text(one.value, goal)
    if one.gain_fraction is None or one.low is None or one.high is None:
        return "not computed", "", value, costs
    return percent(one.gain_fraction), band(one.low, one.high), value, costs


def cost_text(cost: Cost) -> str:
    """Return what a change costs, in words; nothing where it costs nothing."""
    parts = []
    if cost.cogging_peak_to_peak_Nm is not None:
        parts.append(f"cogging {1e3 * cost.cogging_peak_to_peak_Nm:+.2g} mN m")
    if cost.ripple_peak_to_peak_fraction is not None:
        parts.append(f"ripple {100 * cost.ripple_peak_to_peak_fraction:+.1f} points")
    parts.append(f"mass {1e3 * cost.mass_kg:+.0f} g")
    for name, value in (("diameter", cost.outer_diameter_mm), ("stack", cost.length_mm)):
        if abs(value) >= 0.05:  # noqa: PLR2004  (mm: what a rule shows)
            parts.append(f"{name} {value:+.1f} mm")
    if cost.money is not None:
        parts.append(f"money {cost.money:+.2f} {cost.currency}")
    elif cost.money_missing:
        parts.append(f"money not known (no price of {', '.join(cost.money_missing)})")
    return ", ".join(parts)


def _pairs(ranking: Ranking) -> Iterator[str]:
    yield ""
    if not ranking.pairs:
        yield "Pairs: none is noticeably better than its better half"
        return
    yield "Pairs that beat their better half"
    for pair in ranking.pairs:
        yield from _line(pair.both, ranking)
        alone = [
            "cannot be built alone" if one.gain_fraction is None else percent(one.gain_fraction)
            for one in (pair.first, pair.second)
        ]
        text = f"alone {' and '.join(alone)}: the two {_together(pair.together)}"
        if pair.both.cost is not None:
            text += f"; costs: {cost_text(pair.both.cost)}"
        yield from _wrapped(text, " " * 4, " " * 6)


def _together(word: str) -> str:
    return "work only together" if word == "only together" else word


def _refused(ranking: Ranking) -> Iterator[str]:
    if not ranking.refused:
        return
    yield ""
    yield "Not possible alone"
    for one in ranking.refused:
        yield from _wrapped(f"{one.title}: {one.why}", "  ", "    ")


def _findings(findings: Sequence[Finding]) -> Iterator[str]:
    for finding in findings:
        yield ""
        for line in str(finding).split("\n"):
            yield from _wrapped(line, "", "       ")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    after = first if rest is None else rest
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=after)
