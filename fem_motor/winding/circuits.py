"""Which coils follow one another on one wire: the parallel circuits of a phase."""

import cmath
import math
from collections.abc import Sequence


def phase_angle(coils: Sequence[str], tooth: int, poles: int) -> int:
    """Return the phase of a coil's voltage, in whole thousandths of a degree, 0 … 360 000."""
    sign = 1 if coils[tooth][1] == "+" else -1
    phasor = sign * cmath.exp(1j * math.pi * poles * tooth / len(coils))
    return round(math.degrees(cmath.phase(phasor)) * 1e3) % 360_000


def circuits_of_phase(
    coils: Sequence[str], phase: str, *, poles: int, circuits: int
) -> tuple[tuple[int, ...], ...]:
    """Return the teeth, from 0, of each circuit of a phase, in the order in which they are wound.

    Every circuit gets as many coils of each voltage as the others, neighbours where it can.

    >>> circuits_of_phase("U+ V+ W+ U+ V+ W+".split(), "V", poles=4, circuits=2)
    ((1,), (4,))
    """
    by_angle: dict[int, list[int]] = {}
    for tooth, coil in enumerate(coils):
        if coil.startswith(phase):
            by_angle.setdefault(phase_angle(coils, tooth, poles), []).append(tooth)
    groups: list[list[int]] = [[] for _ in range(circuits)]
    for teeth in by_angle.values():
        for place, tooth in enumerate(teeth):
            groups[place * circuits // len(teeth)].append(tooth)
    return tuple(tuple(sorted(group)) for group in groups)
