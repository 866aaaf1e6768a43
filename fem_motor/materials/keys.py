"""Every key that a material may have, in the library and in a design file."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["core", "magnet", "conductor", "structure"]
Type = Literal["number", "text", "range", "table"]
KINDS: tuple[Kind, ...] = ("core", "magnet", "conductor", "structure")


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialKey:
    """One key: what it means, for which kinds, and what it may be."""

    name: str
    meaning: str
    type: Type = "number"
    kinds: tuple[Kind, ...] = KINDS
    low: float = 0.0
    high: float = float("inf")


def _number(name: str, meaning: str, low: float, high: float, *kinds: Kind) -> MaterialKey:
    return MaterialKey(name=name, meaning=meaning, low=low, high=high, kinds=kinds or KINDS)


KEYS: tuple[MaterialKey, ...] = (
    MaterialKey(name="kind", meaning="core, magnet, conductor or structure", type="text"),
    MaterialKey(name="like", meaning="library material that gives what is not said", type="text"),
    MaterialKey(name="summary", meaning="one line for lists", type="text"),
    MaterialKey(name="source", meaning="where the values come from", type="text"),
    _number("relative_permeability", "constant permeability", 1, 1e6, "core"),
    MaterialKey(
        name="relative_permeability_range",
        meaning="[low, high] where the permeability is not well known",
        type="range",
        kinds=("core",),
        low=1,
        high=1e6,
    ),
    MaterialKey(name="bh_table", meaning="rows [H in A/m, B in T]", type="table", kinds=("core",)),
    _number("iron_volume_fraction", "share of iron in a filled plastic", 0.001, 0.7, "core"),
    _number("hysteresis_loss", "k_h in P = k_h f Bⁿ + k_e f² B² + k_x (f B)^1.5", 0, 10, "core"),
    _number("hysteresis_exponent", "n in the same", 1, 3, "core"),
    _number("eddy_loss", "k_e in the same", 0, 1, "core"),
    _number("excess_loss", "k_x in the same", 0, 1, "core"),
    _number("remanence_T", "remanence at 20 °C", 0.001, 2, "magnet"),
    _number("recoil_permeability", "relative, at 20 °C", 1, 2, "magnet"),
    _number("intrinsic_coercivity_kA_per_m", "at 20 °C", 1, 10_000, "magnet"),
    _number("remanence_per_K", "relative change per kelvin", -0.01, 0.01, "magnet"),
    _number("coercivity_per_K", "relative change per kelvin", -0.02, 0.02, "magnet"),
    _number("temperature_coefficient_per_K", "of the resistivity", 0, 0.01, "conductor"),
    _number("density_kg_per_m3", "density", 0.1, 30_000),
    _number("resistivity_ohm_m", "electrical, at 20 °C", 1e-9, 1e20),
    _number("thermal_conductivity_W_per_mK", "thermal conductivity", 1e-3, 2000),
    _number("heat_capacity_J_per_kgK", "specific heat capacity", 10, 10_000),
    _number("deflection_temperature_C", "deflection under load, 0.45 MPa (ISO 75-2)", -50, 1000),
    _number("maximum_temperature_C", "highest continuous temperature", -50, 2000),
    _number("strength_MPa", "tensile", 0.01, 5000),
    _number("strength_across_layers_MPa", "tensile, between printed layers", 0.01, 5000),
)
"""The keys of all kinds, in the order of the documentation."""
