"""What a comparison holds equal, and what it has to confess is not."""

import math
from collections.abc import Sequence

from fem_motor.comparison.records import Held, Hold
from fem_motor.design import MotorDesign
from fem_motor.units import MM
from fem_motor.winding import wind

USE = ("drive", "load", "cooling")

OF_THE_MOTOR = "rated_current_A"
"""A key of the drive that belongs to a motor, not to its supply."""


def with_use_of(first: MotorDesign, other: MotorDesign) -> MotorDesign:
    """Return `other` on the drive, load and cooling of `first`."""
    tables, use = other.to_dict(), first.to_dict()
    rated = tables["drive"][OF_THE_MOTOR]
    for section in USE:
        tables[section] = use[section]
    tables["drive"][OF_THE_MOTOR] = rated
    return MotorDesign.from_dict(tables, name=other.name)


def held_equal(
    designs: Sequence[MotorDesign], *, hold: Hold, windings: Sequence[str]
) -> tuple[Held, ...]:
    """Return row by row what is equal and what differs.

    Parameters
    ----------
    designs : sequence of MotorDesign
        As compared.
    hold : "as-drawn" or "supply-and-load"
    windings : sequence of str
        Turns and wire of each, in words.
    """
    taken = hold == "supply-and-load"
    turns_why = (
        "equal copper area gives equal motor constant, so each is compared at the turns that suit "
        "the load, in its own copper"
        if taken
        else "as the files say; other turns could make any of them look better or worse"
    )
    return (
        _row("supply", [_supply(one) for one in designs], taken=taken),
        _row("load", [_load(one) for one in designs], taken=taken),
        _row("cooling", [_cooling(one) for one in designs], taken=taken),
        _row("temperature limits", [_limits(one) for one in designs]),
        _row("envelope", [_envelope(one) for one in designs], why="size is part of the difference"),
        _row("copper area", [_copper(one) for one in designs], why="so is the copper"),
        _row("turns and wire", list(windings), why=turns_why),
    )


def _row(what: str, values: list[str], *, taken: bool = False, why: str = "") -> Held:
    if taken:
        return Held(what=what, status="taken from the first", values=(values[0],))
    if len(set(values)) == 1:
        return Held(what=what, status="equal", values=(values[0],))
    return Held(what=what, status="differs", values=tuple(values), why=why)


def _supply(design: MotorDesign) -> str:
    drive = design.values["drive"]
    return (
        f"{drive['supply_voltage_V']:g} V behind {drive['supply_resistance_mohm']:g} mΩ, "
        f"{drive['controller']} up to {drive['current_limit_A']:g} A"
    )


def _load(design: MotorDesign) -> str:
    load = design.values["load"]
    if load["kind"] == "propeller":
        size = f"{load['diameter_mm']:g} × {load['pitch_mm']:g} mm"
        return f"propeller {size}{' in water' if design.motor.load_medium == 'water' else ''}"
    if load["kind"] == "constant-torque":
        return f"constant torque {load['torque_Nm']:g} N m"
    return "none" if load["kind"] == "none" else "torque over speed, as listed"


def _cooling(design: MotorDesign) -> str:
    cooling = design.values["cooling"]
    return (
        f"{cooling['medium']} of {cooling['ambient_C']:g} °C, "
        f"{cooling['airflow_m_per_s']:g} m/s from outside"
    )


def _limits(design: MotorDesign) -> str:
    core = design.motor.stator.core
    if core.deflection_temperature_C is None:
        return f"copper, magnets and housing ({core.name} does not soften)"
    return f"{core.name} below {core.deflection_temperature_C - 10:g} °C, 10 K under softening"


def _envelope(design: MotorDesign) -> str:
    motor = design.motor
    diameter = 2 * motor.rotor.housing_outer_radius / MM
    return f"{diameter:.1f} mm across, stack {motor.stack_length / MM:g} mm"


def _copper(design: MotorDesign) -> str:
    spec, winding = design.motor.winding, wind(design.motor)
    area = sum(winding.coil_turns) * spec.strands * math.pi / 4 * spec.wire_diameter**2
    return f"{2 * area / MM**2:.0f} mm² in all slots, {winding.fill_factor:.2f} of a slot"
