"""Drag of what turns: the medium around the rotor and in the gap, and the bearings."""

import math
from dataclasses import dataclass

import numpy as np

from fem_motor.design import Motor
from fem_motor.units import MM
from fem_motor.winding import Winding

ZERO_CELSIUS = 273.15

WATER_C = (0.0, 20.0, 40.0, 60.0, 80.0, 100.0)
WATER_DENSITY = (999.8, 998.0, 992.0, 983.2, 971.8, 958.4)
WATER_VISCOSITY = (1.787e-6, 1.004e-6, 0.658e-6, 0.475e-6, 0.365e-6, 0.294e-6)
"""Fresh water, kg/m³ and m²/s. Source: F. Incropera and D. DeWitt, from memory."""

BEARINGS = 2
GREASE_DRAG = 0.3e-3
"""Drag of a small sealed bearing of `GREASE_BORE`, N m: 0.1 to 1 mN m, the middle of it. Source:
bearing handbooks, from memory; common practice."""
GREASE_BORE = 5 * MM
BORE_SHARE = 0.1
"""Bore of the bearings over the stator's outer diameter, which no design says: an assumption."""
BALL_FRICTION = 0.0015
"""μ of deep-groove ball bearings in M = ½ μ F d. Source: bearing handbooks, from memory."""

COUETTE_FROM_NEWTON = 4.0
"""c_f Re of a cylinder that turns slowly in an endless medium (exact: Stokes)."""
ENDLESS_STEPS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Fluid:
    """What the rotor turns in.

    Attributes
    ----------
    density : kg/m³
    viscosity : m²/s
        Kinematic.
    """

    density: float
    viscosity: float


def air(temperature_C: float, density: float) -> Fluid:
    """Return air of a given density.

    Its dynamic viscosity follows from temperature alone: 1.716e-5 (T/273.15)^1.5 · 383.55/(T +
    110.4). Source: Sutherland's law, from memory.
    """
    kelvin = temperature_C + ZERO_CELSIUS
    dynamic = 1.716e-5 * (kelvin / ZERO_CELSIUS) ** 1.5 * (ZERO_CELSIUS + 110.4) / (kelvin + 110.4)
    return Fluid(density=density, viscosity=dynamic / density)


def water(temperature_C: float) -> Fluid:
    """Return fresh water, interpolated between tabulated temperatures."""
    logarithm = np.interp(temperature_C, WATER_C, np.log(WATER_VISCOSITY))
    return Fluid(
        density=float(np.interp(temperature_C, WATER_C, WATER_DENSITY)),
        viscosity=float(np.exp(logarithm)),
    )


def cooling_fluid(motor: Motor) -> Fluid:
    """Return the medium around a motor at its ambient temperature.

    Examples
    --------
    >>> from fem_motor.design import load_design
    >>> cooling_fluid(load_design("geometries/printed_18s16p.toml").motor).density
    1.2
    """
    cooling = motor.cooling
    if cooling.medium == "water":
        return water(cooling.ambient_C)
    return air(cooling.ambient_C, cooling.air_density)


def surface_windage(fluid: Fluid, *, radius: float, length: float, speed: float) -> float:
    """Return the power that a cylinder takes which turns in an endless medium, W.

    c_f π ρ ω³ r⁴ l with 1/√c_f = 2.04 + 1.768 ln(Re √c_f), Re = ω r²/ν; where it is slower, the
    exact laminar c_f = 4/Re. Source: T. Theodorsen and A. Regier, NACA Report 793 (1944), from
    memory.
    """
    if speed <= 0:
        return 0.0
    reynolds = speed * radius**2 / fluid.viscosity
    friction = max(COUETTE_FROM_NEWTON / reynolds, _turbulent_friction(reynolds))
    return friction * math.pi * fluid.density * speed**3 * radius**4 * length


def _turbulent_friction(reynolds: float) -> float:
    """Return c_f of Theodorsen and Regier, 0 where the laminar one is far above."""
    least = 30.0
    if reynolds < least:
        return 0.0
    root = 1 / (2.04 + 1.768 * math.log(reynolds * 0.1))
    for _ in range(ENDLESS_STEPS):
        better = 1 / (2.04 + 1.768 * math.log(reynolds * root))
        if abs(better - root) < 1e-10 * root:
            break
        root = better
    return root**2


