"""Slotted machines with slots of arcs and radii: sections whose field is known semi-analytically.

The subdomain solutions below expand the unknown tangential field on every slot opening in
Gegenbauer polynomials with the exact edge singularity r^(-1/3) and match the annuli by Fourier
series; method after Lubin, Mezani and Rezzoug, IEEE Trans. Magn. 47(2), 2011 (from memory), who
expand in cosines. An independent finite-element solution of order 6, refined at all corners,
agrees within 6e-6 of the torque (24 slots with 20 poles: 6e-5).

Frame of the tables: slot 0 centred on angle 0; the rotor angle is that of the middle of an
outward magnetised magnet. Stator iron and, where not said otherwise, the space outside the
magnets have infinite permeability; here 1e7.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor, MotorDesign
from fem_motor.field import FieldProblem, FieldSweep, Magnets, field_problem, solve
from fem_motor.materials import BHCurve
from fem_motor.mesh import Quality, mesh_motor
from fem_motor.section import Arc, CrossSection, HalfCellOutline, Line, Point, Region

DEG = math.pi / 180
MM = 1e-3
IRON = BHCurve.linear(1e7)
HUB = 4.0
"""Thickness of the iron under the slots, mm; so much iron takes no ampere-turns."""

Outside = Literal["iron", "air", "ring"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlottedCase:
    """One machine; lengths in mm, angles in degrees.

    Attributes
    ----------
    tip_radius : float
        Where the opening ends and the body of the slot begins; the stator's radius where open.
    outside : "iron", "air" or "ring"
        Beyond the magnets; a ring is 3 mm of permeability 5.
    segments : int
        Magnets per pole; 1 alternating, more a Halbach layout with its strong side inwards.
    """

    name: str
    slots: int
    poles: int
    radius: float
    tip_radius: float
    bottom_radius: float
    opening: float
    body: float
    magnet: tuple[float, float]
    arc: float
    remanence: float
    recoil: float
    radial: bool
    outside: Outside = "iron"
    segments: int = 1

    @property
    def sectors(self) -> int:
        """Equal sectors of the machine, up to the sign."""
        return math.gcd(self.slots, self.poles)

    @property
    def period(self) -> float:
        """Cogging period, rad."""
        return 2 * math.pi / math.lcm(self.slots, self.poles)

    @property
    def clearance(self) -> float:
        """Air gap, mm."""
        return self.magnet[0] - self.radius


_C1 = {
    "slots": 12, "poles": 14, "radius": 20.0, "tip_radius": 19.0, "bottom_radius": 12.5,
    "opening": 6.0, "body": 16.0, "magnet": (20.5, 23.5), "arc": 0.85, "remanence": 1.2,
    "recoil": 1.05, "radial": True,
}  # fmt: skip
CASES: dict[str, SlottedCase] = {
    case.name: case
    for case in (
        SlottedCase(name="semi-closed 12/14", **_C1),  # type: ignore[arg-type]
        SlottedCase(
            name="open 12/14", slots=12, poles=14, radius=20.0, tip_radius=20.0,
            bottom_radius=14.0, opening=9.0, body=9.0, magnet=(20.6, 23.1), arc=0.90,
            remanence=1.25, recoil=1.0, radial=False,
        ),
        SlottedCase(
            name="semi-closed 12/8", slots=12, poles=8, radius=18.0, tip_radius=17.0,
            bottom_radius=11.0, opening=8.0, body=17.0, magnet=(18.8, 21.8), arc=0.80,
            remanence=1.25, recoil=1.0, radial=True,
        ),
        SlottedCase(
            name="open 9/12", slots=9, poles=12, radius=16.0, tip_radius=16.0,
            bottom_radius=10.0, opening=14.0, body=14.0, magnet=(16.6, 19.1), arc=0.90,
            remanence=1.3, recoil=1.05, radial=False,
        ),
        SlottedCase(
            name="semi-closed 24/20", slots=24, poles=20, radius=30.0, tip_radius=29.0,
            bottom_radius=22.0, opening=4.0, body=8.0, magnet=(30.7, 33.7), arc=1.0,
            remanence=1.2, recoil=1.05, radial=True,
        ),
        SlottedCase(
            name="Halbach 12/14", **_C1 | {"magnet": (20.5, 25.5), "arc": 1.0, "radial": False},  # type: ignore[arg-type]
            segments=4, outside="air",
        ),
        SlottedCase(name="no ring 12/14", **_C1, outside="air"),  # type: ignore[arg-type]
        SlottedCase(name="plastic ring 12/14", **_C1, outside="ring"),  # type: ignore[arg-type]
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """Semi-analytical results: torque (N m/m) by rotor angle (degrees), its peak, tooth flux.

    Attributes
    ----------
    linkage : float
        Mean of A over slot 1 less that over slot 0 at the middle one of the angles, mWb/m.
    """

    torque: dict[float, float]
    peak: float
    linkage: float


REFERENCES: dict[str, Reference] = {
    "semi-closed 12/14": Reference(
        torque={0.25: 0.055137, 0.5: 0.105597, 1.0: 0.168284}, peak=0.171572, linkage=-1.243909
    ),
    "open 12/14": Reference(
        torque={0.25: 0.097127, 0.5: 0.186434, 1.0: 0.303197}, peak=0.312120, linkage=-1.155384
    ),
    "semi-closed 12/8": Reference(
        torque={1.0: 3.635717, 3.0: 6.812999, 5.0: 4.409911}, peak=6.815759, linkage=6.381411
    ),
    "open 9/12": Reference(
        torque={1.0: 0.522406, 2.5: 1.140065, 4.0: 0.936234}, peak=1.225895, linkage=-1.480129
    ),
    "semi-closed 24/20": Reference(
        torque={0.25: -0.43167, 0.75: -0.81925, 1.2: -0.45215}, peak=0.82115, linkage=2.336085
    ),
    "Halbach 12/14": Reference(
        torque={0.25: -0.047483, 0.5: -0.070156, 1.0: -0.014520}, peak=0.070477, linkage=-1.811106
    ),
    "no ring 12/14": Reference(
        torque={0.25: 0.044533, 0.5: 0.085378, 1.0: 0.136520}, peak=0.139316, linkage=-0.748039
    ),
    "plastic ring 12/14": Reference(
        torque={0.25: 0.051233, 0.5: 0.098126, 1.0: 0.156436}, peak=0.159511, linkage=-1.022981
    ),
}

LOADED: dict[str, tuple[dict[int, float], dict[float, float]]] = {
    "semi-closed 12/14": (
        {0: 100.0, 1: -100.0, 6: -100.0, 7: 100.0},
        {0.25: -8.588826, 0.5: -8.549408, 1.0: -8.503506},
    ),
    "semi-closed 12/8": (
        {0: 100.0, 3: 100.0, 6: 100.0, 9: 100.0, 1: -100.0, 4: -100.0, 7: -100.0, 10: -100.0},
        {1.0: -9.044954, 3.0: -4.432019, 5.0: -5.261415},
    ),
    "Halbach 12/14": (
        {0: 100.0, 1: -100.0, 6: -100.0, 7: 100.0},
        {0.25: -12.501782, 0.5: -12.589435, 1.0: -12.625648},
    ),
}
"""Net currents of slots, A; torque, N m/m, by rotor angle, cogging included."""


def problem_of(
    case: SlottedCase, *, quality: Quality, gap_position: float, sectors: int | None = None
) -> FieldProblem:
    """Return the field problem of `case`, meshed by the same rules as any motor's."""
    mesh = mesh_motor(
        stand_in(case),
        quality=quality,
        gap_position=gap_position,
        section=section_of(case, gap_position),
    )
    filler = BHCurve.linear(case.recoil)  # between magnets, labelled as a core in the rotor
    beyond = {"iron": IRON, "ring": BHCurve.linear(5.0), "air": BHCurve.linear(1.0)}[case.outside]
    return field_problem(
        mesh,
        stator_curves={"core": IRON},
        rotor_curves={"ring": beyond, "core": filler},
        magnets=magnets_of(case),
        slots=case.slots,
        poles=case.poles,
        sectors=case.sectors if sectors is None else sectors,
    )


