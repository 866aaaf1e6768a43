"""The motor in SI: what every later room computes with.

Built from a checked `MotorDesign`; nothing here reads files or knows millimetres.
Lengths in m, angles in rad (mechanical), temperatures in °C where named so.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.materials import Core, Magnet, Structure

MagnetLayout = Literal["alternating", "halbach"]
MagnetShape = Literal["arc", "block"]
Magnetisation = Literal["radial", "parallel"]
StrongSide = Literal["stator", "outside"]
Connection = Literal["star", "delta"]
Controller = Literal["six-step", "sine"]
Medium = Literal["air", "water"]

WATER_DENSITY = 998.0
"""kg/m³ of fresh water at 20 °C (IAPWS, from memory): 1000 at 4 °C, 992 at 40; the sea has 1025."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stator:
    """Slotted inner part: parallel-sided teeth on a round yoke.

    Attributes
    ----------
    slots : int
    outer_radius : float
        Across the tooth tips.
    inner_radius : float
        Inside of the yoke; 0 where the core is solid.
    yoke_thickness, tooth_width, tip_thickness : float
    slot_opening : float
        Length along the tooth-tip circle; the sides of the opening are radial.
    tip_taper : float
        Angle of the underside of the tip, rad; 0 where it is a concentric arc.
    slot_liner : float
    core : Core
    core_fraction : float
        Iron share of the stack length.
    """

    slots: int
    outer_radius: float
    inner_radius: float
    yoke_thickness: float
    tooth_width: float
    slot_opening: float
    tip_thickness: float
    tip_taper: float
    slot_liner: float
    core: Core
    core_fraction: float

    @property
    def slot_pitch(self) -> float:
        """Angle from tooth to tooth, rad."""
        return 2 * math.pi / self.slots

    @property
    def yoke_radius(self) -> float:
        """Outside of the yoke: the bottom circle of the slots, m."""
        return self.inner_radius + self.yoke_thickness

    @property
    def opening_angle(self) -> float:
        """Angle of the slot opening, rad."""
        return self.slot_opening / self.outer_radius

    @property
    def tip_corner_radius(self) -> float:
        """Radius of the inner corner of the slot opening, m."""
        return self.outer_radius - self.tip_thickness


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotor:
    """Magnets around the stator, with or without a ring of core material, in a housing.

    Attributes
    ----------
    poles : int
    magnet_layout : "alternating" or "halbach"
    segments_per_pole : int
        1 for alternating.
    strong_side : "stator" or "outside"
        Halbach only.
    magnet_shape : "arc" or "block"
    magnet_arc_fraction : float or None
        Arc: share of its pole (or segment) pitch.
    magnet_width : float or None
        Block.
    magnet_thickness : float
        Radial.
    magnetisation : "radial" or "parallel"
    magnet : Magnet
    magnet_inner_radius : float
        Circle that the inner faces touch: stator, air gap and skin added up.
    pocket_skin : float
        Plastic between magnet face and air gap.
    ring : Core or None
    ring_thickness : float
    housing : Structure or Core
    housing_thickness : float
    """

    poles: int
    magnet_layout: MagnetLayout
    segments_per_pole: int
    strong_side: StrongSide
    magnet_shape: MagnetShape
    magnet_arc_fraction: float | None
    magnet_width: float | None
    magnet_thickness: float
    magnetisation: Magnetisation
    magnet: Magnet
    magnet_inner_radius: float
    pocket_skin: float
    ring: Core | None
    ring_thickness: float
    housing: Structure
    housing_thickness: float

    @property
    def pole_pairs(self) -> int:
        """Half the number of magnet poles."""
        return self.poles // 2

    @property
    def segments(self) -> int:
        """Number of magnets around the whole rotor."""
        return self.poles * self.segments_per_pole

    @property
    def segment_pitch(self) -> float:
        """Angle from magnet to magnet, rad."""
        return 2 * math.pi / self.segments

    @property
    def magnet_directions(self) -> FloatArray:
        """Direction of each magnet's magnetisation against its own outward axis, (m,) rad.

        As designed. Pole 1 is magnetised towards the shaft. From magnet to magnet the
        magnetisation turns by the pole pairs' angle against the magnet's own axis: forwards where
        the strong side faces the stator (and for alternating poles, where both ways are the
        same), backwards where it faces outside. Source: K. Halbach, Nucl. Instrum. Meth. 169
        (1980) 1, from memory.
        """
        turn = self.pole_pairs * self.segment_pitch * np.arange(self.segments)
        if self.magnet_layout == "halbach" and self.strong_side == "outside":
            turn = -turn
        return np.asarray(math.pi + turn)

    @property
    def magnet_outer_radius(self) -> float:
        """Circle through the outermost points of the magnets, m."""
        outer = self.magnet_inner_radius + self.magnet_thickness
        if self.magnet_width is None:
            return outer
        return math.hypot(outer, self.magnet_width / 2)

    @property
    def ring_outer_radius(self) -> float:
        """Outside of the ring, or of the magnets where there is none, m."""
        return self.magnet_outer_radius + self.ring_thickness

    @property
    def housing_outer_radius(self) -> float:
        """Outside of the housing, m."""
        return self.ring_outer_radius + self.housing_thickness


