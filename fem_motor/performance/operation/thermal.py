"""Heat at the load point, what the motor can hold for how long, and the forces of turning."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fem_motor.drive import OperatingPoint as DrivePoint
from fem_motor.findings import Finding, Headline, Status
from fem_motor.heat import (
    Heating,
    ThermalNetwork,
    ThermalState,
    duty_card,
    seconds_until_limit,
    steady,
    thermal_network,
    transient,
)
from fem_motor.mechanics import Mechanics, eccentric_stiffness, mechanics
from fem_motor.performance.answers.endurance_records import DutyRow, MechanicsSummary
from fem_motor.performance.answers.records import Thermal
from fem_motor.performance.operation.operating import Operation, row_of
from fem_motor.performance.operation.ranged import largest, soft_seconds
from fem_motor.powered import LoadLine, PoweredMotor, heating_at, heating_with
from fem_motor.units import ROOM_C

BURSTS = (10.0, 60.0)
"""s from cold."""

ROUNDS = 3
"""Times that temperatures and operating point are worked out from each other."""

HOTTEST_C = 250.0
"""Temperature at which copper and magnets are held while the operating point is worked out."""

SHOWN_S, POINTS = 1800.0, 181
"""Longest history, and its points."""

NOBODY_LIVES = 400.0
"""K above the surroundings that nothing in a motor survives; films are not known there either."""

WALLS = ("housing", "ring")
"""Parts that hold the magnets."""

SHOWN_PARTS = ("copper", "slot walls", "teeth", "magnets", "housing", "ring")

MPA = 1e6

NOTHING = 1e-9
"""W, below which a load takes nothing: rounding."""

IRON = 5.0
"""Relative permeability from which a core pulls like iron; below it is nearly air."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Endurance:
    """What heat and turning allow; headlines for the first screen."""

    thermal: Thermal
    mechanics: MechanicsSummary
    answers: dict[str, Headline]
    findings: tuple[Finding, ...]


def fill_endurance(powered: PoweredMotor, operation: Operation, *, side_pull: float) -> Endurance:
    """Return heat and mechanics.

    Parameters
    ----------
    powered : PoweredMotor
    operation : Operation
        Its load point heats, its speed without load is the highest.
    side_pull : float
        Largest force on the rotor without current, N.
    """
    is_loaded = powered.load is not None and (operation.known.shaft_power or 0.0) > NOTHING
    heat = _at_load(powered, operation) if is_loaded else _without_load(powered, operation)
    turning = mechanics(
        powered.motor,
        top_speed=operation.top_speed,
        side_pull=side_pull,
        side_pull_stiffness=_side_pull_stiffness(powered),
        wall_C=heat.wall_C,
        wall_when=heat.wall_when,
    )
    return Endurance(
        thermal=heat.thermal,
        mechanics=_summary(turning),
        answers=heat.answers,
        findings=(*heat.findings, *turning.findings),
    )


