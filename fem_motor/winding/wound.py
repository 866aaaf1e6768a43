"""The winding as built: turns in every coil side, wire, resistance, and what is doubtful."""

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.design import Connection, Motor, Stator, coil_side_area
from fem_motor.errors import DesignError
from fem_motor.findings import Finding
from fem_motor.materials import Conductor, load_library
from fem_motor.units import ROOM_C
from fem_motor.winding.star import (
    PHASES,
    Layers,
    balanced_layout,
    phase_phasors,
    refuse_infeasible,
    winding_factor,
)

UNBALANCE_LIMIT = 1e-6
"""Relative difference of the phases' phasors that counts as none: rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Winding:
    """A wound stator, at 20 °C.

    Attributes
    ----------
    coils : tuple of str
        Tooth by tooth, "U+" … "W-" or "" for none.
    turns_per_tooth, strands, parallel_circuits, pole_pairs : int
    layers : 1 or 2
    connection : "star" or "delta"
    side_turns : (3, slots, 2)
        Turns along +z of each phase beside each tooth, on its clockwise and counter-clockwise
        side, per ampere of branch current (divided by the circuits). Current in a coil marked +
        drives flux outward: it flows towards the viewer on the counter-clockwise side.
    winding_factor : float
        Of the fundamental.
    fill_factor : float
        Bare copper over slot area inside the liner.
    copper_area : float
        Of one turn, m².
    turn_length : float
        Mean, m.
    resistance_phase : float
        Of a branch, circuits in parallel, no leads, ohm.
    resistance_line_line : float
        Between two terminals, with two leads, ohm.
    wire_length : float
        All strands of all coils, m.
    copper_mass : float
        kg.
    findings : tuple of Finding
    """

    coils: tuple[str, ...]
    turns_per_tooth: int
    strands: int
    parallel_circuits: int
    pole_pairs: int
    layers: Layers
    connection: Connection
    side_turns: FloatArray
    winding_factor: float
    fill_factor: float
    copper_area: float
    turn_length: float
    resistance_phase: float
    resistance_line_line: float
    wire_length: float
    copper_mass: float
    findings: tuple[Finding, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "side_turns", frozen(self.side_turns))


def wind(motor: Motor, *, temperature_C: float = ROOM_C) -> Winding:
    """Return the winding of `motor`, balanced where the file does not say how it was wound.

    Parameters
    ----------
    motor : Motor
    temperature_C : float
        Of the copper, for its resistance.

    Raises
    ------
    DesignError
        Where no balanced winding exists for slots and poles, also with a list of coils; where a
        phase has no coil, or its parallel circuits would not carry the same voltage.
    """
    spec, poles = motor.winding, motor.rotor.poles
    refuse_infeasible(motor.stator.slots, poles, spec.layers)
    coils = spec.coils or balanced_layout(motor.stator.slots, poles, spec.layers)
    _refuse_empty_phase(coils)
    circuits = spec.parallel_circuits
    _refuse_unequal_circuits(coils, poles, circuits)
    copper = _copper()
    area = spec.strands * math.pi / 4 * spec.wire_diameter**2
    length = turn_length(motor.stator, motor.stack_length, spec.layers)
    per_phase = [sum(coil.startswith(phase) for coil in coils) for phase in PHASES]
    number = sum(per_phase)
    ohm_per_metre = copper.resistivity_at(temperature_C) / area
    phase = max(per_phase) * spec.turns_per_tooth * length * ohm_per_metre / circuits**2
    leads = 2 * motor.winding.lead_length * ohm_per_metre
    between = 2 * phase if spec.connection == "star" else 2 / 3 * phase
    wire = number * spec.turns_per_tooth * length * spec.strands
    side = coil_side_area(motor.stator) * (2 if spec.layers == 1 else 1)
    return Winding(
        coils=tuple(coils),
        turns_per_tooth=spec.turns_per_tooth,
        strands=spec.strands,
        parallel_circuits=circuits,
        pole_pairs=motor.rotor.pole_pairs,
        layers=spec.layers,
        connection=spec.connection,
        side_turns=side_turns(coils, spec.turns_per_tooth, circuits),
        winding_factor=winding_factor(coils, poles),
        fill_factor=spec.turns_per_tooth * area / side,
        copper_area=area,
        turn_length=length,
        resistance_phase=phase,
        resistance_line_line=between + leads,
        wire_length=wire,
        copper_mass=wire * area / spec.strands * (copper.density or math.nan),
        findings=_balance(coils, poles, spec.layers),
    )


def side_turns(coils: Sequence[str], turns: int, circuits: int = 1) -> FloatArray:
    """Return the turns of each phase beside each tooth, (3, slots, 2), +z positive."""
    signed = np.zeros((3, len(coils)))
    for tooth, coil in enumerate(coils):
        if coil:
            sign = 1 if coil[1] == "+" else -1
            signed[PHASES.index(coil[0]), tooth] = sign * turns / circuits
    return np.stack([-signed, signed], axis=2)


def turn_length(stator: Stator, stack_length: float, layers: Layers) -> float:
    """Return the mean length of a turn, m: two sides, two tooth widths, rounded ends.

    The middle of the coil keeps half its thickness from the tooth and turns a quarter circle at
    each of the four corners. The thickness is the area of a coil side over its height. Common
    practice, no source.
    """
    height = stator.tip_corner_radius - stator.yoke_radius - 2 * stator.slot_liner
    thickness = coil_side_area(stator) / height * (2 if layers == 1 else 1)
    return 2 * stack_length + 2 * stator.tooth_width + math.pi * thickness


def wire_resistance(
    *, length: float, diameter: float, conductor: Conductor, temperature_C: float = ROOM_C
) -> float:
    """Return the resistance of a round wire, ohm; length and bare diameter in m."""
    return conductor.resistivity_at(temperature_C) * length / (math.pi / 4 * diameter**2)


def _copper() -> Conductor:
    copper = load_library()["copper"]
    if not isinstance(copper, Conductor):  # pragma: no cover  (a broken library)
        msg = "the library's copper is no conductor"
        raise TypeError(msg)
    return copper


def _refuse_empty_phase(coils: Sequence[str]) -> None:
    missing = [phase for phase in PHASES if not any(coil.startswith(phase) for coil in coils)]
    if missing:
        raise DesignError(
            f"leaves phase {' and '.join(missing)} without a coil.",
            why="all three phases need coils.",
            do="check the list, or leave it out for the best balanced layout.",
            place="winding.coils",
        )


def _refuse_unequal_circuits(coils: Sequence[str], poles: int, circuits: int) -> None:
    possible = possible_circuits(coils, poles)
    if circuits not in possible:
        raise DesignError(
            f"= {circuits} would drive currents around between the circuits.",
            why="the coils of a phase do not divide into that many groups of the same voltage.",
            do=f"use {' or '.join(map(str, possible))}.",
            place="winding.parallel_circuits",
        )


def possible_circuits(coils: Sequence[str], poles: int) -> tuple[int, ...]:
    """Return the numbers of equal parallel circuits that every phase can form.

    Groups a whole number of repetitions of the winding apart carry the same voltage; within one
    repetition, opposite coils do where they are wound the other way round.

    >>> possible_circuits("U+ V+ W+ U+ V+ W+".split(), 4)
    (1, 2)
    """
    phasors = {
        phase: sorted(
            (
                _rounded_phase((1 if coil[1] == "+" else -1) * _phasor(tooth, len(coils), poles))
                for tooth, coil in enumerate(coils)
                if coil.startswith(phase)
            ),
        )
        for phase in PHASES
    }
    return tuple(
        circuits
        for circuits in range(1, len(coils) + 1)
        if all(
            values and all(values.count(value) % circuits == 0 for value in set(values))
            for values in phasors.values()
        )
    )


def _phasor(tooth: int, slots: int, poles: int) -> complex:
    return cmath.exp(1j * math.pi * poles * tooth / slots)


def _rounded_phase(phasor: complex) -> int:
    """Return the phase in whole thousandths of a degree, 0 … 360 000."""
    return round(math.degrees(cmath.phase(phasor)) * 1e3) % 360_000


def _balance(coils: Sequence[str], poles: int, layers: Layers) -> tuple[Finding, ...]:
    """Return a finding where the phases are not equal and 120° apart."""
    u, v, w = phase_phasors(coils, poles)
    sizes = [abs(u), abs(v), abs(w)]
    # In coils: one coil alone has the size 1.
    silent = [phase for phase, size in zip(PHASES, sizes, strict=True) if size < UNBALANCE_LIMIT]
    if silent:
        return (_silent_phases(silent, coils, poles, layers),)
    largest = max(sizes)
    turn = cmath.exp(2j * math.pi / 3)
    error = max(abs(v - u * turn), abs(w - u / turn)) / largest
    reverse = max(abs(w - u * turn), abs(v - u / turn)) / largest
    if error < UNBALANCE_LIMIT:
        return ()
    if reverse < UNBALANCE_LIMIT:
        return (
            Finding(
                name="phase sequence",
                status="watch",
                why="the list gives U, W, V for counter-clockwise rotation: the motor turns "
                "the other way.",
                do="swap two of the three leads, or accept it.",
            ),
        )
    return (
        Finding(
            name="unbalance of the phases",
            status="watch",
            value=error,
            limit=UNBALANCE_LIMIT,
            why=f"the phases' voltages stand as {sizes[0]:.3g} : {sizes[1]:.3g} : {sizes[2]:.3g} "
            "or are not 120° apart.",
            do=_compare(len(coils), poles, layers),
        ),
    )


def _silent_phases(
    phases: Sequence[str], coils: Sequence[str], poles: int, layers: Layers
) -> Finding:
    return Finding(
        name="phase without voltage",
        status="stop",
        why=f"in phase {', '.join(phases)} the coils cancel each other: the magnets induce no "
        "voltage, and current makes no torque.",
        do=_compare(len(coils), poles, layers),
    )


def _compare(slots: int, poles: int, layers: Layers) -> str:
    # "-" stands for a tooth without a coil; nothing would be seen.
    layout = " ".join(coil or "-" for coil in balanced_layout(slots, poles, layers))
    return f"compare the list with the balanced layout: {layout}."
