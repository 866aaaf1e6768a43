"""The only place where millimetres, degrees, rpm and degrees Celsius meet SI.

A name with a unit means that unit; a name without means SI. Multiply on the way in
(`width_mm * MM`), divide on the way out (`angle / DEG`).
"""

import math

MM = 1e-3
"""Metres in a millimetre."""

DEG = math.pi / 180
"""Radians in a degree."""

RPM = 2 * math.pi / 60
"""Radians per second in one revolution per minute."""

MU_0 = 4e-7 * math.pi
"""Permeability of vacuum, H/m: the conventional value, 5e-10 below CODATA 2018."""

GRAVITY = 9.80665
"""Standard acceleration of free fall, m/s² (exact, CGPM 1901): what a kilogram-force is made of."""

ROOM_C = 20.0
"""Reference temperature of resistances and magnets, °C (IEC 60028)."""
