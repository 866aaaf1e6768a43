"""Changes made, assessed, and held against the design as it is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fem_motor.comparison.assessing.assessment import Assessment, outer_diameter_mm
from fem_motor.comparison.assessing.estimates import Difference, difference, shared_causes
from fem_motor.comparison.assessing.pool import Bench, First
from fem_motor.comparison.changes.building import Turns, changed
from fem_motor.comparison.changes.catalogue import Change
from fem_motor.comparison.changes.prices import Money, Prices, money_between, one_magnet, purchases
from fem_motor.comparison.records import ChangeResult, Cost, Goal, Quality, Verdict
from fem_motor.comparison.wording import sentences
from fem_motor.design import MotorDesign
from fem_motor.errors import DesignError, FemMotorError
from fem_motor.toml_file import is_number
from fem_motor.units import MM

NOTICEABLE = 0.01
"""Share of a goal below which nobody notices a change; ours."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tried:
    """Changes, the design they make, and what it can do."""

    changes: tuple[Change, ...]
    design: MotorDesign
    assessment: Assessment | FemMotorError | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Setting:
    """What a ranking is made with."""

    design: MotorDesign
    goal: Goal
    prices: Prices | None
    bench: Bench

    @property
    def turns(self) -> Turns:
        """Whether slots of another size may be filled with other turns."""
        return "as drawn" if self.bench.hold == "as-drawn" else "free"

    def assessed(
        self,
        tried: Sequence[Tried],
        quality: Quality,
        stage: str,
        *,
        first: First = "like the others",
    ) -> list[Tried]:
        """Return the same with what they can do, as `Bench.assessed`."""
        designs = [one.design for one in tried]
        found = self.bench.assessed(designs, quality=quality, stage=stage, first=first)
        return [replace(one, assessment=each) for one, each in zip(tried, found, strict=True)]


def built(
    setting: Setting, several: Sequence[tuple[Change, ...]]
) -> tuple[list[Tried], list[tuple[Change, str]]]:
    """Return what can be built, and the (first) changes of what cannot with the reason."""
    tried, refused = [], []
    for changes in several:
        try:
            design = changed(setting.design, changes, turns=setting.turns)
        except DesignError as error:
            first = error.problems[0]
            refused.append((changes[0], first.why or first.what))
            continue
        if design != setting.design:
            tried.append(Tried(changes=changes, design=design))
    return tried, refused


def result_of(setting: Setting, base: Assessment, tried: Tried) -> ChangeResult:
    """Return what changes do, against the base on the same mesh quality."""
    plain = plain_result(setting.design, tried.changes)
    found, before = tried.assessment, base.level(setting.goal)
    if not isinstance(found, Assessment):
        why = str(found.problems[0].what) if found is not None else ""
        return replace(plain, why=f"could not be computed: {why}")
    level = found.level(setting.goal)
    if level is None or before is None:
        return replace(plain, why="the goal cannot be reached at all with this change.")
    shared = shared_causes(base.design, found.design)
    gain = difference(before.estimate, level.estimate, shared=shared)
    verdict = verdict_of(gain)
    return replace(
        plain,
        gain_fraction=gain.gain,
        low=gain.low,
        high=gain.high,
        gain_per_unit=_per_unit(plain, gain.gain),
        value=level.estimate.value,
        other_gains=_other_gains(setting.goal, base, found),
        cost=cost_of(base, found, setting.prices),
        verdict=verdict,
        why=sentences.why(
            tried.changes, base, found, goal=setting.goal, gain=gain, verdict=verdict
        ),
        limiting_part=level.part,
        limiter=found.limiter,
        quality=found.quality,
    )


def _per_unit(plain: ChangeResult, gain: float) -> float | None:
    before, after = plain.from_value, plain.to_value
    if plain.also or not is_number(before) or not is_number(after) or before == after:
        return None
    return gain / (float(after) - float(before))


def verdict_of(gain: Difference) -> Verdict:
    """Return the word for a difference.

    no-gain: nothing noticeable either way; gain and loss: the whole band on one side of 0; tied:
    the band holds both.
    """
    if gain.low >= -NOTICEABLE and gain.high <= NOTICEABLE:
        return "no-gain"
    if gain.low > 0:
        return "gain"
    return "loss" if gain.high < 0 else "tied"


def plain_result(design: MotorDesign, changes: Sequence[Change]) -> ChangeResult:
    """Return what changes are, without numbers."""
    if not changes:
        return ChangeResult(key="nothing", from_value=None, to_value=None, title="change nothing")
    first = changes[0]
    also = {key: value for change in changes for key, value in change.settings.items()}
    also.pop(first.key)
    return ChangeResult(
        key=" and ".join(dict.fromkeys(change.key for change in changes)),
        from_value=typed_value(design, first.key) if len(changes) == 1 else None,
        to_value=first.to_value if len(changes) == 1 else None,
        title=" and ".join(change.title for change in changes),
        also=also if len(changes) == 1 else {first.key: first.to_value, **also},
    )


def typed_value(design: MotorDesign, key: str) -> object:
    """Return what the design has under ``section.key``."""
    section, name = key.split(".")
    value: object = design.values[section][name]
    return value


def _other_gains(goal: Goal, base: Assessment, found: Assessment) -> Mapping[Goal, float]:
    gains: dict[Goal, float] = {}
    for level in found.levels:
        before = base.level(level.goal)
        if before is not None and level.goal != goal:
            gains[level.goal] = level.estimate.value / before.estimate.value - 1
    return gains


def cost_of(base: Assessment, found: Assessment, prices: Prices | None) -> Cost:
    """Return what `found` costs over `base`."""
    old, new = base.design.motor, found.design.motor
    money = Money(value=None) if prices is None else money_of(base, found, prices)
    return Cost(
        cogging_peak_to_peak_Nm=_less(found.cogging.value, base.cogging.value),
        ripple_peak_to_peak_fraction=_less(found.ripple, base.ripple),
        mass_kg=found.masses.total - base.masses.total,
        outer_diameter_mm=outer_diameter_mm(found.design) - outer_diameter_mm(base.design),
        length_mm=(new.stack_length - old.stack_length) / MM,
        money=money.value,
        currency=None if prices is None else prices.currency,
        money_missing=money.missing,
    )


def money_of(base: Assessment, found: Assessment, prices: Prices) -> Money:
    """Return what `found` costs more; magnets by the piece are those of `base`."""
    unit = one_magnet(base.design, base.masses)
    before, after = (
        purchases(one.design, one.masses, wire_length=one.wire_length, magnet_mass=unit)
        for one in (base, found)
    )
    return money_between(before, after, prices)


def _less(value: float | None, other: float | None) -> float | None:
    return None if value is None or other is None else value - other


def best_first(results: Mapping[tuple[Change, ...], ChangeResult]) -> list[tuple[Change, ...]]:
    """Return the changes by gain, best first, only those with a number."""
    known = [key for key, result in results.items() if result.gain_fraction is not None]
    return sorted(known, key=lambda key: -(results[key].gain_fraction or 0.0))
