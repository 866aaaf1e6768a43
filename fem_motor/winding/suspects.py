"""What may be wrong with a wound stator, each with what its terminals would then show.

Every suspect is one fault in a winding that is otherwise as described. Where a fault has a size
(turns, ohm, strands) all sizes that make sense are tried: they are the last axis. Faults of a coil
are the same for all coils of a phase whose phasors coincide, and are tried once for all of them.
With parallel circuits the fault is in one of them.
"""

import cmath
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray
from fem_motor.winding.network import terminal_resistances, terminal_voltages
from fem_motor.winding.star import PHASES, phase_phasors
from fem_motor.winding.wound import Winding

FaultKind = Literal[
    "as described",
    "swapped leads",
    "reversed coil",
    "lost turns",
    "extra turns",
    "skipped coil",
    "shorted turns",
    "wrong phase",
    "reversed phase",
    "open phase",
    "open lead",
    "open circuit",
    "bad joint in a phase",
    "bad joint in a lead",
    "missing strands",
    "something else",
]

JOINTS = np.geomspace(0.01, 100.0, 500)
"""Resistances of bad joints over that of a phase; a step is 2 %, what a meter tells."""

MOST_SIZES = 200
"""Numbers of turns that are tried one by one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suspect:
    """One fault in all its sizes.

    Attributes
    ----------
    kind : FaultKind
    teeth : tuple of int
        From 1, those on which the fault would look the same; empty where it is no coil's.
    phase : str
        U, V or W, or "".
    target : str
        Of a coil on the wrong phase: that phase, and "kept" or "reversed" direction.
    size : (n,)
        Turns, ohm or strands; one 0 where the fault has no size.
    resistances, voltages : (3, n)
        U-V, V-W, W-U; ohm, and amplitudes in effective turns.
    """

    kind: FaultKind
    teeth: tuple[int, ...] = ()
    phase: str = ""
    target: str = ""
    size: FloatArray
    resistances: FloatArray
    voltages: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _State:
    """Induced voltages (effective turns), branches and leads (ohm), each (3, n)."""

    induced: ComplexArray
    branches: FloatArray
    leads: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class _Alike:
    """Coils of one phase with one phasor and as many turns: teeth from 1."""

    phase: int
    phasor: complex
    turns: int
    teeth: tuple[int, ...]


def suspects(winding: Winding) -> Iterator[Suspect]:
    """Yield everything that is tried, the winding as described first."""
    sound = _state(winding)
    yield _suspect(winding, "as described", sound)
    yield _swapped_leads(winding, sound)
    for coils in _alike(winding):
        yield from _coil_faults(winding, coils)
    for phase in range(3):
        yield from _phase_faults(winding, phase)


def _state(winding: Winding) -> _State:
    phasors = phase_phasors(winding.coils, 2 * winding.pole_pairs, turns=winding.coil_turns)
    return _State(
        induced=np.asarray(phasors, dtype=np.complex128)[:, None] / winding.parallel_circuits,
        branches=np.asarray(winding.phase_resistances)[:, None],
        leads=np.full((3, 1), winding.lead_resistance),
    )


def _suspect(
    winding: Winding,
    kind: FaultKind,
    state: _State,
    *,
    size: FloatArray | None = None,
    teeth: tuple[int, ...] = (),
    phase: str = "",
    target: str = "",
) -> Suspect:
    induced, branches, leads = np.broadcast_arrays(state.induced, state.branches, state.leads)
    connection = winding.connection
    return Suspect(
        kind=kind,
        teeth=teeth,
        phase=phase,
        target=target,
        size=np.zeros(1) if size is None else size,
        resistances=terminal_resistances(branches, leads, connection),
        voltages=terminal_voltages(induced, branches, leads, connection),
    )


def _swapped_leads(winding: Winding, sound: _State) -> Suspect:
    """Return the three ways to swap two leads: the pairs change places, no reading changes."""
    told = _suspect(winding, "swapped leads", sound)
    order = np.array([[0, 2, 1], [2, 1, 0], [1, 0, 2]]).T
    return Suspect(
        kind="swapped leads",
        size=np.zeros(3),
        resistances=told.resistances[:, 0][order],
        voltages=told.voltages[:, 0][order],
    )


def _alike(winding: Winding) -> list[_Alike]:
    groups: dict[tuple[int, int, int], list[int]] = {}
    for tooth, (name, turns) in enumerate(zip(winding.coils, winding.coil_turns, strict=True)):
        if name:
            phasor = _phasor(winding, tooth)
            angle = round(math.degrees(cmath.phase(phasor)) * 1e3) % 360_000
            groups.setdefault((PHASES.index(name[0]), angle, turns), []).append(tooth)
    return [
        _Alike(
            phase=phase,
            phasor=_phasor(winding, teeth[0]),
            turns=turns,
            teeth=tuple(tooth + 1 for tooth in teeth),
        )
        for (phase, _, turns), teeth in groups.items()
    ]


def _phasor(winding: Winding, tooth: int) -> complex:
    sign = 1 if winding.coils[tooth][1] == "+" else -1
    return sign * cmath.exp(2j * math.pi * winding.pole_pairs * tooth / len(winding.coils))


def _coil_faults(winding: Winding, coils: _Alike) -> Iterator[Suspect]:
    turns, phasor = coils.turns, coils.phasor
    one, phase = np.ones(1), PHASES[coils.phase]

    def suspect(
        kind: FaultKind,
        changes: Mapping[int, tuple[ComplexArray, FloatArray]],
        size: FloatArray | None = None,
        target: str = "",
    ) -> Suspect:
        return _suspect(
            winding,
            kind,
            _changed(winding, changes),
            size=size,
            teeth=coils.teeth,
            phase=phase,
            target=target,
        )

    def fewer(number: FloatArray) -> dict[int, tuple[ComplexArray, FloatArray]]:
        return {coils.phase: (-number * phasor, -number)}

    yield suspect("reversed coil", {coils.phase: (-2 * turns * phasor * one, 0 * one)})
    yield suspect("skipped coil", fewer(turns * one))
    if turns > 1:
        lost = _sizes(turns - 1)
        yield suspect("lost turns", fewer(lost), lost)
    extra = _sizes(max(1, turns // 2))
    yield suspect("extra turns", fewer(-extra), extra)
    # The shorted turns are bypassed: lost to resistance and voltage. That the current in them
    # also weakens the flux is left out, which holds at the speed of a hand drill.
    shorted = _sizes(turns)
    yield suspect("shorted turns", fewer(shorted), shorted)
    for other in {0, 1, 2} - {coils.phase}:
        for sign, direction in ((1, "kept"), (-1, "reversed")):
            moved = (sign * turns * phasor * one, turns * one)
            yield suspect(
                "wrong phase",
                {**fewer(turns * one), other: moved},
                target=f"{PHASES[other]} {direction}",
            )


def _sizes(most: int) -> FloatArray:
    if most <= MOST_SIZES:
        return np.arange(1.0, most + 1)
    return np.unique(np.round(np.geomspace(1, most, MOST_SIZES)))


def _changed(winding: Winding, changes: Mapping[int, tuple[ComplexArray, FloatArray]]) -> _State:
    """Return the winding with turns added to one circuit of some phases.

    The circuits of a phase are in parallel: each voltage counts by its conductance (Millman).

    Parameters
    ----------
    winding : Winding
    changes : mapping of phase to (phasor of the turns added, their number), each (n,)
    """
    sound, circuits = _state(winding), winding.parallel_circuits
    n = max(number.size for _, number in changes.values())
    induced = np.repeat(sound.induced, n, axis=1)
    branches = np.repeat(sound.branches, n, axis=1)
    for phase, (phasor, number) in changes.items():
        good = sound.branches[phase] * circuits
        changed = np.maximum(good + number * _turn_resistance(winding), 1e-12 * good)
        voltage = sound.induced[phase] + phasor
        conductance = (circuits - 1) / good + 1 / changed
        branches[phase] = 1 / conductance
        induced[phase] = (
            (circuits - 1) / good * sound.induced[phase] + voltage / changed
        ) / conductance
    return _State(induced=induced, branches=branches, leads=sound.leads)


def _turn_resistance(winding: Winding) -> float:
    """Return the resistance of one turn of all its strands, ohm."""
    per_phase = winding.parallel_circuits**2 * winding.phase_resistances
    return float(np.sum(per_phase)) / sum(winding.coil_turns)


def _phase_faults(winding: Winding, phase: int) -> Iterator[Suspect]:
    sound, name = _state(winding), PHASES[phase]
    this = (np.arange(3) == phase)[:, None]

    def suspect(
        kind: FaultKind,
        *,
        induced: ComplexArray = sound.induced,
        branches: FloatArray = sound.branches,
        leads: FloatArray = sound.leads,
        size: FloatArray | None = None,
    ) -> Suspect:
        state = _State(induced=induced, branches=branches, leads=leads)
        return _suspect(winding, kind, state, size=size, phase=name)

    yield suspect("reversed phase", induced=np.where(this, -sound.induced, sound.induced))
    yield suspect("open phase", branches=np.where(this, math.inf, sound.branches))
    joints = JOINTS * sound.branches[phase]
    yield suspect("bad joint in a phase", branches=sound.branches + this * joints, size=joints)
    if winding.connection == "delta":
        # In star a lead and its phase are one conductor.
        yield suspect("open lead", leads=np.where(this, math.inf, sound.leads))
        yield suspect("bad joint in a lead", leads=sound.leads + this * joints, size=joints)
    circuits = winding.parallel_circuits
    if circuits > 1:
        lost = np.arange(1.0, circuits)
        factor = np.where(this, circuits / (circuits - lost), 1.0)
        yield suspect("open circuit", branches=sound.branches * factor, size=lost)
    if winding.strands > 1:
        lost = np.arange(1.0, winding.strands)
        one = winding.strands / (winding.strands - lost)
        factor = np.where(this, circuits / (circuits - 1 + 1 / one), 1.0)
        yield suspect("missing strands", branches=sound.branches * factor, size=lost)
