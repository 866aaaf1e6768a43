"""Figures of a sheet by name, as a study records them."""

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from fem_motor.findings import Headline
from fem_motor.numbers import split_name
from fem_motor.performance import PerformanceSheet

ANSWERS: Mapping[str, tuple[str, str]] = {
    "load_shaft_power_W": ("shaft power with this load", "W"),
    "load_supply_current_A": ("current from the supply", "A"),
    "load_speed_rpm": ("speed with this load", "rpm"),
    "load_thrust_N": ("thrust, standing still", "N"),
    "seconds_to_soften_core": ("time until the core softens at this load", "s"),
    "continuous_shaft_power_W": ("shaft power it can hold for good", "W"),
    "burst_10_s_shaft_power_W": ("shaft power for 10 s from cold", "W"),
    "burst_60_s_shaft_power_W": ("shaft power for 60 s from cold", "W"),
    "speed_constant_rpm_per_V": ("speed constant Kv", "rpm/V"),
    "torque_constant_Nm_per_A": ("torque constant Kt", "N m/A"),
    "motor_constant_Nm_per_sqrtW": ("motor constant", "N m/√W"),
    "resistance_line_line_ohm": ("resistance, line to line", "Ω"),
    "cogging_peak_to_peak_Nm": ("cogging, peak to peak", "N m"),
}
"""Headlines of every sheet, which carry their range: in words, and their unit."""

FIGURES: Mapping[str, tuple[str, str]] = {
    "ripple_peak_to_peak_fraction": ("torque ripple, peak to peak over the mean,", "%"),
    "back_emf_thd": ("harmonic content of the back-EMF of a phase,", "%"),
    "back_emf_line_thd": ("harmonic content of the back-EMF between leads,", "%"),
    "mean_torque_Nm": ("mean torque", "N m"),
    "resistance_phase_ohm": ("resistance of a phase", "Ω"),
    "fill_factor": ("slot fill (bare copper)", ""),
    "ring_flux_density_T": ("largest mean flux density in the ring,", "T"),
}
"""Other figures whose names are not words enough; a comma where their place follows."""

PLACES: Mapping[str, str] = {
    "no_load": "without current",
    "loaded.rated": "at the rated current",
    "loaded.limit": "at the current limit",
    "operating_points.no load": "without load",
    "operating_points.load": "with this load",
    "operating_points.current limit": "at the current limit",
    "operating_points.stall": "stalled",
}
"""Where in a sheet a figure stands, as words that may follow its name; others need none."""

PARTS = tuple(one.name for one in fields(PerformanceSheet) if one.name != "field_map")

COMPUTED = "computed; no range of its own"


def can_be_recorded(name: str) -> bool:
    """Return whether a sheet could have a figure of this name, as far as its first word says."""
    return name in ANSWERS or (name.partition(".")[0] in PARTS and "." in name)


def in_words(name: str) -> tuple[str, str]:
    """Return what a recorded figure is called in a sentence, and its unit.

    >>> in_words("loaded.rated.mean_torque_Nm")
    ('mean torque at the rated current', 'N m')
    >>> in_words("mechanics.rotor_mass_kg")
    ('rotor mass', 'kg')
    """
    if name in ANSWERS:
        return ANSWERS[name]
    place, _, last = name.rpartition(".")
    words, unit = FIGURES.get(last, split_name(last))
    where = PLACES.get(place, "")
    return (f"{words} {where}" if where else words.rstrip(",")), unit


def recorded(plain: Mapping[str, Any], name: str) -> Headline | None:
    """Return a figure of a sheet as plain data; None where it has none, or no number there.

    A dot goes into a part; in a list of named things, to the one with that name.

    >>> plain = {"operating_points": [{"name": "load", "speed_rpm": 7003.0}]}
    >>> recorded(plain, "operating_points.load.speed_rpm").value
    7003.0
    """
    if name in ANSWERS:
        return _headline(plain.get("answers", {}).get(name))
    value: Any = plain
    for word in name.split("."):
        if isinstance(value, Mapping):
            value = value.get(word)
        elif isinstance(value, Sequence) and not isinstance(value, str):
            value = next((one for one in value if _name(one) == word), None)
        else:
            return None
    return _headline(value)


def _name(one: object) -> object:
    return one.get("name") if isinstance(one, Mapping) else None


def _headline(value: object) -> Headline | None:
    if isinstance(value, Mapping) and {"value", "low", "high", "because"} <= value.keys():
        return None if value["value"] is None else Headline(**value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return Headline(value=value, low=None, high=None, because=COMPUTED)
    return None