def _side_pull_stiffness(powered: PoweredMotor) -> float:
    """Return how much the side pull grows with the offset, N/m; 0 without iron on both sides."""
    motor, rotor = powered.motor, powered.motor.rotor
    is_iron = motor.stator.core.curve.initial_permeability >= IRON and rotor.ring is not None
    if not is_iron:
        return 0.0
    return eccentric_stiffness(
        diameter=2 * motor.stator.outer_radius + motor.air_gap,
        length=motor.stack_length,
        flux_density=float(np.abs(powered.model.gap_flux_density).max()),
        gap=motor.air_gap + rotor.pocket_skin,
        magnet_thickness=rotor.magnet_thickness,
        recoil_permeability=rotor.magnet.recoil_permeability,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heat:
    """What heat says, and how warm the walls that hold the magnets get, and when."""

    thermal: Thermal
    answers: dict[str, Headline]
    findings: tuple[Finding, ...]
    wall_C: float
    wall_when: str


def _at_load(powered: PoweredMotor, operation: Operation) -> _Heat:
    cold = operation.known
    network = thermal_network(powered.motor, powered.winding, speed=cold.speed or 0.0)
    state, warm = _settled(powered, network, cold)
    heating = heating_at(powered, cold, copper_C=ROOM_C, magnet_C=ROOM_C)
    soft = soft_seconds(powered, network, operation)
    lasting = largest(powered, network, operation)
    bursts = {
        seconds: largest(powered, network, operation, seconds=seconds).level for seconds in BURSTS
    }
    part = lasting.part or state.limiting_part
    thermal = Thermal(
        temperatures_C=_temperatures(state),
        seconds_to_soften_core=soft.value,
        continuous_shaft_power_W=lasting.level.value,
        burst_shaft_power_W={f"{at:g} s": found.value for at, found in bursts.items()},
        limiting_part=part,
        other_limiting_parts=tuple(other for other in lasting.other_parts if other != part),
        duty_card=_duty_rows(network, heating),
        warm_shaft_power_W=None if state.temperatures_C is None else warm.shaft_power,
        **_warm(powered, network, state, warm, heating),
        softening_C=network.softening_C,
        **_history(network, heating, soft.value),
    )
    return _Heat(
        thermal=thermal,
        answers={
            "seconds_to_soften_core": soft,
            "continuous_shaft_power_W": lasting.level,
            **{f"burst_{at:g}_s_shaft_power_W": found for at, found in bursts.items()},
        },
        findings=(*network.findings, *_worst_first(state.findings), *lasting.findings),
        wall_C=_walls_at(network, LoadLine(powered, cold).heating(lasting.level.value or 0.0)),
        wall_when="at the shaft power that it holds for good",
    )


def _walls_at(network: ThermalNetwork, heating: Heating) -> float:
    """Return how warm the warmer of housing and ring gets for good, °C; at most as warm as it may.

    Not at full throttle: what burns within seconds burns with a cold housing, and would be allowed
    more stress than a motor that lasts.
    """
    found = steady(network, heating)
    walls = [
        limit if at is None else at if limit is None else min(at, limit)
        for part, limit in zip(network.readings, network.limits_C, strict=True)
        for at in [found.of(part)]
        if part in WALLS
    ]
    known = [at for at in walls if at is not None]
    return max([network.surroundings_C, *known])


def _temperatures(state: ThermalState) -> dict[str, float]:
    if state.temperatures_C is None:
        return {}
    return dict(zip(state.parts, map(float, state.temperatures_C), strict=True))


def _duty_rows(network: ThermalNetwork, heating: Heating) -> tuple[DutyRow, ...]:
    return tuple(
        DutyRow(
            on_s=row.on_seconds,
            rest_s=row.rest_seconds.value,
            rest_low_s=row.rest_seconds.low,
            rest_high_s=row.rest_seconds.high,
            part=row.part,
        )
        for row in duty_card(network, heating)
    )


def _warm(
    powered: PoweredMotor,
    network: ThermalNetwork,
    state: ThermalState,
    warm: DrivePoint,
    heating: Heating,
) -> dict[str, Any]:
    """Return the load point of a warm motor and what warm means."""
    copper, magnet = state.of("copper"), state.of("magnets")
    when = "in steady state"
    if copper is None or magnet is None:
        first = seconds_until_limit(network, heating, spread="none")
        if first.seconds.value is None or first.seconds.value <= 0:
            return {"warm_point": None, "warm_when": "no part has a limit that is known"}
        copper, magnet = (first.temperatures_C[part] for part in ("copper", "magnets"))
        when = f"when the {first.part} reach the limit after {first.seconds.value:.0f} s"
        warm = powered.at_load(copper_C=min(copper, HOTTEST_C), magnet_C=min(magnet, HOTTEST_C))
    return {
        "warm_point": row_of(
            powered,
            warm,
            copper_C=min(copper, HOTTEST_C),
            magnet_C=min(magnet, HOTTEST_C),
        ),
        "warm_when": f"{when}: copper {copper:.0f} °C, magnets {magnet:.0f} °C",
    }


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
    return _survived(state, network.surroundings_C), point


def _survived(state: ThermalState, surroundings_C: float) -> ThermalState:
    """Return the state, without temperatures where a part would rise by more than 400 K."""
    if state.temperatures_C is None or state.temperatures_C.max() <= surroundings_C + NOBODY_LIVES:
        return state
    hottest = float(state.temperatures_C.max())
    finding = Finding(
        name="steady state of the copper",
        status="stop",
        why=f"losses and cooling would balance at {hottest:.0f} °C only, where no winding lives: "
        "it burns.",
        do="lower the current, or do not run longer than the seconds that are given.",
    )
    return replace(state, temperatures_C=None, limiting_part=None, findings=(finding,))


def _without_load(powered: PoweredMotor, operation: Operation) -> _Heat:
    thermal = Thermal(
        temperatures_C={},
        seconds_to_soften_core=None,
        continuous_shaft_power_W=None,
        burst_shaft_power_W={"10 s": None, "60 s": None},
        limiting_part=None,
        other_limiting_parts=(),
        duty_card=(),
        warm_shaft_power_W=None,
        warm_point=None,
        warm_when="",
        softening_C=None,
        history_time_s=np.empty(0),
        history_C={},
    )
    if powered.load is None:
        why = "the motor turns no load, so there is no point at which to look at heat."
        do = "give a [load] that turns: a propeller by its coefficients, or a torque curve."
    else:
        why = (
            "the motor does not turn its load, so there is no point at which to look at heat; "
            "held still at the current limit it burns within seconds."
        )
        do = "see the operating points for what it lacks, and cut the power when it stalls."
    status: Status = "watch" if powered.load is None else "stop"
    finding = Finding(name="heat at the load point", status=status, why=why, do=do)
    top = operation.top_speed
    network = thermal_network(powered.motor, powered.winding, speed=top)
    turning = heating_with(powered, operation.known, torque=-powered.drag(top), speed=top)
    return _Heat(
        thermal=thermal,
        answers={},
        findings=(finding,),
        wall_C=_walls_at(network, turning),
        wall_when="turning freely at top speed",
    )


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
