"""The part of the sheet that needs supply and load: points, heat, turning, turns."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from fem_motor.findings import Finding, Headline
from fem_motor.heat import thermal_network
from fem_motor.performance.answers.as_built_records import AsBuiltFigures
from fem_motor.performance.answers.current_records import LoadedCurve, Waveforms
from fem_motor.performance.answers.endurance_records import MechanicsSummary
from fem_motor.performance.answers.records import (
    OperatingPoint,
    Thermal,
)
from fem_motor.performance.currents.as_built import fill_as_built
from fem_motor.performance.currents.waveforms import fill_waveforms
from fem_motor.performance.doubts.trust import Spread
from fem_motor.performance.operation.operating import fill_operation
from fem_motor.performance.operation.thermal import fill_endurance
from fem_motor.powered import PoweredMotor, WindingToLoad, winding_to_load
from fem_motor.throttle import (
    Flight,
    FlightProfile,
    SpeedMap,
    Throttles,
    fly,
    speed_map,
    throttles,
)
from fem_motor.units import RPM

PLAIN_SPEED = 1000 * RPM
"""Where there is no load, the speed at which currents in closed loops are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What costs more than the rest, and is worked out only where it is asked for.

    Attributes
    ----------
    profile : FlightProfile or None
        To be flown.
    speed_map : "none" or "grid"
        Of efficiency over speed and torque.
    """

    profile: FlightProfile | None = None
    speed_map: Literal["none", "grid"] = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What the motor does on its supply, with headlines and findings."""

    points: tuple[OperatingPoint, ...]
    thermal: Thermal
    mechanics: MechanicsSummary
    turns: WindingToLoad
    throttles: Throttles
    speed_map: SpeedMap | None
    flight: Flight | None
    answers: Mapping[str, Headline]
    findings: tuple[Finding, ...]
    waveforms: Waveforms | None
    as_built: AsBuiltFigures | None


def fill_use(powered: PoweredMotor, *, limit: LoadedCurve, flux: Spread, asked: Asked) -> Use:
    """Return what the motor does on its supply, from fields that are solved.

    Parameters
    ----------
    powered : PoweredMotor
    limit : LoadedCurve
        Torque over rotor angle at the current limit.
    flux : Spread
        Of the flux linkage.
    asked : Asked
    """
    operation = fill_operation(powered, limit=limit, flux=flux)
    endurance = fill_endurance(powered, operation, side_pull=powered.model.side_pull)
    known, top = operation.known, operation.top_speed
    network = thermal_network(powered.motor, powered.winding, speed=known.speed or 0.0)
    between = throttles(
        powered,
        network,
        known=known,
        top_speed=top,
        corner_speed=operation.corner_speed,
    )
    turns = winding_to_load(powered)
    # Without a load the endurance says what is missing.
    suit = [turns.finding] if turns.rows else []
    flight = None if asked.profile is None else fly(powered, asked.profile)
    flown = [] if flight is None else [flight.finding]
    state = operation.known.state
    as_built, on_build = fill_as_built(
        powered.motor,
        powered.winding,
        powered.model,
        speed=PLAIN_SPEED if state is None or not state.speed else state.speed,
        current=limit.current_A / 2**0.5 if state is None else state.branch_current_rms,
    )
    return Use(
        points=operation.points,
        thermal=endurance.thermal,
        mechanics=endurance.mechanics,
        turns=turns,
        throttles=between,
        speed_map=None
        if asked.speed_map == "none" or not between.curve.speed_rpm.size
        else speed_map(powered, network, known=known, curve=between.curve),
        flight=flight,
        answers=dict(operation.answers) | endurance.answers,
        findings=(*suit, *flown, *operation.findings, *endurance.findings, *on_build),
        waveforms=fill_waveforms(powered, operation.known),
        as_built=as_built,
    )
