"""The benchmark machine: numbers, steel law, outline and design file, written once for all codes.

Outrunner with 24 slots and 20 poles, parallel teeth, sharp tip corners, and steel that saturates.
Lengths in mm and angles in degrees where the name says so; magnetic quantities in SI.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MU_0 = 4e-7 * math.pi
NU_0 = 1 / MU_0

SLOTS, POLES = 24, 20
STACK_LENGTH_MM = 10.0
BORE_RADIUS_MM = 15.5
YOKE_RADIUS_MM = 19.5
TOOTH_WIDTH_MM = 4.0
TIP_RADIUS_MM = 29.0  # inner corner of the slot opening
STATOR_RADIUS_MM = 30.0
SLOT_OPENING_MM = 2.0  # along the tooth-tip circle
BAND_RADII_MM = (30.25, 30.55)  # the ring of air over which the plain codes average the torque
MAGNET_RADII_MM = (30.8, 33.8)
RING_RADIUS_MM = 36.3
NEAR_RADIUS_MM = 45.0  # nearest outer wall
MAGNET_ARC_FRACTION = 0.85
REMANENCE_T = 1.2
RECOIL_PERMEABILITY = 1.05
COGGING_PERIOD_DEG = 360 / math.lcm(SLOTS, POLES)

REFERENCE_TORQUE_NM = {0.375: -1.8888e-3, 0.75: -2.6764e-3, 1.125: -1.8972e-3}
"""Cogging on the rotor by angle in degrees.

`plain_ngsolve` with air to 120 mm, order 5, edges of 2.5 µm at the tips, 684 thousand unknowns.
Orders 4 to 6, tips of 1.25 to 2.5 µm and a finer quadrature of the steel law scatter by 0.1 % of
the peak about it, so errors below 0.1 % mean nothing. (Tips of 10 µm gave 0.13 % more.)
"""

# ν(B²) = ν₀ [ε + (1 − ε) B¹²/(τ + B¹²)], a smooth sheet steel of relative permeability 5000.
STEEL_FLOOR = 2e-4
STEEL_KNEE = 2.03e5
STEEL_LAST_T = 2.25  # dH/dB is 0.93 ν₀ here and would pass ν₀ at 2.27 T: from here on it is ν₀


def reluctivity(b_squared: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return ν (m/H) and dν/d(B²) of the steel, with slope dH/dB = ν₀ beyond `STEEL_LAST_T`."""
    square = np.asarray(b_squared, dtype=float)
    inside = np.minimum(square, STEEL_LAST_T**2)
    power = inside**6
    law = NU_0 * (STEEL_FLOOR + (1 - STEEL_FLOOR) * power / (STEEL_KNEE + power))
    steep = NU_0 * (1 - STEEL_FLOOR) * 6 * inside**5 * STEEL_KNEE / (STEEL_KNEE + power) ** 2
    # Beyond: ν = ν₀ − M/B with M = (ν₀ − ν(B*)) B*.
    density = np.sqrt(np.maximum(square, STEEL_LAST_T**2))
    deficit = (NU_0 - law) * STEEL_LAST_T
    beyond = square > STEEL_LAST_T**2
    nu = np.where(beyond, NU_0 - deficit / density, law)
    slope = np.where(beyond, deficit / (2 * density**3), steep)
    return nu, slope


def steel_table(step_T: float = 0.005) -> FloatArray:
    """Return rows (H in A/m, B in T) of the steel from zero to `STEEL_LAST_T`, (n, 2)."""
    density = np.linspace(0, STEEL_LAST_T, round(STEEL_LAST_T / step_T) + 1)
    nu, _ = reluctivity(density**2)
    return np.column_stack([nu * density, density])


