"""Which curves of a sheet a study can draw, and where in the sheet they stand."""

from collections.abc import Mapping
from typing import Any, NamedTuple


class Curve(NamedTuple):
    """A curve of the sheet: where its numbers stand, and what to write at the axes."""

    x: str
    y: str
    x_label: str
    y_label: str


CURVES: Mapping[str, Curve] = {
    "cogging": Curve(
        "no_load.angle_deg",
        "no_load.cogging_torque_Nm",
        "rotor angle, mechanical, °",
        "cogging torque, N m",
    ),
    "torque at rated current": Curve(
        "loaded.rated.angle_deg",
        "loaded.rated.torque_Nm",
        "rotor angle, mechanical, °",
        "torque, N m",
    ),
    "torque at current limit": Curve(
        "loaded.limit.angle_deg",
        "loaded.limit.torque_Nm",
        "rotor angle, mechanical, °",
        "torque, N m",
    ),
    "ripple spectrum at rated current": Curve(
        "loaded.rated.ripple_order",
        "loaded.rated.ripple_amplitude_Nm",
        "electrical order",
        "amplitude, N m",
    ),
    "gap field": Curve(
        "no_load.gap_angle_deg",
        "no_load.gap_flux_density_T",
        "angle around the gap, mechanical, °",
        "radial flux density, T",
    ),
    "core temperature": Curve(
        "thermal.history_time_s",
        "thermal.history_C.teeth",
        "time, s",
        "temperature of the teeth, °C",
    ),
}
"""Curves by the name that a study calls them by."""


def points_of(plain: Mapping[str, Any], curve: Curve) -> tuple[list[float], list[float]]:
    """Return x and y of a curve of a sheet as plain data; empty where it has none."""
    found = []
    for path in (curve.x, curve.y):
        value: Any = plain
        for word in path.split("."):
            value = value.get(word) if isinstance(value, Mapping) else None
        found.append(value if isinstance(value, list) else [])
    x, y = found
    return (x, y) if len(x) == len(y) else ([], [])
