"""The winding as built: turns in every coil side, wire, resistance, and what is doubtful."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem_motor.arrays import FloatArray, frozen
from fem_motor.design import Connection, Motor, Stator, coil_side_area
from fem_motor.errors import DesignError
from fem_motor.findings import Finding
from fem_motor.materials import Conductor, load_library
from fem_motor.units import ROOM_C
from fem_motor.winding.as_built import Coils, built_coils, designed_coils
from fem_motor.winding.circuits import circuits_of_phase, phase_angle
from fem_motor.winding.diagnosis import winding_findings
from fem_motor.winding.network import terminal_resistances
from fem_motor.winding.star import (
    PHASES,
    Layers,
    balanced_layout,
    phase_phasors,
    refuse_infeasible,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Winding:
    """A wound stator, at 20 °C.

    Attributes
    ----------
    coils : tuple of str
        As built, tooth by tooth, "U+" … "W-" or "" for none.
    coil_turns : tuple of int
        As built, tooth by tooth, 0 where there is no coil.
    designed_coils : tuple of str
        As designed, tooth by tooth: what shares a wire follows from these.
    turns_per_tooth, strands, parallel_circuits, pole_pairs : int
    layers : 1 or 2
    connection : "star" or "delta"
    side_turns : (3, slots, 2)
        Turns along +z of each phase beside each tooth, on its clockwise and counter-clockwise
        side, per ampere of branch current (divided by the circuits). Current in a coil marked +
        drives flux outward: it flows towards the viewer on the counter-clockwise side.
    winding_factor : float
        Of the fundamental; the mean of the phases where they differ.
    fill_factor : float
        Bare copper over slot area inside the liner, where it is fullest.
    copper_area : float
        Of one turn, m².
    turn_length : float
        Mean, m.
    resistance_phase : float
        As designed: of a branch, circuits in parallel, no leads, ohm.
    resistance_line_line : float
        As designed: between two terminals, with two leads, ohm.
    phase_resistances : (3,)
        As built, branches U, V, W, ohm.
    line_line_resistances : (3,)
        As built, U-V, V-W, W-U, with two leads each, ohm.
    lead_resistance : float
        Of one lead, ohm.
    wire_length : float
        All strands of all coils, m.
    copper_mass : float
        kg.
    findings : tuple of Finding
    """

    coils: tuple[str, ...]
    coil_turns: tuple[int, ...]
    designed_coils: tuple[str, ...]
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
    phase_resistances: FloatArray
    line_line_resistances: FloatArray
    lead_resistance: float
    wire_length: float
    copper_mass: float
    findings: tuple[Finding, ...]

    def __post_init__(self) -> None:
        for name in ("side_turns", "phase_resistances", "line_line_resistances"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def circuits(self, phase: str) -> tuple[tuple[int, ...], ...]:
        """Return the teeth, from 0, of each parallel circuit of a phase, in winding order.

        As designed: a coil wound the wrong way round stays in its circuit. One that went to
        another phase is counted with that phase's shortest circuit.
        """
        designed = circuits_of_phase(
            self.designed_coils, phase, poles=2 * self.pole_pairs, circuits=self.parallel_circuits
        )
        groups = [[t for t in teeth if self.coils[t].startswith(phase)] for teeth in designed]
        known = {tooth for teeth in designed for tooth in teeth}
        for tooth, coil in enumerate(self.coils):
            if coil.startswith(phase) and tooth not in known:
                min(groups, key=len).append(tooth)
        return tuple(tuple(sorted(group)) for group in groups)

    @property
    def conductor(self) -> Conductor:
        """Copper, as all windings are of."""
        return library_copper()

    @property
    def phase_copper_area(self) -> float:
        """Cross-section that the current of a branch shares, all parallel circuits, m²."""
        return self.copper_area * self.parallel_circuits

    def rewound(self, *, turns: int, strands: int, wire_diameter: float) -> "Winding":
        """Return the same coils of another wire, every coil with turns in the same proportion.

        Parameters
        ----------
        turns : int
            Of one coil as designed.
        strands : int
        wire_diameter : float
            Bare, m.
        """
        more = turns / self.turns_per_tooth
        area = strands * math.pi / 4 * wire_diameter**2
        thinner = self.copper_area / area
        lead = self.lead_resistance * thinner
        ohms, lines = self.phase_resistances, self.line_line_resistances
        scale = more * thinner
        return replace(
            self,
            turns_per_tooth=turns,
            strands=strands,
            coil_turns=tuple(round(more * coil) for coil in self.coil_turns),
            side_turns=more * self.side_turns,
            fill_factor=self.fill_factor * more / thinner,
            copper_area=area,
            resistance_phase=scale * self.resistance_phase,
            # Leads are as long as before, and of the new wire.
            resistance_line_line=scale * (self.resistance_line_line - 2 * self.lead_resistance)
            + 2 * lead,
            phase_resistances=scale * ohms,
            line_line_resistances=scale * (lines - 2 * self.lead_resistance) + 2 * lead,
            lead_resistance=lead,
            wire_length=self.wire_length * more * strands / self.strands,
            copper_mass=self.copper_mass * more / thinner,
        )


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
        Where slots and poles have no balanced winding, a phase has no coil, or its parallel
        circuits, as designed, would not carry the same voltage.

    Examples
    --------
    >>> import fem_motor as fm
    >>> round(fm.wind(fm.load_design("geometries/printed_18s16p.toml").motor).winding_factor, 4)
    0.9452
    """
    spec, poles, circuits = motor.winding, motor.rotor.poles, motor.winding.parallel_circuits
    designed = _designed(motor)
    coils = built_coils(designed, motor)
    copper = library_copper()
    area = spec.strands * math.pi / 4 * spec.wire_diameter**2
    length = turn_length(motor.stator, motor.stack_length, spec.layers)
    ohm_per_metre = copper.resistivity_at(temperature_C) / area
    per_turn = length * ohm_per_metre / circuits**2
    phases = per_turn * np.array(coils.turns_of_phases, dtype=np.float64)
    phase = per_turn * max(designed.turns_of_phases)
    leads = np.full(3, spec.lead_length * ohm_per_metre)
    wire = sum(coils.turns) * length * spec.strands
    side = coil_side_area(motor.stator) * (2 if spec.layers == 1 else 1)
    return Winding(
        coils=coils.names,
        coil_turns=coils.turns,
        designed_coils=designed.names,
        turns_per_tooth=spec.turns_per_tooth,
        strands=spec.strands,
        parallel_circuits=circuits,
        pole_pairs=motor.rotor.pole_pairs,
        layers=spec.layers,
        connection=spec.connection,
        side_turns=side_turns(coils.names, coils.turns, circuits),
        winding_factor=_winding_factor(coils, poles),
        fill_factor=max(*coils.turns, *designed.turns) * area / side,
        copper_area=area,
        turn_length=length,
        resistance_phase=phase,
        resistance_line_line=float(
            terminal_resistances(np.full(3, phase), leads, spec.connection)[0]
        ),
        phase_resistances=phases,
        line_line_resistances=terminal_resistances(phases, leads, spec.connection),
        lead_resistance=float(leads[0]),
        wire_length=wire,
        copper_mass=wire * area / spec.strands * (copper.density or math.nan),
        findings=winding_findings(motor, coils, phases, phase),
    )


