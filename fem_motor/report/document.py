"""The report as a PDF: the same words and pictures on A4 pages."""

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, Literal

from fem_motor.charts import Picture, new_figure, pdf_bytes
from fem_motor.numbers import digits
from fem_motor.performance import PerformanceSheet
from fem_motor.report import words
from fem_motor.report.cautions import cautions
from fem_motor.report.current_words import (
    as_built_rows,
    conventions,
    inductance_rows,
    waveform_rows,
)
from fem_motor.report.page import flattened
from fem_motor.report.power_words import (
    Table,
    density_sentence,
    equal_copper,
    throttle_table,
    turns_table,
)

_WIDTH, _HEIGHT = 8.27, 11.69  # A4 in inches
_LEFT, _TOP, _BOTTOM = 0.8, 0.8, 0.8
_TEXT_WIDTH = _WIDTH - 2 * _LEFT
_RIGHT_PART = 0.58 * _TEXT_WIDTH
_CAPTION_HEIGHT = 0.7
# What fits into the two columns of a table.
_LEFT_LETTERS, _RIGHT_LETTERS = 56, 36
Kind = Literal["title", "heading", "body", "strong", "small"]
# Size in points, and how many characters fit into the text width at that size.
_FONT: dict[Kind, tuple[float, int]] = {
    "title": (16, 52),
    "heading": (12, 70),
    "body": (9.5, 100),
    "strong": (9.5, 96),
    "small": (8, 120),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of text: a left part, and a right part that starts at a fixed column."""

    kind: Kind
    left: str
    right: str = ""


def document(sheet: PerformanceSheet, pictures: Sequence[Picture]) -> bytes:
    """Return the report as PDF without dates: the same bytes each time."""
    return pdf_bytes(_pages(sheet, pictures), sheet.title)


def _pages(sheet: PerformanceSheet, pictures: Sequence[Picture]) -> Iterator[Any]:
    yield from map(_text_page, _paged(_answer_lines(sheet)))
    yield from map(_picture_page, _grouped(pictures))
    yield from map(_text_page, _paged(_detail_lines(sheet)))


def _answer_lines(sheet: PerformanceSheet) -> Iterator[Line]:
    yield from _text("title", sheet.title)
    yield from _text("body", words.machine_line(sheet))
    yield from _text("heading", "Answers")
    for row in words.answers(sheet):
        span = f"   (range {row.span})" if row.span else ""
        yield Line(kind="strong", left=row.label, right=f"{row.value}{span}")
        yield from _text("small", ": ".join(filter(None, (row.meaning, row.because))))
    yield from _text("heading", "What limits this motor")
    yield from _text("body", sheet.limiter.sentence)
    yield from _pairs((where, f"{100 * share:.0f} %") for where, share in words.share_rows(sheet))
    yield from _text("heading", "With this supply and load")
    for name, *figures in words.operating_table(sheet)[1:]:
        yield from _text("body", f"{name}: " + ", ".join(filter(None, figures)))
    yield from _text("small", words.operating_note(sheet))
    yield from _text("heading", "Checks")
    yield from _check_lines(sheet)
    yield from _text("heading", "How far to trust this")
    for sentence in words.trust(sheet):
        yield from _text("body", f"• {sentence}")
    yield from _text("heading", "Caution")
    for sentence in cautions(sheet):
        yield from _text("body", f"• {sentence}")


def _check_lines(sheet: PerformanceSheet) -> Iterator[Line]:
    passed = [finding for finding in sheet.checks if finding.status == "ok"]
    for finding in (*words.open_checks(sheet), *passed):
        yield from _text("strong", str(finding).split("\n", maxsplit=1)[0])
        yield from _text("small", f"Why: {finding.why}" if finding.why else "")
        yield from _text("small", f"Do: {finding.do}" if finding.do else "")


def _detail_lines(sheet: PerformanceSheet) -> Iterator[Line]:
    for title, rows in (
        ("Constants in every convention", words.constants_rows(sheet)),
        ("Winding", words.winding_rows(sheet)),
        ("Without current", words.no_load_rows(sheet)),
        ("With current", (*words.loaded_rows(sheet), *waveform_rows(sheet))),
        ("Inductance", inductance_rows(sheet)),
        ("As it was really built", as_built_rows(sheet)),
        ("Heat", words.heat_rows(sheet)),
        ("Turning at the highest speed", words.turning_rows(sheet)),
    ):
        yield from _text("heading", title if rows else "")
        yield from _pairs(rows)
        if title.startswith("Constants"):
            yield from _text("body", conventions(sheet))
    for title, table, note in (
        ("At any throttle", throttle_table(sheet), density_sentence(sheet)),
        ("Which winding suits this load", turns_table(sheet), equal_copper(sheet)),
    ):
        yield from _table(title, table, note)
    yield from _text("heading", "Coils, tooth by tooth")
    yield from _text("body", "   ".join(words.coil_rows(sheet)))
    yield from _text("heading", "Sources")
    for source in sheet.sources:
        yield from _text("body", f"• {source}")
    yield from _text("heading", "The design, complete")
    yield from _pairs((key, _value(value)) for key, value in flattened(sheet.design))
    yield from _text("small", f"fem_motor {sheet.version}")


def _table(title: str, table: Table, note: str) -> Iterator[Line]:
    if not table:
        return
    yield from _text("heading", title)
    head, *rows = table
    for row in rows:
        words = [f"{what} {value}" for what, value in zip(head[1:], row[1:], strict=True) if value]
        yield from _text("body", f"{head[0]} {row[0]}: {', '.join(words)}")
    yield from _text("small", note)


def _value(value: object) -> str:
    if isinstance(value, float):
        return digits(value, 8)
    return "not given" if value is None else str(value)


def _text(kind: Kind, text: str) -> Iterator[Line]:
    for row in textwrap.wrap(text, _FONT[kind][1]):
        yield Line(kind=kind, left=row)


def _pairs(rows: Iterable[tuple[str, str]]) -> Iterator[Line]:
    for left, right in rows:
        columns = textwrap.wrap(left, _LEFT_LETTERS), textwrap.wrap(right, _RIGHT_LETTERS)
        for pieces in zip_longest(*columns, fillvalue=""):
            yield Line(kind="body", left=pieces[0], right=pieces[1])


def _line_height(line: Line) -> float:
    """Return the height of a line in inches; headings have room above them."""
    above = 1.4 if line.kind == "heading" else 0.0
    return _FONT[line.kind][0] * (1.45 + above) / 72


def _paged(lines: Iterable[Line]) -> Iterator[list[Line]]:
    room, page = _HEIGHT - _TOP - _BOTTOM, list[Line]()
    for line in lines:
        height = _line_height(line)
        # A heading takes the next page rather than stand alone at the foot of this one.
        needed = 3 * height if line.kind == "heading" else height
        if needed > room and page:
            yield page
            room, page = _HEIGHT - _TOP - _BOTTOM, []
        page.append(line)
        room -= height
    if page:
        yield page


def _text_page(lines: Sequence[Line]) -> Any:  # noqa: ANN401  (a figure of matplotlib, which only charts knows)
    figure = new_figure(_WIDTH, _HEIGHT)
    down = _HEIGHT - _TOP
    for line in lines:
        down -= _line_height(line)
        parts = (
            (0.0, line.left, line.kind in {"title", "heading"}),
            (_RIGHT_PART, line.right, line.kind == "strong"),
        )
        for shift, text, is_bold in parts:
            figure.text(
                (_LEFT + shift) / _WIDTH,
                down / _HEIGHT,
                text,
                fontsize=_FONT[line.kind][0],
                weight="bold" if is_bold else "normal",
                va="baseline",
                parse_math=False,
            )
    return figure


def _grouped(pictures: Sequence[Picture]) -> Iterator[list[Picture]]:
    """Return the pictures page by page, as many as fit one below the other."""
    room, group = _HEIGHT - _TOP - _BOTTOM, list[Picture]()
    for picture in pictures:
        needed = picture.height + _CAPTION_HEIGHT
        if needed > room and group:
            yield group
            room, group = _HEIGHT - _TOP - _BOTTOM, []
        group.append(picture)
        room -= needed
    if group:
        yield group


def _picture_page(group: Sequence[Picture]) -> Any:  # noqa: ANN401  (a figure of matplotlib, which only charts knows)
    figure = new_figure(_WIDTH, _HEIGHT)
    down = _HEIGHT - _TOP
    for picture in group:
        down -= picture.height
        picture.draw_into(figure, left=(_WIDTH - picture.width) / 2, bottom=down)
        caption = "\n".join(textwrap.wrap(f"{picture.title}. {picture.caption}", 110))
        place = (_LEFT / _WIDTH, (down - 0.05) / _HEIGHT)
        figure.text(*place, caption, va="top", fontsize=8.5, parse_math=False)
        down -= _CAPTION_HEIGHT
    return figure
