"""Stator, rotor and gap as one system of equations with a fixed pattern."""

import numpy as np
from scipy import sparse

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.bodies import Body
from fem_motor.field.cholesky import Factor, fill_reducing_order, prepare
from fem_motor.field.harmonics import Circle, open_stiffness
from fem_motor.field.problem import FieldProblem
from fem_motor.field.saturation import (
    LOWER_COLUMN,
    LOWER_ROW,
    SaturableCopies,
    SaturationState,
)
from fem_motor.field.solution import Fields


def linear_stiffness(body: Body, gap_stiffness: FloatArray) -> sparse.csr_matrix:
    """Return the constant part of a body's stiffness, (size, size), its circles included.

    Parameters
    ----------
    body : Body
    gap_stiffness : (g, g)
        Self term of the gap on this side.
    """
    matrices = body.matrices
    unknown = body.unknown[:, matrices.linear_nodes]  # (c, 6, m)
    factor = body.factor[:, matrices.linear_nodes]
    local = np.einsum("cim,mij,cjm->cijm", factor, matrices.linear_stiffness, factor, optimize=True)
    shape = local.shape
    rows = [np.broadcast_to(unknown[:, :, None, :], shape).ravel()]
    columns = [np.broadcast_to(unknown[:, None, :, :], shape).ravel()]
    values = [local.ravel()]
    circles = [(body.gap, gap_stiffness)]
    if len(body.far):
        far = Circle(nodes=len(body.far), sectors=body.sectors, sign=body.sign)
        circles.append((body.far, open_stiffness(far)))
    for nodes, stiffness in circles:
        rows.append(np.repeat(nodes, len(nodes)))
        columns.append(np.tile(nodes, len(nodes)))
        values.append(stiffness.ravel())
    return sparse.coo_matrix(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
        shape=(body.size, body.size),
    ).tocsr()


class CoupledSystem:
    """Residual and tangent of a `FieldProblem`, on one numbering of all unknowns.

    Order: the stator's unknowns off its gap circle, the rotor's, the stator's circle, the
    rotor's circle. With the circles last the angle touches one dense block of the factor only.
    """

    def __init__(self, problem: FieldProblem) -> None:
        stator, rotor, gap = problem.stator, problem.rotor, problem.gap
        self.problem = problem
        self.size = stator.size + rotor.size
        self.stator_place, self.rotor_place = _places(stator, rotor)
        self.on_stator = self.stator_place[stator.gap]
        self.on_rotor = self.rotor_place[rotor.gap]
        self.stator_trace = gap.stator.trace(gap.harmonics)
        self.rotor_trace = gap.rotor.trace(gap.harmonics)
        self.stiffness = _joined(problem, self.stator_place, self.rotor_place)
        self.saturable = tuple(
            SaturableCopies.of(body, elements, place)
            for body, place in ((stator, self.stator_place), (rotor, self.rotor_place))
            for elements in body.matrices.saturable
        )
        self._prepare_pattern()

    def joined(self, fields: Fields | None) -> FloatArray:
        """Return the unknowns of both bodies as one vector, (size,); zero without fields."""
        values = np.zeros(self.size)
        if fields is not None:
            values[self.stator_place], values[self.rotor_place] = fields
        return values

    def load(self, ampere_turns: FloatArray) -> FloatArray:
        """Return the load, (size,), of the magnets and of half-slot currents (slots, 2)."""
        load = np.zeros(self.size)
        load[self.stator_place] = self.problem.current_load(ampere_turns)
        load[self.rotor_place] += self.problem.magnet_load
        return load

    def traces(self, A_z: FloatArray, angle: float) -> tuple[FloatArray, FloatArray]:
        """Return the coefficients on both circles, (2 h,) each, in the stator's frame."""
        rotor = self.rotor_trace @ A_z[self.on_rotor]
        return self.stator_trace @ A_z[self.on_stator], self.problem.gap.rotate(rotor, angle)

    def energy(self, A_z: FloatArray, angle: float, load: FloatArray) -> float:
        """Return the functional that the solution minimises, J/m, one sector."""
        u, v = self.traces(A_z, angle)
        gap = self.problem.gap
        linear = A_z @ (self.stiffness @ A_z) / 2 - u @ gap.to_stator(v) - load @ A_z
        if gap.terms is not None:
            linear += v @ gap.terms.rotor @ v / 2
        return float(linear + sum(part.energy(A_z) for part in self.saturable))

    def residual(
        self, A_z: FloatArray, angle: float, load: FloatArray
    ) -> tuple[FloatArray, list[SaturationState]]:
        """Return the residual, (size,), and the states of the saturable parts."""
        residual = np.asarray(self.stiffness @ A_z - load)
        u, v = self.traces(A_z, angle)
        gap = self.problem.gap
        residual[self.on_stator] -= self.stator_trace.T @ gap.to_stator(v)
        pulled = gap.rotate(gap.pull_on_rotor(u, v), -angle)
        residual[self.on_rotor] -= self.rotor_trace.T @ pulled
        states = [part.state(A_z) for part in self.saturable]
        for part, state in zip(self.saturable, states, strict=True):
            residual += part.residual(state, self.size)
        return residual, states

    def factorise(self, states: list[SaturationState], angle: float) -> None:
        """Factorise the tangent at the given states of saturation."""
        values = self._constant.copy()
        for part, place, state in zip(self.saturable, self._scatter, states, strict=True):
            tangent = part.tangent(state)
            values += np.bincount(place, weights=tangent.ravel(), minlength=len(values))
        gap = self.problem.gap
        turned = gap.rotate(self.rotor_trace, angle)
        values[self._cross] = -self.stator_trace.T @ gap.to_stator(turned)
        if gap.terms is not None:
            values[self._rotor_block] += (turned.T @ gap.terms.rotor @ turned)[self._lower]
        self._factor.factorise(values)

    def solve(self, right: FloatArray) -> FloatArray:
        """Return the solution, (size,) or (size, k), with the last factorised tangent."""
        solution = np.empty_like(right)
        solution[self._order] = self._factor.solve(right[self._order])
        return solution

    def _prepare_pattern(self) -> None:
        """Order the unknowns, lay out the lower triangle and find where each value goes."""
        circles = len(self.on_stator) + len(self.on_rotor)
        inside = self.size - circles
        entries = sparse.tril(self.stiffness).tocoo()  # with the entries that cancel to zero
        row_parts, column_parts = [entries.row], [entries.col]
        for part in self.saturable:
            row_parts.append(part.unknown[:, LOWER_ROW].ravel())
            column_parts.append(part.unknown[:, LOWER_COLUMN].ravel())
        rows, columns = np.concatenate(row_parts), np.concatenate(column_parts)
        row, column = np.maximum(rows, columns), np.minimum(rows, columns)
        off = row < inside
        first = fill_reducing_order(inside, row[off], column[off])
        self._order = np.concatenate([first, np.arange(inside, self.size)])
        place = np.empty(self.size, dtype=np.int64)
        place[self._order] = np.arange(self.size)

        cross_rows = np.repeat(self.on_rotor, len(self.on_stator))
        cross_columns = np.tile(self.on_stator, len(self.on_rotor))
        pattern = LowerPattern(
            self.size,
            place[np.concatenate([rows, cross_rows, np.arange(self.size)])],
            place[np.concatenate([columns, cross_columns, np.arange(self.size)])],
        )
        self._constant = np.zeros(pattern.entries)
        self._constant[pattern.find(place[entries.row], place[entries.col])] = entries.data
        self._scatter = [
            pattern.find(
                place[part.unknown[:, LOWER_ROW]].ravel(),
                place[part.unknown[:, LOWER_COLUMN]].ravel(),
            )
            for part in self.saturable
        ]
        # The rotor's circle comes last: its rows end every column of the stator's circle.
        end = pattern.pointer[place[self.on_stator] + 1]
        self._cross = end[:, None] - len(self.on_rotor) + np.arange(len(self.on_rotor))
        # What an offset changes in the rotor's self term does not turn with it.
        self._lower = np.tril_indices(len(self.on_rotor))
        lower_rows, lower_columns = (place[self.on_rotor[k]] for k in self._lower)
        self._rotor_block = pattern.find(lower_rows, lower_columns)
        self._factor: Factor = prepare(pattern.pointer, pattern.rows)


