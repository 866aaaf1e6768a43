"""A document as one HTML file that holds all it shows."""

import base64
import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from functools import singledispatch
from html import escape
from importlib.resources import files
from itertools import groupby

from fem_motor.charts import Rendered
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

_CONTENTS_FROM = 5
_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
_SLIDER = "rotor-angle"
_HALF_PAGE = 480  # pixels: wider pictures take the whole width


def page(title: str, sections: Sequence[Section], *, subtitle: str = "", foot: str = "") -> str:
    """Return a complete HTML document that loads nothing from outside.

    All words are escaped. Pictures stand in it as data; contents are listed from five sections on.
    A picture that turns has a slider and the page's one script, which its policy allows by its
    hash and nothing else; without scripts it shows its first position.

    >>> from fem_motor.report import Section, Table, Text
    >>> table = Table(head=("motor", "power"), rows=(("reed boat", "60 W"),))
    >>> text = Text(sentences=("A & B are as good.",))
    >>> html = page("Comparison", [Section(title="Verdict", blocks=(text, table))])
    >>> "A &amp; B" in html, '>power</th>' in html
    (True, True)
    """
    style = (files("fem_motor.report.pages") / "report.css").read_text(encoding="utf-8")
    body = "\n".join(_section(section) for section in sections)
    script = _script() if any(map(_turns, sections)) else ""
    policy = _POLICY + (f"; script-src 'sha256-{_hash(script)}'" if script else "")
    return (
        '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
        f"<header>\n<h1>{escape(title)}</h1>\n"
        + (f'<p class="subtitle">{_words(subtitle)}</p>\n' if subtitle else "")
        + f"</header>\n{_contents(sections)}<main>\n{body}\n</main>\n"
        + (f"<footer><p>{escape(foot)}</p></footer>\n" if foot else "")
        + (f"<script>{script}</script>\n" if script else "")
        + "</body>\n</html>\n"
    )


def _script() -> str:
    return (files("fem_motor.report.pages") / "turning.js").read_text(encoding="utf-8")


def _hash(script: str) -> str:
    """Return the SHA-256 of a script as a content security policy names it."""
    return base64.b64encode(hashlib.sha256(script.encode()).digest()).decode("ascii")


def _turns(section: Section) -> bool:
    return any(isinstance(block, Figure) and block.picture.turned for block in section.blocks)


