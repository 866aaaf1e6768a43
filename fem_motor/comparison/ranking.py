"""What to change first: single changes, pairs, and what limits the motor after them."""

import difflib
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from importlib.metadata import version

from fem_motor.batch import ResultStore
from fem_motor.comparison.assessing.assessment import Assessment
from fem_motor.comparison.assessing.goals import chosen_goal, refuse_unknown_goal
from fem_motor.comparison.assessing.pool import Bench, executor_of
from fem_motor.comparison.changes.catalogue import LIMITS, Change, single_changes
from fem_motor.comparison.changes.prices import Prices
from fem_motor.comparison.pairs import best_pairs
from fem_motor.comparison.records import (
    GOAL_NAMES,
    GOAL_WORDS,
    ChangeResult,
    Goal,
    Hold,
    PairResult,
    Quality,
    Ranking,
    Refusal,
)
from fem_motor.comparison.trying import Setting, Tried, best_first, built, result_of, typed_value
from fem_motor.comparison.wording import sentences
from fem_motor.design import MotorDesign
from fem_motor.errors import InputError
from fem_motor.findings import Finding
from fem_motor.progress import OnStage, ignore

FINALISTS = 6
"""Changes computed again on the better mesh."""


def rank(
    design: MotorDesign,
    *,
    goal: Goal = "continuous-power",
    hold: Hold = "supply-and-load",
    quality: Quality = "standard",
    prices: Prices | None = None,
    keep: Sequence[str] = (),
    workers: int = 1,
    store: ResultStore | None = None,
    on_step: OnStage = ignore,
) -> Ranking:
    """Return single changes and pairs of them by what they do for a goal, best first.

    All changes are computed on a draft mesh, the best and doing nothing again at `quality`; each
    says which. Where the goal cannot be had (no load, say) another one is taken, and a finding
    says so.

    Parameters
    ----------
    design : MotorDesign
    goal : Goal
        A key of `GOAL_WORDS`.
    hold : "as-drawn" or "supply-and-load"
        "supply-and-load": each design at the turns that suit the load, at its copper area.
    quality : "draft", "standard" or "fine"
    prices : fem_motor.comparison.Prices, optional
        For the cost in money.
    keep : sequence of str
        Keys that must stay as they are.
    workers : int
        Processes. Above 1 a script needs the usual ``if __name__ == "__main__":``.
    store : fem_motor.batch.ResultStore, optional
        Keeps what is computed: a ranking that was interrupted goes on where it stopped.
    on_step : callable
        Called with (done, of, stage).

    Raises
    ------
    InputError
        Where the goal is not known, or `keep` names no key of the catalogue.
    FemMotorError
        Where the design itself cannot be computed.

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> magnets = [f"rotor.magnet{part}" for part in ("", "_layout", "_thickness_mm", "_width_mm")]
    >>> kept = ["machine", "stator", "winding", *magnets]
    >>> found = fm.rank(design, quality="draft", goal="motor-constant", keep=kept)
    >>> [change.title for change in found.changes if change.verdict == "gain"][-1]
    'steel ring of 1 mm behind the magnets'
    """
    refuse_unknown_goal(goal)
    _refuse_unknown_keys(keep)
    with executor_of(workers) as executor:
        bench = Bench(hold=hold, executor=executor, store=store, on_step=on_step)
        setting = Setting(design=design, goal=goal, prices=prices, bench=bench)
        return _ranked(setting, quality, keep)