def magnets_of(case: SlottedCase) -> Magnets:
    """Return the magnets, the first one outwards; by segment the direction turns by p times more.

    Direction against the x axis at the middle θ of a segment: (1 + p) θ, with the strong side
    inwards. Source: K. Halbach, Nucl. Instrum. Meth. 169 (1980) 1, from memory.
    """
    segment = np.arange(case.poles * case.segments)
    if case.segments == 1:
        alternating = case.remanence * (-1.0) ** segment
        direction, remanence = np.zeros(segment.size), alternating
    else:
        direction = case.poles / 2 * 2 * math.pi / segment.size * segment
        remanence = np.full(segment.size, case.remanence)
    return Magnets(
        remanence=remanence,
        direction=direction,
        recoil_permeability=case.recoil,
        is_radial=case.radial,
    )


def solve_case(
    case: SlottedCase, problem: FieldProblem, angles_deg: FloatArray, currents: dict[int, float]
) -> FieldSweep:
    """Return the fields at the angles of the tables with net currents in slots."""
    half = np.zeros((case.slots, 2))
    for slot, current in currents.items():  # tooth j lies between slots j and j + 1
        half[slot, 0] += current / 2
        half[(slot - 1) % case.slots, 1] += current / 2
    angles = np.asarray(angles_deg) * DEG - math.pi / case.slots
    return solve(problem, angles=angles, ampere_turns=np.tile(half, (len(angles), 1, 1)))