def gap_windage(fluid: Fluid, *, radius: float, gap: float, length: float, speed: float) -> float:
    """Return the power that the air gap takes, W.

    ½ c_m π ρ ω³ r⁴ l, Re = ω r d/ν, c_m = (d/r)^0.3 times the largest of 10/Re, 2 Re^−0.6,
    1.03 Re^−0.5 and 0.065 Re^−0.2: at most 5 % above the pieces of the source where they meet. Not
    below the laminar flow between circles, 2π ρ ν ω² r³ l/d. Source: E. Bilgen and R. Boulos, J.
    Fluids Eng. 95 (1973) 122, from memory, for an inner cylinder that turns; with the outer one
    turning the flow stays laminar for longer, so this is rather too much.
    """
    if speed <= 0:
        return 0.0
    reynolds = speed * radius * gap / fluid.viscosity
    pieces = (
        10 / reynolds,
        2 / math.pow(reynolds, 0.6),
        1.03 / math.sqrt(reynolds),
        0.065 / math.pow(reynolds, 0.2),
    )
    moment = math.pow(gap / radius, 0.3) * max(pieces)
    turbulent = moment / 2 * math.pi * fluid.density * speed**3 * radius**4 * length
    laminar = 2 * math.pi * fluid.density * fluid.viscosity * speed**2 * radius**3 * length / gap
    return max(turbulent, laminar)


def disc_windage(fluid: Fluid, *, radius: float, speed: float) -> float:
    """Return the power of a disc wetted on both sides, or of the two ends of a rotor, W.

    ½ c ρ ω³ r⁵, Re = ω r²/ν, c the larger of 3.87 Re^−0.5 and 0.146 Re^−0.2. Source: H.
    Schlichting, Boundary-Layer Theory, from memory. Holes and spokes take 2 to 5 times as much
    (common practice, no source).
    """
    if speed <= 0:
        return 0.0
    reynolds = speed * radius**2 / fluid.viscosity
    friction = max(3.87 / math.sqrt(reynolds), 0.146 / math.pow(reynolds, 0.2))
    return friction / 2 * fluid.density * speed**3 * radius**5


@dataclass(frozen=True, slots=True, kw_only=True)
class Windage:
    """The turning surfaces of a rotor and what they turn in.

    Attributes
    ----------
    fluid : Fluid
    outer_radius, length : float
        Of the housing, m; as long as stack and coils.
    gap_radius, gap, stack_length : float
        The air gap, m.
    """

    fluid: Fluid
    outer_radius: float
    length: float
    gap_radius: float
    gap: float
    stack_length: float

    @classmethod
    def of(cls, motor: Motor, winding: Winding) -> "Windage":
        """Return those of a motor; the coils stand out by the liner and their thickness."""
        stator = motor.stator
        coil = (winding.turn_length - 2 * motor.stack_length - 2 * stator.tooth_width) / math.pi
        return cls(
            fluid=cooling_fluid(motor),
            outer_radius=motor.rotor.housing_outer_radius,
            length=motor.stack_length + 2 * (coil + stator.slot_liner),
            gap_radius=stator.outer_radius,
            gap=motor.air_gap,
            stack_length=motor.stack_length,
        )

    def power(self, speed: float) -> float:
        """Return the power that the medium takes, W, at a mechanical speed, rad/s."""
        outside = surface_windage(
            self.fluid, radius=self.outer_radius, length=self.length, speed=speed
        )
        ends = disc_windage(self.fluid, radius=self.outer_radius, speed=speed)
        return outside + ends + self.in_gap(speed)

    def in_gap(self, speed: float) -> float:
        """Return the part that the air gap takes, W: it alone heats the motor."""
        return gap_windage(
            self.fluid,
            radius=self.gap_radius,
            gap=self.gap,
            length=self.stack_length,
            speed=speed,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearings:
    """Friction of the bearings.

    Attributes
    ----------
    bore : float
        m.
    """

    bore: float

    @classmethod
    def of(cls, motor: Motor) -> "Bearings":
        """Return two small sealed ball bearings that fit a motor."""
        return cls(bore=2 * BORE_SHARE * motor.stator.outer_radius)

    def torque(self, load: float = 0.0) -> float:
        """Return the friction torque of both, N m, at any speed.

        Grease and seals by themselves, growing with the third power of the bore (as the viscous
        term of A. Palmgren, from memory); the load adds ½ μ F d.

        Parameters
        ----------
        load : float
            Force on the bearings, N: thrust, weight, one-sided pull.
        """
        own = BEARINGS * GREASE_DRAG * (self.bore / GREASE_BORE) ** 3
        return own + BALL_FRICTION / 2 * abs(load) * self.bore
