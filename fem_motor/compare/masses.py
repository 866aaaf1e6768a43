"""What a motor weighs, part by part, and what its material costs."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fem_motor.design import Motor, MotorDesign
from fem_motor.section import HalfCellOutline, cross_section
from fem_motor.winding import Winding

USUAL_DENSITY = {"core": 7650.0, "magnet": 7500.0, "ring": 7850.0, "housing": 1240.0}
"""kg/m³ where a material does not tell: electrical steel, sintered NdFeB, mild steel, plastic;
from memory."""

THINNEST_BELL = 1e-3
"""m: the closed end of the housing, where its wall is thinner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Masses:
    """Parts of a motor that the design decides, kg; shaft, bearings, mount and leads left out.

    Attributes
    ----------
    core, copper, magnets, ring, housing : float
    """

    core: float
    copper: float
    magnets: float
    ring: float
    housing: float

    @property
    def total(self) -> float:
        """All of them."""
        return self.core + self.copper + self.magnets + self.ring + self.housing


def masses(motor: Motor, winding: Winding) -> Masses:
    """Return what the parts weigh, from the exact areas of the section."""
    section, length = cross_section(motor), motor.stack_length
    stator, rotor = motor.stator, motor.rotor
    core = _area(section.stator, "core") * stator.core_fraction
    ring = 0.0 if rotor.ring is None else _area(section.rotor, "ring")
    outside = rotor.housing_outer_radius
    wall = math.pi * (outside**2 - rotor.ring_outer_radius**2)
    bell = math.pi * outside**2 * max(rotor.housing_thickness, THINNEST_BELL)
    return Masses(
        core=core * length * (stator.core.density or USUAL_DENSITY["core"]),
        copper=winding.copper_mass,
        magnets=_area(section.rotor, "magnet")
        * length
        * (rotor.magnet.density or USUAL_DENSITY["magnet"]),
        ring=ring
        * length
        * ((None if rotor.ring is None else rotor.ring.density) or USUAL_DENSITY["ring"]),
        housing=(wall * length + bell) * (rotor.housing.density or USUAL_DENSITY["housing"]),
    )


def _area(cell: HalfCellOutline, label: str) -> float:
    """Return the area of what has that label, all around, m²."""
    half = sum(region.area for region in cell.regions if region.label == label)
    return half * 2 * math.pi / cell.half_pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What material costs, as the maker pays for it.

    Attributes
    ----------
    currency : str
    per_kg, per_piece, per_m : mapping of a material's name to its price
        A magnet by the piece: that of the design the list is for; other sizes go by volume.
        The wire is called copper.
    """

    currency: str = "EUR"
    per_kg: Mapping[str, float]
    per_piece: Mapping[str, float]
    per_m: Mapping[str, float]

    def __post_init__(self) -> None:
        for name in ("per_kg", "per_piece", "per_m"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    def __reduce__(self) -> tuple[object, ...]:
        # Read-only mappings do not go through pickle.
        parts = (dict(self.per_kg), dict(self.per_piece), dict(self.per_m))
        return _restored, (self.currency, *parts)


def _restored(
    currency: str, kg: Mapping[str, float], piece: Mapping[str, float], metre: Mapping[str, float]
) -> Prices:
    return Prices(currency=currency, per_kg=kg, per_piece=piece, per_m=metre)


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """One material of one motor.

    Attributes
    ----------
    part, material : str
    mass : float
        kg.
    pieces : float
        Of the size of `unit_mass`.
    length : float
        m, of wire.
    """

    part: str
    material: str
    mass: float
    pieces: float = 0.0
    length: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Money:
    """A difference in cost.

    Attributes
    ----------
    value : float or None
        None where a price is missing.
    missing : tuple of str
        Materials without a price.
    """

    value: float | None
    missing: tuple[str, ...] = ()


def purchases(
    design: MotorDesign, weights: Masses, *, wire_length: float, magnet_mass: float
) -> tuple[Purchase, ...]:
    """Return what has to be bought for a motor.

    Parameters
    ----------
    design : MotorDesign
    weights : Masses
    wire_length : float
        m, all strands.
    magnet_mass : float
        kg of the magnet that a price by the piece is for.
    """
    stator, rotor = design.values["stator"], design.values["rotor"]
    return (
        Purchase(part="core", material=stator["core"], mass=weights.core),
        Purchase(part="wire", material="copper", mass=weights.copper, length=wire_length),
        Purchase(
            part="magnets",
            material=rotor["magnet"],
            mass=weights.magnets,
            pieces=weights.magnets / magnet_mass,
        ),
        Purchase(part="ring", material=rotor["ring_material"], mass=weights.ring),
        Purchase(part="housing", material=rotor["housing_material"], mass=weights.housing),
    )


def one_magnet(design: MotorDesign, weights: Masses) -> float:
    """Return the mass of one magnet, kg."""
    return weights.magnets / design.motor.rotor.segments


def money_between(
    before: tuple[Purchase, ...], after: tuple[Purchase, ...], prices: Prices
) -> Money:
    """Return what `after` costs more than `before`; parts that are the same need no price."""
    total, missing = 0.0, []
    for old, new in zip(before, after, strict=True):
        if old == new:
            continue
        for purchase, sign in ((old, -1.0), (new, 1.0)):
            price = price_of(purchase, prices)
            if price is None:
                missing.append(purchase.material)
            else:
                total += sign * price
    if missing:
        return Money(value=None, missing=tuple(dict.fromkeys(missing)))
    return Money(value=total)


def price_of(purchase: Purchase, prices: Prices) -> float | None:
    """Return what a purchase costs; None where no price is known, 0 for nothing."""
    if purchase.mass == 0:
        return 0.0
    for table, amount in (
        (prices.per_piece, purchase.pieces),
        (prices.per_m, purchase.length),
        (prices.per_kg, purchase.mass),
    ):
        if purchase.material in table and amount > 0:
            return table[purchase.material] * amount
    return None
