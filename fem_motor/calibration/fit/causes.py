"""Possible reasons for what was measured, each freed alone and scored by how well it explains.

A cause widens the prior of one parameter, or twists the machine in one discrete way. Its score is
the weight exp(−BIC/2), BIC = cost + ln n for the freed number, among all causes tried, "as
designed" included. Source: G. Schwarz, Ann. Statist. 6 (1978) 461, from memory.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.calibration.fit.fitting import Fit, fit
from fem_motor.calibration.model.forward import ForwardModel, Twist
from fem_motor.calibration.model.surface import Surface
from fem_motor.calibration.records import Explanation, Parameter
from fem_motor.design import Motor
from fem_motor.errors import FemMotorError
from fem_motor.numbers import quantity, split_name
from fem_motor.progress import OnStage, ignore
from fem_motor.units import DEG, GRAVITY

WIDER = 10.0
"""Factor on the prior spread of the parameter that a cause frees."""

ALIKE = 2.0
"""Difference in BIC up to which causes explain equally well (R. Kass and A. Raftery, J. Am. Stat.
Assoc. 90 (1995) 773, from memory: not worth more than a bare mention)."""

HOPELESS = 60.0
"""Cost above the best so far at which a cause is not refined: its weight is below 1e-12."""

AS_DESIGNED = "as designed"

SAFE = "Battery off, propeller off."


STAGE = "causes"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One thing that may be wrong.

    Attributes
    ----------
    name : str
    name_above : str
        What it is called where the parameter comes out above its prior; empty: the same.
    parameter : str
        Freed; empty for a twist.
    wider : float
        Factor on its prior spread.
    twist : Twist
    next_measurement : str
    """

    name: str
    next_measurement: str
    name_above: str = ""
    parameter: str = ""
    wider: float = WIDER
    twist: Twist = field(default_factory=Twist)


GAP = (
    "Caliper across the rotor's bore and the stator, or hold one spare magnet of the batch to a "
    f"teslameter: both take minutes. {SAFE} Magnets pinch and shatter: one at a time, eyes covered."
)
LENGTH = (
    "Line-to-line inductance with an LCR meter at 1 kHz and 100 Hz, at several rotor positions: "
    f"it knows the core and not the magnets. {SAFE} Leads off the controller."
)
FOUR_WIRE = (
    "Four-wire resistance of all three pairs of leads, 1 to 5 A for less than 5 s, with the "
    f"winding's temperature. {SAFE} Leads off the controller; a winding burns above 60 °C."
)
REVOLUTIONS = (
    "Optical counter with one mark, or the drill test (frequency = pole pairs × revolutions): "
    "stand behind the plane of rotation, guard on."
)
_LOAD_CELL = (
    f"Hang a known mass on the arm at a known length and read the cell. {SAFE} Feet clear of it."
)

FREED = (
    Cause(
        name="weak magnets", name_above="strong magnets", parameter="remanence_T",
        next_measurement=GAP,
    ),
    Cause(
        name="low-permeability core", name_above="high-permeability core",
        parameter="core_relative_permeability", wider=6.0, next_measurement=LENGTH,
    ),
    Cause(name="gap not as drawn", parameter="air_gap_mm", wider=5.0, next_measurement=GAP),
    Cause(
        name="less resistance than computed", name_above="more resistance than computed",
        parameter="winding_resistance_20C_ohm", next_measurement=FOUR_WIRE,
    ),
    Cause(
        name="cool winding", name_above="hot winding", parameter="winding_temperature_C", wider=6.0,
        next_measurement="Resistance of the winding at once after the run, against that of the "
        f"cold winding: T2 = (R2/R1)(234.5 + T1) − 234.5. {SAFE} Do not touch the copper.",
    ),
    Cause(
        name="friction", parameter="friction_torque_mNm", wider=4.0,
        next_measurement="Coast-down without propeller, speed over time, with the inertia known. "
        "Guard on, stand behind the plane of rotation.",
    ),
    Cause(
        name="controller resistance", parameter="controller_resistance_mohm", wider=5.0,
        next_measurement=FOUR_WIRE,
    ),
    Cause(
        name="load-cell calibration", parameter="torque_reading_factor",
        next_measurement=_LOAD_CELL,
    ),
    Cause(
        name="current-sensor calibration", parameter="current_reading_factor",
        next_measurement="A second ammeter in the battery lead, propeller off, guard on.",
    ),
)  # fmt: skip
"""Causes that are a parameter far from its prior."""


