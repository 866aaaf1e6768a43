"""What is wrong with a winding, which tooth it is, how to mend it, and what it does if left.

The consequence is read from the phasors of the three phases, turns counted: their parts that turn
forward and backward. Currents of equal size set up fields in the same proportion.
"""

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor
from fem_motor.findings import Finding, Status
from fem_motor.winding.as_built import Coils, designed_coils
from fem_motor.winding.nearest import Correction, nearest_layouts
from fem_motor.winding.star import (
    PHASES,
    balanced_layout,
    phase_phasors,
    sequence_components,
    winding_factor,
)

ROUNDING = 1e-6
"""Relative difference of the phases' phasors that counts as none."""

BACKWARD_LIMIT = 0.05
"""Backward over forward part above which three-phase machines should not run: NEMA MG 1, 14.36,
of the supply's voltages, from memory; taken over for the machine's own."""

NO_DIRECTION = 0.9
"""Smaller over larger turning part above which starting is a matter of luck; common practice."""

RESISTANCE_LIMIT = 0.02
"""Difference of phase resistances that bench meters tell; common practice, no source."""

MOST_CHANGES = 6
"""Changed coils that are named one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Phases:
    """Three phasors in turns, against the best there is."""

    phasors: tuple[complex, complex, complex]
    best: float

    @property
    def turning(self) -> tuple[float, float]:
        forward, backward, _ = sequence_components(self.phasors)
        return abs(forward), abs(backward)

    @property
    def is_forward(self) -> bool:
        forward, backward = self.turning
        return forward >= backward

    @property
    def unbalance(self) -> float:
        """Smaller over larger turning part."""
        return min(self.turning) / max(self.turning)

    @property
    def standing(self) -> float:
        """Sum of all three over what one phase should have."""
        return abs(sum(self.phasors)) / self.best

    @property
    def sizes(self) -> list[float]:
        return [abs(phasor) / self.best for phasor in self.phasors]

    def after_u(self, phase: int) -> float:
        """Return the angle of V or W after U, degrees."""
        return math.degrees(cmath.phase(self.phasors[phase] / self.phasors[0]))


def winding_findings(
    motor: Motor, coils: Coils, resistances: FloatArray, designed_resistance: float
) -> tuple[Finding, ...]:
    """Return what is to be said of the coils as they were wound.

    Nothing where the program chose the layout and nothing was built otherwise.

    Parameters
    ----------
    motor : Motor
    coils : Coils
        As built.
    resistances : (3,)
        Of the phases as built, ohm.
    designed_resistance : float
        Ohm.
    """
    spec, poles = motor.winding, motor.rotor.poles
    own = balanced_layout(motor.stator.slots, poles, spec.layers)
    if spec.coils is None and coils == designed_coils(own, spec.turns_per_tooth):
        return ()
    phases = _Phases(
        phasors=phase_phasors(coils.names, poles, turns=coils.turns),
        best=spec.turns_per_tooth * abs(phase_phasors(own, poles)[0]),
    )
    corrections = nearest_layouts(coils.names, poles, spec.layers)
    remedy = _remedy(corrections, coils, spec.turns_per_tooth)
    silent = [phase for phase, size in zip(PHASES, phases.sizes, strict=True) if size < ROUNDING]
    if silent:
        found = [_silent(silent, remedy)]
    elif _is_balanced(phases):
        found = list(_balanced(phases, coils, own, poles, corrections[0]))
    else:
        found = [_unbalanced(phases, remedy, spec.connection)]
    found += _turns(coils, spec.turns_per_tooth)
    found += _resistances(resistances, designed_resistance)
    return (*found, *_circuits(motor, phases))


def _is_balanced(phases: _Phases) -> bool:
    return phases.unbalance < ROUNDING and phases.standing < ROUNDING


def _silent(silent: Sequence[str], remedy: str) -> Finding:
    return Finding(
        name="phase without voltage",
        status="stop",
        why=f"in phase {', '.join(silent)} the coils cancel each other: the magnets induce no "
        "voltage, and current makes no torque.",
        do=remedy,
    )


def _balanced(
    phases: _Phases, coils: Coils, own: Sequence[str], poles: int, correction: Correction
) -> Iterator[Finding]:
    factor, best = winding_factor(coils.names, poles), winding_factor(own, poles)
    has_all = all(abs(size - 1) < ROUNDING for size in phases.sizes)
    if correction.cost:
        why = "the phases are equal and 120° apart, in a layout of its own"
    else:
        relation = f", {correction.relation}" if correction.relation else ""
        why = f"the list is the balanced layout{relation}"
    why += (
        ": the same motor."
        if has_all
        else f"; each phase has {phases.sizes[0]:.1%} of the voltage that coils on all teeth, "
        "with the turns of the design, would give."
    )
    yield Finding(
        name="winding factor of the list",
        status="ok" if has_all else "watch",
        value=factor,
        limit=best,
        why=why,
        do="" if has_all else f"for more torque wind all turns of {_written(own)}.",
    )
    if not phases.is_forward:
        yield Finding(
            name="phase sequence",
            status="watch",
            why="the list gives U, W, V for counter-clockwise rotation: the motor turns "
            "the other way.",
            do="swap two of the three leads, or accept it.",
        )


def _unbalanced(phases: _Phases, remedy: str, connection: str) -> Finding:
    unbalance = phases.unbalance
    mild = unbalance <= BACKWARD_LIMIT and phases.is_forward
    status: Status = "watch" if mild else "stop"
    sizes = ", ".join(
        f"{phase} {size:.1%}" for phase, size in zip(PHASES, phases.sizes, strict=True)
    )
    apart = 120 if phases.is_forward else -120
    why = (
        f"of the balanced layout's voltage the phases have {sizes}; V stands at "
        f"{phases.after_u(1):.1f}° from U and W at {phases.after_u(2):.1f}° (balanced {apart}° "
        f"and {-apart}°). {_field_in_words(phases)}"
    )
    if connection == "delta" and phases.standing > ROUNDING:
        why += (
            " In delta the three voltages do not add up to nothing: a current runs around "
            f"without a load, driven by {phases.standing:.1%} of a phase's voltage."
        )
    return Finding(
        name="unbalance of the phases",
        status=status,
        value=unbalance,
        limit=BACKWARD_LIMIT,
        bound="at most",
        why=why,
        do=remedy,
    )


def _field_in_words(phases: _Phases) -> str:
    part = f"{phases.unbalance:.1%}"
    if phases.unbalance > NO_DIRECTION:
        return (
            f"The phases add to a field that pulsates more than it turns (backward part {part} of "
            "the forward one): the motor hums and may start in either direction or not at all."
        )
    ripple = "torque then ripples at twice the electrical frequency, and the copper runs hotter"
    if not phases.is_forward:
        return (
            "The field turns mainly the other way round: the motor turns backwards, with a part "
            f"against it of {part}; {ripple}."
        )
    return (
        f"They still add to a field that turns the right way, with a backward part of {part}; "
        f"{ripple}."
    )


def _remedy(corrections: Sequence[Correction], coils: Coils, turns: int) -> str:
    best = corrections[0]
    if not best.cost:
        wrong = _turns_to_wind(coils, turns)
        return f"{'; '.join(wrong)}." if wrong else "wind all coils with the same turns."
    if len(best.changes) > MOST_CHANGES:
        return (
            f"{len(best.changes)} of {len(coils.names)} coils differ from the nearest balanced "
            f"layout; wind {_written(best.layout)}."
        )
    text = f"{_steps(best)}; this gives {_written(best.layout)}"
    others = [c for c in corrections[1:] if c.is_forward == best.is_forward]
    if others:
        number = f"{len(others)} ways as small" if len(others) > 1 else "one way as small"
        text += f". The list allows {number}: {_steps(others[0])}"
    return text + "."


def _steps(correction: Correction) -> str:
    steps = [_step(*change) for change in correction.changes]
    if correction.swapped_phase:
        steps.append(f"swap the two ends of phase {correction.swapped_phase}, rewinding nothing")
    return ", ".join(steps)


def _step(tooth: int, have: str, want: str) -> str:
    if not want:
        return f"take the coil off tooth {tooth}"
    if not have:
        return f"wind tooth {tooth} as {want}"
    if have[0] == want[0]:
        return f"turn the coil of tooth {tooth} round ({want} instead of {have})"
    return f"connect the coil of tooth {tooth} as {want} instead of {have}"


def _written(layout: Sequence[str]) -> str:
    # "-" stands for a tooth without a coil; nothing would be seen.
    return " ".join(coil or "-" for coil in layout)


def _turns_to_wind(coils: Coils, turns: int) -> list[str]:
    steps = []
    for tooth, (name, number) in enumerate(zip(coils.names, coils.turns, strict=True), 1):
        if name and number != turns:
            way = "more" if number < turns else "fewer"
            steps.append(f"{abs(turns - number)} {way} on tooth {tooth}")
    return [f"wind {', '.join(steps)}"] if steps else []


def _turns(coils: Coils, turns: int) -> Iterator[Finding]:
    steps = _turns_to_wind(coils, turns)
    if not steps:
        return
    off = [n - turns for name, n in zip(coils.names, coils.turns, strict=True) if name]
    furthest = max(off, key=abs)
    yield Finding(
        name=f"turns of the coil furthest off, against {turns} as designed",
        status="watch",
        value=float(turns + furthest),
        why="voltage and resistance of its phase go with the turns.",
        do=f"{'; '.join(steps)}.",
    )


def _resistances(resistances: FloatArray, designed: float) -> Iterator[Finding]:
    spread = float(resistances.max() - resistances.min()) / designed
    if spread < ROUNDING:
        return
    values = ", ".join(f"{p} {r:.4g}" for p, r in zip(PHASES, resistances, strict=True))
    yield Finding(
        name="difference of the phase resistances over the designed one",
        status="ok" if spread <= RESISTANCE_LIMIT else "watch",
        value=spread,
        limit=RESISTANCE_LIMIT,
        why=f"the phases have {values} Ω; figures named for one phase keep the designed "
        f"{designed:.4g} Ω.",
        do=""
        if spread <= RESISTANCE_LIMIT
        else "measure all three pairs of leads with four wires.",
    )


def _circuits(motor: Motor, phases: _Phases) -> Iterator[Finding]:
    """Yield a finding where the hand made the parallel circuits unequal."""
    spec, poles = motor.winding, motor.rotor.poles
    circuits = spec.parallel_circuits
    if circuits == 1 or not motor.as_built.coils:
        return
    names = spec.coils or balanced_layout(motor.stator.slots, poles, spec.layers)
    designed = designed_coils(names, spec.turns_per_tooth)
    planned = phase_phasors(designed.names, poles, turns=designed.turns)
    share = circuits * max(
        abs(built - plan) / phases.best for built, plan in zip(phases.phasors, planned, strict=True)
    )
    if share < ROUNDING:
        return
    yield Finding(
        name="voltage between parallel circuits over that of a phase",
        status="stop" if share > BACKWARD_LIMIT else "watch",
        value=share,
        limit=BACKWARD_LIMIT,
        bound="at most",
        why="the changed coils are taken to lie in one circuit; what it lacks drives a "
        "current around through the others as soon as the rotor turns: heat and drag that the "
        "figures leave out. The limit is common practice.",
        do="mend the coils, or connect the circuits in series.",
    )
