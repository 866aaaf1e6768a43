"""What a design can do, with its doubts: fields once, then heat and drive as often as needed."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from fem_motor.comparison.assessing.estimates import Doubts, Estimate, Ratios
from fem_motor.comparison.assessing.masses import Masses, masses
from fem_motor.comparison.assessing.solved import Solved
from fem_motor.comparison.assessing.survival import (
    Level,
    ends_over_value,
    surviving_powers,
)
from fem_motor.comparison.assessing.waves import FullThrottle, full_throttle, torque_ripple
from fem_motor.comparison.records import Goal, Hold, Quality
from fem_motor.design import MotorDesign
from fem_motor.findings import Headline
from fem_motor.heat import load_limit, thermal_network
from fem_motor.units import MM

HIGHEST_DENSITY = 1e8
"""A/m² RMS, at standstill: far above what any copper bears."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assessment:
    """A design and what it can do.

    Attributes
    ----------
    design : MotorDesign
    quality : Quality
    levels : tuple of Level
        Of those goals that can be computed.
    because : str
        Of the ranges.
    cogging : Headline
        N m, peak to peak.
    ripple : float or None
        Of the torque at rated current from the back-EMF without current and cogging, over its
        mean.
    masses : Masses
    wire_length : float
        m, all strands.
    limiter : str
    full_throttle : FullThrottle or None
        At the turns that are looked at; where a picture is wanted.
    """

    design: MotorDesign
    quality: Quality
    levels: tuple[Level, ...]
    because: str
    cogging: Headline
    ripple: float | None
    masses: Masses
    wire_length: float
    limiter: str
    full_throttle: FullThrottle | None = None

    def level(self, goal: Goal) -> Level | None:
        """Return a goal, None where it cannot be computed."""
        return next((level for level in self.levels if level.goal == goal), None)


def assess(
    solved: Solved,
    design: MotorDesign,
    *,
    quality: Quality,
    hold: Hold,
    picture: Goal | None = None,
) -> Assessment:
    """Return what `design` can do.

    Parameters
    ----------
    solved : Solved
        Its fields.
    design : MotorDesign
    quality : "draft", "standard" or "fine"
        Of the fields.
    hold : "as-drawn" or "supply-and-load"
        Whether full throttle with the design's own turns bounds its powers, or the turns are
        those that suit the load, at the copper area of the design.
    picture : Goal or None
        Full throttle is looked at too, with the turns that suit this goal.
    """
    powered = solved.powered
    weights = masses(powered.motor, powered.winding)
    point = powered.at_load() if powered.load is not None else None
    has_load = point is not None and bool(point.shaft_power and point.shaft_power > 0)
    levels = [*_constants(solved, weights), *_standstill(solved)]
    if has_load and point is not None:
        levels += surviving_powers(solved, point, hold)
    turns = next((one.turns_factor for one in levels if one.goal == picture), None)
    return Assessment(
        full_throttle=None if picture is None else full_throttle(powered, turns or 1.0),
        design=design,
        quality=quality,
        levels=tuple(levels),
        because=solved.because,
        cogging=solved.cogging,
        ripple=torque_ripple(solved),
        masses=weights,
        wire_length=powered.winding.wire_length,
        limiter=powered.model.drive.sentence,
    )


def _constants(solved: Solved, weights: Masses) -> Iterator[Level]:
    """Yield the motor constant, and over mass: it goes with the flux, and 1/√R."""
    flux = solved.flux
    doubts = Doubts(**flux, winding=_each(solved.resistance, -0.5))
    value = solved.motor_constant
    if value > 0:
        yield Level(goal="motor-constant", estimate=Estimate(value=value, doubts=doubts))
        per_mass = Estimate(value=value / weights.total, doubts=doubts)
        yield Level(goal="motor-constant-per-mass", estimate=per_mass)


def _each(ratios: Ratios, exponent: float) -> Ratios:
    return ratios[0] ** exponent, ratios[1] ** exponent


def _standstill(solved: Solved) -> Iterator[Level]:
    """Yield the torque at standstill: motor constant times the root of what copper may lose."""
    powered, constant = solved.powered, solved.motor_constant
    network = thermal_network(powered.motor, powered.winding, speed=0.0)
    found = load_limit(
        network,
        lambda density: replace(network.copper_heating(density), speed=0.0),
        highest=HIGHEST_DENSITY,
    )
    density = found.level
    if not density.value or constant <= 0:
        return
    loss = network.copper_heating(density.value).copper
    doubts = Doubts(
        **solved.flux,
        winding=_each(solved.resistance, -0.5),
        cooling=ends_over_value(density),
    )
    estimate = Estimate(value=constant * math.sqrt(loss), doubts=doubts)
    yield Level(goal="continuous-torque", estimate=estimate, part=found.part)


def outer_diameter_mm(design: MotorDesign) -> float:
    """Return the diameter over the housing, mm."""
    return 2 * design.motor.rotor.housing_outer_radius / MM