def twists(model: ForwardModel) -> Iterator[Cause]:
    """Yield the discrete causes of a machine."""
    motor = model.powered.motor
    yield from _winding_twists(motor)
    yield from _reading_twists(motor.rotor.pole_pairs)
    advance = motor.drive.timing_advance
    for degrees in (10, 20, 30):
        yield Cause(
            name=f"timing advance {degrees}° more than stated",
            twist=Twist(timing_advance=min(advance + degrees * DEG, math.pi / 2)),
            next_measurement="Read the controller's setting with its own programming card or "
            "tool, propeller off.",
        )


def _winding_twists(motor: Motor) -> Iterator[Cause]:
    turns, strands = motor.winding.turns_per_tooth, motor.winding.strands
    for lost in (1, 2):
        if turns > lost + 1:
            ratio = (turns - lost) / turns
            yield Cause(
                name=f"{turns - lost} turns instead of {turns} on every tooth",
                twist=Twist(flux=ratio, resistance=ratio, inductance=ratio**2),
                next_measurement=f"Count the turns of one coil against the winding card. {SAFE}",
            )
    if strands > 1:
        yield Cause(
            name=f"{strands - 1} of {strands} strands carry the current",
            twist=Twist(resistance=strands / (strands - 1)),
            next_measurement=FOUR_WIRE,
        )
    per_phase = motor.stator.slots * motor.winding.layers // 6
    if per_phase > 1:
        yield Cause(
            name="one coil wound the wrong way round",
            # Of one phase it takes its own share off and another one with it; mean of three.
            twist=Twist(flux=1 - 2 / (3 * per_phase)),
            next_measurement="Drill test with a scope or meter on all three pairs of leads: two "
            "pairs read less than the third. Box around it, eyes covered, leads insulated: they "
            "are live while it turns.",
        )
    is_delta = motor.winding.connection == "delta"
    root = math.sqrt(3) if is_delta else 1 / math.sqrt(3)
    yield Cause(
        name=f"winding joined in {'star' if is_delta else 'delta'}",
        twist=Twist(flux=root, resistance=root**2, inductance=root**2),
        next_measurement=f"Look at the joints: a star has one point with three ends. {SAFE}",
    )


