"""The machine with currents: torque and its ripple, inductances."""

from fem_motor.loading.dq_map import DqMap, dq_map
from fem_motor.loading.ripple import LoadedTorque, Waveform, loaded_torque

__all__ = [
    "DqMap",
    "LoadedTorque",
    "Waveform",
    "dq_map",
    "loaded_torque",
]