def tooth_linkage(sweep: FieldSweep) -> FloatArray:
    """Return the mean of A over slot 1 less that over slot 0, (n,), Wb/m."""
    mean = sweep.half_slot_mean
    slot_1 = (mean[:, 0, 1] + mean[:, 1, 0]) / 2
    slot_0 = (mean[:, 0, 0] + mean[:, -1, 1]) / 2
    return np.asarray(slot_1 - slot_0)


def section_of(case: SlottedCase, gap_position: float) -> CrossSection:
    """Return the half cells: of the stator from a tooth, of the rotor from a magnet."""
    depth = gap_position * case.clearance
    return CrossSection(
        stator=_stator(case, case.radius + depth), rotor=_rotor(case, case.magnet[0] - depth)
    )


def stand_in(case: SlottedCase) -> Motor:
    """Return a motor with about the same parts, from which sizes of elements follow."""
    at = (case.tip_radius + case.bottom_radius) / 2
    tooth = 0.8 * case.bottom_radius * (2 * math.pi / case.slots - case.body * DEG)
    is_open = case.tip_radius == case.radius
    return MotorDesign.from_dict(
        {
            "title": case.name,
            "machine": {
                "slots": case.slots,
                "poles": case.poles,
                "stack_length_mm": 10.0,
                "air_gap_mm": case.clearance,
            },
            "stator": {
                "outer_diameter_mm": 2 * case.radius,
                "inner_diameter_mm": 2 * (case.bottom_radius - HUB),
                "yoke_thickness_mm": HUB,
                "tooth_width_mm": max(tooth, 0.1 * at),
                "slot_opening_mm": 0.9 * case.opening * DEG * case.radius,
                "tip_thickness_mm": 0.5 if is_open else case.radius - case.tip_radius,
                "core": "iron",
            },
            "rotor": {
                "magnet_layout": "alternating" if case.segments == 1 else "halbach",
                **({} if case.segments == 1 else {"segments_per_pole": case.segments}),
                "magnet_shape": "arc",
                "magnet_arc_fraction": case.arc,
                "magnet_thickness_mm": case.magnet[1] - case.magnet[0],
                "magnetisation": "parallel",
                "magnet": "magnet",
                "ring_material": "none" if case.outside == "air" else "iron",
                "ring_thickness_mm": 0.0 if case.outside == "air" else 3.0,
            },
            "winding": {"turns_per_tooth": 1, "strands": 1, "wire_diameter_mm": 0.1},
            "materials": {
                "iron": {"kind": "core", "relative_permeability": 1e4},
                "magnet": {
                    "kind": "magnet",
                    "remanence_T": case.remanence,
                    "recoil_permeability": case.recoil,
                },
            },
        }
    ).motor


