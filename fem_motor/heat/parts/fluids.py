"""Air and water: what the film coefficients need of them."""

import bisect
import math
from dataclasses import dataclass

KELVIN = 273.15
"""0 °C in K."""

_WATER_C = (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)
_WATER_CONDUCTIVITY = (0.561, 0.598, 0.631, 0.654, 0.670, 0.679)
_WATER_DENSITY = (1000.0, 998.0, 992.0, 983.0, 972.0, 958.0)
_WATER_EXPANSION = (0.5e-4, 2.07e-4, 3.85e-4, 5.2e-4, 6.4e-4, 7.5e-4)
"""F. Incropera and D. DeWitt, from memory; below 8 °C the expansion is kept above 0."""

WATER_HEAT_CAPACITY = 4181.0
"""J/(kg K), within 0.3 % from 10 to 60 °C."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fluid:
    """Air or water at one temperature.

    Attributes
    ----------
    conductivity : float
        W/(m K).
    viscosity : float
        Kinematic, m²/s.
    prandtl : float
    density : float
        kg/m³.
    heat_capacity : float
        J/(kg K).
    expansion : float
        1/K, by volume.
    """

    conductivity: float
    viscosity: float
    prandtl: float
    density: float
    heat_capacity: float
    expansion: float


def air_at(temperature_C: float, *, density_25C: float = 1.184) -> Fluid:
    """Return air at a film temperature.

    Parameters
    ----------
    temperature_C : float
    density_25C : float
        kg/m³ at 25 °C: thin air on a mountain takes less heat.

    Notes
    -----
    Viscosity by Sutherland's law, conductivity by its like, as in the US Standard Atmosphere 1976,
    from memory; within 1.1 % of Incropera and DeWitt's tables from 20 to 100 °C.

    Examples
    --------
    >>> round(air_at(40.0).conductivity, 4)
    0.0273
    """
    kelvin = max(temperature_C, -100.0) + KELVIN
    root = kelvin * math.sqrt(kelvin)
    dynamic = 1.458e-6 * root / (kelvin + 110.4)
    conductivity = 2.64638e-3 * root / (kelvin + 245.4 * 10 ** (-12 / kelvin))
    density = density_25C * (25.0 + KELVIN) / kelvin
    heat_capacity = 1007.0
    return Fluid(
        conductivity=conductivity,
        viscosity=dynamic / density,
        prandtl=dynamic * heat_capacity / conductivity,
        density=density,
        heat_capacity=heat_capacity,
        expansion=1 / kelvin,
    )


def water_at(temperature_C: float) -> Fluid:
    """Return fresh water at a film temperature, kept within 0 to 100 °C.

    Viscosity 2.414e-5 · 10^(247.8/(T − 140 K)) Pa s, from memory, good to 2.5 %; the rest between
    the rows of a table.

    Examples
    --------
    >>> round(1e6 * water_at(20.0).viscosity, 2)
    1.0
    """
    celsius = min(max(temperature_C, 0.0), 100.0)
    dynamic = 2.414e-5 * 10 ** (247.8 / (celsius + KELVIN - 140.0))
    conductivity = _between(celsius, _WATER_CONDUCTIVITY)
    density = _between(celsius, _WATER_DENSITY)
    return Fluid(
        conductivity=conductivity,
        viscosity=dynamic / density,
        prandtl=dynamic * WATER_HEAT_CAPACITY / conductivity,
        density=density,
        heat_capacity=WATER_HEAT_CAPACITY,
        expansion=_between(celsius, _WATER_EXPANSION),
    )


def _between(celsius: float, values: tuple[float, ...]) -> float:
    row = min(max(bisect.bisect_right(_WATER_C, celsius) - 1, 0), len(_WATER_C) - 2)
    share = (celsius - _WATER_C[row]) / (_WATER_C[row + 1] - _WATER_C[row])
    return values[row] + share * (values[row + 1] - values[row])
