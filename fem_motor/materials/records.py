"""The materials as records, in SI: cores, magnets, conductors, structures."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar

from fem_motor.materials.curves import BHCurve
from fem_motor.units import MU_0, ROOM_C

SQUARENESS = 0.95
"""Field strength at the knee over the intrinsic coercivity (0.90 to 0.98): an assumption, to be
replaced by the maker's curve. Common practice, no source."""

USUAL_DENSITY: Mapping[str, float] = MappingProxyType(
    {"sheet": 7650.0, "magnet": 7500.0, "steel": 7850.0, "plastic": 1240.0}
)
"""kg/m³ where a material does not tell: electrical sheet, sintered NdFeB, mild steel (handbooks),
PLA (data sheets); from memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """What every material may tell; None where it is not known.

    Attributes
    ----------
    name : str
        As in the library or the file.
    density : kg/m³
    resistivity : Ω m
        At 20 °C.
    thermal_conductivity : W/(m K)
    heat_capacity : J/(kg K)
    deflection_temperature_C : °C
        Of plastics under load (ISO 75-2, method B, 0.45 MPa).
    maximum_temperature_C : °C
        Continuous.
    strength, strength_across_layers : Pa
        Tensile; the second between printed layers.
    source : str
        Where the values come from; empty for a material that the user does not explain.
    """

    kind: ClassVar[str]
    usual_density: ClassVar[Mapping[str, float]] = USUAL_DENSITY

    name: str
    density: float | None = None
    resistivity: float | None = None
    thermal_conductivity: float | None = None
    heat_capacity: float | None = None
    deflection_temperature_C: float | None = None
    maximum_temperature_C: float | None = None
    strength: float | None = None
    strength_across_layers: float | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Core(Substance):
    """A material that leads flux.

    Attributes
    ----------
    curve : BHCurve
    relative_permeability_range : (low, high) or None
        Where the initial permeability is not well known.
    iron_volume_fraction : float or None
        Of particles in plastic.
    hysteresis_loss, eddy_loss, excess_loss : float or None
        k_h, k_e, k_x in P = k_h f B^n + k_e f² B² + k_x (f B)^1.5, W/kg for Hz and T.
    hysteresis_exponent : float
        n above.

    Source of the loss law: G. Bertotti, IEEE Trans. Magn. 24 (1988) 621, from memory.
    """

    kind: ClassVar[str] = "core"

    curve: BHCurve
    relative_permeability_range: tuple[float, float] | None = None
    iron_volume_fraction: float | None = None
    hysteresis_loss: float | None = None
    hysteresis_exponent: float = 2.0
    eddy_loss: float | None = None
    excess_loss: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Magnet(Substance):
    """A permanent magnet with a straight recoil line B = B_r + μ₀ μ_rec H.

    Attributes
    ----------
    remanence : T
        At 20 °C.
    recoil_permeability : float
        Relative.
    intrinsic_coercivity : A/m or None
        At 20 °C, positive.
    remanence_per_K, coercivity_per_K : 1/K
        Change per kelvin over the value at 20 °C; negative where heat weakens.
    """

    kind: ClassVar[str] = "magnet"

    remanence: float
    recoil_permeability: float
    intrinsic_coercivity: float | None = None
    remanence_per_K: float = 0.0
    coercivity_per_K: float = 0.0

    def remanence_at(self, temperature_C: float) -> float:
        """Return B_r at a temperature, T; not below 0."""
        return max(0.0, self.remanence * (1 + self.remanence_per_K * (temperature_C - ROOM_C)))

    def coercivity_at(self, temperature_C: float) -> float | None:
        """Return the intrinsic coercivity at a temperature, A/m; None where it is not known."""
        if self.intrinsic_coercivity is None:
            return None
        change = 1 + self.coercivity_per_K * (temperature_C - ROOM_C)
        return max(0.0, self.intrinsic_coercivity * change)

    def knee_flux_density(self, temperature_C: float) -> float | None:
        """Return the flux density below which the magnet stays weaker, T; None: not known.

        B_k = B_r − μ₀ μ_rec H_k with H_k = 0.95 of the intrinsic coercivity, all at that
        temperature; negative where the knee lies in the third quadrant. The square loop and the
        0.95 are assumptions.
        """
        coercivity = self.coercivity_at(temperature_C)
        if coercivity is None:
            return None
        recoil = MU_0 * self.recoil_permeability
        return self.remanence_at(temperature_C) - recoil * SQUARENESS * coercivity


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor(Substance):
    """A wire material; its resistivity is given.

    Attributes
    ----------
    temperature_coefficient : 1/K
        Of the resistivity, over that at 20 °C.
    """

    kind: ClassVar[str] = "conductor"

    resistivity: float
    temperature_coefficient: float = 0.00393

    def resistivity_at(self, temperature_C: float) -> float:
        """Return ρ = ρ₂₀ (1 + α (T − 20 °C)), Ω m."""
        return self.resistivity * (1 + self.temperature_coefficient * (temperature_C - ROOM_C))


@dataclass(frozen=True, slots=True, kw_only=True)
class Structure(Substance):
    """A material that leads no flux of its own: plastics, resins, non-magnetic metals, air."""

    kind: ClassVar[str] = "structure"


Material = Core | Magnet | Conductor | Structure
"""A material of any kind."""