def _polar(radius_mm: float, angle: float) -> Point:
    return radius_mm * MM * math.cos(angle), radius_mm * MM * math.sin(angle)


def _closed(points: list[Point]) -> tuple[Line | Arc, ...]:
    """Return the outline through points: an arc where two have the same radius, else a line."""
    edges: list[Line | Arc] = []
    for start, end in zip(points, [*points[1:], points[0]], strict=True):
        is_arc = math.isclose(math.hypot(*start), math.hypot(*end), rel_tol=1e-12)
        edges.append(Arc(start, end) if is_arc else Line(start, end))
    return tuple(edges)


def _stator(case: SlottedCase, gap_radius: float) -> HalfCellOutline:
    half = math.pi / case.slots
    mouth, side = half - case.opening / 2 * DEG, half - case.body / 2 * DEG
    top, tip, bottom = case.radius, case.tip_radius, case.bottom_radius
    hub = bottom - HUB
    is_open = tip == top
    below_tip = [] if is_open else [_polar(tip, mouth), _polar(tip, side)]
    iron = [
        _polar(hub, 0), _polar(top, 0), _polar(top, mouth), *below_tip,
        _polar(bottom, side), _polar(bottom, half), _polar(hub, half),
    ]  # fmt: skip
    coil = [*reversed([_polar(bottom, half), _polar(tip, half), *(
        [_polar(top, mouth)] if is_open else below_tip), _polar(bottom, side)])]  # fmt: skip
    regions = [
        Region(label="core", edges=_closed(iron)),
        Region(label="coil", edges=_closed(coil)),
        Region(
            label="gap",
            edges=_closed([
                _polar(top, mouth), _polar(top, 0), _polar(gap_radius, 0),
                _polar(gap_radius, half), _polar(top, half),
            ]),
        ),
    ]  # fmt: skip
    if not is_open:
        opening = [_polar(tip, mouth), _polar(top, mouth), _polar(top, half), _polar(tip, half)]
        regions.append(Region(label="air", edges=_closed(opening)))
    return HalfCellOutline(
        regions=tuple(regions),
        half_pitch=half,
        gap_radius=gap_radius * MM,
        far_radius=hub * MM,
        narrow=(),
        sharp=(_polar(top, mouth),),
        mouth=() if is_open else (_polar(tip, mouth),),
        blunt=(*below_tip[1:], _polar(bottom, side)),
    )


def _rotor(case: SlottedCase, gap_radius: float) -> HalfCellOutline:
    half = math.pi / (case.poles * case.segments)
    split = case.arc * half
    inner, outer = case.magnet
    behind = outer + 3.0
    far = behind + 0.8
    is_whole = case.arc == 1
    low = [_polar(inner, half)] if is_whole else [_polar(inner, half), _polar(inner, split)]
    high = [_polar(outer, half)] if is_whole else [_polar(outer, half), _polar(outer, split)]
    outlines: list[tuple[str, list[Point]]] = [
        ("gap", [_polar(gap_radius, 0), _polar(gap_radius, half), *low, _polar(inner, 0)][::-1]),
        ("magnet", [_polar(inner, 0), _polar(outer, 0), high[-1], low[-1]]),
        ("ring", [_polar(outer, 0), _polar(behind, 0), _polar(behind, half), *high]),
        ("air", [_polar(behind, 0), _polar(far, 0), _polar(far, half), _polar(behind, half)]),
    ]
    if not is_whole:
        outlines.append(("core", [low[1], high[1], high[0], low[0]]))
    return HalfCellOutline(
        regions=tuple(
            Region(label=label, edges=_closed(points))  # type: ignore[arg-type]
            for label, points in outlines
        ),
        half_pitch=half,
        gap_radius=gap_radius * MM,
        far_radius=far * MM,
        narrow=(),
        sharp=(),
        mouth=(),
        blunt=(low[-1], high[-1]),
    )
