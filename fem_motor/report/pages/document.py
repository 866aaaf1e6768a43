"""A document as a PDF on A4 pages: the same blocks as the page, its text selectable."""

import io
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial, singledispatch
from html import escape
from typing import Any

from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    HRFlowable,
    Image,
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
)
from reportlab.platypus import Table as Grid

from fem_motor.charts import font_file
from fem_motor.findings import Finding
from fem_motor.report.pages.blocks import (
    LONG_TABLE,
    NONE_OPEN,
    WHY_THAT_WIDE,
    Answers,
    Block,
    Checks,
    Figure,
    Section,
    Table,
    Text,
)
from fem_motor.report.wording.spelling import check_words, unbroken
from fem_motor.report.wording.words import reason_marks

_MARGIN = 18 * mm
_WIDTH = A4[0] - 2 * _MARGIN - 12  # the frame's own padding is 6 points a side
_DEEP, _SOFT, _LINE = HexColor("#0b3c6f"), HexColor("#4a5560"), HexColor("#ccd3da")
_LEAST_BELOW_A_HEADING = 30 * mm
_BESIDE = 124 * mm
"""Width of a picture that leaves room for its caption beside it."""
_GAP = 5 * mm
_CELL_GAP = 7  # points
_WHOLE_UP_TO = 14
"""Rows of a table that is not cut at the foot of a page."""
_HALF_PAGE_PX = 480
_STATUS = {"ok": "#1d5c33", "watch": "#7a4a00", "stop": "#a01515"}
_SANS, _BOLD = "DejaVuSans", "DejaVuSans-Bold"

_BODY = ParagraphStyle("body", fontName=_SANS, fontSize=9, leading=12.6, spaceAfter=4)
_SMALL = ParagraphStyle("small", _BODY, fontSize=7.8, leading=10.6, textColor=_SOFT)
_PASSED = ParagraphStyle("passed", _SMALL, fontName=_BOLD, textColor="black", spaceAfter=3)
_STRONG = ParagraphStyle("strong", _BODY, fontName=_BOLD)
_TITLE = ParagraphStyle("title", _BODY, fontName=_BOLD, fontSize=18, leading=23, spaceAfter=3)
_HEADING = ParagraphStyle(
    "heading", _BODY, fontName=_BOLD, fontSize=12, leading=15, textColor=_DEEP, spaceBefore=12,
    spaceAfter=5,
)  # fmt: skip
_LEAD = ParagraphStyle("lead", _BODY, fontSize=10.2, leading=14.6)
_TONES = {"plain": _BODY, "small": _SMALL, "lead": _LEAD}


def document(
    title: str, sections: Sequence[Section], *, subtitle: str = "", foot: str = ""
) -> bytes:
    """Return the document as PDF with an outline: the same bytes each time.

    Each page has its number, and `foot` at the left of it.
    """
    for name in (_SANS, _BOLD):
        pdfmetrics.registerFont(TTFont(name, str(font_file(name))))
    pdfmetrics.registerFontFamily(_SANS, normal=_SANS, bold=_BOLD)
    rule = HRFlowable(width="100%", thickness=4, color=_DEEP, spaceAfter=8)
    flow: list[Any] = [rule, _words(title, _TITLE), _words(subtitle, _SMALL)]
    for section in sections:
        flow.extend(_opened(section))
    buffer = io.BytesIO()
    pages = SimpleDocTemplate(
        buffer, pagesize=A4, title=title, author="fem_motor", lang="en-GB", invariant=1,
        pageCompression=1, leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=_MARGIN,
        bottomMargin=_MARGIN,
    )  # fmt: skip
    with _binary():
        pages.build(flow, canvasmaker=partial(_Numbered, foot=foot))
    return buffer.getvalue()


@contextmanager
def _binary() -> Iterator[None]:
    """Write pictures as bytes: as text, the library's default, they take a second and a quarter."""
    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


def _opened(section: Section) -> Iterator[Any]:
    """Yield a section whose heading never stands alone at the foot of a page."""
    first, *rest = _joined(part for block in section.blocks for part in _flow(block))
    yield CondPageBreak(_LEAST_BELOW_A_HEADING)
    yield _kept(_Heading(section.title), first)
    yield from rest


