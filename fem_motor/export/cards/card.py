"""A card: headings, sentences and tables, as plain text, Markdown, HTML or CSV."""

import csv
import io
import re
import textwrap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from itertools import zip_longest
from types import MappingProxyType

from fem_motor.plain import disarmed

WIDTH = 98
CELL = 40
SHORT = 12
"""Letters in the widest sentence and cell of plain text, and in a cell that HTML does not break."""

_STYLE = """
body { margin: 0 auto; padding: 1rem; max-width: 60rem; color: #1a1a1a; background: #fff;
  font: 1rem/1.45 system-ui, "DejaVu Sans", sans-serif; }
h1 { font-size: 1.5rem; line-height: 1.2; } h2 { font-size: 1.15rem; margin-top: 1.6rem;
  border-bottom: 2px solid #0b3c6f; break-after: avoid; }
table { border-collapse: collapse; } tr { break-inside: avoid; } .wide { overflow-x: auto; }
th, td { text-align: left; vertical-align: top; padding: 0.2rem 0.9rem 0.2rem 0;
  border-bottom: 1px solid #ccc; font-variant-numeric: tabular-nums; }
.short { white-space: nowrap; }
figure { margin: 1rem 0; break-inside: avoid; } svg { max-width: 100%; height: auto; }
figcaption, footer { font-size: 0.9rem; color: #444; }
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows of words below a heading; for people, or by machine names for programs."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A picture as SVG with its caption; in HTML only."""

    svg: str
    caption: str


Words = str | tuple[str, ...] | Table
"""A sentence or more; a list; a table."""

Block = Words | Drawing
"""What a section is made of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and what stands below it."""

    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """What a person keeps at the bench.

    Attributes
    ----------
    title : str
    format : str
        ``fem_motor.winding_card`` and the like; written into every form with the version.
    version : int
    sections : tuple of Section
    records : Table
        The main table with names and units that programs can rely on: all that CSV shows.
    """

    title: str
    format: str
    version: int
    sections: tuple[Section, ...]
    records: Table

    @property
    def mark(self) -> str:
        """Format and version, in words that stand in the file."""
        return f"{self.format} {self.version}"


def as_text(card: Card) -> str:
    """Return the card as plain text."""
    parts = [card.title, "=" * len(card.title)]
    for section in card.sections:
        parts += ["", section.heading, "-" * len(section.heading)]
        for block in section.blocks:
            if not isinstance(block, Drawing):
                parts += ["", _text_block(block)]
    return "\n".join([*parts, "", card.mark, ""])


def _text_block(block: Words) -> str:
    if isinstance(block, Table):
        return _columns(block)
    if isinstance(block, str):
        return textwrap.fill(block, WIDTH)
    return "\n".join(
        textwrap.fill(item, WIDTH, initial_indent="- ", subsequent_indent="  ") for item in block
    )


def _columns(table: Table) -> str:
    """Return the table in columns, long cells on several lines."""
    rows = [
        [textwrap.wrap(cell, CELL) or [""] for cell in row] for row in (table.head, *table.rows)
    ]
    widths = [max(len(line) for row in rows for line in row[at]) for at in range(len(table.head))]
    lines = [line for row in rows for line in zip_longest(*row, fillvalue="")]
    ruled = [*lines[: _height(rows[0])], tuple("-" * w for w in widths), *lines[_height(rows[0]) :]]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in ruled
    )


def _height(row: Sequence[Sequence[str]]) -> int:
    return max(map(len, row))


def as_markdown(card: Card) -> str:
    """Return the card as Markdown."""
    parts = [f"<!-- {card.mark} -->", f"# {_plain(card.title)}"]
    for section in card.sections:
        parts += ["", f"## {_plain(section.heading)}"]
        for block in section.blocks:
            if not isinstance(block, Drawing):
                parts += ["", _markdown_block(block)]
    return "\n".join([*parts, ""])


def _markdown_block(block: Words) -> str:
    if isinstance(block, Table):
        rows = [block.head, ("---",) * len(block.head), *block.rows]
        return "\n".join(
            "| " + " | ".join(cell if cell == "---" else _plain(cell) for cell in row) + " |"
            for row in rows
        )
    if isinstance(block, str):
        return _plain(block)
    return "\n".join(f"- {_plain(item)}" for item in block)


def _plain(words: str) -> str:
    """Return words that Markdown shows as they are."""
    return re.sub(r"([\\`*_\[\]<>|#])", r"\\\1", words.replace("\n", " "))


def as_html(card: Card) -> str:
    """Return the card as one HTML file that holds all it shows and prints on a few sheets."""
    body = "".join(
        f"<h2>{escape(section.heading)}</h2>\n" + "".join(map(_html_block, section.blocks))
        for section in card.sections
    )
    title = escape(card.title)
    return (
        f'<!DOCTYPE html>\n<!-- {card.mark} -->\n<html lang="en"><head><meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title><style>{_STYLE}</style></head>\n"
        f"<body><h1>{title}</h1>\n{body}<footer>{card.mark}</footer></body></html>\n"
    )


def _html_block(block: Block) -> str:
    if isinstance(block, Table):
        head = "".join(f"<th>{escape(cell)}</th>" for cell in block.head)
        rows = "\n".join("<tr>" + "".join(map(_html_cell, row)) + "</tr>" for row in block.rows)
        return (
            f'<div class="wide"><table><thead><tr>{head}</tr></thead>\n'
            f"<tbody>{rows}</tbody></table></div>\n"
        )
    if isinstance(block, Drawing):
        caption = escape(block.caption)
        return f"<figure>{block.svg}<figcaption>{caption}</figcaption></figure>\n"
    if isinstance(block, str):
        return f"<p>{escape(block)}</p>\n"
    return "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in block) + "</ul>\n"


def _html_cell(cell: str) -> str:
    """Return a cell; short ones, a number and its unit, stay on one line."""
    kept = ' class="short"' if len(cell) <= SHORT else ""
    return f"<td{kept}>{escape(cell)}</td>"


def as_csv(card: Card) -> str:
    """Return the card's main table as CSV; its last two columns say format and version."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow([*card.records.head, "format", "version"])
    writer.writerows(
        [*map(disarmed, row), card.format, str(card.version)] for row in card.records.rows
    )
    return buffer.getvalue()


FORMS: Mapping[str, Callable[[Card], str]] = MappingProxyType(
    {".md": as_markdown, ".txt": as_text, ".html": as_html, ".csv": as_csv}
)
"""How a card is written, by the suffix of its file."""


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    """Return a table of tuples.

    >>> table(["tooth"], [["1"]]).rows
    (('1',),)
    """
    return Table(head=tuple(head), rows=tuple(tuple(row) for row in rows))
