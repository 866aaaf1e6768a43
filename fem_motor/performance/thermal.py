"""Heat at the load point, what the motor can hold for how long, and the forces of turning."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fem_motor.drive import OperatingPoint as DrivePoint
from fem_motor.findings import Finding, Headline
from fem_motor.heat import (
    Heating,
    ThermalNetwork,
    ThermalState,
    duty_card,
    load_limit,
    seconds_until_soft,
    steady,
    thermal_network,
    transient,
)
from fem_motor.mechanics import Mechanics, mechanics
from fem_motor.performance.records import DutyRow, MechanicsSummary, Thermal
from fem_motor.powered import LoadLine, PoweredMotor, heating_at
from fem_motor.units import ROOM_C

ROUNDS = 3
"""Times that temperatures and operating point are worked out from each other."""

HOTTEST_C = 250.0
"""Temperature at which copper and magnets are held while the operating point is worked out."""

SHOWN_S, POINTS = 1800.0, 181
"""Longest history, and its points."""

SHOWN_PARTS = ("copper", "slot walls", "teeth", "magnets", "housing", "ring")

MPA = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Endurance:
    """What heat and turning allow; headlines for the first screen."""

    thermal: Thermal
    mechanics: MechanicsSummary
    answers: dict[str, Headline]
    findings: tuple[Finding, ...]


def fill_endurance(powered: PoweredMotor, *, top_speed: float, side_pull: float) -> Endurance:
    """Return heat and mechanics.

    Parameters
    ----------
    powered : PoweredMotor
    top_speed : float
        Highest speed, rad/s: that without load.
    side_pull : float
        Largest force on the rotor without current, N.
    """
    cold = powered.at_load() if powered.load is not None else None
    is_loaded = cold is not None and cold.state is not None and bool(cold.shaft_power)
    heat = _at_load(powered, cold) if cold is not None and is_loaded else _without_load()
    turning = mechanics(powered.motor, top_speed=top_speed, side_pull=side_pull, wall_C=heat.wall_C)
    return Endurance(
        thermal=heat.thermal,
        mechanics=_summary(turning),
        answers=heat.answers,
        findings=(*heat.findings, *turning.findings),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heat:
    """What heat says; `wall_C` is the temperature of the housing, None where it is not known."""

    thermal: Thermal
    answers: dict[str, Headline]
    findings: tuple[Finding, ...]
    wall_C: float | None = None


def _at_load(powered: PoweredMotor, cold: DrivePoint) -> _Heat:
    network = thermal_network(powered.motor, powered.winding, speed=cold.speed or 0.0)
    state, warm = _settled(powered, network, cold)
    heating = heating_at(powered, cold, copper_C=ROOM_C, magnet_C=ROOM_C)
    soft = seconds_until_soft(network, heating)
    line = LoadLine(powered, cold)
    lasting = load_limit(network, line.heating, highest=line.highest)
    bursts = {
        f"{seconds} s": load_limit(network, line.heating, highest=line.highest, seconds=seconds)
        for seconds in (10, 60)
    }
    card = duty_card(network, heating)
    temperatures = (
        {}
        if state.temperatures_C is None
        else dict(zip(state.parts, map(float, state.temperatures_C), strict=True))
    )
    thermal = Thermal(
        temperatures_C=temperatures,
        seconds_to_soften_core=soft.value,
        continuous_shaft_power_W=lasting.level.value,
        burst_shaft_power_W={name: burst.level.value for name, burst in bursts.items()},
        limiting_part=lasting.part or state.limiting_part,
        duty_card=tuple(
            DutyRow(on_s=row.on_seconds, rest_s=row.rest_seconds.value, part=row.part)
            for row in card
        ),
        warm_shaft_power_W=None if state.temperatures_C is None else warm.shaft_power,
        softening_C=network.softening_C,
        **_history(network, heating, soft.value),
    )
    answers = {"seconds_to_soften_core": soft, "continuous_shaft_power_W": lasting.level}
    return _Heat(
        thermal=thermal,
        answers=answers,
        findings=(*network.findings, *_worst_first(state.findings), *lasting.findings),
        wall_C=state.of("housing") if "housing" in state.parts else None,
    )


def _worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return the findings with only the worst of the parts that are too warm, naming the others."""
    warm = [f for f in findings if f.status != "ok" and f.value is not None and f.limit is not None]
    if len(warm) < 2:  # noqa: PLR2004  (nothing to gather)
        return findings
    worst = max(warm, key=lambda found: (found.value or 0.0) - (found.limit or 0.0))
    others = ", ".join(
        found.name.removeprefix("steady temperature of the ").removesuffix(", °C")
        for found in warm
        if found is not worst
    )
    told = replace(worst, why=f"{worst.why} Too warm as well: {others}.")
    return (told, *[found for found in findings if found not in warm])


def _history(network: ThermalNetwork, heating: Heating, soft: float | None) -> dict[str, Any]:
    """Return temperatures over time at full throttle from cold, until well after softening."""
    length = SHOWN_S if soft is None else min(max(3 * soft, 60.0), SHOWN_S)
    found = transient(network, [(length, heating)])
    time = np.linspace(0.0, float(found.time[-1]), POINTS)
    return {
        "history_time_s": time,
        "history_C": {
            part: np.interp(time, found.time, found.of(part))
            for part in SHOWN_PARTS
            if part in found.parts
        },
    }


def _settled(
    powered: PoweredMotor, network: ThermalNetwork, cold: DrivePoint
) -> tuple[ThermalState, DrivePoint]:
    """Return the steady temperatures and the operating point that goes with them."""
    point, copper, magnet = cold, ROOM_C, ROOM_C
    state = steady(network, heating_at(powered, point, copper_C=copper, magnet_C=magnet))
    for _ in range(ROUNDS):
        if state.temperatures_C is None:
            break
        copper = min(state.of("copper") or ROOM_C, HOTTEST_C)
        magnet = min(state.of("magnets") or ROOM_C, HOTTEST_C)
        point = powered.at_load(copper_C=copper, magnet_C=magnet)
        if point.state is None:
            break
        state = steady(network, heating_at(powered, point, copper_C=copper, magnet_C=magnet))
    return state, point


def _without_load() -> _Heat:
    thermal = Thermal(
        temperatures_C={},
        seconds_to_soften_core=None,
        continuous_shaft_power_W=None,
        burst_shaft_power_W={"10 s": None, "60 s": None},
        limiting_part=None,
        duty_card=(),
        warm_shaft_power_W=None,
        softening_C=None,
        history_time_s=np.empty(0),
        history_C={},
    )
    finding = Finding(
        name="heat at the load point",
        status="watch",
        why="the motor turns no load, so there is no point at which to look at heat.",
        do="give a [load] that turns: a propeller by its coefficients, or a torque curve.",
    )
    return _Heat(thermal=thermal, answers={}, findings=(finding,))


def _summary(turning: Mechanics) -> MechanicsSummary:
    hoop = turning.hoop_stress
    return MechanicsSummary(
        hoop_stress_MPa=None if hoop is None else hoop / MPA,
        magnet_pull_N=turning.magnet_pull,
        overspeed_margin=turning.overspeed_margin,
        unbalanced_pull_N=turning.unbalanced_pull,
        bearing_load_N=turning.bearing_load,
        rotor_mass_kg=turning.rotor_mass,
    )
