"""A document as a PDF on A4 pages: the same blocks as the page, its text selectable."""

import io
from collections.abc import Iterator, Sequence
from functools import singledispatch
from html import escape
from typing import Any

from PIL import Image as Pixels
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Image,
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
)
from reportlab.platypus import Table as Grid

from fem_motor.charts import font_file
from fem_motor.report.blocks import (
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
from fem_motor.report.words import reason_marks

_MARGIN = 18 * mm
_WIDTH = A4[0] - 2 * _MARGIN - 12  # the frame's own padding is 6 points a side
_DEEP, _SOFT, _LINE = HexColor("#0b3c6f"), HexColor("#4a5560"), HexColor("#ccd3da")
_LEAST_BELOW_A_HEADING = 40 * mm
_STATUS = {"ok": "#1d5c33", "watch": "#7a4a00", "stop": "#a01515"}
_SANS, _BOLD = "DejaVuSans", "DejaVuSans-Bold"

_BODY = ParagraphStyle("body", fontName=_SANS, fontSize=9, leading=12.6, spaceAfter=4)
_SMALL = ParagraphStyle("small", _BODY, fontSize=7.8, leading=10.6, textColor=_SOFT)
_STRONG = ParagraphStyle("strong", _BODY, fontName=_BOLD)
_TITLE = ParagraphStyle("title", _BODY, fontName=_BOLD, fontSize=18, leading=23, spaceAfter=3)
_HEADING = ParagraphStyle(
    "heading", _BODY, fontName=_BOLD, fontSize=12, leading=15, textColor=_DEEP, spaceBefore=12,
    spaceAfter=5,
)  # fmt: skip
_LEAD = ParagraphStyle("lead", _BODY, fontSize=10.2, leading=14.6)
_TONES = {"plain": _BODY, "small": _SMALL, "lead": _LEAD}


def document(title: str, sections: Sequence[Section], *, subtitle: str = "") -> bytes:
    """Return the document as PDF with page numbers and an outline: the same bytes each time."""
    for name in (_SANS, _BOLD):
        pdfmetrics.registerFont(TTFont(name, str(font_file(name))))
    flow: list[Any] = [_words(title, _TITLE), _words(subtitle, _SMALL)]
    for section in sections:
        flow.extend(_opened(section))
    buffer = io.BytesIO()
    SimpleDocTemplate(
        buffer, pagesize=A4, title=title, author="fem_motor", lang="en-GB", invariant=1,
        leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=_MARGIN, bottomMargin=_MARGIN,
    ).build(flow, canvasmaker=_Numbered)  # fmt: skip
    return buffer.getvalue()


def _opened(section: Section) -> Iterator[Any]:
    """Yield a section whose heading never stands alone at the foot of a page."""
    heading = _Heading(section.title)
    first, *rest = (part for block in section.blocks for part in _flow(block))
    if isinstance(first, KeepTogether):
        yield KeepTogether([heading, first])
    else:
        yield CondPageBreak(_LEAST_BELOW_A_HEADING)
        yield heading
        yield first
    yield from rest


class _Numbered(Canvas):  # type: ignore[misc]  # untyped library
    """Pages that say which of how many they are."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401  (handed on)
        super().__init__(*args, **kwargs)
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


def _words(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(text), style)


@singledispatch
def _flow(block: Block) -> Iterator[Any]:
    raise TypeError(type(block).__name__)


@_flow.register
def _(block: Text) -> Iterator[Any]:
    style = _TONES[block.tone]
    if len(block.sentences) == 1:
        yield _words(block.sentences[0], style)
        return
    listed = ParagraphStyle("item", style, leftIndent=11, bulletIndent=1)
    for sentence in block.sentences:
        yield Paragraph(escape(sentence), listed, bulletText="•")


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
    cell = _SMALL.clone("cell", textColor="black") if block.head else _BODY
    rows = [[_words(word, _SMALL) for word in block.head]] if block.head else []
    rows += [[_words(word, cell) for word in row] for row in block.rows]
    columns = len(block.rows[0])
    last = 2.2 if columns > 4 else 1.2  # noqa: PLR2004  (the last of many columns is a list)
    widths = [1.4, *[1.0] * (columns - 2), last] if block.head else [1.5, 1.0]
    yield _grid(rows, widths, headings=1 if block.head else 0)
    yield Spacer(1, 5)
    if block.note:
        yield _words(block.note, _SMALL)


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
    for finding in block.findings:
        head = str(finding).split("\n", maxsplit=1)[0].removeprefix(finding.status).strip()
        color = _STATUS[finding.status]
        lines = [
            Paragraph(f'<font color="{color}">{finding.status}</font>  {escape(head)}', _STRONG)
        ]
        lines += [_words(f"Why: {finding.why}", _BODY)] if finding.why else []
        lines += [_words(f"Do: {finding.do}", _BODY)] if finding.do else []
        yield KeepTogether([*lines, Spacer(1, 4)])


@_flow.register
def _(block: Figure) -> Iterator[Any]:
    picture = block.picture
    if picture.turned:  # paper stands still, and the map of rotor angle 0 is there
        return
    pixels = Pixels.open(io.BytesIO(picture.png)).convert("RGB")
    plain = io.BytesIO()
    pixels.save(plain, format="png", compress_level=1)
    height = _WIDTH * pixels.height / pixels.width
    caption = f"<b>{escape(picture.title)}.</b> {escape(picture.caption)}"
    yield KeepTogether(
        [Image(plain, width=_WIDTH, height=height), Paragraph(caption, _SMALL), Spacer(1, 8)]
    )
