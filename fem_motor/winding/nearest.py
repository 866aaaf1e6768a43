"""The balanced layout nearest to a list of coils, and the way there.

All layouts that differ only in names are tried: turned by any number of teeth, run through the
other way, with the phases named otherwise, with all coils reversed, and with the two ends of one
phase swapped, which takes no rewinding.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations, product

import numpy as np

from fem_motor.arrays import IntArray
from fem_motor.winding.star import (
    PHASES,
    Layers,
    balanced_layout,
    is_feasible,
    phase_phasors,
    sequence_components,
)

NAMES = ("", "U+", "U-", "V+", "V-", "W+", "W-")


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """From a list of coils to a balanced layout.

    Attributes
    ----------
    layout : tuple of str
        The balanced layout that is reached.
    changes : tuple of (int, str, str)
        Tooth from 1, its coil now, and what to wind there; in the list's own names, before the
        ends of a phase are swapped.
    swapped_phase : str
        The phase whose two ends are to be swapped, or "".
    relation : str
        How the layout stands to the program's own: "turned by 3 teeth", "" for the same.
    is_forward : bool
        U, V, W for counter-clockwise rotation.
    """

    layout: tuple[str, ...]
    changes: tuple[tuple[int, str, str], ...]
    swapped_phase: str
    relation: str
    is_forward: bool

    @property
    def cost(self) -> int:
        """Number of coils to rewind and of phases to reconnect."""
        return len(self.changes) + bool(self.swapped_phase)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Base:
    coils: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Naming:
    phases: tuple[str, ...]
    signs: tuple[int, ...]

    @property
    def reversed_phase(self) -> str:
        """The phase that differs from the other two, by the name it gets."""
        odd = [i for i in range(3) if self.signs.count(self.signs[i]) == 1]
        return self.phases[odd[0]] if odd else ""

    @property
    def words(self) -> str:
        parts = []
        if self.phases != PHASES:
            parts.append(f"phases named {', '.join(self.phases)} for U, V, W")
        if sum(self.signs) < 0:
            parts.append("all coils reversed")
        return ", ".join(parts)

    def code(self, name: str) -> int:
        if not name:
            return 0
        at = PHASES.index(name[0])
        is_minus = (name[1] == "-") != (self.signs[at] < 0)
        return NAMES.index(self.phases[at] + "+-"[is_minus])


def nearest_layouts(coils: Sequence[str], poles: int, layers: Layers) -> tuple[Correction, ...]:
    """Return the smallest corrections of a list of coils, the plainest first.

    All have the same cost. Those that keep the sequence U, V, W come first, then those whose
    layout is the program's own or differs from it least.

    >>> (best,) = nearest_layouts("U+ V+ W+ U+ V- W+".split(), 4, 2)
    >>> best.changes, best.relation
    (((5, 'V-', 'V+'),), '')
    """
    bases = tuple(_bases(coils, poles, layers))
    namings = tuple(
        _Naming(phases=phases, signs=signs)
        for phases in permutations(PHASES)
        for signs in product((1, -1), repeat=3)
    )
    candidates = _candidates(bases, namings)
    wanted = np.array([NAMES.index(coil) for coil in coils], dtype=np.int8)
    swapped = np.array([bool(naming.reversed_phase) for naming in namings])
    cost = np.sum(candidates != wanted, axis=2) + swapped[:, None]
    found: dict[tuple[object, ...], tuple[tuple[object, ...], Correction]] = {}
    for naming, row in np.argwhere(cost == cost.min()):
        correction = _correction(coils, candidates[naming, row], namings[naming], bases[row], poles)
        same = (correction.changes, correction.swapped_phase)
        order = (
            not correction.is_forward,
            not correction.swapped_phase,
            bases[row].words.startswith("mirrored"),
            bool(namings[naming].words),
            len(correction.relation),
            int(row),
            int(naming),
        )
        if same not in found or order < found[same][0]:
            found[same] = (order, correction)
    return tuple(correction for _, correction in sorted(found.values(), key=lambda pair: pair[0]))


def _bases(coils: Sequence[str], poles: int, layers: Layers) -> Iterator[_Base]:
    """Yield the program's layouts, turned by every tooth and run through the other way."""
    slots = len(coils)
    kinds: list[Layers] = [layers]
    if layers != 1 and not all(coils) and is_feasible(slots, poles, 1):
        kinds.append(1)
    seen = set()
    for kind in kinds:
        own = balanced_layout(slots, poles, kind)
        one_layer = ["a coil on every other tooth"] if kind != layers else []
        for mirrored, run in (([], own), (["mirrored"], own[::-1])):
            for teeth in range(slots):
                turned = run[slots - teeth :] + run[: slots - teeth]
                if turned in seen:
                    continue
                seen.add(turned)
                by = [f"turned by {teeth} {'tooth' if teeth == 1 else 'teeth'}"] if teeth else []
                yield _Base(coils=turned, words=", ".join([*mirrored, *one_layer, *by]))


def _candidates(bases: Sequence[_Base], namings: Sequence[_Naming]) -> IntArray:
    """Return all lists of coils as numbers, (namings, bases, teeth)."""
    rows = np.array([[NAMES.index(coil) for coil in base.coils] for base in bases], dtype=np.int8)
    tables = np.array([[naming.code(name) for name in NAMES] for naming in namings], dtype=np.int8)
    return np.asarray(tables[:, rows])


def _correction(
    coils: Sequence[str], candidate: IntArray, naming: _Naming, base: _Base, poles: int
) -> Correction:
    wound = [NAMES[code] for code in candidate]
    swapped = naming.reversed_phase
    other = {"+": "-", "-": "+"}
    layout = tuple(
        coil[0] + other[coil[1]] if swapped and coil.startswith(swapped) else coil for coil in wound
    )
    forward, backward, _ = sequence_components(phase_phasors(layout, poles))
    return Correction(
        layout=layout,
        changes=tuple(
            (tooth, have, want)
            for tooth, (have, want) in enumerate(zip(coils, wound, strict=True), 1)
            if have != want
        ),
        swapped_phase=swapped,
        relation=", ".join(words for words in (base.words, naming.words) if words),
        is_forward=abs(forward) > abs(backward),
    )
