"""A figure with what each unknown can make of it, and the difference of two such figures.

What is not known of a motor (how strong its magnets really are, how well it cools) is mostly the
same for two motors of one maker. Two bands that overlap say little about their difference: the
difference is looked at with every shared unknown at the same end in both, and the others at
whatever ends are worst.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

from fem_motor.design import MotorDesign
from fem_motor.ends import same_kind_of_ends
from fem_motor.findings import Headline

Ratios = tuple[float, float]
"""Of a figure over its likely value with a cause at its low and at its high end."""

SURE: Ratios = (1.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubts:
    """What each unknown can make of a figure; the low end of the cause first.

    Attributes
    ----------
    magnets, core, ends, mesh, winding, cooling : (low, high)
        Remanence; permeability of the core; flux at the two ends of the stack; the computation
        itself; resistance of hand-wound coils; films, contacts and mount.
    """

    magnets: Ratios = SURE
    core: Ratios = SURE
    ends: Ratios = SURE
    mesh: Ratios = SURE
    winding: Ratios = SURE
    cooling: Ratios = SURE

    @property
    def causes(self) -> tuple[tuple[str, Ratios], ...]:
        """The causes by name."""
        return tuple((field.name, getattr(self, field.name)) for field in fields(self))


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A figure above 0 and its doubts.

    Attributes
    ----------
    value : float
    doubts : Doubts
    """

    value: float
    doubts: Doubts

    def headline(self, because: str) -> Headline:
        """Return the figure with its range, all causes at their worst together."""
        low = high = self.value
        for _, pair in self.doubts.causes:
            low, high = low * min(1.0, *pair), high * max(1.0, *pair)
        return Headline(value=self.value, low=low, high=high, because=because)


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One figure over another, less 1: likely, lowest, highest.

    Attributes
    ----------
    gain, low, high : float
        0.1: a tenth more.
    own : tuple of str
        Causes that are each design's own, and move the band.
    """

    gain: float
    low: float
    high: float
    own: tuple[str, ...] = ()


CAUSE_WORDS: Mapping[str, str] = {
    "magnets": "strength of the magnets",
    "core": "permeability of the core",
    "ends": "flux at the ends of the stack",
    "mesh": "mesh",
    "winding": "resistance of the coils",
    "cooling": "cooling",
}


def shared_causes(one: MotorDesign, other: MotorDesign) -> frozenset[str]:
    """Return the unknowns that are the same in both designs.

    Magnets of one grade, cores of one material, the same section (its mesh errs the same way),
    the same kind of ends; the hands that wind and the air that cools always.
    """
    shared = {"winding", "cooling"}
    first, second = one.values, other.values
    if _material(one, "rotor", "magnet") == _material(other, "rotor", "magnet"):
        shared.add("magnets")
    if _material(one, "stator", "core") == _material(other, "stator", "core"):
        shared.add("core")
    if all(first[part] == second[part] for part in ("machine", "stator", "rotor")):
        shared.add("mesh")
    if same_kind_of_ends(one.motor, other.motor):
        shared.add("ends")
    return frozenset(shared)


def _material(design: MotorDesign, section: str, key: str) -> object:
    name = design.values[section][key]
    return name, design.values["materials"].get(name)


def difference(
    one: Estimate, other: Estimate, *, shared: frozenset[str] | set[str] = frozenset()
) -> Difference:
    """Return `other` over `one`, less 1, with its band.

    Parameters
    ----------
    one, other : Estimate
    shared : set of str
        Causes that are at the same end in both; each other one is at its worst for itself.

    Examples
    --------
    >>> cold = Estimate(value=10.0, doubts=Doubts(cooling=(0.5, 2.0)))
    >>> better = Estimate(value=11.0, doubts=Doubts(cooling=(0.5, 2.0)))
    >>> found = difference(cold, better, shared={"cooling"})
    >>> round(found.low, 6), round(found.high, 6)
    (0.1, 0.1)
    """
    likely = math.log(other.value / one.value)
    low = high = likely
    own = []
    for (cause, before), (_, after) in zip(one.doubts.causes, other.doubts.causes, strict=True):
        logs = [math.log(end) for end in before], [math.log(end) for end in after]
        if cause in shared:
            moved = [new - old for old, new in zip(*logs, strict=True)]
            low, high = low + min(0.0, *moved), high + max(0.0, *moved)
            continue
        down = min(0.0, *logs[1]) - max(0.0, *logs[0])
        up = max(0.0, *logs[1]) - min(0.0, *logs[0])
        low, high = low + down, high + up
        if up > 0 or down < 0:
            own.append(cause)
    return Difference(
        gain=math.expm1(likely), low=math.expm1(low), high=math.expm1(high), own=tuple(own)
    )
