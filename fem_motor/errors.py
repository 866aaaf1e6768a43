"""What can go wrong, as one tree, each branch with the exit status of the command line.

::

    FemMotorError                   1   failed while working
    ├── InputError                  2   the user can mend it: a file, a key, a value
    │   ├── DesignError             2   design file unreadable, wrong, or cannot be built
    │   └── MaterialError           2   material unknown or inconsistent
    ├── MeshError                   1   the section could not be meshed, or a mesh check failed
    └── SolverError                 1   the field solution did not converge

An error carries one or more `Problem` records, each in one grammar: what, why, do.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, Self


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong: where, what, why, and what to do.

    Attributes
    ----------
    what : str
        Continues the place: ``= 12 does not fit.``
    why : str
        The reason with its numbers.
    do : str
        What the user can change.
    place : str
        ``wide.toml, line 21: rotor.magnet_width_mm`` or a part of it; may be empty.
    """

    what: str
    why: str = ""
    do: str = ""
    place: str = ""

    def __str__(self) -> str:
        lines = [f"{self.place} {self.what}".strip()]
        if self.why:
            lines.append(f"  why: {self.why}")
        if self.do:
            lines.append(f"  do:  {self.do}")
        return "\n".join(lines)


class FemMotorError(Exception):
    """Something went wrong; the text says what, why and what to do.

    >>> print(FemMotorError("did not converge.", do="use a finer mesh.", place="rotor angle 3°"))
    rotor angle 3° did not converge.
      do:  use a finer mesh.
    """

    exit_code: ClassVar[int] = 1

    def __init__(self, what: str, *, why: str = "", do: str = "", place: str = "") -> None:
        self.problems: tuple[Problem, ...] = (Problem(what=what, why=why, do=do, place=place),)
        super().__init__(what)

    @classmethod
    def from_problems(cls, problems: Sequence[Problem]) -> Self:
        """Return one error that reports all `problems` (at least one)."""
        error = cls(problems[0].what)
        error.problems = tuple(problems)
        return error

    def placed_in(self, file: str) -> Self:
        """Return the same error with the name of its file in front of every place.

        >>> print(DesignError("= 7 is odd.", place="machine.poles").placed_in("boat.toml"))
        boat.toml: machine.poles = 7 is odd.
        """
        return type(self).from_problems(
            [
                replace(problem, place=f"{file}: {problem.place}" if problem.place else file)
                for problem in self.problems
            ]
        )

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)

    def __reduce__(self) -> tuple[object, ...]:
        # Worker processes send errors home by pickle; the default would lose the keywords.
        return (type(self).from_problems, (self.problems,))


class InputError(FemMotorError):
    """The user can mend it: a file, a key, a value."""

    exit_code = 2


class DesignError(InputError):
    """A design file that cannot be read, is wrong, or describes what cannot be built."""


class MaterialError(InputError):
    """A material that is unknown or inconsistent."""


class MeshError(FemMotorError):
    """The section could not be meshed, or the mesh failed one of its checks."""


class SolverError(FemMotorError):
    """The field solution did not converge."""
