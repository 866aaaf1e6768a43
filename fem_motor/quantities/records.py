"""What is read off the fields over rotor angle."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from fem_motor.arrays import FloatArray, frozen

Method = Literal["linear", "newton"]
Waveform = Literal["sine", "six-step"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TorqueParts:
    """Where a torque comes from, (n,) N m each; they add up to it.

    Attributes
    ----------
    cogging_Nm
        Without current.
    magnet_Nm
        Currents times the back-EMF of the machine without current.
    reluctance_Nm
        The rest: what position and saturation make of the inductances.
    """

    cogging_Nm: FloatArray
    magnet_Nm: FloatArray
    reluctance_Nm: FloatArray

    def __post_init__(self) -> None:
        for name in ("cogging_Nm", "magnet_Nm", "reluctance_Nm"):
            object.__setattr__(self, name, frozen(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RotorSweep:
    """Torque and flux linkage over rotor angle, whole machine, 20 °C, two-dimensional.

    Attributes
    ----------
    angle_deg : (n,)
        Mechanical, counter-clockwise, 0 where pole 1 faces tooth 1.
    torque_Nm : (n,)
        On the rotor about its own axis, counter-clockwise positive.
    pull_N : (2, n)
        Force on the rotor along x and y; tooth 1 is on the x axis, and so is an offset.
    flux_linkage_Wb : (3, n)
        Phases U, V, W at the terminals of the branch.
    currents_A : (3, n)
        Branch currents.
    waveform : "none", "held", "sine" or "six-step"
        Of the currents; the last two turn with the rotor.
    parts : TorqueParts or None
        Of currents that turn with the rotor.
    dofs : int
        Unknowns of the field solution.
    method : "linear" or "newton"
        Whether the cores were solved as linear.
    timing_s : mapping of stage to seconds
        Stages are disjoint.
    """

    angle_deg: FloatArray
    torque_Nm: FloatArray
    pull_N: FloatArray
    flux_linkage_Wb: FloatArray
    currents_A: FloatArray
    waveform: Literal["none", "held", "sine", "six-step"]
    parts: TorqueParts | None
    dofs: int
    method: Method
    timing_s: Mapping[str, float]

    def __post_init__(self) -> None:
        for name in ("angle_deg", "torque_Nm", "pull_N", "flux_linkage_Wb", "currents_A"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "timing_s", MappingProxyType(dict(self.timing_s)))
