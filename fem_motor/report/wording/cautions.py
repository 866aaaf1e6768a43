"""What can hurt people who build and run the motor: by hazard, as the design has it.

Local codes and licensed practice come before anything written here. Source of the hazards and the
usual measures: common practice of workshops and test stands, no source.
"""

from fem_motor.performance import PerformanceSheet
from fem_motor.report.wording.words import table

_MAGNETS = """\
Magnets this strong pinch fingers and shatter. Keep them from pacemakers, cards and children: \
two swallowed magnets are a surgical emergency."""
_SPINNING = """\
Magnets leave a rotor like shot: eye protection always; first spins and overspeed in a closed \
box (polycarbonate of 6 mm or more, or plywood), nobody in the plane of rotation.
No rotor with a crack, a loose magnet or a rubbing gap runs again, however small it looks."""
_PROPELLER = """\
A propeller cuts: clamp the motor, guard the disc and stand behind its plane; hair, cords and \
sleeves away. Take the propeller off for setting up; with it, connect the battery last."""
_BATTERY = """\
Lithium batteries burn when shorted, pierced or overcharged: fuse them, charge them watched on \
something that does not burn, disconnect them after the run.
A motor that is turned by hand or wind is a generator: its leads are live without a battery, \
and braking lifts the supply's voltage."""
_HEAT = """\
A stalled or overloaded motor heats its copper and its battery within seconds, and burns skin \
long after (from 60 °C): measure rather than feel, let it cool, never leave it alone.
Overheated plastic, enamel, glue and potting give off vapours that irritate or poison: cut the \
power, leave, ventilate; do not breathe them. Wear gloves with uncured resin."""
_PRINTED = """\
Printed parts soften without warning and let magnets and shaft go: give the first runs a guard, \
a thermometer and a time limit."""
_DUST = """\
Dust of iron and magnets: wear a mask, keep sparks away."""
_WATER = """\
Enamel has pinholes: a bare winding under water leaks current and corrodes. Pot or varnish it \
twice, and test its insulation with the controller disconnected. Keep the controller out of the \
water, or potted.
In or near water use batteries of extra-low voltage only: wet skin bears less than dry skin. \
Supplies fed by the mains belong to licensed practice under the local electrical code, with \
residual-current protection.
Salt water eats plated magnets, plain steel and ball bearings within days: coat, rinse, look."""
_MAINS = """\
Stay on batteries or certified supplies: work on the mains, or above what counts as extra-low \
voltage, is for licensed practice under the local code."""
_RULES = """\
Figures here are estimates, no proof of safety: test with short runs. Rules of your country and \
workplace come before anything written here."""

_MAGNETS_IN_SHORT = """\
Magnets this strong pinch, shatter, disturb pacemakers, and fly off a rotor: glasses, a closed \
box for first spins."""
_PROPELLER_IN_SHORT = """\
A propeller cuts: clamp the motor, stand behind the disc's plane, propeller off for first runs."""
_HEAT_IN_SHORT = """\
A stalled motor burns within seconds; printed parts soften without warning and give off fumes. \
Fuse the supply, never leave it alone."""
_WATER_IN_SHORT = """\
Water and electricity: extra-low voltage from a battery only, winding potted; supplies from the \
mains are for licensed practice under the local code."""
_RULES_IN_SHORT = """\
Rules of your country and workplace come before anything written here; the report says more."""

GENERAL_CAUTIONS = (
    _MAGNETS_IN_SHORT,
    _PROPELLER_IN_SHORT,
    _HEAT_IN_SHORT,
    *_MAINS.splitlines(),
    *_RULES.splitlines(),
)
"""Of documents about several motors."""


def cautions_in_short(sheet: PerformanceSheet) -> tuple[str, ...]:
    """Return the hazards of this machine in a few lines, for the first screen."""
    return (
        _MAGNETS_IN_SHORT,
        *([_PROPELLER_IN_SHORT] if _turns_a_propeller(sheet) else []),
        _HEAT_IN_SHORT,
        *([_WATER_IN_SHORT] if _is_in_water(sheet) else []),
        _RULES_IN_SHORT,
    )


def cautions(sheet: PerformanceSheet) -> tuple[str, ...]:
    """Return all hazards that go with this machine and what is usually done about them."""
    hazards = (
        _MAGNETS,
        _SPINNING,
        _PROPELLER if _turns_a_propeller(sheet) else "",
        _BATTERY,
        _HEAT,
        _PRINTED if sheet.thermal.softening_C is not None else "",
        _DUST,
        _WATER if _is_in_water(sheet) else "",
        _MAINS,
        _RULES,
    )
    return tuple(line for hazard in hazards for line in hazard.splitlines())


def _turns_a_propeller(sheet: PerformanceSheet) -> bool:
    return table(sheet.design, "load").get("kind") == "propeller"


def _is_in_water(sheet: PerformanceSheet) -> bool:
    return "water" in {table(sheet.design, name).get("medium") for name in ("cooling", "load")}
