"""What a check says: status, value, limit, why, and what to do."""

from dataclasses import dataclass
from typing import Literal

Status = Literal["ok", "watch", "stop"]
Bound = Literal["at most", "at least"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One check with its number.

    Attributes
    ----------
    name : str
        The quantity in the field's words, with its unit: ``slot fill factor``.
    status : "ok", "watch" or "stop"
    value, limit : float or None
        What was found and what it was held against; None where not a number.
    bound : "at most", "at least" or None
        What the limit asks of the value. Where it is not given, the status tells: what is ok lies
        on the right side of its limit, what is not on the wrong one.
    why, do : str
        The reason, and what to change.

    Examples
    --------
    >>> print(Finding(name="slot fill", status="watch", value=0.5, limit=0.45,
    ...               why="hand winding reaches 0.30 to 0.45.", do="use fewer strands."))
    watch  slot fill: 0.5 (at most 0.45)
      why: hand winding reaches 0.30 to 0.45.
      do:  use fewer strands.
    """

    name: str
    status: Status
    value: float | None = None
    limit: float | None = None
    bound: Bound | None = None
    why: str = ""
    do: str = ""

    def __post_init__(self) -> None:
        if self.bound is None and self.value is not None and self.limit is not None:
            object.__setattr__(self, "bound", self._told_by_status(self.value, self.limit))

    def _told_by_status(self, value: float, limit: float) -> Bound | None:
        if value == limit:
            return None
        return "at most" if (value < limit) is (self.status == "ok") else "at least"

    def __str__(self) -> str:
        head = f"{self.status:<5}  {self.name}"
        if self.value is not None:
            head += f": {self.value:.4g}"
            if self.limit is not None:
                head += f" ({self.bound or 'limit'} {self.limit:.4g})"
        lines = [head]
        if self.why:
            lines.append(f"  why: {self.why}")
        if self.do:
            lines.append(f"  do:  {self.do}")
        return "\n".join(lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """An answer with the range in which the truth should lie, and why it is that wide.

    Attributes
    ----------
    value, low, high : float or None
        In the unit that its name or its place says; None where it was not computed, or where the
        range has no end.
    because : str
        What makes the range as wide as it is.
    """

    value: float | None
    low: float | None
    high: float | None
    because: str

    def __post_init__(self) -> None:
        for name in ("value", "low", "high"):  # numbers of numpy print and compare otherwise
            number = getattr(self, name)
            if number is not None:
                object.__setattr__(self, name, float(number))