def design_text(*, core: Literal["steel", "plastic"] = "steel", magnet_mm: float = 3.0) -> str:
    """Return the machine as a design file of fem_motor; winding and housing are invented.

    With a plastic core everything is linear: permeability 4 and no back iron.
    """
    rows = ",\n".join(f"  [{h!r}, {b!r}]" for h, b in steel_table().tolist())
    stator_core = "benchmark-steel" if core == "steel" else "benchmark-plastic"
    ring = ("benchmark-steel", 2.5) if core == "steel" else ("none", 0.0)
    return f"""\
title = "Benchmark machine, 24 slots and 20 poles"

[machine]
slots = {SLOTS}
poles = {POLES}
stack_length_mm = {STACK_LENGTH_MM}
air_gap_mm = 0.8

[stator]
outer_diameter_mm = {2 * STATOR_RADIUS_MM}
inner_diameter_mm = {2 * BORE_RADIUS_MM}
yoke_thickness_mm = {YOKE_RADIUS_MM - BORE_RADIUS_MM}
tooth_width_mm = {TOOTH_WIDTH_MM}
slot_opening_mm = {SLOT_OPENING_MM}
tip_thickness_mm = {STATOR_RADIUS_MM - TIP_RADIUS_MM}
tip_taper_deg = 0.0
core = "{stator_core}"

[rotor]
magnet_layout = "alternating"
magnet_shape = "arc"
magnet_arc_fraction = {MAGNET_ARC_FRACTION}
magnet_thickness_mm = {magnet_mm}
magnetisation = "radial"
magnet = "benchmark-magnet"
ring_material = "{ring[0]}"
ring_thickness_mm = {ring[1]}

[winding]
turns_per_tooth = 8
strands = 1
wire_diameter_mm = 0.6

[materials.benchmark-magnet]
kind = "magnet"
remanence_T = {REMANENCE_T}
recoil_permeability = {RECOIL_PERMEABILITY}

[materials.benchmark-plastic]
kind = "core"
relative_permeability = 4.0

[materials.benchmark-steel]
kind = "core"
bh_table = [
{rows},
]
"""


