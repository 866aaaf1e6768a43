"""Predict a test before it is done, with ranges; then hold the log against it.

A range comes from the priors of all parameters, one after the other moved by a standard
uncertainty, their effects added in squares (JCGM 100, 5.1.2), together with what only a prediction
has to assume: supply, propeller, warmth, and what a throttle stick means to the controller.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.calibration.fit.fitting import figures_of
from fem_motor.calibration.model.forward import MODEL_SHARE, Figures, ForwardModel, prior_figures
from fem_motor.calibration.model.parameters import WARMTH, WARMTH_SPREAD, parameters_of
from fem_motor.calibration.model.response import field_response
from fem_motor.calibration.planned import COVERAGE, NAMES, PlannedStep, Prediction, StopLimits
from fem_motor.calibration.records import Evidence, Parameter
from fem_motor.design import MotorDesign
from fem_motor.drive import operating_point
from fem_motor.findings import Headline
from fem_motor.heat import thermal_network, transient
from fem_motor.powered import PoweredMotor, heating_at
from fem_motor.units import ROOM_C, RPM

THROTTLES = (0.45, 0.6, 0.75, 0.9, 1.0)
"""Planned steps."""
SUPPLY_SPREAD, SOURCE_SPREAD, LOAD_SPREAD, DUTY_SPREAD = 0.02, 0.3, 0.07, 0.02
"""Standard, of the battery's voltage (its charge), of its resistance (age, warmth), of the
propeller's power coefficient, and of the duty for a part of the throttle: assumptions."""
ABOVE = 1.1
"""Of the high end of the range, from which something is wrong: stop."""
COOLER = 10.0
"""K below softening, as for continuous power."""
PLANNED_S = 60.0
"""Of full throttle, within which a limit counts for a plan."""
ASSUMED_LIMIT_C = 60.0
"""Where no material of the motor states a limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Day:
    """What only a prediction assumes: factors on battery, load and duty; K of the copper's rise."""

    supply: float = 1.0
    source: float = 1.0
    load: float = 1.0
    duty: float = 0.0
    warmth: float = WARMTH


_DOUBTS = (
    _Day(supply=1 + SUPPLY_SPREAD),
    _Day(source=1 + SOURCE_SPREAD),
    _Day(load=1 + LOAD_SPREAD),
    _Day(duty=DUTY_SPREAD),
    _Day(warmth=WARMTH + WARMTH_SPREAD),
)


def planned_steps(
    model: ForwardModel, parameters: Sequence[Parameter], *, throttles: Sequence[float] = THROTTLES
) -> tuple[PlannedStep, ...]:
    """Return what should be read at each throttle, about 95 %.

    Parameters
    ----------
    model : ForwardModel
        Without evidence.
    parameters : sequence of Parameter
    throttles : sequence of float
        Above 0 to 1.
    """
    found = []
    for throttle in throttles:
        middle = _readings(model, model.prior, _Day(), throttle)
        moved = [
            _readings(model, figures_of(model, parameters, one), _Day(), throttle)
            for one in np.eye(len(parameters))
        ]
        moved += [_readings(model, model.prior, day, throttle) for day in _DOUBTS]
        effects = np.array(moved) - middle
        own = MODEL_SHARE * middle * np.array([0.0, 1.0, 0.0, 1.0])
        spread = COVERAGE * np.sqrt(np.sum(effects**2, axis=0) + own**2)
        values = {
            name: Headline(
                value=value,
                low=max(0.0, value - half),
                high=value + half,
                because="predicted; magnets, core, gap, ends, wire, friction, battery, propeller "
                "and warmth within what is known of them before",
            )
            for name, value, half in zip(NAMES, middle, spread, strict=True)
        }
        found.append(PlannedStep(throttle=throttle, values=values))
    return tuple(found)


