"""How flux linkage and inductance follow the core's permeability, the air gap and the remanence.

A handful of machines is solved; between them the logarithms follow a polynomial. With a core that
is one straight line the remanence needs no field: all flux is in proportion to it. With one that
saturates a machine with weaker magnets is solved too.
"""

import math
from dataclasses import dataclass

import numpy as np

from fem_motor.design import MotorDesign
from fem_motor.performance import solve_powered
from fem_motor.powered import PoweredMotor
from fem_motor.units import MM

LOWEST, HIGHEST = 1.02, 2.0
"""Of the range of permeabilities solved: nearly air, and twice that of the design."""

GAP_STEP = 0.2 * MM
"""By which the gap of the second machine is wider."""

WEAKER = 0.95
"""Remanence of the magnets of the machine with a saturating core, over that of the design."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldResponse:
    """Logarithms of flux linkage and inductance over those of the design.

    Attributes
    ----------
    permeability, air_gap : float
        As designed; permeability None where the core saturates.
    flux, inductance : (3,)
        Polynomial in ln(μ/μ_design), highest power first.
    flux_per_gap, inductance_per_gap : float
        Slope per metre.
    flux_per_remanence, inductance_per_remanence : float
        Slopes over the logarithm of the remanence: 1 and 0 where nothing saturates.
    """

    permeability: float | None
    air_gap: float
    flux: tuple[float, ...]
    inductance: tuple[float, ...]
    flux_per_gap: float
    inductance_per_gap: float
    flux_per_remanence: float = 1.0
    inductance_per_remanence: float = 0.0

    def of(
        self, *, permeability: float | None, air_gap: float, remanence_ratio: float = 1.0
    ) -> tuple[float, float]:
        """Return the logarithms of flux and inductance of another core, gap and remanence."""
        wider, stronger = air_gap - self.air_gap, math.log(remanence_ratio)
        flux = self.flux_per_gap * wider + self.flux_per_remanence * stronger
        inductance = self.inductance_per_gap * wider + self.inductance_per_remanence * stronger
        if self.permeability is not None and permeability is not None:
            ratio = math.log(permeability / self.permeability)
            flux += float(np.polyval(self.flux, ratio))
            inductance += float(np.polyval(self.inductance, ratio))
        return flux, inductance


def field_response(design: MotorDesign) -> FieldResponse:
    """Return the response of the machine of `design`, by fields at draft quality.

    Examples
    --------
    >>> from fem_motor.design import load_design
    >>> response = field_response(load_design("geometries/printed_18s16p.toml"))
    >>> response.flux_per_gap < 0 < response.of(permeability=1.6, air_gap=0.8e-3)[0]
    True
    """
    base = solve_powered(design, quality="draft").powered
    gap_mm = design.motor.air_gap / MM
    wide = solve_powered(
        design.replace("machine.air_gap_mm", gap_mm + GAP_STEP / MM), quality="draft"
    ).powered
    gap = [change / GAP_STEP for change in _changes(base, wide)]
    core = design.motor.stator.core.curve
    permeability = core.initial_permeability
    if not core.is_nearly_air:  # no straight line, and not to be calibrated
        weaker = solve_powered(with_remanence(design, WEAKER), quality="draft").powered
        magnets = [change / math.log(WEAKER) for change in _changes(base, weaker)]
        return FieldResponse(
            permeability=None, air_gap=design.motor.air_gap, flux=(0.0,), inductance=(0.0,),
            flux_per_gap=gap[0], inductance_per_gap=gap[1],
            flux_per_remanence=magnets[0], inductance_per_remanence=magnets[1],
        )  # fmt: skip
    tried = (LOWEST, math.sqrt(permeability * HIGHEST * permeability), HIGHEST * permeability)
    points = [(0.0, 0.0, 0.0)]
    for other in tried:
        solved = solve_powered(with_permeability(design, other), quality="draft").powered
        points.append((math.log(other / permeability), *_changes(base, solved)))
    ratio, flux, inductance = np.array(points).T
    return FieldResponse(
        permeability=permeability,
        air_gap=design.motor.air_gap,
        flux=tuple(np.polyfit(ratio, flux, 3).tolist()),
        inductance=tuple(np.polyfit(ratio, inductance, 3).tolist()),
        flux_per_gap=gap[0],
        inductance_per_gap=gap[1],
    )


def with_permeability(design: MotorDesign, permeability: float) -> MotorDesign:
    """Return a design whose core has another, constant permeability."""
    name = "other-permeability"
    table = own_material(design, "stator.core") | {"relative_permeability": permeability}
    return design.replace(f"materials.{name}", table).replace("stator.core", name)


def with_remanence(design: MotorDesign, ratio: float) -> MotorDesign:
    """Return a design whose magnets have another remanence, as a ratio to theirs."""
    name = "other-remanence"
    remanence = design.motor.rotor.magnet.remanence * ratio
    table = own_material(design, "rotor.magnet") | {"remanence_T": remanence}
    return design.replace(f"materials.{name}", table).replace("rotor.magnet", name)


def own_material(design: MotorDesign, path: str) -> dict[str, object]:
    """Return the keys of a material that is to be changed: like the library's, or as given."""
    section, key = path.split(".")
    used = str(design.values[section][key])
    given = design.to_dict()["materials"].get(used)
    if given is None:
        return {"like": used}
    laws = ("bh_table", "iron_volume_fraction", "relative_permeability_range")
    return {name: value for name, value in given.items() if name not in laws}


def _changes(base: PoweredMotor, other: PoweredMotor) -> tuple[float, float]:
    inductances = [
        (powered.model.inductance_d + powered.model.inductance_q) / 2 + powered.model.inductance_end
        for powered in (base, other)
    ]
    flux = other.model.fundamental_flux_linkage / base.model.fundamental_flux_linkage
    return math.log(flux), math.log(inductances[1] / inductances[0])
