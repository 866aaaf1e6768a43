"""What became of one of many designs."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from fem_motor.findings import Headline

Status = Literal["solved", "refused", "failed", "lost"]
"""Refused: it cannot be built, and the reason says why. Failed: it could not be solved, and would
not be another time. Lost: its process died; another time it may be solved."""


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """A design and its answers, or why there are none.

    Attributes
    ----------
    key : str
        Of the content: the complete design, the quality and the program that solved it.
    title : str
    status : "solved", "refused", "failed" or "lost"
    reason : str
        Empty where it is solved.
    text : str
        The sheet as JSON, its times left out: the same bytes whenever and wherever it is solved.
        Empty where it is not solved.
    """

    key: str
    title: str
    status: Status
    reason: str = ""
    text: str = ""

    @cached_property
    def result(self) -> Mapping[str, Any]:
        """The sheet as plain data; empty where there is none."""
        found: Mapping[str, Any] = json.loads(self.text) if self.text else {}
        return found

    @property
    def answers(self) -> dict[str, Headline]:
        """The first screen, name by name."""
        return {name: Headline(**one) for name, one in self.result.get("answers", {}).items()}
