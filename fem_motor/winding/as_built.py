"""What the hand did to the design: coils reversed, on another phase, with other turns."""

from collections.abc import Sequence
from dataclasses import dataclass

from fem_motor.design import Motor
from fem_motor.errors import DesignError
from fem_motor.winding.star import PHASES


@dataclass(frozen=True, slots=True, kw_only=True)
class Coils:
    """The coils of a stator, tooth by tooth.

    Attributes
    ----------
    names : tuple of str
        "U+" … "W-" or "" for none.
    turns : tuple of int
        0 where there is no coil.
    """

    names: tuple[str, ...]
    turns: tuple[int, ...]

    @property
    def turns_of_phases(self) -> tuple[int, int, int]:
        """Turns of all coils of U, V, W."""
        u, v, w = (
            sum(
                turns
                for name, turns in zip(self.names, self.turns, strict=True)
                if name.startswith(phase)
            )
            for phase in PHASES
        )
        return u, v, w


def designed_coils(names: Sequence[str], turns: int) -> Coils:
    """Return the coils with the same turns in each.

    >>> designed_coils(["U+", "V+", ""], 14).turns
    (14, 14, 0)
    """
    return Coils(names=tuple(names), turns=tuple(turns if name else 0 for name in names))


def built_coils(designed: Coils, motor: Motor) -> Coils:
    """Return the coils as they were really wound: the design with the motor's changes.

    A coil on another phase keeps its direction unless it is reversed too; one without turns is
    no coil.

    Raises
    ------
    DesignError
        Where the changes leave a phase without a coil.
    """
    names, turns = list(designed.names), list(designed.turns)
    for change in motor.as_built.coils:
        at = change.tooth - 1
        name = (change.phase or names[at][:1]) + names[at][1:]
        names[at] = opposite(name) if change.is_reversed else name
        if change.turns is not None:
            turns[at] = change.turns
        if not turns[at]:
            names[at] = ""
    built = Coils(names=tuple(names), turns=tuple(turns))
    _refuse_lost_phase(built)
    return built


def opposite(name: str) -> str:
    """Return the coil wound the other way round.

    >>> opposite("U+"), opposite("")
    ('U-', '')
    """
    return name[:1] + {"+": "-", "-": "+"}.get(name[1:], "")


def _refuse_lost_phase(built: Coils) -> None:
    lost = [phase for phase, n in zip(PHASES, built.turns_of_phases, strict=True) if not n]
    if lost:
        raise DesignError(
            f"leaves phase {' and '.join(lost)} without a turn.",
            why="all three phases need coils.",
            do="check the entries: without one of its phases the motor does not run.",
            place="as_built.coils",
        )
