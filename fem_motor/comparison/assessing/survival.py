"""The power along the load's line that every part survives, and what doubts do to it."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache, partial
from typing import Literal

from fem_motor.comparison.assessing.estimates import SURE, Doubts, Estimate, Ratios
from fem_motor.comparison.assessing.solved import Solved
from fem_motor.comparison.assessing.tuning import TurnsOfOneMotor, matched_supply, with_turns
from fem_motor.comparison.records import Goal, Hold
from fem_motor.drive import OperatingPoint
from fem_motor.findings import Headline
from fem_motor.heat import ThermalNetwork, load_limit, thermal_network
from fem_motor.powered import LoadLine, PoweredMotor, powered_motor

STEP = 0.05
"""Change of the flux from which its effect on a goal is taken; doubts are about as large."""

FAR_BEYOND = 30.0
"""Times the power of full throttle up to which heat is looked at where turns are free."""

ROUNDS = 3
"""Times that turns are looked for while no part is at its limit."""

BURST_S = 60.0

NEARLY_NOTHING = 1e-6
"""Of a power: what a motor that no longer turns its load counts as."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Level:
    """One goal of one design.

    Attributes
    ----------
    goal : Goal
    estimate : Estimate
    part : str or None
        What is at its limit; None: nothing, or the goal knows no limit.
    is_capped : bool
        By full throttle, not by heat.
    turns_factor : float or None
        On the design's turns, at its copper area: full throttle then gives just that much.
    """

    goal: Goal
    estimate: Estimate
    part: str | None = None
    is_capped: bool = False
    turns_factor: float | None = None


def ends_over_value(level: Headline) -> Ratios:
    """Return the ends of a range over its value."""
    if not level.value or not level.low or not level.high:
        return SURE
    return level.low / level.value, level.high / level.value


@dataclass(frozen=True, slots=True, kw_only=True)
class _Borne:
    """A power along the load's line, W, the part at its limit there, what cooling makes of it."""

    power: float
    part: str | None = None
    cooling: Ratios = SURE


@dataclass(frozen=True, kw_only=True, eq=False)
class _Question:
    """How much power a design bears along its load's line, and what doubts do to it.

    Attributes
    ----------
    solved : Solved
    network : ThermalNetwork
    turns : TurnsOfOneMotor
    varied : callable
        The motor with its flux times a factor.
    hold : "as-drawn" or "supply-and-load"
    seconds : float or None
        From cold; None: for good.
    turns_factor : float
        On the turns, at the same copper area.
    """

    solved: Solved
    network: ThermalNetwork
    turns: TurnsOfOneMotor
    varied: Callable[[float], PoweredMotor]
    hold: Hold
    seconds: float | None
    turns_factor: float = 1.0

    def answer(
        self, *, spread: Literal["corners", "none"], flux: float = 1.0, ohms: float = 1.0
    ) -> _Borne:
        """Return the power with the flux and the resistance of the coils times factors."""
        powered, point = self._at_full_throttle(flux, ohms)
        if not point.shaft_power or point.shaft_power <= 0:
            return _Borne(power=0.0)
        beyond = 1.0 if self.hold == "as-drawn" else FAR_BEYOND
        line = LoadLine(powered, point, beyond=beyond)
        found = load_limit(
            self.network, line.heating, highest=line.highest, seconds=self.seconds, spread=spread
        )
        return _Borne(
            power=found.level.value or 0.0, part=found.part, cooling=ends_over_value(found.level)
        )

    def _at_full_throttle(self, flux: float, ohms: float) -> tuple[PoweredMotor, OperatingPoint]:
        powered = self.solved.powered if flux == 1 else self.varied(flux)
        if ohms != 1:
            losses = powered.losses
            resistance = ohms * losses.branch_resistance
            powered = replace(powered, losses=replace(losses, branch_resistance=resistance))
        powered = with_turns(powered, self.turns_factor)
        if flux == ohms == 1:
            return powered, self.turns.point(self.turns_factor)
        if self.hold == "as-drawn":
            return powered, powered.at_load()
        # Where turns are free, full throttle only tells what a torque loses in the copper: with
        # more flux it takes less current, in the same shape.
        return powered, _with_copper_loss(self.turns.point(self.turns_factor), ohms / flux**2)

    def doubts(self, found: _Borne) -> Doubts:
        """Return what flux, resistance and cooling can make of the power.

        Flux and resistance are moved by a step either way, and the effect taken as a power law.
        """

        def ratio(*, flux: float = 1.0, ohms: float = 1.0) -> float:
            power = self.answer(spread="none", flux=flux, ohms=ohms).power
            return max(power / found.power, NEARLY_NOTHING)

        slopes = [math.log(ratio(flux=1 + by)) / math.log(1 + by) for by in (-STEP, STEP)]
        flux = {
            cause: (ends[0] ** slopes[ends[0] > 1], ends[1] ** slopes[ends[1] > 1])
            for cause, ends in self.solved.flux.items()
        }
        low, high = self.solved.resistance
        winding = ratio(ohms=low), ratio(ohms=high)
        return Doubts(**flux, winding=winding, cooling=found.cooling)