def _anchor(title: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")


def _contents(sections: Sequence[Section]) -> str:
    if len(sections) < _CONTENTS_FROM:
        return ""
    links = "".join(
        f'<li><a href="#{_anchor(part.title)}">{escape(part.title)}</a></li>' for part in sections
    )
    return f'<nav aria-label="Contents"><ul>{links}</ul></nav>\n'


def _section(section: Section) -> str:
    parts = [
        _figures(group) if is_drawn else "\n".join(map(_html, group))
        for is_drawn, group in groupby(section.blocks, key=lambda one: isinstance(one, Figure))
    ]
    anchor, blocks = _anchor(section.title), "\n".join(parts)
    return f'<section id="{anchor}">\n<h2>{escape(section.title)}</h2>\n{blocks}\n</section>'


def _figures(group: Iterable[Block]) -> str:
    """Return pictures that follow one another, side by side where the window is wide."""
    drawn = "\n".join(map(_html, group))
    return f'<div class="figures">\n{drawn}\n</div>'


def _words(text: str) -> str:
    """Return a text as HTML shows it, its numbers and units together."""
    return escape(unbroken(text))


@singledispatch
def _html(block: Block) -> str:
    raise TypeError(type(block).__name__)


@_html.register
def _(block: Text) -> str:
    if len(block.sentences) == 1:
        return f'<p class="{block.tone}">{_words(block.sentences[0])}</p>'
    items = "\n".join(f"<li>{_words(sentence)}</li>" for sentence in block.sentences)
    return f'<ul class="{block.tone}">\n{items}\n</ul>'


@_html.register
def _(block: Table) -> str:
    kind = "headed" if block.head else "pairs long" if len(block.rows) > LONG_TABLE else "pairs"
    note = f'\n<p class="small">{_words(block.note)}</p>' if block.note else ""
    return _grid(kind, block.head, [_row(row, block.head) for row in block.rows]) + note


def _grid(kind: str, head: Sequence[str], rows: Sequence[str]) -> str:
    """Return a table; its roles are said, as browsers forget them in cells that a phone stacks."""
    names = "".join(f'<th scope="col" role="columnheader">{escape(word)}</th>' for word in head)
    body = "\n".join(rows)
    above = f'<thead role="rowgroup"><tr role="row">{names}</tr></thead>\n' if head else ""
    return (
        f'<table class="{kind}" role="table">{above}<tbody role="rowgroup">\n{body}\n'
        "</tbody></table>"
    )


def _row(row: Sequence[str], head: Sequence[str]) -> str:
    first, *rest = row
    names = list(head[1:]) or [""] * len(rest)
    cells = "".join(
        f'<td role="cell" data-name="{escape(name)}">{_words(word)}</td>'
        for name, word in zip(names, rest, strict=True)
    )
    return f'<tr role="row"><th scope="row" role="rowheader">{_words(first)}</th>{cells}</tr>'


@_html.register
def _(block: Answers) -> str:
    marks = reason_marks(block.rows)
    rows = []
    for row in block.rows:
        meaning = f" <small>{_words(row.meaning)}</small>" if row.meaning else ""
        mark = f' <sup class="mark">{marks[row.because]}</sup>' if row.because else ""
        kind = "span" if row.span else "span none"
        rows.append(
            f'<tr role="row"><th scope="row" role="rowheader">{_words(row.label)}{meaning}</th>'
            f'<td role="cell" class="value">{_words(row.value)}</td>'
            f'<td role="cell" class="{kind}">{_words(row.span)}{mark}</td></tr>'
        )
    return _grid("answers", ("Answer", "Value", "Range, same unit"), rows) + _reasons(marks)


def _reasons(marks: Mapping[str, str]) -> str:
    """Return what the letters at the ranges stand for."""
    if not marks:
        return ""
    lines = "\n".join(
        f'<dt class="mark">{letter}</dt><dd>{_words(reason)}</dd>'
        for reason, letter in marks.items()
    )
    return f'\n<p class="small">{WHY_THAT_WIDE}</p>\n<dl class="small reasons">\n{lines}\n</dl>'


@_html.register
def _(block: Checks) -> str:
    found = "\n".join(map(_check, block.findings))
    return f'<div class="findings">\n{found}\n</div>' if found else f"<p>{NONE_OPEN}</p>"


def _check(finding: Finding) -> str:
    name, numbers = check_words(finding)
    lines = "".join(
        f"<p><b>{head}</b> {_words(words)}</p>"
        for head, words in (("Why:", finding.why), ("Do:", finding.do))
        if words
    )
    return (
        f'<div class="check {finding.status}"><p><span class="status">{finding.status}</span> '
        f"<b>{_words(name)}</b> <small>{_words(numbers)}</small></p>{lines}</div>"
    )


@_html.register
def _(block: Figure) -> str:
    picture = block.picture
    wide = picture.width_px > _HALF_PAGE
    kind = " ".join(
        filter(None, ("turning" if picture.turned else "still", "wide" if wide else ""))
    )
    return (
        f'<figure id="picture-{picture.name}" class="{kind}"{_steps(picture)}>\n'
        f"{_turning(picture) if picture.turned else _still(picture)}\n"
        f"<figcaption><b>{_words(picture.title)}.</b> {_words(picture.caption)}"
        "</figcaption>\n</figure>"
    )


def _still(picture: Rendered) -> str:
    return (
        f'<img src="{_source(picture)}" alt="{escape(picture.alt)}" width="{picture.width_px}" '
        f'height="{picture.height_px}">'
    )


def _steps(picture: Rendered) -> str:
    """Return the positions of a picture that turns, for the script."""
    if not picture.turned:
        return ""
    steps = [[round(one.rotor_deg, 6), round(one.field_deg, 6)] for one in picture.turned]
    return f' data-steps="{json.dumps(steps)}"'


def _turning(picture: Rendered) -> str:
    """Return a picture in a circle that a slider turns; a dot goes with the rotor."""
    last = len(picture.turned) - 1
    return (
        f'<svg viewBox="0 0 110 100" role="img" aria-label="{escape(picture.alt)}">\n'
        '<clipPath id="round"><circle cx="50" cy="50" r="50"/></clipPath>\n'
        '<g clip-path="url(#round)"><g class="field"><image width="100" height="100" '
        f'href="{_source(picture)}"/></g></g>\n'
        '<path d="M101 50h8" class="fixed"/>\n'
        '<g class="mark"><circle cx="97" cy="50" r="1.8"/></g>\n</svg>\n'
        f'<p class="control" hidden><label for="{_SLIDER}">Rotor angle</label> '
        f'<input type="range" id="{_SLIDER}" min="0" max="{last}" step="1" value="0"> '
        f'<output for="{_SLIDER}">0°</output> <button type="button">Turn</button></p>'
    )


def _source(picture: Rendered) -> str:
    return _data_uri(picture.embedded, picture.embedded_kind)


def _data_uri(content: bytes, kind: str) -> str:
    """Return bytes of a MIME type as an address that a page can hold in itself."""
    return f"data:{kind};base64,{base64.b64encode(content).decode('ascii')}"
