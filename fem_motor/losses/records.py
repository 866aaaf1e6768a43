"""Losses at one speed and one set of currents, by kind, with how sure they are."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

ELECTRICAL = ("copper", "copper_ac", "leads", "controller", "supply")
"""Kinds that the supply pays for on the way to the rotor."""

DRAG = ("strand_eddy", "core_teeth", "core_yoke", "magnet_eddy", "ring_eddy", "windage", "bearing")
"""Kinds that hold the rotor back."""

KINDS = ELECTRICAL + DRAG


@dataclass(frozen=True, slots=True, kw_only=True)
class LossRange:
    """By which factors a loss may differ from its value, and why.

    Attributes
    ----------
    low, high : float
        Factors on the value.
    because : str
    """

    low: float
    high: float
    because: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Losses:
    """Power lost at one speed.

    Attributes
    ----------
    speed : float
        Mechanical rad/s.
    watts : mapping of kind to W
        Of `KINDS`, in their order. "copper" is with the resistance to direct current at its
        temperature, "copper_ac" what skin and proximity add; "controller" and "supply" lie
        outside the motor. A kind that could not be computed is missing.
    ranges : mapping of kind to LossRange
        Of the kinds that are estimates.
    """

    speed: float
    watts: Mapping[str, float]
    ranges: Mapping[str, LossRange]

    def __post_init__(self) -> None:
        object.__setattr__(self, "watts", MappingProxyType(dict(self.watts)))

    @property
    def total(self) -> float:
        """All that is known, W."""
        return sum(self.watts.values())

    @property
    def low(self) -> float:
        """The total with every estimate at its low end, W."""
        return sum(self._factor(kind, "low") * watts for kind, watts in self.watts.items())

    @property
    def high(self) -> float:
        """The total with every estimate at its high end, W."""
        return sum(self._factor(kind, "high") * watts for kind, watts in self.watts.items())

    @property
    def electrical(self) -> float:
        """What lies between supply and rotor, W."""
        return sum(self.watts.get(kind, 0.0) for kind in ELECTRICAL)

    @property
    def drag(self) -> float:
        """What holds the rotor back, W: rotor power less shaft power."""
        return sum(self.watts.get(kind, 0.0) for kind in DRAG)

    @property
    def core(self) -> float | None:
        """What heats the core, W; None where the loss of its material is not known."""
        teeth, yoke = self.watts.get("core_teeth"), self.watts.get("core_yoke")
        return None if teeth is None or yoke is None else teeth + yoke

    def _factor(self, kind: str, end: str) -> float:
        found = self.ranges.get(kind)
        if found is None:
            return 1.0
        return found.low if end == "low" else found.high