@dataclass(frozen=True, slots=True, kw_only=True)
class WindingSpecification:
    """The winding as the file states it: turns, wire and connection.

    Attributes
    ----------
    turns_per_tooth : int
        Of one coil.
    strands : int
        Wires wound side by side.
    wire_diameter : float
        Bare, m.
    layers : 1 or 2
    connection : "star" or "delta"
    parallel_circuits : int
    coils : tuple of str or None
        As wound, one entry per tooth (``"U+"``, ``"W-"``, ``""``); None: the best balanced layout.
    lead_length : float
        Each of the three leads, m.
    """

    turns_per_tooth: int
    strands: int
    wire_diameter: float
    layers: Literal[1, 2]
    connection: Connection
    parallel_circuits: int
    coils: tuple[str, ...] | None
    lead_length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """Supply and controller, SI.

    Attributes
    ----------
    supply_voltage : float
        Open circuit, V.
    supply_resistance, controller_resistance : float
        Ohm.
    controller : "six-step" or "sine"
    current_limit : float
        Peak line current, A.
    rated_current : float or None
        Peak line current, A; None: the one that gives 4 A/mm² RMS in the copper.
    timing_advance : float
        Electrical rad, positive leading.
    maximum_electrical_speed : float or None
        Electrical rad/s.
    """

    supply_voltage: float
    supply_resistance: float
    controller: Controller
    controller_resistance: float
    current_limit: float
    rated_current: float | None
    timing_advance: float
    maximum_electrical_speed: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Propeller:
    """T = CT·ρ·n²·D⁴, P = CP·ρ·n³·D⁵ with n in rev/s; table rows (rad/s, CT, CP) if given.

    `medium` is what it turns in; ρ is its density.
    """

    diameter: float
    pitch: float
    thrust_coefficient: float | None
    power_coefficient: float | None
    table: tuple[tuple[float, float, float], ...] | None
    medium: Medium

    def thrust(self, speed: float, density: float) -> float:
        """Return the thrust, N, at a speed in rad/s, standing still in a density of kg/m³."""
        coefficient, _ = self._coefficients(speed)
        return coefficient * density * (speed / (2 * math.pi)) ** 2 * self.diameter**4

    def torque(self, speed: float, density: float) -> float:
        """Return the torque, N m, likewise."""
        _, coefficient = self._coefficients(speed)
        turns = speed / (2 * math.pi)
        return coefficient * density * turns**2 * self.diameter**5 / (2 * math.pi)

    @property
    def last_speed(self) -> float | None:
        """Speed of the last row, rad/s; None where the coefficients are the same at any speed."""
        return self.table[-1][0] if self.table is not None and len(self.table) > 1 else None

    def _coefficients(self, speed: float) -> tuple[float, float]:
        """Return CT and CP, between the rows of the table where there is one."""
        if self.table is None:
            return self.thrust_coefficient or 0.0, self.power_coefficient or 0.0
        at, thrusts, powers = zip(*self.table, strict=True)
        return float(np.interp(speed, at, thrusts)), float(np.interp(speed, at, powers))


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueCurve:
    """Load torques (N m) over speed (rad/s); a constant torque has one point at speed 0."""

    speed: tuple[float, ...]
    torques: tuple[float, ...]

    def torque(self, speed: float, density: float) -> float:  # noqa: ARG002  (as a propeller)
        """Return the torque, N m, at a speed in rad/s, between the points."""
        return float(np.interp(speed, self.speed, self.torques))

    @property
    def last_speed(self) -> float | None:
        """Speed of the last point, rad/s; None where the torque is the same at any speed."""
        return self.speed[-1] if len(self.speed) > 1 else None

    def thrust(self, speed: float, density: float) -> None:
        """Return nothing: only a propeller pushes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cooling:
    """What the motor stands in: medium, its temperature (°C), speed (m/s) and density (kg/m³)."""

    medium: Medium
    ambient_C: float
    airflow: float
    air_density: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltMagnet:
    """A magnet that is not as drawn: index from 1, remanence factor, tilt in rad."""

    index: int
    remanence_factor: float
    tilt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltCoil:
    """A coil that is not as designed: tooth from 1, None where as designed."""

    tooth: int
    is_reversed: bool
    turns: int | None
    phase: Literal["U", "V", "W"] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """What the making changed; empty where the motor is as designed."""

    magnets: tuple[BuiltMagnet, ...] = ()
    coils: tuple[BuiltCoil, ...] = ()
    rotor_offset: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor:
    """One motor, complete and in SI.

    Attributes
    ----------
    title : str
    stack_length, air_gap : float
    stator, rotor, winding, drive, cooling, as_built
        The parts, each a record of its own.
    load : Propeller, TorqueCurve or None
    """

    title: str
    stack_length: float
    air_gap: float
    stator: Stator
    rotor: Rotor
    winding: WindingSpecification
    drive: Drive
    load: Propeller | TorqueCurve | None
    cooling: Cooling
    as_built: AsBuilt

    @property
    def load_density(self) -> float:
        """Density of what the load turns in, kg/m³."""
        return WATER_DENSITY if self.load_medium == "water" else self.cooling.air_density

    @property
    def load_medium(self) -> Medium:
        """What the load turns in; air where it does not matter."""
        return self.load.medium if isinstance(self.load, Propeller) else "air"