def _reading_twists(pairs: int) -> Iterator[Cause]:
    for other in filter(None, (pairs - 1, pairs + 1)):
        yield Cause(
            name=f"speed counted with {other} pole pairs instead of {pairs}",
            twist=Twist(speed=pairs / other),
            next_measurement=REVOLUTIONS,
        )
    for words, factor in (("kgf m read as N m", 1 / GRAVITY), ("N m read as kgf m", GRAVITY)):
        yield Cause(
            name=f"torque unit: {words}", twist=Twist(torque=factor), next_measurement=_LOAD_CELL
        )
    for ohm in (0.01, 0.03):
        yield Cause(
            name=f"sagging battery: voltage read {1e3 * ohm:g} mohm before the controller",
            twist=Twist(source_resistance=ohm),
            next_measurement="Read the voltage at the controller's own terminals under load: "
            "fused leads, no loose clips near the propeller, stand behind its plane.",
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trial:
    """A cause with the fit it allows; None where the model has no answer for it."""

    cause: Cause
    found: Fit | None
    criterion: float


def try_causes(
    model: ForwardModel,
    parameters: Sequence[Parameter],
    *,
    as_designed: Fit,
    on_step: OnStage = ignore,
) -> tuple[Trial, ...]:
    """Return every cause tried, the likeliest first; "as designed" among them."""
    turned = tuple(twists(model))
    steps = len(FREED) + len(turned)
    number = max(as_designed.residuals.size, 1)
    plain = Cause(name=AS_DESIGNED, next_measurement="")
    trials = [Trial(cause=plain, found=as_designed, criterion=as_designed.cost)]
    names = [parameter.name for parameter in parameters]
    near: tuple[Surface, ...] | None = None
    if as_designed.residuals.size:
        near = model.surfaces(as_designed.figures)
    for done, cause in enumerate(FREED):
        on_step(done, steps, STAGE)
        if cause.parameter in names:
            wider = [
                replace(one, spread=one.spread * cause.wider)
                if one.name == cause.parameter
                else one
                for one in parameters
            ]
            trials.append(_trial(model, cause, wider, math.log(number), near))
    hopeless = min(trial.criterion for trial in trials) + HOPELESS
    for done, cause in enumerate(turned, start=len(FREED)):
        on_step(done, steps, STAGE)
        twisted = model.twisted(cause.twist)
        trials.append(_trial(twisted, cause, parameters, math.log(number), None, hopeless=hopeless))
    on_step(steps, steps, STAGE)
    return tuple(sorted(trials, key=lambda trial: trial.criterion))


def _trial(
    model: ForwardModel,
    cause: Cause,
    parameters: Sequence[Parameter],
    penalty: float,
    near: tuple[Surface, ...] | None,
    *,
    hopeless: float = math.inf,
) -> Trial:
    try:
        found = fit(model, parameters, expanded=near, give_up=hopeless)
    except FemMotorError:
        return Trial(cause=cause, found=None, criterion=math.inf)
    if cause.name_above and found.figures[cause.parameter] > _prior(found, cause):
        cause = replace(cause, name=cause.name_above)
    return Trial(cause=cause, found=found, criterion=found.cost + penalty)


def _prior(found: Fit, cause: Cause) -> float:
    return next(one.prior for one in found.parameters if one.name == cause.parameter)


def weights(trials: Sequence[Trial]) -> FloatArray:
    """Return the scores (n,) of the trials: shares of exp(−BIC/2)."""
    criteria = np.array([trial.criterion for trial in trials])
    raw = np.exp(-np.minimum(criteria - criteria.min(), 1400.0) / 2)
    return np.asarray(raw / raw.sum())


def explanations(
    model: ForwardModel,
    parameters: Sequence[Parameter],
    *,
    as_designed: Fit,
    on_step: OnStage = ignore,
) -> tuple[Explanation, ...]:
    """Return the explanations, likeliest first, each with what it shares its rank with."""
    trials = try_causes(model, parameters, as_designed=as_designed, on_step=on_step)
    best = trials[0].criterion
    alike = [trial.cause.name for trial in trials if trial.criterion <= best + ALIKE]
    if AS_DESIGNED in alike:
        alike = []  # nothing needs a reason
    return tuple(
        Explanation(
            cause=trial.cause.name,
            score=float(score),
            why=_why(trial, alike, as_designed),
            next_measurement=trial.cause.next_measurement,
        )
        for trial, score in zip(trials, weights(trials), strict=True)
    )


def _why(trial: Trial, alike: Sequence[str], as_designed: Fit) -> str:
    if trial.found is None:
        return "the model has no state that fits the measurements with it."
    if trial.cause.name == AS_DESIGNED:
        return (
            f"sum of squares {as_designed.cost:.3g} (readings and assumed figures, each in its "
            "standard uncertainty) with every figure within what is not known of it."
        )
    names = [other for other in alike if other != trial.cause.name]
    together = ""
    if trial.cause.name in alike and names:
        together = f"; as good as {', '.join(names)}: these measurements cannot tell them apart"
    text = f"sum of squares {trial.found.cost:.3g} against {as_designed.cost:.3g} as designed"
    if trial.cause.parameter:
        prior = _prior(trial.found, trial.cause)
        value = trial.found.figures[trial.cause.parameter]
        words, unit = split_name(trial.cause.parameter)
        text += f", with {words} {quantity(value, unit)} instead of {quantity(prior, unit)}"
    return text + together + "."
