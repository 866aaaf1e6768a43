"""The part of the sheet that needs supply and load: points, heat, turning, turns."""

from collections.abc import Mapping
from dataclasses import dataclass

from fem_motor.findings import Finding, Headline
from fem_motor.heat import thermal_network
from fem_motor.performance.current_records import Waveforms
from fem_motor.performance.operating import fill_operation
from fem_motor.performance.records import (
    LoadedCurve,
    MechanicsSummary,
    OperatingPoint,
    Thermal,
)
from fem_motor.performance.thermal import fill_endurance
from fem_motor.performance.trust import Spread
from fem_motor.performance.waveforms import fill_waveforms
from fem_motor.powered import PoweredMotor, WindingToLoad, winding_to_load
from fem_motor.throttle import Throttles, throttles


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What the motor does on its supply, with headlines and findings."""

    points: tuple[OperatingPoint, ...]
    thermal: Thermal
    mechanics: MechanicsSummary
    turns: WindingToLoad
    throttles: Throttles
    answers: Mapping[str, Headline]
    findings: tuple[Finding, ...]
    waveforms: Waveforms | None


def fill_use(powered: PoweredMotor, *, limit: LoadedCurve, flux: Spread, side_pull: float) -> Use:
    """Return what the motor does on its supply, from fields that are solved.

    Parameters
    ----------
    powered : PoweredMotor
    limit : LoadedCurve
        Torque over rotor angle at the current limit.
    flux : Spread
        Of the flux linkage.
    side_pull : float
        Largest force on the rotor without current, N.
    """
    operation = fill_operation(powered, limit=limit, flux=flux)
    endurance = fill_endurance(powered, operation, side_pull=side_pull)
    known, top = operation.known, operation.top_speed
    between = throttles(
        powered,
        thermal_network(powered.motor, powered.winding, speed=known.speed or 0.0),
        known=known,
        top_speed=top,
        corner_speed=operation.corner_speed,
    )
    turns = winding_to_load(powered)
    # Without a load the endurance says what is missing.
    suit = [turns.finding] if turns.rows else []
    return Use(
        points=operation.points,
        thermal=endurance.thermal,
        mechanics=endurance.mechanics,
        turns=turns,
        throttles=between,
        answers=dict(operation.answers) | endurance.answers,
        findings=(*operation.findings, *endurance.findings, *suit),
        waveforms=fill_waveforms(powered, operation.known),
    )
