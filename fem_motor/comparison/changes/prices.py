"""What the material of a motor costs, and what a change of it costs more."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Self

from fem_motor.comparison.assessing.masses import Masses
from fem_motor.design import MotorDesign
from fem_motor.errors import InputError, Problem
from fem_motor.toml_file import is_number, parse

KIND = "list of prices"
PRICE_TABLES = ("per_kg", "per_piece", "per_m")
LARGEST_PRICE = 1e9


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

    @classmethod
    def from_toml(cls, text: str, *, name: str = "prices") -> Self:
        """Return the prices that a TOML text lists.

        Raises
        ------
        InputError
            With every problem.

        Examples
        --------
        >>> listed = Prices.from_toml("per_kg = { iron-filled-pla-10vol = 45 }")
        >>> listed.per_kg["iron-filled-pla-10vol"]
        45.0
        """
        tables = parse(text, name, kind=KIND)
        problems = list(_price_problems(tables, name))
        if problems:
            raise InputError.from_problems(problems)
        known = {
            table: {material: float(price) for material, price in tables.get(table, {}).items()}
            for table in PRICE_TABLES
        }
        return cls(
            currency=tables.get("currency", "EUR"),
            per_kg=known["per_kg"],
            per_piece=known["per_piece"],
            per_m=known["per_m"],
        )

    def __reduce__(self) -> tuple[object, ...]:
        # Read-only mappings do not go through pickle.
        parts = (dict(self.per_kg), dict(self.per_piece), dict(self.per_m))
        return _restored, (self.currency, *parts)


def _price_problems(tables: Mapping[str, object], name: str) -> Iterator[Problem]:
    """Yield what is wrong with a list of prices."""
    for key, value in tables.items():
        if key == "currency":
            if not isinstance(value, str):
                yield Problem(place=f"{name}: currency", what=f"= {value} is no text.", do='"EUR".')
        elif key not in PRICE_TABLES or not isinstance(value, dict):
            yield Problem(
                place=f"{name}: {key}",
                what="is not known.",
                why=f"a list of prices has currency and {', '.join(PRICE_TABLES)}.",
                do="move it into one of these sections.",
            )
        else:
            for material, price in value.items():
                if not is_number(price) or not 0 <= price < LARGEST_PRICE:
                    yield Problem(
                        place=f"{name}: {key}.{material}",
                        what=f"= {price} is no price.",
                        why="a price is a number, 0 or more.",
                        do="write 45.0, without the currency.",
                    )


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
