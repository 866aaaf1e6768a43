"""All that later rooms know of the field: the motor model at 20 °C, without currents."""

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.design import Motor
from fem_motor.field import FieldMap, FieldProblem, FieldSweep, field_map, gap_potential
from fem_motor.mesh import MotorMesh, Region
from fem_motor.mesh import Quality as MeshQuality
from fem_motor.progress import OnStep, ignore
from fem_motor.quantities.fields.linkage import Phases
from fem_motor.quantities.fields.machine import (
    is_as_designed,
)
from fem_motor.quantities.fields.no_load import (
    NoLoadFields,
    derivative_over_angle,
    slot_shift,
)
from fem_motor.quantities.fields.solved_fields import HowToSolve, SolvedFields, solve_fields
from fem_motor.quantities.fields.whole_turn import WholeTurn
from fem_motor.quantities.readings.core_flux import CoreFlux, core_flux
from fem_motor.quantities.readings.element_waves import ElementWaves, Part, element_waves
from fem_motor.quantities.readings.inductance import (
    PhaseInductances,
    end_turn_inductance,
    phase_inductances,
    slot_leakage_inductance,
    tooth_inductances,
)
from fem_motor.quantities.readings.limiter import DriveShares, drive_shares
from fem_motor.quantities.readings.torque_checks import ThreeTorques, three_torques
from fem_motor.quantities.records import Method
from fem_motor.winding import Winding

