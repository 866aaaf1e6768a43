"""What is to be solved: two bodies, the gap between them, magnets and currents."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.errors import SolverError
from fem_motor.field.discretisation.bodies import Body, join_copies
from fem_motor.field.discretisation.cells import NEWTON_DEGREE, discretise
from fem_motor.field.discretisation.saturation import SaturableCopies
from fem_motor.field.gap.harmonics import Circle, Gap
from fem_motor.field.records import MagnetField, MagnetVariations
from fem_motor.materials import BHCurve
from fem_motor.mesh import MotorMesh, Region
from fem_motor.units import MM

CLOSEST = 0.9
"""Largest offset over the distance between the gap circles; at 1 they touch."""

MEMORY_PER_UNKNOWN = 8.7 * 1024
"""Bytes that solving takes, mostly a factorised tangent; measured on whole circles of 70 000
unknowns and more, from peak memory less that of the libraries."""

LARGEST_MEMORY = 16e9
"""Bytes; what asks for more is refused before it is tried. Ordinary machines take under 1e9."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Magnets:
    """The magnets of the whole rotor, segment by segment, counter-clockwise from pole 1.

    Attributes
    ----------
    remanence : (m,) T
        Negative where the magnet is turned round.
    direction : (m,) rad
        Of the magnetisation against the segment's own outward axis; ignored where radial.
    recoil_permeability : float
    is_radial : bool
        Magnetised along the local radius instead of along one direction.
    """

    remanence: FloatArray
    direction: FloatArray
    recoil_permeability: float
    is_radial: bool

    def __post_init__(self) -> None:
        object.__setattr__(self, "remanence", frozen(self.remanence))
        object.__setattr__(self, "direction", frozen(self.direction))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldProblem:
    """Magnetostatics of one machine per metre of length, for any rotor angle and currents.

    Attributes
    ----------
    stator, rotor : Body
        One sector each.
    gap : Gap
    stator_gap_stiffness, rotor_gap_stiffness : (g, g)
        Self terms of the gap; the rotor's as of concentric circles, for what an offset changes
        does not turn with it.
    magnets : Magnets
    magnet_load : (rotor.size,)
    slots : int
        In the whole machine.
    prepared : dict
        What solving has factorised or laid out so far, kept for the next angles and currents.
    """

    stator: Body
    rotor: Body
    gap: Gap
    stator_gap_stiffness: FloatArray
    rotor_gap_stiffness: FloatArray
    magnets: Magnets
    magnet_load: FloatArray
    slots: int
    prepared: dict[str, Any] = field(default_factory=dict, init=False, repr=False)

    @property
    def sectors(self) -> int:
        """Sectors in the full circle."""
        return self.stator.sectors

    @property
    def unknowns(self) -> int:
        """Number of unknowns."""
        return self.stator.size + self.rotor.size

    @property
    def memory(self) -> float:
        """About as many bytes as solving takes at most."""
        return MEMORY_PER_UNKNOWN * self.unknowns

    @property
    def is_linear(self) -> bool:
        """True where no core saturates."""
        return not (self.stator.matrices.saturable or self.rotor.matrices.saturable)

    def traces(
        self, stator_values: FloatArray, rotor_values: FloatArray, angle: float
    ) -> tuple[FloatArray, FloatArray]:
        """Return the coefficients of A on both gap circles, (2 h,) each, in the stator's frame."""
        gap = self.gap
        rotor = gap.rotor.trace(gap.harmonics) @ rotor_values[self.rotor.gap]
        stator = gap.stator.trace(gap.harmonics) @ stator_values[self.stator.gap]
        return stator, gap.rotate(rotor, angle)

    def saturable_energy(self, stator_values: FloatArray, rotor_values: FloatArray) -> float:
        """Return ∫ H dB over the saturating elements, J/m, whole machine."""
        energy = sum(
            SaturableCopies.of(body, elements, np.arange(body.size)).energy(values)
            for body, values in ((self.stator, stator_values), (self.rotor, rotor_values))
            for elements in body.matrices.saturable
        )
        return self.sectors * float(energy)

    def current_load(self, ampere_turns: FloatArray) -> FloatArray:
        """Return the stator's load, (stator.size,), of currents in the half slots.

        Parameters
        ----------
        ampere_turns : (slots, 2) A
            Along +z; tooth by tooth, on its clockwise and its counter-clockwise side.
        """
        by_copy = self.by_copy(ampere_turns)
        return self.stator.gather(by_copy[:, None] * self.stator.matrices.coil_mean)

    def by_copy(self, half_slots: FloatArray) -> FloatArray:
        """Return values of half slots, (slots, 2), in the order of the stator's copies, (c,)."""
        teeth = np.arange(self.stator.pitches)
        values = np.empty(self.stator.copies)
        values[0::2] = half_slots[teeth, 1]
        values[1::2] = half_slots[(teeth + 1) % self.slots, 0]
        return values

    def half_slots(self, by_copy: FloatArray) -> FloatArray:
        """Return values of the copies of one sector, (c,), as half slots of all, (slots, 2)."""
        sector = np.empty((self.stator.pitches, 2))
        sector[:, 1] = by_copy[0::2]
        sector[1:, 0] = by_copy[1:-1:2]
        sector[0, 0] = self.stator.sign * by_copy[-1]
        signs = self.stator.sign ** np.arange(self.sectors)
        return np.asarray((signs[:, None, None] * sector).reshape(self.slots, 2))

    def half_slot_means(self, stator_values: FloatArray) -> FloatArray:
        """Return the mean of A over every half slot, (slots, 2) Wb/m, whole machine."""
        return self.half_slots(self.stator.nodal(stator_values) @ self.stator.matrices.coil_mean)

    def magnet_field(self, rotor_values: FloatArray, angle: float) -> MagnetField:
        """Return B along the magnetisation in all magnets, the rotor standing at `angle`, rad."""
        from fem_motor.field.solving.magnet_field import magnet_field  # noqa: PLC0415  (it imports this)

        return magnet_field(self, rotor_values, angle)

    def magnet_variations(self, angles: FloatArray) -> MagnetVariations:
        """Return what strength and position of every single magnet do, see that record."""
        from fem_motor.field.solving.magnet_variations import (  # noqa: PLC0415  (it imports this)
            magnet_variations,
        )

        return magnet_variations(self, angles)

    def density_outside(self, rotor_values: FloatArray, radius: float, points: int) -> FloatArray:
        """Return B_r on a circle outside the rotor, (points,) T, from its own angle 0 onwards.

        Parameters
        ----------
        rotor_values : (size,)
            Unknowns of the rotor.
        radius : float
            m; at least that of the rotor's outermost circle.
        points : int
            Equally spaced around.
        """
        from fem_motor.field.solving.continuation import open_potential  # noqa: PLC0415  (it imports this)

        theta = 2 * np.pi / points * np.arange(points)
        ratio = np.array([radius / self.rotor.matrices.cell.far_radius])
        potential = open_potential(self.rotor, rotor_values, 0.0, ratio=ratio, theta=theta)[0]
        order = np.arange(points // 2 + 1)
        slope = np.fft.irfft(1j * order * np.fft.rfft(potential), points)  # ∂A/∂θ
        return np.asarray(slope / radius)

    def incremental_means(
        self, fields: tuple[FloatArray, FloatArray], angle: float, ampere_turns: FloatArray
    ) -> FloatArray:
        """Return the mean of A per small ampere-turns around a field of a saturating problem.

        By the tangent of the field: no difference of two solutions.

        Parameters
        ----------
        fields : unknowns of stator and rotor, (size,) each
            Solved at `angle`, rad.
        ampere_turns : (k, slots, 2)

        Returns
        -------
        (k, slots, 2) Wb/m
        """
        from fem_motor.field.solving.newton import coupled_system  # noqa: PLC0415  (it imports this)

        system = coupled_system(self)
        A_z = system.joined(fields)
        nothing = np.zeros(system.size)
        _, states = system.residual(A_z, angle, nothing)
        system.factorise(states, angle)
        loads = np.array([self.current_load(one) for one in ampere_turns])
        moved = system.stator_response(loads.T)
        return np.array([self.half_slot_means(one) for one in moved.T])

    def with_core(self, curve: BHCurve) -> "FieldProblem":
        """Return the same machine with another stator core; what the rotor answers is kept."""
        cell = self.stator.matrices.cell
        matrices = discretise(cell, curves={"core": curve}, recoil_permeability=1.0)
        other = replace(self, stator=replace(self.stator, matrices=matrices))
        if "linear" in self.prepared:
            other.prepared["rotor"] = self.prepared["linear"].rotor
        return other

    def with_remanence_times(self, factor: float) -> "FieldProblem":
        """Return the same machine with every remanence times `factor`, as heat or cold makes it."""
        strength = factor * self.magnets.remanence
        magnets = replace(self.magnets, remanence=strength)
        return replace(self, magnets=magnets, magnet_load=factor * self.magnet_load)


def field_problem(
    mesh: MotorMesh,
    *,
    stator_curves: Mapping[Region, BHCurve],
    rotor_curves: Mapping[Region, BHCurve],
    magnets: Magnets,
    slots: int,
    poles: int,
    sectors: int,
    offset: float = 0.0,
    newton_degree: int = NEWTON_DEGREE,
) -> FieldProblem:
    """Return the problem of one sector of a machine.

    Parameters
    ----------
    mesh : MotorMesh
    stator_curves, rotor_curves : mapping of region to BHCurve
        Linear or saturating; other regions are air, or magnet.
    magnets : Magnets
        Of the whole rotor, with the symmetry that `sectors` implies.
    slots, poles : int
    sectors : int
        A divisor of gcd(slots, poles); 1 where there is an offset.
    offset : float
        Of the rotor's axis along +x, m.
    newton_degree : int
        Of the quadrature in saturable elements.

    Raises
    ------
    SolverError
        Where the offset makes the gap circles touch, or the field would need too much memory.
    """
    sign = 1 if poles // sectors % 2 == 0 else -1
    stator_matrices = discretise(
        mesh.stator, curves=stator_curves, recoil_permeability=1.0, newton_degree=newton_degree
    )
    rotor_matrices = discretise(
        mesh.rotor,
        curves=rotor_curves,
        recoil_permeability=magnets.recoil_permeability,
        newton_degree=newton_degree,
    )
    segments = len(magnets.remanence)
    stator = join_copies(stator_matrices, pitches=slots // sectors, sectors=sectors, sign=sign)
    rotor = join_copies(rotor_matrices, pitches=segments // sectors, sectors=sectors, sign=sign)
    _refuse_too_large(stator.size + rotor.size)
    gap = _gap(mesh, stator, rotor, offset)
    return FieldProblem(
        stator=stator,
        rotor=rotor,
        gap=gap,
        stator_gap_stiffness=gap.self_stiffness(gap.stator) + gap.stator_correction(),
        rotor_gap_stiffness=gap.self_stiffness(gap.rotor) + gap.gauge(),
        magnets=magnets,
        magnet_load=magnet_load(rotor, magnets),
        slots=slots,
    )


def _refuse_too_large(unknowns: int) -> None:
    memory = MEMORY_PER_UNKNOWN * unknowns
    if memory > LARGEST_MEMORY:
        raise SolverError(
            "asks for a field that is too large.",
            why=f"its {unknowns} unknowns would take about {memory / 1e9:.0f} GB of memory, and "
            f"{LARGEST_MEMORY / 1e9:.0f} GB are the most that is tried.",
            do="use --quality draft, a slot and pole number with a common divisor, or a wider gap "
            "and thicker parts, which need fewer elements.",
            place="mesh",
        )


def _gap(mesh: MotorMesh, stator: Body, rotor: Body, offset: float) -> Gap:
    low, high = mesh.stator.gap_radius, mesh.rotor.gap_radius
    if offset and stator.sectors > 1:
        msg = "an offset rotor needs the whole circle: sectors=1"
        raise ValueError(msg)
    if offset >= CLOSEST * (high - low):
        raise SolverError(
            f"= {offset / MM:g} leaves too little room for the field in the gap.",
            why=f"it is solved between two circles that stand {(high - low) / MM:.3g} mm apart in "
            f"this mesh, and the offset may be {CLOSEST:.0%} of that.",
            do=f"keep it below {CLOSEST * (high - low) / MM:.3g}, or mesh with the gap circles "
            "nearer to the surfaces.",
            place="as_built.rotor_offset_mm",
        )
    on_stator, on_rotor = (
        Circle(nodes=len(body.gap), sectors=body.sectors, sign=body.sign)
        for body in (stator, rotor)
    )
    return Gap(
        stator=on_stator,
        rotor=on_rotor,
        radius=low,
        ratio=high / low,
        cut=mesh.cut,
        offset=offset,
    )


def magnet_load(rotor: Body, magnets: Magnets) -> FloatArray:
    """Return the load of the magnets on the rotor's unknowns, (size,)."""
    axial, transverse, radial = rotor.matrices.remanence_load
    pitch = np.arange(rotor.pitches)
    segments = len(magnets.remanence)
    load = np.empty((rotor.copies, len(axial)))
    # A mirrored copy sees the axis of its own segment; mirroring turns the sign of the load of
    # a remanence along the axis and keeps that of one across it.
    for first, owner, mirrored in ((0, pitch, 1), (1, (pitch + 1) % segments, -1)):
        strength = magnets.remanence[owner][:, None]
        if magnets.is_radial:
            load[first::2] = mirrored * strength * radial
        else:
            direction = magnets.direction[owner][:, None]
            load[first::2] = strength * (
                mirrored * np.cos(direction) * axial + np.sin(direction) * transverse
            )
    return rotor.gather(load)