def _ranked(setting: Setting, quality: Quality, keep: Sequence[str]) -> Ranking:
    wanted = [change for change in single_changes(setting.design) if not _touches(change, keep)]
    tried, refused = built(setting, [(change,) for change in wanted])
    nothing = Tried(changes=(), design=setting.design)
    # Those that only alter winding, length or use share their fields with doing nothing.
    stage = "single changes"
    first, *screened = setting.assessed([nothing, *tried], "draft", stage, first="needed")
    bases: dict[Quality, Assessment] = {"draft": _computed(first)}
    asked, goal = setting.goal, chosen_goal(bases["draft"], setting.goal)[0]
    setting = replace(setting, goal=goal)
    results = {one.changes: result_of(setting, bases["draft"], one) for one in screened}
    best = best_first(results)
    if quality != "draft":
        again = [one for one in tried if one.changes in best[:FINALISTS]]
        first, *better = setting.assessed([nothing, *again], quality, "best changes again")
        bases[quality] = _computed(first)
        for one in better:
            results[one.changes] = result_of(setting, bases[quality], one)
    pairs = best_pairs(setting, bases, quality, results, [change for change, _ in refused])
    return _ranking(
        setting,
        bases[quality],
        results=results,
        pairs=pairs,
        refused=refused,
        findings=chosen_goal(bases[quality], asked)[1],
    )


def _refuse_unknown_keys(keep: Sequence[str]) -> None:
    unknown = [key for key in keep if not any(_is_under(known, key) for known in LIMITS)]
    if unknown:
        near = difflib.get_close_matches(unknown[0], LIMITS, n=1)
        raise InputError(
            f'= "{unknown[0]}" is nothing that would be changed.',
            why=f"looked at are {', '.join(LIMITS)}.",
            do=f'did you mean "{near[0]}"?' if near else "name one of them, or a section.",
            place="keep",
        )


def _is_under(key: str, given: str) -> bool:
    return key == given or key.startswith(f"{given}.")


def _touches(change: Change, keep: Sequence[str]) -> bool:
    return any(_is_under(key, kept) for key in change.settings for kept in keep)


def _computed(tried: Tried) -> Assessment:
    if isinstance(tried.assessment, Assessment):
        return tried.assessment
    raise tried.assessment or AssertionError


def _ranking(
    setting: Setting,
    base: Assessment,
    *,
    results: Mapping[tuple[Change, ...], ChangeResult],
    pairs: list[PairResult],
    refused: Sequence[tuple[Change, str]],
    findings: tuple[Finding, ...],
) -> Ranking:
    doing_nothing = result_of(
        setting, base, Tried(changes=(), design=setting.design, assessment=base)
    )
    ranked = sorted(
        [*results.values(), doing_nothing],
        key=lambda one: -(one.gain_fraction if one.gain_fraction is not None else -math.inf),
    )
    level = base.level(setting.goal)
    return Ranking(
        version=version("fem_motor"),
        quality=base.quality,
        screening_quality="draft",
        title=setting.design.title,
        file=setting.design.name,
        goal=setting.goal,
        goal_words=GOAL_WORDS[setting.goal],
        hold=setting.bench.hold,
        base={GOAL_NAMES[one.goal]: one.estimate.headline(base.because) for one in base.levels},
        base_limiting_part=None if level is None else level.part,
        base_limiter=base.limiter,
        changes=tuple(ranked),
        pairs=tuple(pairs),
        refused=tuple(
            Refusal(
                key=change.key,
                title=change.title,
                from_value=typed_value(setting.design, change.key),
                to_value=change.to_value,
                why=why,
            )
            for change, why in refused
        ),
        limits=LIMITS,
        next_limit=sentences.next_limit(ranked, pairs, setting.goal),
        verdict=sentences.ranking_verdict(base, ranked, pairs, setting.goal),
        findings=(*findings, *_money_findings(setting, results.values())),
    )


def _money_findings(setting: Setting, results: Iterable[ChangeResult]) -> tuple[Finding, ...]:
    """Return why a cost in money is left out, where it is."""
    if setting.prices is None:
        return (
            Finding(
                name="cost in money",
                status="ok",
                why="no prices were given, so money is left out.",
                do="give a list of prices with --prices FILE.",
            ),
        )
    costs = [result.cost for result in results if result.cost is not None]
    missing = sorted({name for cost in costs for name in cost.money_missing})
    if not missing:
        return ()
    return (
        Finding(
            name="cost in money",
            status="watch",
            why=f"no price of {', '.join(missing)} is given, so changes that need it show none.",
            do="add them under [per_kg], [per_piece] or [per_m].",
        ),
    )
