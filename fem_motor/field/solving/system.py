"""Stator, rotor and gap as one system of equations with a fixed pattern."""

import math
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from fem_motor.arrays import FloatArray, IntArray
from fem_motor.field.discretisation.saturation import (
    LOWER_COLUMN,
    LOWER_ROW,
    SaturableCopies,
    SaturationState,
)
from fem_motor.field.elimination.cholesky import Factor, LowerPattern, fill_reducing_order, prepare
from fem_motor.field.elimination.condensation import ReducedBody
from fem_motor.field.solving.problem import FieldProblem
from fem_motor.field.solving.solution import Fields


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SystemLoad:
    """What magnets and currents put on the equations.

    Attributes
    ----------
    right : (size,)
        On the unknowns of the system.
    held : (i, c, 1) each
        A inside the half cells of stator and rotor, with the unknowns of the system at zero.
    norm : float
        Of the load on all unknowns, those inside included.
    energy : float
        ½ load·A of what is held, J/m.
    """

    right: FloatArray
    held: tuple[FloatArray, FloatArray]
    norm: float
    energy: float


class CoupledSystem:
    """Residual and tangent of a `FieldProblem`, without the insides of what is linear.

    Order: the stator's unknowns off its gap circle, the rotor's, the stator's circle, the
    rotor's circle. With the circles last the angle touches one dense block of the factor only.
    """

    def __init__(self, problem: FieldProblem) -> None:
        gap = problem.gap
        self.problem = problem
        bodies = (
            ReducedBody(problem.stator, problem.stator_gap_stiffness),
            ReducedBody(problem.rotor, problem.rotor_gap_stiffness),
        )
        self._bodies, self._places = bodies, _places(*bodies)
        self.size = sum(len(place) for place in self._places)
        self.on_stator, self.on_rotor = (
            place[reduced.place[reduced.body.gap]]
            for place, reduced in zip(self._places, bodies, strict=True)
        )
        self.stator_trace = gap.stator.trace(gap.harmonics)
        self.rotor_trace = gap.rotor.trace(gap.harmonics)
        # A node that antiperiodicity holds at zero stands for any unknown, times 0.
        self.saturable = tuple(
            SaturableCopies.of(reduced.body, elements, place[np.maximum(reduced.place, 0)])
            for reduced, place in zip(bodies, self._places, strict=True)
            for elements in reduced.body.matrices.saturable
        )
        self._prepare_pattern()

    def joined(self, fields: Fields | None) -> FloatArray:
        """Return the unknowns of the system, (size,), from those of both bodies; zero without."""
        values = np.zeros(self.size)
        if fields is not None:
            for place, body, known in zip(self._places, self._bodies, fields, strict=True):
                values[place] = known[body.kept]
        return values

    def fields(self, A_z: FloatArray, load: SystemLoad) -> Fields:
        """Return all unknowns of stator and rotor, (size,) each, from those of the system."""
        on_stator, on_rotor = (
            body.expand(A_z[place][:, None], held)[:, 0]
            for place, body, held in zip(self._places, self._bodies, load.held, strict=True)
        )
        return on_stator, on_rotor

    def load(self, ampere_turns: FloatArray) -> SystemLoad:
        """Return the load of the magnets and of half-slot currents (slots, 2)."""
        right = np.zeros(self.size)
        loads = self.problem.current_load(ampere_turns), self.problem.magnet_load
        held, energy = [], 0.0
        for place, body, load in zip(self._places, self._bodies, loads, strict=True):
            left, inside = body.reduce(load[:, None])
            right[place] = left[:, 0]
            energy += body.held_energy(load, inside)
            held.append(inside)
        norm = math.hypot(*(float(np.linalg.norm(load)) for load in loads))
        return SystemLoad(right=right, held=(held[0], held[1]), norm=norm, energy=energy)

    def stator_response(self, loads: FloatArray) -> FloatArray:
        """Return all unknowns of the stator, (stator size, n), per small loads on them.

        With the last factorised tangent.
        """
        stator, place = self._bodies[0], self._places[0]
        left, held = stator.reduce(loads)
        right = np.zeros((self.size, loads.shape[1]))
        right[place] = left
        return stator.expand(self.solve(right)[place], held)

    def traces(self, A_z: FloatArray, angle: float) -> tuple[FloatArray, FloatArray]:
        """Return the coefficients on both circles, (2 h,) each, in the stator's frame."""
        rotor = self.rotor_trace @ A_z[self.on_rotor]
        return self.stator_trace @ A_z[self.on_stator], self.problem.gap.rotate(rotor, angle)

    def energy(self, A_z: FloatArray, angle: float, load: SystemLoad) -> float:
        """Return the functional that the solution minimises, J/m, one sector."""
        u, v = self.traces(A_z, angle)
        gap = self.problem.gap
        linear = A_z @ self._times_stiffness(A_z) / 2 - u @ gap.to_stator(v) - load.right @ A_z
        if gap.terms is not None:
            linear += v @ gap.terms.rotor @ v / 2
        return float(linear - load.energy + sum(part.energy(A_z) for part in self.saturable))

    def residual(
        self, A_z: FloatArray, angle: float, right: FloatArray
    ) -> tuple[FloatArray, list[SaturationState]]:
        """Return the residual, (size,), and the states of the saturable parts.

        What has been eliminated is in balance: it adds nothing.
        """
        residual = self._times_stiffness(A_z) - right
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
        for part, (place, among), state in zip(self.saturable, self._scatter, states, strict=True):
            tangent = part.tangent(state)
            values[place] += np.bincount(among, tangent.ravel(), len(place))
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

    def _times_stiffness(self, A_z: FloatArray) -> FloatArray:
        """Return the constant part of the stiffness times the unknowns, (size,)."""
        product = np.empty(self.size)
        for place, body in zip(self._places, self._bodies, strict=True):
            product[place] = body.times_stiffness(A_z[place])
        return product

    def _prepare_pattern(self) -> None:
        """Order the unknowns, lay out the lower triangle and find where each value goes."""
        circles = len(self.on_stator) + len(self.on_rotor)
        inside = self.size - circles
        joined = _joined(self._bodies, self._places)
        entries = sparse.tril(joined).tocoo()  # with the entries that cancel to zero
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
        # Of each saturable part the entries it touches, and which of them each of its values is.
        self._scatter = [
            _touched(
                pattern.find(
                    place[part.unknown[:, LOWER_ROW]].ravel(),
                    place[part.unknown[:, LOWER_COLUMN]].ravel(),
                ),
                pattern.entries,
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


def _touched(entry: IntArray, entries: int) -> tuple[IntArray, IntArray]:
    """Return which of so many entries are named, sorted, and which of these each name is."""
    is_named = np.zeros(entries, dtype=bool)
    is_named[entry] = True
    return np.flatnonzero(is_named), (np.cumsum(is_named) - 1)[entry]


def _places(stator: ReducedBody, rotor: ReducedBody) -> tuple[IntArray, IntArray]:
    """Return the place of what is left of each body in the whole system."""
    stator_circle, rotor_circle = len(stator.body.gap), len(rotor.body.gap)
    stator_inside = len(stator.kept) - stator_circle
    rotor_inside = len(rotor.kept) - rotor_circle
    stator_place = np.arange(len(stator.kept))
    stator_place[stator_inside:] += rotor_inside
    rotor_place = stator_inside + np.arange(len(rotor.kept))
    rotor_place[rotor_inside:] += stator_circle
    return stator_place, rotor_place


def _joined(
    bodies: tuple[ReducedBody, ReducedBody], places: tuple[IntArray, IntArray]
) -> sparse.csr_matrix:
    parts = [body.stiffness() for body in bodies]
    size = sum(len(place) for place in places)
    rows = [place[part.row] for part, place in zip(parts, places, strict=True)]
    columns = [place[part.col] for part, place in zip(parts, places, strict=True)]
    return sparse.coo_matrix(
        (
            np.concatenate([part.data for part in parts]),
            (np.concatenate(rows), np.concatenate(columns)),
        ),
        shape=(size, size),
    ).tocsr()
