"""What a powered motor does at any throttle: curves over speed, a map, a flight, seconds."""

from fem_motor.throttle.flight import Flight, FlightProfile, fly
from fem_motor.throttle.rows import Throttles, throttle_row, throttles
from fem_motor.throttle.speed_map import SpeedMap, speed_map
from fem_motor.throttle.speeds import SpeedCurve

__all__ = [
    "Flight",
    "FlightProfile",
    "SpeedCurve",
    "SpeedMap",
    "Throttles",
    "fly",
    "speed_map",
    "throttle_row",
    "throttles",
]
