"""The mechanics of a rotor at its top speed."""

import math

from fem_motor.design import Motor
from fem_motor.errors import InputError, Problem
from fem_motor.findings import Finding
from fem_motor.mechanics import checks
from fem_motor.mechanics.record import Mechanics
from fem_motor.mechanics.rings import centrifugal_pull
from fem_motor.mechanics.rotor import (
    GRAVITY,
    Magnets,
    Wall,
    magnets,
    rotor_mass,
    shaft_stiffness,
    walls,
)
from fem_motor.mechanics.strength import Allowed, allowed_stress, wall_finding
from fem_motor.units import MM

OVERSPEED = 1.2
"""Test speed over top speed (IEC 60034-1, from memory)."""

BALANCE = 6.3 * MM
"""m/s, the grade G6.3: offset of the centre of mass times speed (ISO 21940-11, from memory)."""

SHAFT_DIAMETER = 5 * MM
"""Of small outrunners. Common practice, no source."""


def mechanics(
    motor: Motor,
    *,
    top_speed: float,
    side_pull: float = 0.0,
    side_pull_stiffness: float = 0.0,
    magnet_attraction: float = 0.0,
    wall_C: float | None = None,
    shaft_diameter: float = SHAFT_DIAMETER,
    shaft_overhang: float | None = None,
) -> Mechanics:
    """Return stresses and forces of the rotor, with findings.

    Parameters
    ----------
    motor : Motor
    top_speed : float
        No load at full throttle, rad/s.
    side_pull : float
        What pulls the rotor to one side, N.
    side_pull_stiffness : float
        How much it grows with the offset, N/m.
    magnet_attraction : float
        What pulls one magnet towards the stator, N.
    wall_C : float or None
        Of housing and ring when hottest, °C; None: the surroundings.
    shaft_diameter, shaft_overhang : float
        m; overhang from the bearing that holds the shaft to the middle of the pull. None: the
        stack length.

    Raises
    ------
    InputError
        Numbers that are impossible.
    """
    overhang = motor.stack_length if shaft_overhang is None else shaft_overhang
    _refuse_impossible(
        top_speed=top_speed,
        side_pull=side_pull,
        side_pull_stiffness=side_pull_stiffness,
        magnet_attraction=magnet_attraction,
        shaft_diameter=shaft_diameter,
        shaft_overhang=overhang,
    )
    own, found, mass = magnets(motor), walls(motor), rotor_mass(motor)
    carrier = found[0] if found else None
    hot_C = motor.cooling.ambient_C if wall_C is None else wall_C
    test_speed = OVERSPEED * top_speed
    allowed = None if carrier is None else allowed_stress(carrier, temperature_C=hot_C)
    stress = None if carrier is None else carrier.peak_stress(own.pressure(test_speed), test_speed)
    pull = centrifugal_pull(mass=own.mass, radius=own.centre_radius, speed=top_speed)
    left = shaft_stiffness(diameter=shaft_diameter, overhang=overhang) - side_pull_stiffness
    deflection = side_pull / left if left > 0 else None
    rim = motor.rotor.housing_outer_radius * top_speed
    return Mechanics(
        top_speed=top_speed,
        test_speed=test_speed,
        hoop_stress=None
        if carrier is None
        else carrier.mean_stress(own.pressure(top_speed), top_speed),
        peak_hoop_stress=None
        if carrier is None
        else carrier.peak_stress(own.pressure(top_speed), top_speed),
        stress_at_test_speed=stress,
        allowed_stress=None if allowed is None else allowed.across,
        overspeed_margin=_margin(allowed, stress),
        magnet_pull=pull,
        magnet_attraction=magnet_attraction,
        unbalanced_pull=side_pull,
        bearing_load=side_pull + mass * GRAVITY + mass * BALANCE * top_speed,
        gap_deflection=deflection,
        rotor_mass=mass,
        rim_speed=rim,
        findings=(
            *_wall_findings(found, own, test_speed, hot_C),
            checks.retention_finding(
                own,
                pull=pull,
                attraction=magnet_attraction,
                has_skin=motor.rotor.pocket_skin > 0,
                carrier=carrier,
            ),
            *checks.print_alone_finding(carrier, rim),
            *checks.orientation_finding(carrier),
            checks.gap_finding(motor, deflection),
            checks.critical_finding(checks.critical_speed(left, mass), top_speed),
            *checks.water_finding(motor, rim),
            checks.overspeed_finding(test_speed),
        ),
    )


def _margin(allowed: Allowed | None, stress: float | None) -> float | None:
    if allowed is None or allowed.across is None or not stress:
        return None
    return allowed.across / stress


def _wall_findings(
    found: tuple[Wall, ...], own: Magnets, speed: float, hot_C: float
) -> tuple[Finding, ...]:
    """Return each wall's stress; the innermost carries the magnets, the next only itself."""
    return tuple(
        wall_finding(
            wall,
            wall.peak_stress(own.pressure(speed) if place == 0 else 0.0, speed),
            allowed_stress(wall, temperature_C=hot_C),
            temperature_C=hot_C,
        )
        for place, wall in enumerate(found)
    )


def _refuse_impossible(**numbers: float) -> None:
    above = {"shaft_diameter", "shaft_overhang"}
    problems = [
        Problem(
            what=f"= {value} is impossible.",
            why="it is above 0." if name in above else "it is 0 or more.",
            do="correct the value.",
            place=name,
        )
        for name, value in numbers.items()
        if not (math.isfinite(value) and (value > 0 or (value == 0 and name not in above)))
    ]
    if problems:
        raise InputError.from_problems(problems)
