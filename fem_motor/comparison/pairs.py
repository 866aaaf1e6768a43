"""Two changes at once: what adds up, what gets in the way, what only works together."""

import math
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Literal

from fem_motor.comparison.assessing.assessment import Assessment
from fem_motor.comparison.changes.catalogue import Change
from fem_motor.comparison.records import ChangeResult, PairResult, Quality
from fem_motor.comparison.trying import (
    NOTICEABLE,
    Setting,
    best_first,
    built,
    plain_result,
    result_of,
)

FINALISTS, PAIRED, PAIRS_KEPT, RESCUED = 3, 8, 8, 6
"""Pairs computed again on the better mesh; changes that are paired; pairs shown; changes tried
with another one because they cannot be built alone."""

ADDS_UP = 0.02
"""Share of the goal within which two gains count as adding up; ours."""


def best_pairs(
    setting: Setting,
    bases: Mapping[Quality, Assessment],
    quality: Quality,
    results: Mapping[tuple[Change, ...], ChangeResult],
    refused: Sequence[Change],
) -> list[PairResult]:
    """Return the best pairs: of changes that help, and of those that only work together."""
    helpful = _best_of_each_key(results)[:PAIRED]
    couples = [(a, b) for a, b in combinations(helpful, 2) if not set(a.settings) & set(b.settings)]
    rescued = _rescued(setting, results, refused)
    tried, _ = built(setting, [*couples, *rescued])
    screened = setting.assessed(tried, "draft", "pairs of changes")
    found = {one.changes: result_of(setting, bases["draft"], one) for one in screened}
    if quality != "draft":
        best = best_first(found)[:FINALISTS]
        again = [one for one in tried if one.changes in best]
        for one in setting.assessed(again, quality, "best pairs again"):
            found[one.changes] = result_of(setting, bases[quality], one)
    alone = {key[0]: result for key, result in results.items()}
    pairs = [_pair(setting, alone, key, found[key]) for key in best_first(found)]
    return [pair for pair in pairs if _beats_its_parts(pair)][:PAIRS_KEPT]


def _beats_its_parts(pair: PairResult) -> bool:
    """Return whether both changes together do noticeably more than either alone."""
    alone = [one.gain_fraction for one in (pair.first, pair.second)]
    best = max([0.0, *(gain for gain in alone if gain is not None)])
    return _is_worth(pair.both) and (pair.both.gain_fraction or 0.0) > best + NOTICEABLE


def _is_worth(result: ChangeResult) -> bool:
    return result.verdict in ("gain", "tied") and (result.gain_fraction or 0.0) > 0


def _best_of_each_key(results: Mapping[tuple[Change, ...], ChangeResult]) -> list[Change]:
    """Return for each key the change that helps most, best first, if it may help at all."""
    seen: dict[str, Change] = {}
    for changes in best_first(results):
        if _is_worth(results[changes]):
            seen.setdefault(changes[0].key, changes[0])
    return list(seen.values())


def _rescued(
    setting: Setting,
    results: Mapping[tuple[Change, ...], ChangeResult],
    refused: Sequence[Change],
) -> list[tuple[Change, Change]]:
    """Return changes that cannot be built alone with others that make room for them."""
    found = []
    for change in refused:
        if change.why_not:
            continue
        for (other,) in best_first(results):
            if set(change.settings) & set(other.settings):
                continue
            if built(setting, [(change, other)])[0]:
                found.append((change, other))
                break
    return found[:RESCUED]


def _pair(
    setting: Setting,
    alone: Mapping[Change, ChangeResult],
    changes: tuple[Change, ...],
    both: ChangeResult,
) -> PairResult:
    first, second = (alone.get(one) or plain_result(setting.design, [one]) for one in changes)
    return PairResult(
        first=first, second=second, both=both, together=_together(first, second, both)
    )


def _together(
    first: ChangeResult, second: ChangeResult, both: ChangeResult
) -> Literal["add up", "help each other", "get in each other's way", "only together"]:
    if first.gain_fraction is None or second.gain_fraction is None:
        return "only together"
    product = (1 + first.gain_fraction) * (1 + second.gain_fraction)
    more = math.log((1 + (both.gain_fraction or 0.0)) / product)
    if abs(more) <= ADDS_UP:
        return "add up"
    return "help each other" if more > 0 else "get in each other's way"
