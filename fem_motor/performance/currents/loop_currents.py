"""Currents that flow in the closed loops of a winding by themselves: delta, parallel circuits.

With the terminals open, every circuit k of a phase has that phase's voltage v across it,

    v = R_k i_k + jω Σ_l L_kl i_l + e_k

and the circuits of a phase carry together nothing (star) or the one current around the delta, in
which the three voltages add up to nothing. Every mechanical order of the EMF on its own, the
inductances at their mean over the rotor's positions. Derived from Kirchhoff's laws.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray, frozen
from fem_motor.design import Connection
from fem_motor.quantities import MotorModel
from fem_motor.winding import Winding

PHASES = "UVW"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Circuits:
    """The parallel circuits of a winding, all phases, as built.

    Attributes
    ----------
    phase : (m,)
        Of each circuit, "U", "V" or "W".
    turns : (m, slots)
        Of each circuit around each tooth, outward flux positive.
    resistance : (m,) ohm
    inductance : (m, m) H
        Linkage of each circuit per ampere in each, end turns included.
    connection : "star" or "delta"
    """

    phase: tuple[str, ...]
    turns: FloatArray
    resistance: FloatArray
    inductance: FloatArray
    connection: Connection

    def __post_init__(self) -> None:
        for name in ("turns", "resistance", "inductance"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def currents(self, emf: ComplexArray, rate: FloatArray) -> ComplexArray:
        """Return what flows with open terminals, (m, k) A, of phasors of the EMF.

        Parameters
        ----------
        emf : (m, k) V
            Of every circuit.
        rate : (k,) rad/s
            How fast each phasor turns.
        """
        number, size = len(self.phase), len(self.phase) + 3
        is_delta = self.connection == "delta"
        belongs = np.array([[one == phase for phase in PHASES] for one in self.phase], dtype=float)
        impedance = np.diag(self.resistance) + 1j * rate[:, None, None] * self.inductance
        # Unknown: the circuits' currents, the phases' voltages, the current around the delta.
        matrix = np.zeros((len(rate), size + is_delta, size + is_delta), dtype=complex)
        matrix[:, :number, :number] = impedance
        matrix[:, :number, number:size] = -belongs
        matrix[:, number:size, :number] = belongs.T
        if is_delta:
            matrix[:, number:size, size] = -1
            matrix[:, size, number:size] = 1
        right = np.zeros((len(rate), size + is_delta, 1), dtype=complex)
        right[:, :number, 0] = -emf.T
        return np.asarray(np.linalg.solve(matrix, right)[:, :number, 0].T)


def circuits_of(winding: Winding, model: MotorModel) -> Circuits:
    """Return the circuits of a wound machine; one that lost all its coils is open and left out.

    With one circuit per phase the branches' own inductances serve.
    """
    groups = [(phase, teeth) for phase in PHASES for teeth in winding.circuits(phase) if teeth]
    slots = len(winding.coils)
    turns = np.zeros((len(groups), slots))
    for row, (_, teeth) in enumerate(groups):
        for tooth in teeth:
            sign = 1 if winding.coils[tooth].endswith("+") else -1
            turns[row, tooth] = sign * winding.coil_turns[tooth]
    return Circuits(
        phase=tuple(phase for phase, _ in groups),
        turns=turns,
        resistance=_ohm_per_turn(winding) * np.abs(turns).sum(axis=1),
        inductance=_in_the_plane(winding, model, turns)
        + np.diag(_end_turns_per_square(winding, model) * np.sum(turns**2, axis=1)),
        connection=winding.connection,
    )


def loop_currents(
    circuits: Circuits, tooth_emf: ComplexArray, rate: FloatArray
) -> Mapping[str, float]:
    """Return the RMS currents in the loops by name, A.

    "delta": around the three phases. "U", "V", "W": the worst circuit of the phase, less the
    mean of its circuits.

    Parameters
    ----------
    circuits : Circuits
    tooth_emf : (slots, k) V
        Phasors, of one turn around each tooth.
    rate : (k,) rad/s
    """
    found = {}
    currents = circuits.currents(circuits.turns @ tooth_emf, rate)
    by_phase = {phase: currents[[one == phase for one in circuits.phase]] for phase in PHASES}
    if circuits.connection == "delta":
        found["delta"] = _rms(by_phase["U"].sum(axis=0))
    for phase, own in by_phase.items():
        if len(own) > 1:
            found[phase] = max(_rms(one) for one in own - own.mean(axis=0))
    return found


def _ohm_per_turn(winding: Winding) -> float:
    designed = winding.turns_per_tooth * _coils_of_a_phase(winding)
    return winding.resistance_phase * winding.parallel_circuits**2 / designed


def _coils_of_a_phase(winding: Winding) -> int:
    return sum(1 for coil in winding.designed_coils if coil.startswith("U"))


def _in_the_plane(winding: Winding, model: MotorModel, turns: FloatArray) -> FloatArray:
    if winding.parallel_circuits == 1:
        return np.asarray(model.inductances.matrix.mean(axis=2))
    return np.asarray(turns @ model.tooth_inductances() @ turns.T)


def _end_turns_per_square(winding: Winding, model: MotorModel) -> float:
    """Return the inductance of a coil's end turns over its turns squared, H."""
    coils = sum(1 for coil in winding.coils if coil.startswith("U"))
    per_coil = model.inductance_end * winding.parallel_circuits**2 / max(coils, 1)
    return per_coil / winding.turns_per_tooth**2


def _rms(coefficients: ComplexArray) -> float:
    return float(math.sqrt(np.sum(np.abs(coefficients) ** 2) / 2))
