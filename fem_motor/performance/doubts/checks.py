"""Checks on a result, each with its number, its limit and what to do."""

import math
from collections.abc import Iterator

from fem_motor.design import Motor
from fem_motor.ends import ends_are_computed
from fem_motor.findings import Finding
from fem_motor.performance.doubts.quality import QualitySettings
from fem_motor.quantities import MotorModel

TOOTH_LIMIT, YOKE_LIMIT, RING_LIMIT = 1.75, 1.55, 1.5
"""Mean flux density of steel at no load, T; common practice in design reviews, no source."""

COGGING_LIMIT = 0.02
"""Cogging peak over rated torque for a propeller; common practice, no source."""

SHORT_STACK = 4.0
"""Stack length over pole pitch below which the ends of a core that is nearly air cost about 5 %
or more: a fifth of a pole pitch is lost, in coils a quarter pole pitch off the magnets."""

MUCH_MEMORY = 2e9
"""Bytes: half of what small computers have; common practice, no source."""


def result_checks(
    motor: Motor, model: MotorModel, settings: QualitySettings, *, rated_torque: float
) -> tuple[Finding, ...]:
    """Return the findings on a solved machine.

    Parameters
    ----------
    motor, model
    settings : QualitySettings
    rated_torque : float
        N m, against which cogging is held.
    """
    found = [
        *_torques_agree(model, settings, rated_torque),
        _cogging(model, rated_torque),
        *_saturation(motor, model),
        _side_pull(motor),
    ]
    found.extend(_much_memory(model))
    if motor.rotor.magnet_layout == "halbach" and motor.rotor.strong_side == "outside":
        found.append(_wrong_side())
    short = _short_stack(motor)
    if short is not None:
        found.append(short)
    return tuple(found)


def _torques_agree(
    model: MotorModel, settings: QualitySettings, rated_torque: float
) -> Iterator[Finding]:
    if model.torques is None:
        return
    peak = model.cogging_peak_to_peak / 2
    limit = max(settings.cogging_error * peak, 2e-2 * settings.cogging_error * rated_torque)
    spread = model.torques.spread
    agrees = spread <= limit
    yield Finding(
        name="spread of three torques (harmonics, co-energy, stress), N m",
        status="ok" if agrees else "watch",
        value=spread,
        limit=limit,
        why="three ways to compute the same cogging torque must agree; "
        f"the limit is {settings.cogging_error:.1%} of the cogging peak, or "
        f"{2 * settings.cogging_error:.2g} % of the rated torque where that is more.",
        do="" if agrees else "run with --quality fine, or take cogging as good to the spread only.",
    )


def _cogging(model: MotorModel, rated_torque: float) -> Finding:
    share = model.cogging_peak_to_peak / 2 / rated_torque
    fine = share <= COGGING_LIMIT
    return Finding(
        name="cogging peak over rated torque",
        status="ok" if fine else "watch",
        value=share,
        limit=COGGING_LIMIT,
        why="cogging shakes the airframe and makes starting rough; common practice for "
        "propellers, no source.",
        do=""
        if fine
        else "narrow the slot opening, change magnet_arc_fraction a little, "
        "or choose slots and poles with a larger least common multiple.",
    )


def _saturation(motor: Motor, model: MotorModel) -> list[Finding]:
    flux, rotor = model.core_flux, motor.rotor
    found = []
    if not motor.stator.core.curve.is_nearly_air:
        found += [
            _density("tooth", flux.tooth, TOOTH_LIMIT, "wider teeth or weaker magnets"),
            _density("yoke", flux.yoke, YOKE_LIMIT, "a thicker yoke"),
        ]
    if flux.ring is not None and rotor.ring is not None and not rotor.ring.curve.is_nearly_air:
        found.append(_density("ring", flux.ring, RING_LIMIT, "a thicker ring"))
    return found


def _density(part: str, value: float, limit: float, remedy: str) -> Finding:
    fine = value <= limit
    return Finding(
        name=f"mean flux density of the {part}, T",
        status="ok" if fine else "watch",
        value=value,
        limit=limit,
        why=f"above {limit:g} T the {part} saturates: it takes ampere-turns from the magnets, "
        "and in the ring flux leaks outside; common practice, no source.",
        do="" if fine else f"{remedy} would lower it.",
    )


def _side_pull(motor: Motor) -> Finding:
    common = math.gcd(motor.stator.slots, motor.rotor.poles)
    return Finding(
        name="equal sectors around the rotor",
        status="ok" if common > 1 else "watch",
        value=float(common),
        limit=2.0,
        bound="at least",
        why="with one sector only the currents pull the rotor to one side, turning with the load."
        if common == 1
        else "the currents' pulls cancel around the circle.",
        do="choose slots and poles with a common divisor of 2 or more, or strong bearings."
        if common == 1
        else "",
    )


def _much_memory(model: MotorModel) -> Iterator[Finding]:
    memory = model.problem.memory
    if memory > MUCH_MEMORY:
        yield Finding(
            name="memory that the fields take, GB",
            status="watch",
            value=memory / 1e9,
            limit=MUCH_MEMORY / 1e9,
            why=f"{model.problem.unknowns} unknowns are solved at once; a study takes as much in "
            "each of its processes.",
            do="use --quality draft, and --workers so that their memory fits into the machine.",
        )


def _wrong_side() -> Finding:
    return Finding(
        name="strong side of the Halbach layout",
        status="stop",
        why="the strong side looks away from the stator of an outrunner: almost no flux reaches "
        "the coils.",
        do='set rotor.strong_side = "stator", or turn every second magnet of the layout round.',
    )


def _short_stack(motor: Motor) -> Finding | None:
    if not ends_are_computed(motor):
        return None
    pole_pitch = math.pi * motor.stator.outer_radius / motor.rotor.pole_pairs
    ratio = motor.stack_length / pole_pitch
    fine = ratio >= SHORT_STACK
    return Finding(
        name="stack length over pole pitch",
        status="ok" if fine else "watch",
        value=ratio,
        limit=SHORT_STACK,
        why="a core that is nearly air lets part of the flux leave at the two ends, which the "
        "section does not know; the end factor is computed from the magnets' true length and is in "
        "Kv and Kt, not in curves and field pictures.",
        do=""
        if fine
        else "take Kv and Kt with their ranges; a longer stack loses a smaller share.",
    )
