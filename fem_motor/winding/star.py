"""The star of slots: which coil belongs to which phase, and what it is worth.

With tooth 1 at angle 0 the linkage of a coil marked + on a tooth at angle α is −cos p(θ − α) at
rotor angle θ: a phasor exp(i p α). Phases U, V, W follow one another by 120° as the rotor turns
counter-clockwise. Sources: J. Cros and P. Viarouge, IEEE Trans. Energy Convers. 17 (2002) 248;
N. Bianchi and M. Dai Pre, IEE Proc. Electr. Power Appl. 153 (2006) 657; from memory.
"""

import cmath
import math
from collections.abc import Sequence
from typing import Literal

from fem_motor.errors import DesignError

Layers = Literal[1, 2]
PHASES = ("U", "V", "W")

# Six belts of 60°, beginning 30° before the axis of U+: the phase whose axis is nearest.
BELTS = ("U+", "W-", "V+", "U-", "W+", "V-")

SLOT_LIMITS, POLE_LIMITS = (3, 360), (2, 360)


def cogging_period(slots: int, poles: int) -> float:
    """Return the rotor angle after which cogging repeats, in rad (mechanical).

    Source: Z. Zhu and D. Howe, IEEE Trans. Energy Convers. 15 (2000) 407, from memory.

    >>> math.degrees(cogging_period(slots=18, poles=16))
    2.5
    """
    return 2 * math.pi / math.lcm(slots, poles)


def is_feasible(slots: int, poles: int, layers: Layers = 2) -> bool:
    """Return whether a balanced three-phase winding of tooth coils exists.

    The coils' phasors repeat after slots/gcd(slots, pole pairs); that number must fall into
    three equal groups. With one layer only every other tooth has a coil, at twice the angle.

    >>> is_feasible(12, 14), is_feasible(12, 12), is_feasible(9, 8, layers=1)
    (True, False, False)
    """
    if poles % 2 or slots < SLOT_LIMITS[0] or poles < POLE_LIMITS[0]:
        return False
    coils = slots
    if layers == 1:
        if slots % 2:
            return False
        coils = slots // 2
    distinct = coils // math.gcd(coils, poles // 2)
    # A coil as wide as whole pole pairs links nothing.
    return distinct % 3 == 0 and (poles // 2) % slots != 0


def nearest_feasible(
    slots: int, poles: int, layers: Layers = 2
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the nearest pole numbers for these slots, and slot numbers for these poles.

    >>> nearest_feasible(12, 12)
    ((10, 14), (9, 18))
    """
    other_poles = [n for n in range(2, 361, 2) if is_feasible(slots, n, layers)]
    other_slots = [n for n in range(3, 361) if is_feasible(n, poles, layers)]
    return _around(poles, other_poles), _around(slots, other_slots)


def _around(wanted: int, numbers: Sequence[int]) -> tuple[int, ...]:
    below = [n for n in numbers if n < wanted][-1:]
    above = [n for n in numbers if n > wanted][:1]
    return (*below, *above)


def balanced_layout(slots: int, poles: int, layers: Layers = 2) -> tuple[str, ...]:
    """Return the phase and sign of the coil on every tooth, "" where there is none.

    Raises
    ------
    DesignError
        Where no balanced winding exists; the nearest ones are named.

    Examples
    --------
    >>> " ".join(balanced_layout(12, 10))
    'U+ U- V- V+ W+ W- U- U+ V+ V- W- W+'
    """
    refuse_infeasible(slots, poles, layers)
    step = layers % 2 + 1
    coils = [""] * slots
    for tooth in range(0, slots, step):
        # Whole numbers: a turn is 12 × slots, a belt 2 × slots; half a belt is added, so that a
        # phasor on a border falls the same way everywhere.
        angle = (12 * tooth * (poles // 2)) % (12 * slots)
        belt = (6 * angle + 6 * slots) // (12 * slots) % 6
        coils[tooth] = BELTS[belt]
    return tuple(coils)


def refuse_infeasible(slots: int, poles: int, layers: Layers) -> None:
    """Raise DesignError, with the nearest pairs, where no balanced winding exists."""
    if is_feasible(slots, poles, layers):
        return
    by_poles, by_slots = nearest_feasible(slots, poles, layers)
    suggestions = []
    if by_poles:
        suggestions.append(f"machine.poles = {' or '.join(map(str, by_poles))} with {slots} slots")
    if by_slots:
        suggestions.append(f"machine.slots = {' or '.join(map(str, by_slots))} with {poles} poles")
    if not suggestions:
        suggestions = ["an even number of poles and slots in threes"]
    raise DesignError(
        f"= {slots}, {poles} has no balanced three-phase winding.",
        why=_why_infeasible(slots, poles, layers),
        do="use " + ", or ".join(suggestions) + ".",
        place="machine.slots, machine.poles",
    )


def _why_infeasible(slots: int, poles: int, layers: Layers) -> str:
    if poles % 2:
        return "north and south poles come in pairs."
    if layers == 1 and slots % 2:
        return f"one layer puts a coil on every other tooth, and {slots} teeth are an odd number."
    teeth = slots // 2 if layers == 1 else slots
    distinct = teeth // math.gcd(teeth, poles // 2)
    return (
        f"around {poles // 2} pole pairs the voltages of {teeth} coils have {distinct} directions, "
        "which do not fall into three equal groups 120° apart."
    )


def phase_phasors(
    coils: Sequence[str], poles: int, harmonic: int = 1, *, turns: Sequence[float] | None = None
) -> tuple[complex, complex, complex]:
    """Return the sum of the signed phasors of each phase's coils, times their turns if given."""
    angle = harmonic * poles * math.pi / len(coils)
    sums = dict.fromkeys(PHASES, 0j)
    for tooth, coil in enumerate(coils):
        if coil:
            sign = 1 if coil[1] == "+" else -1
            weight = 1.0 if turns is None else turns[tooth]
            sums[coil[0]] += sign * weight * cmath.exp(1j * angle * tooth)
    return sums["U"], sums["V"], sums["W"]


def sequence_components(
    phasors: tuple[complex, complex, complex],
) -> tuple[complex, complex, complex]:
    """Return the parts of three phasors that turn forward, backward and stand still.

    Forward: V 120° after U as the rotor turns counter-clockwise. Source: C. Fortescue, Trans.
    AIEE 37 (1918) 1027, from memory.

    >>> turn = cmath.exp(2j * math.pi / 3)
    >>> [round(abs(part), 12) for part in sequence_components((1, turn, turn**2))]
    [1.0, 0.0, 0.0]
    """
    u, v, w = phasors
    turn = cmath.exp(2j * math.pi / 3)
    return (u + v / turn + w * turn) / 3, (u + v * turn + w / turn) / 3, (u + v + w) / 3


def winding_factor(coils: Sequence[str], poles: int, harmonic: int = 1) -> float:
    """Return flux linked over what the same turns around a full pole would link, phase U.

    Distribution times pitch, sin(h p π/slots).

    >>> coils = "U+ U- V- V+ W+ W- U- U+ V+ V- W- W+".split()
    >>> round(winding_factor(coils, 10), 4)
    0.933
    """
    number = sum(1 for coil in coils if coil.startswith("U"))
    if not number:
        return 0.0
    distribution = abs(phase_phasors(coils, poles, harmonic)[0]) / number
    pitch = abs(math.sin(harmonic * poles / 2 * math.pi / len(coils)))
    return distribution * pitch
