"""The mesh of one body: half a pitch of it, to be mirrored and turned.

A body (stator or rotor) of M equal pitches is 2 M half cells. Only one half cell is meshed:
from the axis of a tooth (or magnet) at angle 0 to the middle of the slot (or between two
magnets) at half a pitch. Mirroring it about either straight side gives its neighbour, so its
nodes on the two sides match their own images and no periodic mesh is needed.
"""

from dataclasses import dataclass
from typing import Literal

from fem_motor.arrays import FloatArray, IntArray, frozen, frozen_integers

Region = Literal["core", "coil", "air", "gap", "magnet", "ring"]
REGIONS: tuple[Region, ...] = ("core", "coil", "air", "gap", "magnet", "ring")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HalfCell:
    """Second-order triangles over one half cell, in the frame of the cell.

    Attributes
    ----------
    points : (2, n) m
        All nodes: corners and edge middles, on the true curves.
    triangles : (6, m)
        Three corners counter-clockwise, then the middles of edges 0-1, 1-2, 0-2
        (the order of scikit-fem's MeshTri2).
    region : (m,)
        Index into `REGIONS`. "gap" is the part of the air gap between the body's
        surface and its gap circle; every other part that is neither core, coil nor magnet is "air".
    start_side, end_side : (k,), (l,)
        Nodes on the straight sides at angle 0 and at half a pitch, by rising radius,
        corners and middles alternating.
    gap_circle : (2 e + 1,)
        Nodes on the circle inside the air gap, by rising angle, corners and middles alternating,
        both ends included; equal steps of angle.
    far_circle : (2 f + 1,) or (0,) or (1,)
        The same on the circle where the exact continuation begins: in the hub bore (stator) or
        outside the rotor. One node (the centre) or none where the body is solid to its centre.
    half_pitch : float
        rad.
    gap_radius, far_radius : float
        m; far_radius 0 where there is no far circle.
    """

    points: FloatArray
    triangles: IntArray
    region: IntArray
    start_side: IntArray
    end_side: IntArray
    gap_circle: IntArray
    far_circle: IntArray
    half_pitch: float
    gap_radius: float
    far_radius: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))
        for name in (
            "triangles", "region", "start_side", "end_side", "gap_circle", "far_circle",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen_integers(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MotorMesh:
    """The half cells of both bodies.

    Attributes
    ----------
    stator, rotor : HalfCell
        The stator's pitch is the slot pitch, the rotor's the magnet (segment) pitch.
    cut : int
        Highest harmonic of the full circle that couples them.
    """

    stator: HalfCell
    rotor: HalfCell
    cut: int
