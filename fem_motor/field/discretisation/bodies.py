"""A body: copies of one half cell joined to a sector or to the whole circle."""

from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.discretisation.cells import CellMatrices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """The unknowns of one body.

    Copies are numbered counter-clockwise from the axis of the first pitch: even copies are the
    half cell turned, odd ones mirrored. The straight side where the sector closes is the one
    where it begins, up to the sign of the (anti)periodicity.

    Attributes
    ----------
    matrices : CellMatrices
    pitches : int
        In the sector.
    sectors : int
        Sectors in the full circle.
    sign : 1 or -1
        Of A from one sector to the next.
    unknown : (c, n)
        Unknown of each node of each copy.
    factor : (c, n)
        What the unknown is multiplied with: 1, the sign on the closing side, 0 where A must vanish.
    size : int
        Number of unknowns; those of the gap circle come last, in the order of their angle.
    gap, far : (g,), (f,)
        Unknowns on the two circles.
    """

    matrices: CellMatrices
    pitches: int
    sectors: int
    sign: int
    unknown: IntArray
    factor: FloatArray
    size: int
    gap: IntArray
    far: IntArray

    @property
    def copies(self) -> int:
        """Number of half cells in the sector."""
        return 2 * self.pitches

    def nodal(self, values: FloatArray) -> FloatArray:
        """Return A at the nodes of each copy, (c, n), from the unknowns, (size,)."""
        return values[self.unknown] * self.factor

    def gather(self, loads: FloatArray) -> FloatArray:
        """Return the load on the unknowns, (size,), from loads on the nodes of copies, (c, n)."""
        weights = (loads * self.factor).ravel()
        return np.asarray(np.bincount(self.unknown.ravel(), weights, self.size), dtype=np.float64)


def join_copies(matrices: CellMatrices, *, pitches: int, sectors: int, sign: int) -> Body:
    """Return the body made of `pitches` pitches per sector.

    Parameters
    ----------
    matrices : CellMatrices
        Of the half cell.
    pitches, sectors : int
    sign : 1 or -1
    """
    cell = matrices.cell
    copies = 2 * pitches
    on_circles = np.concatenate([cell.gap_circle, cell.far_circle])
    start = np.setdiff1d(cell.start_side, on_circles, assume_unique=True)
    end = np.setdiff1d(cell.end_side, on_circles, assume_unique=True)
    edge = np.concatenate([on_circles, start, end])
    interior = np.setdiff1d(np.arange(cell.points.shape[1]), edge)
    copy = np.arange(copies)[:, None]

    numbering = _Numbering(copies, cell.points.shape[1], sign)
    numbering.place(interior, copy * len(interior) + np.arange(len(interior)), copies)
    # Lines between copies: the even ones are start sides, the odd ones end sides.
    line = copy + copy % 2
    numbering.place(start, line // 2 * len(start) + np.arange(len(start)), pitches)
    line = copy + (copy + 1) % 2
    numbering.place(end, line // 2 * len(end) + np.arange(len(end)), pitches)
    if len(cell.far_circle) == 1:
        numbering.place_centre(cell.far_circle)
    far = numbering.place_circle(cell.far_circle) if len(cell.far_circle) > 1 else np.arange(0)
    gap = numbering.place_circle(cell.gap_circle)
    return Body(
        matrices=matrices,
        pitches=pitches,
        sectors=sectors,
        sign=sign,
        unknown=numbering.unknown,
        factor=numbering.factor,
        size=numbering.size,
        gap=gap,
        far=far,
    )


class _Numbering:
    """Hands out unknowns, one group of nodes after the other."""

    def __init__(self, copies: int, nodes: int, sign: int) -> None:
        self.unknown = np.full((copies, nodes), -1, dtype=np.int64)
        self.factor = np.ones((copies, nodes))
        self.size = 0
        self._sign = sign

    def place(self, nodes: IntArray, position: IntArray, repeats: int) -> None:
        """Give numbers to `nodes` of each copy by `position`, (c, k), modulo the sector."""
        number = repeats * len(nodes)
        closes = position >= number
        self.unknown[:, nodes] = self.size + np.where(closes, position - number, position)
        self.factor[:, nodes] = np.where(closes, self._sign, 1)
        self.size += number

    def place_circle(self, nodes: IntArray) -> IntArray:
        """Give numbers to a circle by rising angle and return its unknowns."""
        copies = len(self.unknown)
        steps = len(nodes) - 1
        ahead = np.arange(steps + 1)
        copy = np.arange(copies)[:, None]
        position = copy * steps + np.where(copy % 2 == 0, ahead, steps - ahead)
        number = copies * steps
        closes = position == number
        self.unknown[:, nodes] = self.size + np.where(closes, 0, position)
        self.factor[:, nodes] = np.where(closes, self._sign, 1)
        self.size += number
        return self.size - number + np.arange(number)

    def place_centre(self, nodes: IntArray) -> None:
        """Give a number to the centre of a solid body: one for all copies, 0 by antiperiodicity."""
        if self._sign == 1:
            self.unknown[:, nodes] = self.size
            self.size += 1
        else:
            self.unknown[:, nodes] = 0
            self.factor[:, nodes] = 0
