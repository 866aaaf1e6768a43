"""What a document is made of: sections of sentences, tables, checks and pictures.

Page and PDF are made from the same blocks, so they say the same.
"""

from dataclasses import dataclass
from typing import Literal

from fem_motor.charts import Rendered
from fem_motor.findings import Finding
from fem_motor.report.wording.words import Answer

NONE_OPEN = "None is open: all that were made passed."
"""What stands where there is no finding to show."""

WHY_THAT_WIDE = "What makes the ranges as wide as they are:"
"""What stands over the causes of ranges."""

LONG_TABLE = 24
"""Rows of a table of pairs from which on it stands in two halves beside each other."""

Tone = Literal["plain", "lead", "small"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Sentences: one is a paragraph, several are a list."""

    sentences: tuple[str, ...]
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows of words under a heading; without a heading the first column names the row."""

    rows: tuple[tuple[str, ...], ...]
    head: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """Answers with their ranges and where these come from."""

    rows: tuple[Answer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checks:
    """Findings, those that stop first."""

    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A picture with its title and caption."""

    picture: Rendered


Block = Text | Table | Answers | Checks | Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A part of a document under its heading."""

    title: str
    blocks: tuple[Block, ...]
