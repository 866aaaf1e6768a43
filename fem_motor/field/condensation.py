"""A linear body, reduced to the nodes that copies and circles share.

The inside of a half cell is eliminated once for all copies; what is left, the straight sides
and the two circles, is small enough for a dense factor.
"""

import numpy as np
from scipy import sparse
from scipy.linalg import cho_factor, cho_solve, lapack

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.bodies import Body
from fem_motor.field.cells import CellMatrices
from fem_motor.field.cholesky import fill_reducing_order, prepare
from fem_motor.field.harmonics import Circle, open_stiffness
from fem_motor.field.system import LowerPattern


class CondensedCell:
    """The inside of a half cell, eliminated.

    Attributes
    ----------
    inside, edge : (i,), (b,)
        Nodes inside, and those on the sides and circles.
    stiffness : (b, b)
        What is left of the stiffness on the edge.
    spread : (i, b)
        A inside per A on the edge.
    """

    def __init__(self, matrices: CellMatrices) -> None:
        cell = matrices.cell
        self.edge = np.unique(
            np.concatenate([cell.start_side, cell.end_side, cell.gap_circle, cell.far_circle])
        )
        self.inside = np.setdiff1d(np.arange(cell.points.shape[1]), self.edge)
        whole = _cell_stiffness(matrices)
        rows = whole[self.inside]
        self._factorise(rows[:, self.inside].tocoo())
        coupling = rows[:, self.edge]
        self._coupling = coupling
        self.spread = -self.solve_inside(coupling.toarray())
        edge_rows = whole[self.edge]
        self.stiffness = edge_rows[:, self.edge].toarray() + coupling.T @ self.spread

    def _factorise(self, stiffness: sparse.coo_matrix) -> None:
        size = len(self.inside)
        lower = stiffness.row >= stiffness.col
        rows, columns = stiffness.row[lower], stiffness.col[lower]
        self._order = fill_reducing_order(size, rows, columns)
        place = np.empty(size, dtype=np.int64)
        place[self._order] = np.arange(size)
        pattern = LowerPattern(size, place[rows], place[columns])
        values = np.empty(pattern.entries)
        values[pattern.find(place[rows], place[columns])] = stiffness.data[lower]
        self._factor = prepare(pattern.pointer, pattern.rows)
        self._factor.factorise(values)

    def solve_inside(self, load: FloatArray) -> FloatArray:
        """Return A inside, (i, k), for loads inside, (i, k), and A = 0 on the edge."""
        solution = np.empty_like(load)
        solution[self._order] = self._factor.solve(load[self._order])
        return solution

    def on_edge(self, inside: FloatArray) -> FloatArray:
        """Return the load on the edge, (b, k), that A inside, (i, k), balances."""
        return np.asarray(self._coupling.T @ inside)


class BodyResponse:
    """A factorised linear body and what it answers at its gap circle.

    Attributes
    ----------
    trace : (2 h, g)
        From values on the gap circle to coefficients.
    impedance : (2 h, 2 h)
        P K⁻¹ Pᵀ: coefficients per unit load on coefficients.
    """

    def __init__(
        self, body: Body, circle: Circle, gap_stiffness: FloatArray, harmonics: IntArray
    ) -> None:
        self._body = body
        self._cell = CondensedCell(body.matrices)
        self._first = body.copies * len(self._cell.inside)  # unknowns inside cells come first
        edge = body.unknown[:, self._cell.edge] - self._first
        factor = body.factor[:, self._cell.edge]
        # A node that antiperiodicity holds at zero has no unknown of its own: factor 0.
        self._edge, self._sign = np.where(factor == 0, 0, edge), factor
        dense = self._assemble(circle, gap_stiffness)
        self._factor = cho_factor(dense, lower=True, overwrite_a=True, check_finite=False)
        self.trace = circle.trace(harmonics)
        number = len(body.gap)
        inverse = lapack.dpotri(self._factor[0][-number:, -number:], lower=1)[0]
        inverse = np.tril(inverse) + np.tril(inverse, -1).T
        self.impedance = self.trace @ inverse @ self.trace.T

    def _assemble(self, circle: Circle, gap_stiffness: FloatArray) -> FloatArray:
        size = self._body.size - self._first
        sign = self._sign
        local = sign[:, :, None] * self._cell.stiffness * sign[:, None, :]
        place = self._edge[:, :, None] * size + self._edge[:, None, :]
        flat = np.bincount(place.ravel(), local.ravel(), size * size)
        dense = np.asarray(flat, dtype=np.float64).reshape(size, size)
        circles = [(self._body.gap - self._first, gap_stiffness)]
        if len(self._body.far):
            far = Circle(nodes=len(self._body.far), sectors=circle.sectors, sign=circle.sign)
            circles.append((self._body.far - self._first, open_stiffness(far)))
        for nodes, stiffness in circles:
            dense[np.ix_(nodes, nodes)] += stiffness
        return dense

    def solve(self, load: FloatArray) -> FloatArray:
        """Return the unknowns, (size, k), for loads, (size, k)."""
        cell, copies, number = self._cell, self._body.copies, load.shape[1]
        by_copy = load[: self._first].reshape(copies, len(cell.inside), number)
        flat = by_copy.transpose(1, 0, 2).reshape(len(cell.inside), copies * number)
        held = cell.solve_inside(np.ascontiguousarray(flat))
        edge_load = load[self._first :].copy()
        balance = cell.on_edge(held).reshape(-1, copies, number).transpose(1, 0, 2)
        np.subtract.at(edge_load, self._edge, self._sign[:, :, None] * balance)
        edge = cho_solve(self._factor, edge_load, check_finite=False)
        nodal = self._sign[:, :, None] * edge[self._edge]  # (c, b, k)
        spread = cell.spread @ nodal.transpose(1, 0, 2).reshape(len(cell.edge), copies * number)
        inside = (held + spread).reshape(-1, copies, number).transpose(1, 0, 2)
        return np.concatenate([inside.reshape(self._first, number), edge])

    def pull(self, coefficients: FloatArray) -> FloatArray:
        """Return the load, (size, k), that coefficients on the circle, (2 h, k), make."""
        load = np.zeros((self._body.size, coefficients.shape[1]))
        load[self._body.gap] = self.trace.T @ coefficients
        return load


def _cell_stiffness(matrices: CellMatrices) -> sparse.csr_matrix:
    nodes = matrices.linear_nodes
    shape = (nodes.shape[1], 6, 6)
    rows = np.broadcast_to(nodes.T[:, :, None], shape).ravel()
    columns = np.broadcast_to(nodes.T[:, None, :], shape).ravel()
    size = matrices.cell.points.shape[1]
    return sparse.coo_matrix(
        (matrices.linear_stiffness.ravel(), (rows, columns)), shape=(size, size)
    ).tocsr()
