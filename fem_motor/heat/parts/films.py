"""Film coefficients: how well a surface gives its heat to air or water, W/(m² K).

Each is a mean over the surface. `blended` puts those of one surface together; radiation is added.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from fem_motor.heat.parts.fluids import KELVIN, Fluid, air_at, water_at

Film = Callable[[float, float, float], float]
"""Coefficient, W/(m² K), of the temperatures of both sides (°C) and the speed (rad/s)."""

GRAVITY = 9.81
"""m/s²."""

STEFAN_BOLTZMANN = 5.670e-8
"""W/(m² K⁴)."""

EMISSIVITY = 0.9
"""Of plastic, enamel and paint; bright metal radiates a tenth. Common practice, no source."""

TURBULENT_PLATE = 5e5
"""Reynolds number (length) from which the flow along a plate is turbulent."""

LAMINAR_FRONT = 871.0
"""What the laminar front of a plate takes off the Nusselt number of a turbulent one."""


def natural_cylinder(fluid: Fluid, *, diameter: float, difference: float) -> float:
    """Return the coefficient of a horizontal cylinder in still fluid.

    Nu = (0.60 + 0.387 Ra^(1/6) / [1 + (0.559/Pr)^(9/16)]^(8/27))². Source: S. Churchill and
    H. Chu, Int. J. Heat Mass Transfer 18 (1975) 1049, from memory.

    Parameters
    ----------
    fluid : Fluid
        At the mean of surface and surroundings.
    diameter : float
        m.
    difference : float
        Surface less surroundings, K; its sign does not matter.
    """
    grashof = GRAVITY * fluid.expansion * abs(difference) * diameter**3 / fluid.viscosity**2
    shape: float = (1 + (0.559 / fluid.prandtl) ** (9 / 16)) ** (8 / 27)
    nusselt: float = (0.60 + 0.387 * (grashof * fluid.prandtl) ** (1 / 6) / shape) ** 2
    return nusselt * fluid.conductivity / diameter


def rotating_cylinder(fluid: Fluid, *, diameter: float, speed: float) -> float:
    """Return the coefficient of a cylinder that turns in still fluid.

    Nu = 0.133 Re^(2/3) Pr^(1/3), Re = ω D²/(2ν). Source: K. Becker, Int. J. Heat Mass Transfer 6
    (1963) 1053, from memory; measured up to Re of about 1e5, beyond which it is stretched here.
    """
    reynolds = abs(speed) * diameter**2 / (2 * fluid.viscosity)
    nusselt: float = 0.133 * reynolds ** (2 / 3) * fluid.prandtl ** (1 / 3)
    return nusselt * fluid.conductivity / diameter


def rotating_disc(fluid: Fluid, *, speed: float) -> float:
    """Return the coefficient of one face of a disc that turns in still fluid.

    Nu = 0.36 Re^(1/2) in air, Re = ω r²/ν, so that the radius cancels. Source: E. Cobb and
    O. Saunders, Proc. R. Soc. A 236 (1956) 343, from memory; for other fluids times
    (Pr/0.71)^(1/3), an estimate.
    """
    scale: float = (fluid.prandtl / 0.71) ** (1 / 3)
    return 0.36 * scale * fluid.conductivity * math.sqrt(abs(speed) / fluid.viscosity)


def flat_plate(fluid: Fluid, *, length: float, velocity: float) -> float:
    """Return the coefficient of a surface of that length in a flow along it.

    Nu = 0.664 Re^(1/2) Pr^(1/3), from Re = 5e5 on (0.037 Re^(4/5) − 871) Pr^(1/3): laminar up to
    there, turbulent behind it, the mean without a jump. Source: F. Incropera and D. DeWitt, from
    memory. Gusts and wakes add 20 to 100 %.
    """
    reynolds = abs(velocity) * length / fluid.viscosity
    nusselt = 0.664 * math.sqrt(reynolds)
    if reynolds > TURBULENT_PLATE:
        nusselt = max(nusselt, 0.037 * reynolds**0.8 - LAMINAR_FRONT)
    scale: float = fluid.prandtl ** (1 / 3)
    return nusselt * scale * fluid.conductivity / length


def radiation(first_C: float, second_C: float, *, emissivity: float = EMISSIVITY) -> float:
    """Return σ ε (T₁² + T₂²)(T₁ + T₂): exact for a small body in large surroundings."""
    first, second = first_C + KELVIN, second_C + KELVIN
    return emissivity * STEFAN_BOLTZMANN * (first**2 + second**2) * (first + second)


def gap_side(fluid: Fluid, *, gap: float) -> float:
    """Return the coefficient between one wall of the air gap and the fluid in it: 2k/δ.

    Both walls in series pass k/δ, that is Nu = 2 on twice the gap: conduction alone. In an
    outrunner the outer wall turns, the flow is stable by Rayleigh's criterion, and there are no
    Taylor vortices to stir it. Sources: I. Bjorklund and W. Kays, J. Heat Transfer 81 (1959) 175;
    D. Coles, J. Fluid Mech. 21 (1965) 385; D. Howey, P. Childs, A. Holmes, IEEE Trans. Ind.
    Electron. 59 (2012) 1367; all from memory.
    """
    return 2 * fluid.conductivity / gap


def blended(*coefficients: float) -> float:
    """Return (Σ h³)^(1/3): the larger rules, both count where they are alike.

    After S. Churchill and R. Usagi, AIChE J. 18 (1972) 1121, from memory; the power 3 is common
    practice for forced with natural convection.
    """
    return float(sum([value * value * value for value in coefficients]) ** (1 / 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What the motor stands in, as the films see it.

    Attributes
    ----------
    medium : "air" or "water"
        Water: the motor is under it, gap and inside included.
    ambient_C : float
    airflow : float
        Over the motor from outside, m/s.
    air_density : float
        Of the surroundings, kg/m³.
    """

    medium: Literal["air", "water"] = "air"
    ambient_C: float = 25.0
    airflow: float = 0.0
    air_density: float = 1.184

    @property
    def is_water(self) -> bool:
        """Whether the motor is under water."""
        return self.medium == "water"

    def fluid(self, temperature_C: float) -> Fluid:
        """Return the medium at a film temperature."""
        if self.is_water:
            return water_at(temperature_C)
        density_25C = self.air_density * (self.ambient_C + KELVIN) / (25.0 + KELVIN)
        return air_at(temperature_C, density_25C=density_25C)

    def gap_film(self, gap: float) -> Film:
        """Return the film of one wall of the air gap."""

        def film(one_C: float, other_C: float, _speed: float) -> float:
            return gap_side(self.fluid((one_C + other_C) / 2), gap=gap)

        return film

    def barrel_film(self, diameter: float, length: float) -> Film:
        """Return the film of the turning housing: rotation, flow from outside, still fluid."""

        def film(one_C: float, other_C: float, speed: float) -> float:
            fluid = self.fluid((one_C + other_C) / 2)
            convection = blended(
                natural_cylinder(fluid, diameter=diameter, difference=one_C - other_C),
                rotating_cylinder(fluid, diameter=diameter, speed=speed),
                flat_plate(fluid, length=length, velocity=self.airflow),
            )
            return convection + self._radiation(one_C, other_C)

        return film

    def end_film(self, radius: float, *, swirl: float, airflow: float) -> Film:
        """Return the film of coil ends and faces inside the rotor.

        Parameters
        ----------
        radius : float
            Of the surface, m; also its length in the flow.
        swirl : float
            Share of the rotor's speed there with which the fluid moves.
        airflow : float
            From outside, m/s.
        """

        def film(one_C: float, other_C: float, speed: float) -> float:
            fluid = self.fluid((one_C + other_C) / 2)
            velocity = math.hypot(airflow, swirl * speed * radius)
            convection = blended(
                natural_cylinder(fluid, diameter=2 * radius, difference=one_C - other_C),
                flat_plate(fluid, length=radius, velocity=velocity),
            )
            return convection + self._radiation(one_C, other_C)

        return film

    def disc_film(self, radius: float) -> Film:
        """Return the film of the outer face of the bell: a turning disc, and flow from outside."""

        def film(one_C: float, other_C: float, speed: float) -> float:
            fluid = self.fluid((one_C + other_C) / 2)
            convection = blended(
                natural_cylinder(fluid, diameter=2 * radius, difference=one_C - other_C),
                rotating_disc(fluid, speed=speed),
                flat_plate(fluid, length=radius, velocity=self.airflow),
            )
            return convection + self._radiation(one_C, other_C)

        return film

    def _radiation(self, one_C: float, other_C: float) -> float:
        return 0.0 if self.is_water else radiation(one_C, other_C)