def surviving_powers(solved: Solved, point: OperatingPoint, hold: Hold) -> Iterator[Level]:
    """Yield the powers along the load's line that every part survives."""
    powered = solved.powered
    network = thermal_network(powered.motor, powered.winding, speed=point.speed or 0.0)
    turns = TurnsOfOneMotor(powered, point)
    varied = cache(partial(_with_flux, powered))
    goals: tuple[tuple[Goal, float | None], ...] = (
        ("continuous-power", None),
        ("60-s-power", BURST_S),
    )
    for goal, seconds in goals:
        question = _Question(
            solved=solved, network=network, turns=turns, varied=varied, hold=hold, seconds=seconds
        )
        most = math.inf
        if hold == "supply-and-load":
            question, most = _at_its_turns(question)
        found = question.answer(spread="corners")
        if found.power > 0:
            level = Level(
                goal=goal,
                estimate=Estimate(value=found.power, doubts=question.doubts(found)),
                part=found.part,
                is_capped=found.part is None,
                turns_factor=question.turns_factor,
            )
            yield _bounded(level, most)


def _at_its_turns(question: _Question) -> tuple[_Question, float]:
    """Return the question at the turns that suit its answer, and the most there is in W.

    Again where full throttle with the first turns is so far from heat that none is in sight.
    """
    most = math.inf
    for _ in range(ROUNDS):
        found = question.answer(spread="none")
        if found.power <= 0:
            break
        match = matched_supply(question.turns, wanted=found.power)
        most, question = match.most, replace(question, turns_factor=match.turns_factor)
        if found.part is not None:
            break
    return question, most


def _bounded(level: Level, most: float) -> Level:
    """Return the level with no more than supply and controller can bring, whatever the turns."""
    if most >= level.estimate.value:
        return level
    # Other turns make up for what is not known of flux and resistance; heat is not at its limit.
    estimate = Estimate(value=most, doubts=Doubts(mesh=level.estimate.doubts.mesh))
    return replace(level, estimate=estimate, part=None, is_capped=True)


def _with_flux(powered: PoweredMotor, flux: float) -> PoweredMotor:
    """Return the motor with another flux of its magnets."""
    factor = powered.end_factor * flux
    return powered_motor(powered.motor, powered.winding, powered.model, end_factor=factor)


def _with_copper_loss(point: OperatingPoint, factor: float) -> OperatingPoint:
    """Return the same torque and speed with another loss in the copper."""
    if point.state is None:
        return point
    losses = {**point.state.losses, "copper": factor * point.state.losses["copper"]}
    return replace(point, state=replace(point.state, losses=losses))