class LowerPattern:
    """The lower triangle of a symmetric pattern, by columns with sorted rows.

    Parameters
    ----------
    size : int
    rows, columns : (k,)
        Entries in either triangle, repeated or not.
    """

    def __init__(self, size: int, rows: IntArray, columns: IntArray) -> None:
        self._size = size
        ones = np.ones(len(rows), dtype=np.int8)
        lower = np.maximum(rows, columns), np.minimum(rows, columns)
        pattern = sparse.coo_matrix((ones, lower), shape=(size, size)).tocsc()
        pattern.sort_indices()
        self.pointer = pattern.indptr.astype(np.int64)
        self.rows = pattern.indices.astype(np.int64)
        self._key = np.repeat(np.arange(size) * size, np.diff(self.pointer)) + self.rows

    @property
    def entries(self) -> int:
        """Number of entries in the lower triangle."""
        return len(self.rows)

    def find(self, rows: IntArray, columns: IntArray) -> IntArray:
        """Return where the entries, in either triangle, stand in the pattern.

        Raises
        ------
        ValueError
            Where one of them is not in it.
        """
        key = np.minimum(rows, columns) * self._size + np.maximum(rows, columns)
        place = np.minimum(np.searchsorted(self._key, key), self.entries - 1)
        if not np.array_equal(self._key[place], key):
            msg = "an entry stands outside the pattern"
            raise ValueError(msg)
        return place


def _places(stator: Body, rotor: Body) -> tuple[IntArray, IntArray]:
    """Return the place of each body's unknowns in the whole system."""
    stator_inside = stator.size - len(stator.gap)
    rotor_inside = rotor.size - len(rotor.gap)
    stator_place = np.arange(stator.size)
    stator_place[stator_inside:] += rotor_inside
    rotor_place = stator_inside + np.arange(rotor.size)
    rotor_place[rotor_inside:] += len(stator.gap)
    return stator_place, rotor_place


def _joined(
    problem: FieldProblem, stator_place: IntArray, rotor_place: IntArray
) -> sparse.csr_matrix:
    parts = [
        (linear_stiffness(problem.stator, problem.stator_gap_stiffness), stator_place),
        (linear_stiffness(problem.rotor, problem.rotor_gap_stiffness), rotor_place),
    ]
    size = sum(len(place) for _, place in parts)
    triplets = [(part.tocoo(), place) for part, place in parts]
    return sparse.coo_matrix(
        (
            np.concatenate([part.data for part, _ in triplets]),
            (
                np.concatenate([place[part.row] for part, place in triplets]),
                np.concatenate([place[part.col] for part, place in triplets]),
            ),
        ),
        shape=(size, size),
    ).tocsr()