def _joined(parts: Iterable[Any]) -> Iterator[Any]:
    """Yield parts, a sentence that ends in a colon together with what it announces."""
    held: list[Any] = []
    for part in parts:
        if getattr(part, "is_opening", False):
            held.append(part)
            continue
        yield _kept(*held, part)
        held = []
    yield from held


def _kept(*parts: Any) -> Any:  # noqa: ANN401  (untyped library)
    """Return parts that stay on one page; the parts of one that is kept already join the others.

    One kept group in another would go to a page of its own.
    """
    if len(parts) == 1:
        return parts[0]
    inner = (part.parts if isinstance(part, _Kept) else [part] for part in parts)
    return _Kept([one for some in inner for one in some])


class _Numbered(Canvas):  # type: ignore[misc]  # untyped library
    """Pages that say which of how many they are, and of what."""

    def __init__(self, *args: Any, foot: str, **kwargs: Any) -> None:  # noqa: ANN401  (handed on)
        super().__init__(*args, **kwargs)
        self._foot = foot
        self._pages: list[dict[str, Any]] = []

    def showPage(self) -> None:
        """Keep the page until all are counted."""
        self._pages.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Write a number on each page and finish."""
        for number, page in enumerate(self._pages, 1):
            self.__dict__.update(page)
            self.setFont(_SANS, 7.5)
            self.setFillColor(_SOFT)
            self.drawRightString(A4[0] - _MARGIN, 10 * mm, f"{number} of {len(self._pages)}")
            self.drawString(_MARGIN, 10 * mm, self._foot)
            super().showPage()
        super().save()


class _Heading(Paragraph):  # type: ignore[misc]  # untyped library
    """A heading that also stands in the outline."""

    def __init__(self, title: str) -> None:
        super().__init__(escape(title), _HEADING)
        self.entry = title

    def draw(self) -> None:
        """Draw it and mark its place."""
        self.canv.bookmarkPage(self.entry)
        self.canv.addOutlineEntry(self.entry, self.entry, level=0)
        super().draw()


class _Kept(KeepTogether):  # type: ignore[misc]  # untyped library
    """Parts that stay on one page."""

    def __init__(self, parts: Sequence[Any]) -> None:
        super().__init__(list(parts))
        self.parts = tuple(parts)


def _words(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(unbroken(text)), style)


@singledispatch
def _flow(block: Block) -> Iterator[Any]:
    raise TypeError(type(block).__name__)


@_flow.register
def _(block: Text) -> Iterator[Any]:
    style = _TONES[block.tone]
    if len(block.sentences) == 1:
        only = _words(block.sentences[0], style)
        only.is_opening = block.sentences[0].endswith(":")
        yield only
        return
    listed = ParagraphStyle("item", style, leftIndent=11, bulletIndent=1)
    for sentence in block.sentences:
        yield Paragraph(escape(unbroken(sentence)), listed, bulletText="•")


def _grid(rows: Sequence[Sequence[Any]], widths: Sequence[float], *, headings: int) -> Grid:
    rules: list[Any] = [
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, _LINE),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 6),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
    ]
    total = sum(widths)
    return Grid(
        [list(row) for row in rows], colWidths=[_WIDTH * part / total for part in widths],
        style=rules, repeatRows=headings, hAlign="LEFT",
    )  # fmt: skip


@_flow.register
def _(block: Table) -> Iterator[Any]:
    if not block.head and len(block.rows) > LONG_TABLE:
        yield _in_halves(block.rows)
        return
    cell = _SMALL.clone("cell", textColor="black") if block.head else _BODY
    rows = [[_words(word, _SMALL) for word in block.head]] if block.head else []
    rows += [[_words(word, cell) for word in row] for row in block.rows]
    widths = _shares([block.head, *block.rows]) if block.head else [1.5, 1.0]
    parts = [_grid(rows, widths, headings=1 if block.head else 0), Spacer(1, 5)]
    parts += [_words(block.note, _SMALL)] if block.note else []
    if len(rows) <= _WHOLE_UP_TO:
        yield _Kept(parts)
    else:
        yield from parts


def _shares(rows: Sequence[Sequence[str]]) -> list[float]:
    """Return widths of columns: each takes its longest word, the rest goes to the longer texts."""
    least, wanted = [], []
    for column in zip(*rows, strict=True):
        words = [word for cell in column for word in unbroken(cell).split(" ")]
        least.append(max(_width(word) for word in words) + _CELL_GAP)
        wanted.append(max(map(_width, column)) + _CELL_GAP)
    left = max(_WIDTH - sum(least), 0.0)
    more = [want - few for want, few in zip(wanted, least, strict=True)]
    return [few + left * one / (sum(more) or 1.0) for few, one in zip(least, more, strict=True)]


def _width(text: str) -> float:
    """Return the width of a text in a cell, points."""
    return float(pdfmetrics.stringWidth(text, _SANS, _SMALL.fontSize))


def _in_halves(rows: Sequence[Sequence[str]]) -> Grid:
    """Return a long table of pairs as two halves beside each other."""
    half = -(-len(rows) // 2)
    right = [*rows[half:], *[("", "")] * (2 * half - len(rows))]
    cells = [
        [_words(word, _SMALL) for word in (*one, *other)]
        for one, other in zip(rows[:half], right, strict=True)
    ]
    pairs = [(*one, *other) for one, other in zip(rows[:half], right, strict=True)]
    return _grid(cells, _shares(pairs), headings=0)


@_flow.register
def _(block: Answers) -> Iterator[Any]:
    marks = reason_marks(block.rows)
    rows = [[_words(word, _SMALL) for word in ("Answer", "Value", "Range, same unit", "")]]
    for row in block.rows:
        label = [_words(row.label, _BODY), *([_words(row.meaning, _SMALL)] if row.meaning else [])]
        mark = f"[{marks[row.because]}]" if row.because else ""
        rows.append(
            [
                label,
                _words(row.value, _STRONG),
                _words(row.span, _BODY),
                _words(mark, _SMALL),
            ]
        )
    yield _grid(rows, (2.6, 1.2, 1.2, 0.4), headings=1)
    yield Spacer(1, 5)
    if marks:
        yield _words(WHY_THAT_WIDE, _SMALL)
    listed = ParagraphStyle("reason", _SMALL, leftIndent=16, spaceAfter=1)
    for reason, letter in marks.items():
        yield Paragraph(escape(reason), listed, bulletText=f"[{letter}]")


@_flow.register
def _(block: Checks) -> Iterator[Any]:
    if not block.findings:
        yield _words(NONE_OPEN, _BODY)
    yield from map(_check, block.findings)


def _check(finding: Finding) -> Any:  # noqa: ANN401  (untyped library)
    """Return a check; one that passed in a few small lines."""
    name, numbers = check_words(finding)
    head = (
        f'<font color="{_STATUS[finding.status]}">{finding.status}</font>  {escape(unbroken(name))}'
    )
    told = f'<font name="{_SANS}">{escape(unbroken(numbers))}</font>' if numbers else ""
    if finding.status == "ok":
        why = f'<font name="{_SANS}">{escape(unbroken(finding.why))}</font>'
        return Paragraph(f"{head}: {told}; {why}" if told else f"{head}: {why}", _PASSED)
    lines = [Paragraph(f"{head}  {told}", _STRONG)]
    lines += [_words(f"Why: {finding.why}", _BODY)] if finding.why else []
    lines += [_words(f"Do: {finding.do}", _BODY)] if finding.do else []
    return _Kept([*lines, Spacer(1, 4)])


@_flow.register
def _(block: Figure) -> Iterator[Any]:
    picture = block.picture
    if picture.turned:  # paper stands still, and the map of rotor angle 0 is there
        return
    caption = f"<b>{escape(picture.title)}.</b> {escape(unbroken(picture.caption))}"
    is_wide = picture.width_px > _HALF_PAGE_PX
    width = _WIDTH if is_wide else _BESIDE
    drawn = Image(io.BytesIO(picture.png))
    drawn.drawWidth, drawn.drawHeight = width, width * drawn.imageHeight / drawn.imageWidth
    words = Paragraph(caption, _SMALL)
    if is_wide:
        yield _Kept([drawn, words, Spacer(1, 8)])
        return
    plainly = [("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0),
               ("VALIGN", (0, 0), (-1, -1), "TOP")]  # fmt: skip
    widths = [_BESIDE + _GAP, _WIDTH - _BESIDE - _GAP]
    yield _Kept([Grid([[drawn, words]], colWidths=widths, style=plainly), Spacer(1, 6)])