class Solved(NamedTuple):
    """What a plain code gives for one rotor angle.

    Attributes
    ----------
    torque_Nm : float
        On the rotor, counter-clockwise positive, whole machine.
    seconds : mapping
        Stage to wall-clock seconds; stages are disjoint.
    dofs : int
        Unknowns of the field.
    newton_steps : int
        Linear systems solved.
    """

    torque_Nm: float
    seconds: Mapping[str, float]
    dofs: int
    newton_steps: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Edge lengths of the mesh in mm at kinds of places; the mesher grades between them.

    Attributes
    ----------
    tip : float
        Sharp outer corner of a tooth tip.
    opening : float
        Inner corner of the slot opening.
    gap : float
        Air gap and tooth face.
    magnet, iron, far : float
    """

    tip: float
    opening: float
    gap: float
    magnet: float
    iron: float
    far: float

    def at(self, spot: str) -> float:
        """Return the edge length at a kind of place."""
        if spot == "wall":
            return 2 * self.far
        return float(getattr(self, "gap" if spot == "crown" else spot))


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """Where the plain codes end the field with A = 0.

    Attributes
    ----------
    outer_radius_mm : float
        Circle in the air outside the back iron; beyond `NEAR_RADIUS_MM` the mesh within that
        circle stays the same.
        The default costs less than 1e-4 of the cogging peak (`benchmarks/walls.py`).
    bore : "flux wall" or "air"
        Whether A = 0 on the bore circle, or the bore is meshed as air.
    """

    outer_radius_mm: float = 70.0
    bore: Literal["flux wall", "air"] = "flux wall"


DEFAULT_WALLS = Walls()


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """Line or short circular arc about the origin, counter-clockwise, between two points.

    Attributes
    ----------
    kind : "line" or "arc"
    start, end : int
        Points.
    left, right : str
        Region on either side, "" outside of everything.
    """

    kind: Literal["line", "arc"]
    start: int
    end: int
    left: str
    right: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """All edges of the cross-section with the rotor turned.

    Attributes
    ----------
    points : list of (radius in mm, angle in rad)
    spots : list of str
        Which kind of place a point is: "tip", "gap", "magnet", "iron", "far".
    edges : list of Edge
    """

    points: list[tuple[float, float]]
    spots: list[str]
    edges: list[Edge]

    def point(self, radius: float, angle: float, spot: str) -> int:
        """Add a point and return its number."""
        self.points.append((radius, angle))
        self.spots.append(spot)
        return len(self.points) - 1

    def join(
        self, kind: Literal["line", "arc"], ends: tuple[int, int], sides: tuple[str, str]
    ) -> None:
        """Add an edge between two points with the regions (left, right) of it."""
        self.edges.append(
            Edge(kind=kind, start=ends[0], end=ends[1], left=sides[0], right=sides[1])
        )

    def circle(
        self, radius: float, start_rad: float, sides: tuple[str, str], *, spot: str, parts: int
    ) -> None:
        """Add a whole circle of equal arcs; left of a counter-clockwise arc is inside."""
        angles = start_rad + 2 * math.pi * np.arange(parts) / parts
        ring = [self.point(radius, angle, spot) for angle in angles]
        for one, next_one in zip(ring, ring[1:] + ring[:1], strict=True):
            self.join("arc", (one, next_one), sides)


def outline(angle_deg: float, walls: Walls) -> Outline:
    """Return the section with the rotor at `angle_deg`; at 0 an inward pole faces tooth 1."""
    section = Outline(points=[], spots=[], edges=[])
    turned = math.radians(angle_deg)
    bore = "bore" if walls.bore == "air" else ""
    section.circle(BORE_RADIUS_MM, 0.0, (bore, "stator"), spot="iron", parts=SLOTS)
    _add_teeth(section)
    inner, outer = BAND_RADII_MM
    section.circle(inner, 0.0, ("slots", "band"), spot="gap", parts=2 * SLOTS)
    section.circle(outer, turned, ("band", "gap"), spot="gap", parts=2 * POLES)
    _add_magnets(section, turned)
    section.circle(RING_RADIUS_MM, turned, ("ring", "outside"), spot="iron", parts=POLES)
    is_wide = walls.outer_radius_mm > NEAR_RADIUS_MM
    beyond = "beyond" if is_wide else ""
    section.circle(NEAR_RADIUS_MM, 0.0, ("outside", beyond), spot="far", parts=12)
    if is_wide:
        section.circle(walls.outer_radius_mm, 0.0, (beyond, ""), spot="wall", parts=12)
    return section


def magnet_name(pole: int) -> str:
    """Return the region name of pole 0 … POLES − 1."""
    return f"magnet {pole}"


def magnet_sign(pole: int) -> int:
    """Return +1 for outward, −1 for inward magnetisation; pole 0 is inward."""
    return -1 if pole % 2 == 0 else 1


def regions(walls: Walls) -> Iterator[str]:
    """Yield the names of all regions."""
    yield from ("stator", "slots", "band", "gap", "ring", "outside")
    yield from (magnet_name(pole) for pole in range(POLES))
    if walls.bore == "air":
        yield "bore"
    if walls.outer_radius_mm > NEAR_RADIUS_MM:
        yield "beyond"


def _add_teeth(section: Outline) -> None:
    """Add the slotted outline of the stator, tooth by tooth; tooth 1 on +x."""
    pitch = 2 * math.pi / SLOTS
    half_opening = SLOT_OPENING_MM / STATOR_RADIUS_MM / 2
    foot = math.asin(TOOTH_WIDTH_MM / 2 / YOKE_RADIUS_MM)
    neck = math.asin(TOOTH_WIDTH_MM / 2 / TIP_RADIUS_MM)
    # Half a tooth from its middle to the bottom of the slot: (radius, angle, spot).
    half = [
        (STATOR_RADIUS_MM, pitch / 2 - half_opening, "tip"),
        (TIP_RADIUS_MM, pitch / 2 - half_opening, "opening"),
        (TIP_RADIUS_MM, neck, "iron"),
        (YOKE_RADIUS_MM, foot, "iron"),
    ]
    first: list[int] = []
    previous: int | None = None
    for tooth in range(SLOTS):
        middle = tooth * pitch
        right = [section.point(r, middle - a, spot) for r, a, spot in reversed(half)]
        crown = section.point(STATOR_RADIUS_MM, middle, "crown")
        left = [section.point(r, middle + a, spot) for r, a, spot in half]
        # Counter-clockwise along the outline the iron lies on the left.
        sides = ("stator", "slots")
        section.join("line", (right[0], right[1]), sides)
        section.join("arc", (right[2], right[1]), (sides[1], sides[0]))
        section.join("line", (right[2], right[3]), sides)
        section.join("arc", (right[3], crown), sides)
        section.join("arc", (crown, left[0]), sides)
        section.join("line", (left[0], left[1]), sides)
        section.join("arc", (left[2], left[1]), (sides[1], sides[0]))
        section.join("line", (left[2], left[3]), sides)
        if previous is not None:
            section.join("arc", (previous, right[0]), sides)
        first, previous = first or right, left[3]
    section.join("arc", (previous or 0, first[0]), ("stator", "slots"))


def _add_magnets(section: Outline, turned: float) -> None:
    """Add the magnets and the inner circle of the back iron."""
    inner, outer = MAGNET_RADII_MM
    half = MAGNET_ARC_FRACTION * math.pi / POLES
    corners = []
    for pole in range(POLES):
        middle = turned + 2 * math.pi * pole / POLES
        name = magnet_name(pole)
        a, b = (section.point(inner, middle + side * half, "magnet") for side in (-1, 1))
        c, d = (section.point(outer, middle + side * half, "magnet") for side in (-1, 1))
        section.join("arc", (a, b), ("gap", name))
        section.join("arc", (c, d), (name, "ring"))
        section.join("line", (a, c), (name, "gap"))
        section.join("line", (b, d), ("gap", name))
        corners.append((c, d))
    for (_, end), (start, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        section.join("arc", (end, start), ("gap", "ring"))
