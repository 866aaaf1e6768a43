"""Units that logs are written in, and what turns them into SI."""

import re
from collections.abc import Mapping

from fem_motor.units import RPM

GRAVITY = 9.80665
"""m/s² in a kilogram-force per kilogram (exact, CGPM 1901)."""
POUND_FORCE = 0.45359237 * GRAVITY
"""N (exact by the definition of the pound, 1959)."""
INCH = 0.0254
"""m."""

# By quantity: unit in lower case without blanks and dots, scale and offset to SI.
_UNITS: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "time": {
        "s": (1, 0), "sec": (1, 0), "seconds": (1, 0), "ms": (1e-3, 0), "us": (1e-6, 0),
        "ns": (1e-9, 0), "min": (60, 0), "minutes": (60, 0), "h": (3600, 0), "iso": (1, 0),
        "clock": (1, 0),
    },
    "force": {
        "n": (1, 0), "newton": (1, 0), "mn": (1e-3, 0), "kn": (1e3, 0), "g": (1e-3 * GRAVITY, 0),
        "gf": (1e-3 * GRAVITY, 0), "kg": (GRAVITY, 0), "kgf": (GRAVITY, 0), "kp": (GRAVITY, 0),
        "lb": (POUND_FORCE, 0), "lbf": (POUND_FORCE, 0), "oz": (POUND_FORCE / 16, 0),
        "ozf": (POUND_FORCE / 16, 0),
    },
    "torque": {
        "nm": (1, 0), "mnm": (1e-3, 0), "ncm": (1e-2, 0), "nmm": (1e-3, 0),
        "kgfcm": (GRAVITY * 1e-2, 0), "kgcm": (GRAVITY * 1e-2, 0), "kgfm": (GRAVITY, 0),
        "gfcm": (GRAVITY * 1e-5, 0), "gcm": (GRAVITY * 1e-5, 0),
        "ozin": (POUND_FORCE / 16 * INCH, 0),
        "ozfin": (POUND_FORCE / 16 * INCH, 0), "lbin": (POUND_FORCE * INCH, 0),
        "lbfin": (POUND_FORCE * INCH, 0), "inlb": (POUND_FORCE * INCH, 0),
    },
    "speed": {
        "rpm": (RPM, 0), "1/min": (RPM, 0), "min-1": (RPM, 0), "u/min": (RPM, 0),
        "krpm": (1e3 * RPM, 0),
        "rev/s": (60 * RPM, 0), "rps": (60 * RPM, 0), "hz": (60 * RPM, 0), "1/s": (60 * RPM, 0),
        "rad/s": (1, 0),
    },
    "voltage": {"v": (1, 0), "mv": (1e-3, 0), "volt": (1, 0), "volts": (1, 0)},
    "current": {"a": (1, 0), "ma": (1e-3, 0), "amp": (1, 0), "amps": (1, 0)},
    # A servo pulse of 1 to 2 ms is none to all: common practice.
    "throttle": {"%": (1e-2, 0), "pct": (1e-2, 0), "percent": (1e-2, 0), "": (1, 0),
                 "1": (1, 0), "us": (1e-3, -1), "ms": (1, -1)},
    "temperature": {
        "c": (1, 0), "degc": (1, 0), "°c": (1, 0), "k": (1, -273.15), "f": (5 / 9, -160 / 9),
        "degf": (5 / 9, -160 / 9), "°f": (5 / 9, -160 / 9),
    },
    "pressure": {"pa": (1, 0), "hpa": (1e2, 0), "mbar": (1e2, 0), "kpa": (1e3, 0), "bar": (1e5, 0)},
}  # fmt: skip

_QUANTITY = {
    "time": "time", "thrust": "force", "torque": "torque", "speed": "speed", "voltage": "voltage",
    "line_voltage_rms": "voltage", "current": "current", "throttle": "throttle",
    "winding_C": "temperature", "housing_C": "temperature", "controller_C": "temperature",
    "ambient_C": "temperature", "air_pressure": "pressure",
}  # fmt: skip

ALL_NAMES = tuple(_QUANTITY)
"""``time`` and all channels."""


def quantity_of(channel: str) -> str:
    """Return what kind of quantity a channel is: force, torque, speed, temperature and so on."""
    return _QUANTITY[channel]


def names_of_units(channel: str) -> tuple[str, ...]:
    """Return the names of the units that a channel may have, in lower case without blanks."""
    return tuple(filter(None, _UNITS[_QUANTITY[channel]]))


def factor(channel: str, unit: str) -> tuple[float, float] | None:
    """Return scale and offset of a unit for a channel, None where it is not known."""
    plain = unit.strip().lower().replace("µ", "u").replace("μ", "u").replace("º", "°")
    plain = re.sub(r"[\s._·*⋅-]+(?!1$)", "", plain)
    if _QUANTITY[channel] in {"force", "torque"} and unit.strip().startswith("M"):
        return None  # mega is no unit of a test stand, and would be read as milli
    return _UNITS[_QUANTITY[channel]].get(plain)