def _designed(motor: Motor) -> Coils:
    """Return the coils of the design, refused where they cannot work."""
    spec, poles = motor.winding, motor.rotor.poles
    refuse_infeasible(motor.stator.slots, poles, spec.layers)
    names = spec.coils or balanced_layout(motor.stator.slots, poles, spec.layers)
    _refuse_empty_phase(names)
    _refuse_unequal_circuits(names, poles, spec.parallel_circuits)
    return designed_coils(names, spec.turns_per_tooth)


def side_turns(coils: Sequence[str], turns: int | Sequence[int], circuits: int = 1) -> FloatArray:
    """Return the turns of each phase beside each tooth, (3, slots, 2), +z positive."""
    of_coils = np.broadcast_to(np.asarray(turns), len(coils))
    signed = np.zeros((3, len(coils)))
    for tooth, coil in enumerate(coils):
        if coil:
            sign = 1 if coil[1] == "+" else -1
            signed[PHASES.index(coil[0]), tooth] = sign * of_coils[tooth] / circuits
    return np.stack([-signed, signed], axis=2)


def _winding_factor(coils: Coils, poles: int) -> float:
    """Return the factor of all turns, the mean over the phases where these differ."""
    length = sum(abs(phasor) for phasor in phase_phasors(coils.names, poles, turns=coils.turns))
    pitch = abs(math.sin(poles / 2 * math.pi / len(coils.names)))
    return pitch * length / sum(coils.turns)


def turn_length(stator: Stator, stack_length: float, layers: Layers) -> float:
    """Return the mean length of a turn, m: two sides, two tooth widths, rounded ends.

    The middle of the coil keeps half its thickness from the tooth and turns a quarter circle at
    each of the four corners. The thickness is the area of a coil side over its height. Common
    practice, no source.
    """
    height = stator.tip_corner_radius - stator.yoke_radius - 2 * stator.slot_liner
    thickness = coil_side_area(stator) / height * (2 if layers == 1 else 1)
    return 2 * stack_length + 2 * stator.tooth_width + math.pi * thickness


def library_copper() -> Conductor:
    """Return the copper of all windings."""
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
                phase_angle(coils, tooth, poles)
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
