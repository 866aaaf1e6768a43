"""A body, reduced: what is linear inside its half cells is eliminated once for all copies.

Left over are the straight sides, the circles and the nodes of saturable elements. The half cell's
own elimination serves every copy, every rotor angle and every step of Newton's method.
"""

import numpy as np
from scipy import sparse
from scipy.linalg import cho_factor, cho_solve, lapack

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.discretisation.bodies import Body
from fem_motor.field.discretisation.cells import CellMatrices
from fem_motor.field.elimination.cholesky import LowerPattern, fill_reducing_order, prepare
from fem_motor.field.gap.harmonics import Circle, open_stiffness


class CondensedCell:
    """A half cell without the insides of what is linear in it.

    Attributes
    ----------
    inside, edge : (i,), (b,)
        Nodes of linear elements: those eliminated, and those on the sides, on the circles and on
        saturable elements.
    stiffness : (b, b)
        What is left of the linear stiffness on the edge.
    spread : (i, b)
        A inside per A on the edge.
    """

    def __init__(self, matrices: CellMatrices) -> None:
        cell = matrices.cell
        borders = [cell.start_side, cell.end_side, cell.gap_circle, cell.far_circle]
        borders += [part.nodes.ravel() for part in matrices.saturable]
        linear = np.unique(matrices.linear_nodes)
        on_border = np.isin(linear, np.concatenate(borders))
        self.inside, self.edge = linear[~on_border], linear[on_border]
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


class ReducedBody:
    """The unknowns of a body that are left, their linear stiffness, and the way back to all.

    Parameters
    ----------
    body : Body
    gap_stiffness : (g, g)
        Self term of the gap on this side.

    Attributes
    ----------
    kept : (k,)
        Unknowns of the body that are left; those of the gap circle come last here too.
    place : (size,)
        Where each of the body's unknowns stands among them; -1 where it is eliminated.
    """

    def __init__(self, body: Body, gap_stiffness: FloatArray) -> None:
        self.body = body
        self._cell = cell = CondensedCell(body.matrices)
        self._inside = body.unknown[:, cell.inside]  # (c, i): no two copies share one
        is_kept = np.ones(body.size, dtype=bool)
        is_kept[self._inside] = False
        self.kept = np.flatnonzero(is_kept)
        self.place = np.where(is_kept, np.cumsum(is_kept) - 1, -1)
        self._sign = body.factor[:, cell.edge]
        # A node that antiperiodicity holds at zero has no unknown of its own: factor 0.
        self._edge = np.where(self._sign == 0, 0, self.place[body.unknown[:, cell.edge]])

        self._circles = [(self.place[body.gap], gap_stiffness)]
        if len(body.far):
            far = Circle(nodes=len(body.far), sectors=body.sectors, sign=body.sign)
            self._circles.append((self.place[body.far], open_stiffness(far)))

    def stiffness(self) -> sparse.coo_matrix:
        """Return the constant part of the stiffness, (k, k), its circles included."""
        edge = self._edge
        local = self._sign[:, :, None] * self._cell.stiffness * self._sign[:, None, :]
        rows = [np.broadcast_to(edge[:, :, None], local.shape).ravel()]
        columns = [np.broadcast_to(edge[:, None, :], local.shape).ravel()]
        values = [local.ravel()]
        for nodes, stiffness in self._circles:
            rows.append(np.repeat(nodes, len(nodes)))
            columns.append(np.tile(nodes, len(nodes)))
            values.append(stiffness.ravel())
        size = len(self.kept)
        return sparse.coo_matrix(
            (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
            shape=(size, size),
        )

    def times_stiffness(self, values: FloatArray) -> FloatArray:
        """Return `stiffness()` times values, (k,), by half cells and circles."""
        local = (self._sign * values[self._edge]) @ self._cell.stiffness * self._sign
        flat = np.bincount(self._edge.ravel(), local.ravel(), len(self.kept))
        product = np.asarray(flat, dtype=np.float64)
        for nodes, stiffness in self._circles:
            product[nodes] += stiffness @ values[nodes]
        return product

    def reduce(self, load: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the load on what is left, and A inside while that is held at zero.

        Parameters
        ----------
        load : (size, n)

        Returns
        -------
        (k, n) and (i, c, n)
        """
        copies, number = self.body.copies, load.shape[1]
        inside = load[self._inside].transpose(1, 0, 2).reshape(-1, copies * number)
        held = self._cell.solve_inside(np.ascontiguousarray(inside))
        balance = self._cell.on_edge(held).reshape(-1, copies, number).transpose(1, 0, 2)
        reduced = load[self.kept]
        np.subtract.at(reduced, self._edge, self._sign[:, :, None] * balance)
        return reduced, held.reshape(-1, copies, number)

    def held_energy(self, load: FloatArray, held: FloatArray) -> float:
        """Return ½ load·A of the insides alone, J/m, by a load (size,) and A inside, (i, c, 1)."""
        return float(np.vdot(load[self._inside], held[:, :, 0].T)) / 2

    def expand(self, values: FloatArray, held: FloatArray) -> FloatArray:
        """Return all unknowns, (size, n), from those left, (k, n), and A inside, (i, c, n)."""
        copies, number = self.body.copies, values.shape[1]
        nodal = self._sign[:, :, None] * values[self._edge]  # (c, b, n)
        spread = self._cell.spread @ nodal.transpose(1, 0, 2).reshape(-1, copies * number)
        everything = np.empty((self.body.size, number))
        everything[self.kept] = values
        inside = held + spread.reshape(-1, copies, number)
        everything[self._inside] = inside.transpose(1, 0, 2)
        return everything


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
        self._reduced = ReducedBody(body, gap_stiffness)
        dense = self._reduced.stiffness().toarray()
        self._factor = cho_factor(dense, lower=True, overwrite_a=True, check_finite=False)
        self.trace = circle.trace(harmonics)
        number = len(body.gap)
        inverse = lapack.dpotri(self._factor[0][-number:, -number:], lower=1)[0]
        inverse = np.tril(inverse) + np.tril(inverse, -1).T
        self.impedance = self.trace @ inverse @ self.trace.T

    def solve(self, load: FloatArray) -> FloatArray:
        """Return the unknowns, (size, k), for loads, (size, k)."""
        reduced, held = self._reduced.reduce(load)
        left = cho_solve(self._factor, reduced, check_finite=False)
        return self._reduced.expand(left, held)

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