GAP_POINTS = 1440
"""Points of the gap field around the circle: every 0.25°."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MotorModel:
    """Readings of the field for the true stack length, whole machine, two-dimensional, SI.

    Attributes
    ----------
    angle : (n,) rad
        One electrical period, equally spaced from 0, end excluded.
    cogging_torque : (n,) N m
    flux_linkage, back_emf : (3, n) Wb, V s/rad
        Of the branches; back-EMF per mechanical rad/s.
    tooth_linkage : (slots, n) Wb
        Of one turn around each tooth, outward flux positive.
    gap_angle, gap_flux_density, gap_tangential_density : (m,) rad, T
        In the middle of the air gap, rotor at 0: B_r and B_θ.
    problem : FieldProblem
        With the symmetry of the winding, ready for currents; a saturating one on a mesh of its own.
    field_at_zero : unknowns of stator and rotor, or None
        Of `problem`, rotor at 0, no current; None where a smaller part was solved.
    idle_torque : (n,) N m
        Cogging as `problem` has it, which torques with current are held against.
    solved : FieldSweep
        Without currents: what was solved of a cogging period, or of an electrical one.
    is_as_designed : bool
        False where a defect breaks the symmetries of the design.
    phases : Phases
    core_flux : CoreFlux
    drive : DriveShares
    torques : ThreeTorques or None
        N m, near a quarter of a cogging period; None where they were not asked for.
    inductances : PhaseInductances
    inductance_end, inductance_slot : float
        H, of a branch: estimates for the end turns, which the plane lacks, and for the slot
        leakage, which it has.
    field_map : FieldMap
        Rotor at 0.
    turn : WholeTurn or None
        Of a machine with odd magnets or an offset rotor; its linkage above is then the mean over
        the electrical periods of a turn.
    timing_s : mapping of stage to seconds
    """

    angle: FloatArray
    cogging_torque: FloatArray
    flux_linkage: FloatArray
    back_emf: FloatArray
    gap_angle: FloatArray
    gap_flux_density: FloatArray
    gap_tangential_density: FloatArray
    tooth_linkage: FloatArray
    problem: FieldProblem
    field_at_zero: tuple[FloatArray, FloatArray] | None
    idle_torque: FloatArray
    solved: FieldSweep
    is_as_designed: bool
    phases: Phases
    core_flux: CoreFlux
    drive: DriveShares
    torques: ThreeTorques | None
    inductances: PhaseInductances
    inductance_end: float
    inductance_slot: float
    field_map: FieldMap
    turn: WholeTurn | None
    timing_s: Mapping[str, float]

    def __post_init__(self) -> None:
        for name in (
            "angle", "cogging_torque", "flux_linkage", "back_emf", "gap_angle", "gap_flux_density",
            "gap_tangential_density", "tooth_linkage", "idle_torque",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "timing_s", MappingProxyType(dict(self.timing_s)))

    @property
    def inductance_d(self) -> float:
        """Incremental, in the plane, mean over the rotor angle, H of a branch."""
        return self.inductances.d

    @property
    def inductance_q(self) -> float:
        """The same along the q axis."""
        return self.inductances.q

    @property
    def method(self) -> Method:
        """How it was solved: "linear" or "newton"."""
        return "linear" if self.problem.is_linear else "newton"

    @property
    def fundamental_flux_linkage(self) -> float:
        """Amplitude of the electrical fundamental, Wb, mean of the three phases."""
        spectrum = np.fft.rfft(self.flux_linkage, axis=1)
        return float(2 / self.angle.size * np.abs(spectrum[:, 1]).mean())

    @property
    def side_pull(self) -> float:
        """Largest force on the rotor without current, N; 0 but for rounding where it is even."""
        return float(np.hypot(*self.solved.pull.T).max()) * self.phases.length

    def tooth_inductances(self) -> FloatArray:
        """Return the linkage of a turn around each tooth per ampere in each, (slots, slots) H."""
        return tooth_inductances(self.problem, self.phases, start=self.field_at_zero)

    @property
    def cogging_shift(self) -> tuple[int, int]:
        """(m, s): turning the rotor by a cogging period shifts the field by s slots, m times −1."""
        return slot_shift(self.problem.slots, 2 * self.phases.pole_pairs)

    @property
    def cogging_peak_to_peak(self) -> float:
        """Largest less smallest cogging torque, N m."""
        return float(np.ptp(self.cogging_torque))

    def again(self, motor: Motor, winding: Winding) -> "MotorModel":
        """Return the model of the same section with other turns or stack length; no new fields.

        Linkage goes with the turns and the length, inductance with the square of the turns, torque
        without current with the length.

        Raises
        ------
        ValueError
            Where the coils are laid otherwise, or a defect makes the periods of a turn differ.
        """
        phases, before = Phases.of(winding, motor), self.phases
        more = float(phases.turns.max() / before.turns.max())
        if self.turn is not None or not np.allclose(phases.turns, more * before.turns):
            msg = "another section, or other coils"
            raise ValueError(msg)
        longer = phases.length / before.length
        inductances = replace(self.inductances, matrix=more**2 * longer * self.inductances.matrix)
        return replace(
            self,
            cogging_torque=longer * self.cogging_torque,
            flux_linkage=more * longer * self.flux_linkage,
            back_emf=more * longer * self.back_emf,
            tooth_linkage=longer * self.tooth_linkage,
            idle_torque=longer * self.idle_torque,
            phases=phases,
            torques=None if self.torques is None else self.torques.times(longer),
            inductances=inductances,
            inductance_end=end_turn_inductance(motor, winding),
            inductance_slot=slot_leakage_inductance(motor, phases),
        )

    def element_waves(self, part: Part, regions: Sequence[Region]) -> ElementWaves:
        """Return A and B over rotor angle in the elements of `regions` of stator or rotor."""
        return element_waves(
            self.solved,
            part,
            regions,
            poles=2 * self.phases.pole_pairs,
            is_as_designed=self.is_as_designed,
        )


def motor_model(
    motor: Motor,
    winding: Winding,
    mesh: MotorMesh,
    *,
    angles_per_period: int = 16,
    mesh_with_currents: MeshQuality | None = "flux",
    on_step: OnStep = ignore,
) -> MotorModel:
    """Solve the machine without currents and return its model.

    Parameters
    ----------
    motor, winding, mesh, on_step
    angles_per_period : int
        Rotor angles in one cogging period; even.
    mesh_with_currents : "flux", "draft", "standard", "fine" or None
        Of saturating machines, for what currents do. None: no field with current will be asked
        for, nor the torque in three ways.
    """
    clock, phases = _Clock(), Phases.of(winding, motor)
    how = HowToSolve(angles_per_period=angles_per_period, mesh_with_currents=mesh_with_currents)
    solved = solve_fields(motor, mesh, phases=phases, how=how, done=clock.stop, on_step=on_step)
    fields, ready, turn = solved.fields, solved.ready, solved.turn
    problem = fields.solved.problem
    gap = _gap_density(problem, *fields.at_first)
    drive = drive_shares(problem, motor, *fields.at_first)
    clock.stop("readings")
    torques = None if mesh_with_currents is None else _torques(solved.checked, motor)
    clock.stop("torque check")
    linkage = _linkage(fields, turn, phases)
    inductances = _inductances(solved, motor, phases)
    clock.stop("inductance")
    picture = field_map(problem, *fields.at_first, 0.0)
    clock.stop("field map")
    return MotorModel(
        angle=fields.angle,
        cogging_torque=fields.torque * motor.stack_length,
        flux_linkage=linkage,
        back_emf=derivative_over_angle(linkage, 2 * math.pi / phases.pole_pairs),
        **gap,
        tooth_linkage=phases.tooth_linkage(fields.half_slot_mean),
        problem=ready.problem,
        field_at_zero=ready.field_at_zero,
        idle_torque=ready.idle_torque * motor.stack_length,
        solved=fields.solved,
        is_as_designed=is_as_designed(motor),
        phases=phases,
        core_flux=core_flux(fields.solved, motor),
        drive=drive,
        torques=torques,
        inductances=inductances,
        inductance_end=end_turn_inductance(motor, winding),
        inductance_slot=slot_leakage_inductance(motor, phases),
        field_map=picture,
        turn=turn,
        timing_s=clock.stages,
    )


class _Clock:
    """Seconds by stage."""

    def __init__(self) -> None:
        self.stages: dict[str, float] = {}
        self._last = time.perf_counter()

    def stop(self, stage: str) -> None:
        now = time.perf_counter()
        self.stages[stage] = now - self._last
        self._last = now


def _linkage(fields: NoLoadFields, turn: WholeTurn | None, phases: Phases) -> FloatArray:
    """Return the linkage over an electrical period, the mean of a turn where periods differ."""
    if turn is None:
        return phases.linkage(fields.half_slot_mean)
    return turn.repeating_linkage(phases.pole_pairs, fields.angle)


def _inductances(solved: SolvedFields, motor: Motor, phases: Phases) -> PhaseInductances:
    ready, known = solved.ready, solved.fields.solved
    is_even = _phases_follow(motor, phases)
    serves = known.problem is ready.problem and not known.problem.is_linear
    serves = serves and is_even != (solved.turn is not None)
    return phase_inductances(
        ready.problem,
        phases,
        is_even=is_even,
        start=ready.field_at_zero,
        known=known if serves else None,
    )


def _torques(solved: FieldSweep, motor: Motor) -> ThreeTorques:
    """Return the torques, N m, at the solved angle nearest to a quarter of a cogging period."""
    period = 2 * math.pi / math.lcm(motor.stator.slots, motor.rotor.poles)
    stator, rotor = solved.kept_fields
    nearest = int(np.abs(solved.angle - period / 4).argmin())
    return three_torques(
        solved.problem,
        angle=float(solved.angle[nearest]),
        ampere_turns=np.zeros((solved.problem.slots, 2)),
        period=period,
        start=(stator[nearest], rotor[nearest]),
    ).times(motor.stack_length)


def _phases_follow(motor: Motor, phases: Phases) -> bool:
    """Return whether V sees 120 electrical degrees after U what U saw, and W after V."""
    if not is_as_designed(motor):
        return False
    slots = phases.turns.shape[1]
    following = phases.turns[[1, 2, 0]]
    for ahead in range(slots):
        degrees = 360 * ahead * phases.pole_pairs // slots
        for sign, shift in ((1, 120), (-1, 300)):
            is_there = 360 * ahead * phases.pole_pairs == degrees * slots and degrees % 360 == shift
            moved = sign * np.roll(phases.turns, ahead, axis=1)
            if is_there and np.array_equal(moved, following):
                return True
    return False


def _gap_density(
    problem: FieldProblem, stator_values: FloatArray, rotor_values: FloatArray
) -> dict[str, FloatArray]:
    theta = 2 * math.pi / GAP_POINTS * np.arange(GAP_POINTS)
    ratio = problem.gap.ratio
    middle = math.log((1 + ratio) / 2) / math.log(ratio)
    _, radial, tangential = gap_potential(
        problem, stator_values, rotor_values, 0.0, depth=np.array([middle]), theta=theta
    )
    return {
        "gap_angle": theta,
        "gap_flux_density": radial[0],
        "gap_tangential_density": tangential[0],
    }
