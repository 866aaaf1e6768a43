"""What to measure on a wound stator before it is joined for good, and what to expect."""

from collections.abc import Sequence

import numpy as np

from fem_motor.arrays import ComplexArray
from fem_motor.design import Motor
from fem_motor.export.cards.card import Section, Table, table
from fem_motor.winding import Winding

HAND_WOUND, MACHINE_WOUND = 0.05, 0.02
"""How far a measured resistance may lie from the computed one; common practice, no source."""

SPREAD = 0.02
"""Largest difference between phases; common practice, no source."""

PHASES = ("U", "V", "W")
MILLI = 1e-3


def check_section(motor: Motor, winding: Winding) -> Section:
    """Return the checks of the card."""
    return Section(
        heading="What to measure",
        blocks=(
            _resistances(winding),
            (
                f"Expect the computed figures within {100 * MACHINE_WOUND:.0f} % where a machine "
                f"laid the turns, within {100 * HAND_WOUND:.0f} % by hand (tight or loose turns "
                f"change the mean turn), and the phases within {100 * SPREAD:.0f} % of each "
                "other: a phase that differs by more has a wrong number of turns, a broken "
                "strand or a bad joint. Use four wires from the meter (1 to 5 A for less than 5 "
                "s): with two, the meter's own leads may have as much resistance as the motor. "
                "Copper gains 0.39 % for each kelvin above 20 °C."
            ),
            _spinning_words(winding),
            *([_ratios(motor, winding)] if winding.parallel_circuits == 1 else []),
            (
                "Volts: fem-motor run gives the speed constant; turned at n rpm the motor shows, "
                "line to line and peak, n over the constant for line-line peak. A cheap meter "
                "shows RMS volts, 0.71 times the peak of a sine."
            ),
        ),
    )


def _resistances(winding: Winding) -> Table:
    phase, line = winding.resistance_phase / MILLI, winding.resistance_line_line / MILLI
    lead = winding.lead_resistance / MILLI
    single = phase * winding.parallel_circuits
    rows = [
        ["one phase by itself, no lead", f"{phase:.4g} mΩ", "computed, 20 °C"],
        ["one lead", f"{lead:.3g} mΩ", "computed, 20 °C, same wire as the coils (assumed)"],
        ["between two terminals, two leads", f"{line:.4g} mΩ", "computed, 20 °C"],
    ]
    if winding.parallel_circuits > 1:
        rows.insert(0, ["one circuit by itself, not joined", f"{single:.4g} mΩ", "computed, 20 °C"])
    return table(["resistance", "value", "basis"], rows)


def _spinning_words(winding: Winding) -> str:
    """Return what to do before the joints are closed."""
    if winding.parallel_circuits > 1:
        return (
            "Turned by hand or drill, every circuit by itself must give the same voltage before "
            "circuits are joined: one that gives less has a coil the wrong way round, and would "
            "take current from the others and heat up."
        )
    if winding.connection == "delta":
        return (
            "Turned by hand or drill before the joints are closed, the three phases by themselves "
            "must show the same voltage, and their sum around the open delta almost none: a delta "
            "with a reversed coil heats itself without any supply. Ratios of the phases, computed:"
        )
    return (
        "Turned by hand or drill, star point joined, the three pairs of terminals must show the "
        "same voltage. Ratios, computed:"
    )


def _ratios(motor: Motor, winding: Winding) -> Table:
    """Return the voltages over the largest, as wound and with two common slips."""
    first = next(tooth for tooth, coil in enumerate(winding.coils, 1) if coil.startswith("U"))
    slips = [
        ("as on this card", winding.coils),
        (f"the coil of tooth {first} the wrong way round", _turned(winding.coils, "U", most=1)),
        ("all of U the wrong way round", _turned(winding.coils, "U", most=len(winding.coils))),
    ]
    pairs = ("U", "V", "W") if winding.connection == "delta" else ("U–V", "V–W", "W–U")
    rows = []
    for words, coils in slips:
        phasors = _phasors(coils, motor.rotor.pole_pairs)
        if winding.connection == "star":
            phasors = phasors - np.roll(phasors, -1)
        size = np.abs(phasors)
        rows.append([words, *(f"{value:.3f}" for value in size / size.max())])
    return table(["winding", *pairs], rows)


def turning(coils: Sequence[str], pole_pairs: int) -> str:
    """Return which way the rotor turns, seen from the lead side, on the sequence U, V, W.

    Counter-clockwise where the voltage of V follows that of U by 120° when it is turned so.

    >>> turning("U+ V+ W+".split(), 1)
    'counter-clockwise'
    """
    u, v, w = _phasors(coils, pole_pairs)
    third = np.exp(2j * np.pi / 3)
    forward, backward = abs(u + v / third + w * third), abs(u + v * third + w / third)
    return "counter-clockwise" if forward >= backward else "clockwise"


def _turned(coils: Sequence[str], phase: str, *, most: int) -> tuple[str, ...]:
    """Return the coils with up to `most` of a phase wound the other way."""
    found, left = list(coils), most
    for tooth, coil in enumerate(coils):
        if coil.startswith(phase) and left:
            found[tooth] = coil[0] + ("-" if coil[1] == "+" else "+")
            left -= 1
    return tuple(found)


def _phasors(coils: Sequence[str], pole_pairs: int) -> ComplexArray:
    """Return the voltages of U, V, W in coils: Σ ± exp(i p α) over the teeth, (3,)."""
    angle = 2 * np.pi / len(coils) * np.arange(len(coils))
    sums = [
        sum(
            (1 if coil[1] == "+" else -1) * np.exp(1j * pole_pairs * at)
            for coil, at in zip(coils, angle, strict=True)
            if coil.startswith(phase)
        )
        for phase in PHASES
    ]
    return np.array(sums, dtype=np.complex128)