def _readings(model: ForwardModel, figures: Figures, day: _Day, throttle: float) -> FloatArray:
    """Return speed (rpm), torque, voltage and current in the order of `NAMES`."""
    copper = model.evidence.ambient_C + day.warmth * throttle**3
    flux, inductance = model.field_logs(figures)
    loop = model.loop_resistance(figures, copper)
    machine = model.machine_with(math.exp(flux), loop, math.exp(inductance))
    bridge = model.powered.bridge
    duty = throttle if throttle == 1 else min(1.0, throttle + day.duty)
    supplied = replace(
        bridge,
        supply_voltage=bridge.supply_voltage * day.supply,
        supply_resistance=bridge.supply_resistance * day.source,
        controller_resistance=0.0,
        lead_resistance=0.0,
        throttle=duty,
    )
    line = model.powered.load

    def load(speed: float) -> float:
        return 0.0 if line is None else day.load * line(speed)

    def drag(speed: float) -> float:
        return model.drag(figures, speed, copper)

    point = operating_point(machine, supplied, load=load, drag=drag)
    state = point.state
    if state is None:
        return np.zeros(len(NAMES))
    shaft = state.torque - point.drag_torque
    return np.array([state.speed / RPM, shaft, state.bus_voltage, state.supply_current])


def predict(
    design: MotorDesign, powered: PoweredMotor, *, ends: Headline, date: str, is_blind: bool
) -> Prediction:
    """Return the prediction of a test with the usual steps.

    Parameters
    ----------
    design, powered
        Solved.
    ends : Headline
        End factor.
    date : str
        Of today.
    is_blind : bool
        Whether there is no log yet.
    """
    response = field_response(design)
    evidence = Evidence(points=(), spans={}, ambient_C=design.motor.cooling.ambient_C)
    prior = prior_figures(powered, response, end_factor=ends.value or 1.0)
    model = ForwardModel(powered=powered, response=response, evidence=evidence, prior=prior)
    steps = planned_steps(model, parameters_of(powered, response, evidence, ends=ends))
    return Prediction(
        title=design.title,
        date=date,
        is_blind=is_blind,
        design=design.to_dict(),
        steps=steps,
        limits=_limits(powered, steps),
    )


def _limits(powered: PoweredMotor, steps: Sequence[PlannedStep]) -> StopLimits:
    motor = powered.motor

    def highest(name: str) -> float:
        return max(step.values[name].high or 0.0 for step in steps)

    core, magnet = motor.stator.core, motor.rotor.magnet
    soft = core.deflection_temperature_C
    known = [
        limit
        for limit in (
            None if soft is None else soft - COOLER,
            core.maximum_temperature_C,
            magnet.maximum_temperature_C,
        )
        if limit is not None
    ]
    winding_C = min(known, default=ASSUMED_LIMIT_C)
    seconds = _seconds_at_full_throttle(powered, winding_C)
    until = (
        ""
        if seconds is None
        else f" By the thermal network full throttle takes it there in {seconds:.0f} s from cold: "
        "hold the upper steps for less than that, and let it cool before each."
    )
    return StopLimits(
        current_A=min(ABOVE * highest("current_A"), motor.drive.current_limit),
        speed_rpm=ABOVE * highest("speed_rpm"),
        winding_C=winding_C,
        because="current and speed a tenth above the highest that was predicted, the current at "
        "most the controller's limit; the winding as warm as core and magnets may become"
        + ("." if known else " (no limit is stated: assumed).")
        + until,
    )


def _seconds_at_full_throttle(powered: PoweredMotor, limit_C: float) -> float | None:
    """Return how long full throttle takes from cold until the copper is so warm; None: longer."""
    point = powered.at_load()
    if point.state is None:
        return None
    network = thermal_network(powered.motor, powered.winding)
    heating = heating_at(powered, point, copper_C=ROOM_C, magnet_C=ROOM_C)
    found = transient(network, [(PLANNED_S, heating)])
    passed = np.flatnonzero(found.of("copper") >= limit_C)
    if not passed.size:
        return None
    until = slice(0, int(passed[0]) + 1)
    return float(np.interp(limit_C, found.of("copper")[until], found.time[until]))
