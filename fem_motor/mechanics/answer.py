"""The mechanics of a rotor at its top speed."""

import math
from dataclasses import dataclass

from fem_motor.design import Motor
from fem_motor.errors import InputError, Problem
from fem_motor.findings import Finding
from fem_motor.mechanics import checks
from fem_motor.mechanics.record import Mechanics
from fem_motor.mechanics.rings import centrifugal_pull
from fem_motor.mechanics.rotor import (
    GRAVITY,
    Magnets,
    Shaft,
    Wall,
    magnets,
    rotor_mass,
    walls,
)
from fem_motor.mechanics.strength import Warmth, allowed_stress, wall_finding
from fem_motor.units import MM

OVERSPEED = 1.2
"""Test speed over top speed (IEC 60034-1, from memory)."""

BALANCE = 6.3 * MM
"""m/s, the grade G6.3: offset of the centre of mass times speed (ISO 21940-11, from memory)."""


def mechanics(
    motor: Motor,
    *,
    top_speed: float,
    side_pull: float = 0.0,
    side_pull_stiffness: float = 0.0,
    magnet_attraction: float = 0.0,
    wall_C: float | None = None,
    wall_when: str = "",
    shaft: Shaft | None = None,
) -> Mechanics:
    """Return stresses and forces of the rotor, with findings.

    Parameters
    ----------
    motor : Motor
    top_speed : float
        No load at full throttle, rad/s.
    side_pull, side_pull_stiffness, magnet_attraction : float
        What pulls the rotor to one side, N, and how much it grows with the offset, N/m; what
        pulls one magnet towards the stator, N.
    wall_C, wall_when : float or None, str
        Of housing and ring when hottest, °C (None: the surroundings); when that is, in words.
    shaft : Shaft or None
        None: 5 mm of steel, overhung by the stack length.

    Raises
    ------
    InputError
        Numbers that are impossible.
    """
    _refuse_impossible(top_speed=top_speed, side_pull=side_pull, attraction=magnet_attraction)
    warmth = Warmth(at_C=motor.cooling.ambient_C if wall_C is None else wall_C, when=wall_when)
    held = _held(motor, top_speed=top_speed, temperature_C=warmth.at_C)
    mass, own = rotor_mass(motor), magnets(motor)
    left = (shaft or Shaft()).stiffness(motor.stack_length) - side_pull_stiffness
    deflection = side_pull / left if left > 0 else None
    rim_speed = motor.rotor.housing_outer_radius * top_speed
    return Mechanics(
        top_speed=top_speed,
        test_speed=OVERSPEED * top_speed,
        hoop_stress=held.mean,
        peak_hoop_stress=held.peak,
        stress_at_test_speed=held.at_test_speed,
        allowed_stress=held.allowed,
        overspeed_margin=held.margin,
        magnet_pull=centrifugal_pull(mass=own.mass, radius=own.centre_radius, speed=top_speed),
        magnet_attraction=magnet_attraction,
        unbalanced_pull=side_pull,
        bearing_load=side_pull + mass * GRAVITY + mass * BALANCE * top_speed,
        gap_deflection=deflection,
        rotor_mass=mass,
        rim_speed=rim_speed,
        findings=(
            *_held_findings(motor, top_speed, magnet_attraction, warmth),
            checks.gap_finding(motor, deflection),
            checks.critical_finding(checks.critical_speed(left, mass), top_speed),
            *_speed_findings(motor, top_speed, rim_speed),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """Stresses, Pa, of the wall that holds the magnets; all None where there is none."""

    mean: float | None = None
    peak: float | None = None
    at_test_speed: float | None = None
    allowed: float | None = None

    @property
    def margin(self) -> float | None:
        """Return what it may bear over what it bears at the test speed."""
        if self.allowed is None or not self.at_test_speed:
            return None
        return self.allowed / self.at_test_speed


def _carrier(motor: Motor) -> Wall | None:
    """Return the wall that holds the magnets."""
    return next(iter(walls(motor)), None)


def _held(motor: Motor, *, top_speed: float, temperature_C: float) -> _Held:
    own, carrier, test_speed = magnets(motor), _carrier(motor), OVERSPEED * top_speed
    if carrier is None:
        return _Held()
    return _Held(
        mean=carrier.mean_stress(own.pressure(top_speed), top_speed),
        peak=carrier.peak_stress(own.pressure(top_speed), top_speed),
        at_test_speed=carrier.peak_stress(own.pressure(test_speed), test_speed),
        allowed=allowed_stress(carrier, temperature_C=temperature_C).across,
    )


def _held_findings(
    motor: Motor, top_speed: float, attraction: float, warmth: Warmth
) -> tuple[Finding, ...]:
    """Return the findings on the walls and on what they hold."""
    own = magnets(motor)
    return (
        *_wall_findings(walls(motor), own, OVERSPEED * top_speed, warmth),
        checks.retention_finding(
            own,
            pull=centrifugal_pull(mass=own.mass, radius=own.centre_radius, speed=top_speed),
            attraction=attraction,
            has_skin=motor.rotor.pocket_skin > 0,
            carrier=_carrier(motor),
        ),
    )


def _speed_findings(motor: Motor, top_speed: float, rim_speed: float) -> tuple[Finding, ...]:
    """Return the findings on the rim, of a print and under water, and on the test of both."""
    carrier = _carrier(motor)
    return (
        *checks.print_alone_finding(carrier, rim_speed),
        *checks.orientation_finding(carrier),
        *checks.water_finding(motor, rim_speed),
        checks.overspeed_finding(OVERSPEED * top_speed),
    )


def _wall_findings(
    found: tuple[Wall, ...], own: Magnets, speed: float, warmth: Warmth
) -> tuple[Finding, ...]:
    """Return each wall's stress; the innermost carries the magnets, the next only itself."""
    return tuple(
        wall_finding(
            wall,
            wall.peak_stress(own.pressure(speed) if place == 0 else 0.0, speed),
            allowed_stress(wall, temperature_C=warmth.at_C),
            warmth=warmth,
        )
        for place, wall in enumerate(found)
    )


def _refuse_impossible(**numbers: float) -> None:
    problems = [
        Problem(
            what=f"= {value} is impossible.",
            why="it is a number from 0 on.",
            do="correct the value.",
            place=name,
        )
        for name, value in numbers.items()
        if not (math.isfinite(value) and value >= 0)
    ]
    if problems:
        raise InputError.from_problems(problems)
