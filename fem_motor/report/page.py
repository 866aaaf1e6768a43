"""The report as one HTML file that holds all it shows."""

import base64
import math
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from fem_motor.charts import Rendered
from fem_motor.findings import Finding
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
from fem_motor.report.power_words import (
    Table,
    density_sentence,
    equal_copper,
    throttle_table,
    turns_table,
)

_STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1rem; max-width: 60rem; color: #1a1a1a; background: #fff;
  font: 1rem/1.5 system-ui, "DejaVu Sans", sans-serif; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; line-height: 1.2; margin: 0.5rem 0; }
h2 { font-size: 1.2rem; margin: 2rem 0 0.5rem; border-bottom: 2px solid #0b3c6f; }
p, li { max-width: 46rem; }
.machine { color: #444; margin-top: 0; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: 0.3rem 0.8rem 0.3rem 0;
  border-bottom: 1px solid #ccc; }
td.number { white-space: nowrap; font-variant-numeric: tabular-nums; }
td.number.main { font-weight: bold; font-size: 1.1rem; }
small { color: #444; }
figure { margin: 1.5rem 0; break-inside: avoid; }
figure img { display: block; width: 100%; height: auto; }
figcaption { font-size: 0.9rem; color: #333; max-width: 46rem; }
.status { display: inline-block; min-width: 3.6rem; padding: 0 0.4rem; text-align: center;
  font-weight: bold; border: 2px solid; border-radius: 0.3rem; }
.ok { color: #1d5c33; } .watch { color: #7a4a00; } .stop { color: #a01515; }
.limiter { font-size: 1.1rem; border-left: 4px solid #0b3c6f; padding-left: 0.8rem; }
ul.coils { list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: 0.2rem 0.6rem; }
ul.coils li { min-width: 3.4rem; font-variant-numeric: tabular-nums; }
@media (max-width: 36rem) {
  table.answers, table.answers tbody, table.answers tr, table.answers td { display: block; }
  table.answers thead { display: none; }
  table.answers td { border: 0; padding: 0; }
  table.answers tr { border-bottom: 1px solid #ccc; padding: 0.5rem 0; }
  table.answers td.span:not(:empty)::before { content: "range "; }
}
@media print {
  body { font-size: 10pt; max-width: none; padding: 0; }
  h2 { break-after: avoid; } tr { break-inside: avoid; }
}
"""


def page(sheet: PerformanceSheet, pictures: Sequence[Rendered]) -> str:
    """Return the report as a complete HTML document without any outside address."""
    title = escape(sheet.title)
    parts = [
        f"<h1>{title}</h1>",
        f'<p class="machine">{escape(words.machine_line(sheet))}</p>',
        _section("Answers", _answers(sheet)),
        _section("What limits this motor", _limiter(sheet)),
        _section("With this supply and load", _operating(sheet)),
        _section("Heat", _pairs(words.heat_rows(sheet))),
        _section("At any throttle", _table(throttle_table(sheet), density_sentence(sheet))),
        _section("Which winding suits this load", _table(turns_table(sheet), equal_copper(sheet))),
        _section("Checks", _checks(sheet)),
        _section("Pictures", "\n".join(map(_figure, pictures))),
        _section(
            "Constants in every convention",
            _pairs(words.constants_rows(sheet)) + f"<p>{escape(conventions(sheet))}</p>",
        ),
        _section("Winding", _pairs(words.winding_rows(sheet)) + _coils(sheet)),
        _section("Without current", _pairs(words.no_load_rows(sheet))),
        _section("With current", _pairs((*words.loaded_rows(sheet), *waveform_rows(sheet)))),
        _section("Inductance", _pairs(inductance_rows(sheet))),
        *(
            [_section("As it was really built", _pairs(rows))]
            if (rows := as_built_rows(sheet))
            else []
        ),
        _section("Turning at the highest speed", _pairs(words.turning_rows(sheet))),
        _section("How far to trust this", _list(words.trust(sheet))),
        _section("Caution", _list(cautions(sheet))),
        _section("Sources", _list(sheet.sources)),
        _section("The design, complete", _design(sheet.design)),
        f"<p><small>fem_motor {escape(sheet.version)}</small></p>",
    ]
    head = (
        '<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}: what this motor does</title>\n<style>{_STYLE}</style>"
    )
    body = "\n".join(parts)
    return (
        f'<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n{head}\n</head>\n'
        f"<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def _section(title: str, content: str) -> str:
    return f"<section>\n<h2>{escape(title)}</h2>\n{content}\n</section>"


def _answers(sheet: PerformanceSheet) -> str:
    rows = []
    for row in words.answers(sheet):
        meaning = f"<br><small>{escape(row.meaning)}</small>" if row.meaning else ""
        rows.append(
            f"<tr><td>{escape(row.label)}{meaning}</td>"
            f'<td class="number main">{escape(row.value)}</td>'
            f'<td class="number span">{escape(row.span)}</td>'
            f"<td><small>{escape(row.because)}</small></td></tr>"
        )
    return (
        '<div class="wide"><table class="answers"><thead><tr><th>Answer</th><th>Value</th>'
        "<th>Range, same unit</th><th>Why that wide</th></tr></thead>\n<tbody>\n"
        + "\n".join(rows)
        + "\n</tbody></table></div>"
    )


def _limiter(sheet: PerformanceSheet) -> str:
    rows = [(where, f"{100 * share:.0f} %") for where, share in words.share_rows(sheet)]
    return (
        f'<p class="limiter">{escape(sheet.limiter.sentence)}</p>\n'
        "<p>Where the magnets' drive (ampere-turns) is spent along the mean flux path:</p>\n"
        + _pairs(rows)
    )


def _operating(sheet: PerformanceSheet) -> str:
    return _table(words.operating_table(sheet), words.operating_note(sheet))


def _table(table: Table, note: str) -> str:
    """Return a table with its heading and a small note, nothing where there is no table."""
    if not table:
        return "<p>Nothing: the design turns no load.</p>"
    head, *rows = table
    cells = "".join(f"<th>{escape(word)}</th>" for word in head)
    lines = ["<tr>" + "".join(f"<td>{escape(word)}</td>" for word in row) + "</tr>" for row in rows]
    return (
        f'<div class="wide"><table><thead><tr>{cells}</tr></thead>\n<tbody>\n'
        + "\n".join(lines)
        + f"\n</tbody></table></div>\n<p><small>{escape(note)}</small></p>"
    )


def _checks(sheet: PerformanceSheet) -> str:
    if not sheet.checks:
        return "<p>None were made.</p>"
    left = words.open_checks(sheet)
    rows = [_check_row(finding) for finding in (*left, *_passed(sheet))]
    return (
        '<div class="wide"><table><thead><tr><th>Status</th><th>Check</th><th>Value</th>'
        "<th>Limit</th></tr></thead>\n<tbody>\n" + "\n".join(rows) + "\n</tbody></table></div>"
    )


def _passed(sheet: PerformanceSheet) -> list[Finding]:
    return [finding for finding in sheet.checks if finding.status == "ok"]


def _check_row(finding: Finding) -> str:
    why = f"<br><small>Why: {escape(finding.why)}</small>" if finding.why else ""
    do = f"<br><small>Do: {escape(finding.do)}</small>" if finding.do else ""
    return (
        f'<tr><td><span class="status {finding.status}">{finding.status}</span></td>'
        f"<td>{escape(finding.name)}{why}{do}</td>"
        f'<td class="number">{_number(finding.value)}</td>'
        f'<td class="number">{_number(finding.limit)}</td></tr>'
    )


def _number(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else digits(value)


def _figure(picture: Rendered) -> str:
    source = _data_uri(picture.embedded, picture.embedded_kind)
    return (
        f'<figure id="{picture.name}">\n'
        f'<img src="{source}" alt="{escape(picture.alt)}" width="{picture.width_px}" '
        f'height="{picture.height_px}">\n'
        f"<figcaption><strong>{escape(picture.title)}.</strong> {escape(picture.caption)}"
        "</figcaption>\n</figure>"
    )


def _pairs(rows: Iterable[tuple[str, str]]) -> str:
    cells = [
        f'<tr><td>{escape(what)}</td><td class="number">{escape(value)}</td></tr>'
        for what, value in rows
    ]
    return '<div class="wide"><table><tbody>\n' + "\n".join(cells) + "\n</tbody></table></div>"


def _coils(sheet: PerformanceSheet) -> str:
    cells = "".join(f"<li>{escape(coil)}</li>" for coil in words.coil_rows(sheet))
    return (
        "\n<p>Coils tooth by tooth, counter-clockwise from tooth 1; + counts outward flux:</p>\n"
        f'<ul class="coils">{cells}</ul>'
    )


def _list(sentences: Iterable[str]) -> str:
    return "<ul>\n" + "\n".join(f"<li>{escape(line)}</li>" for line in sentences) + "\n</ul>"


def _design(design: Mapping[str, Any]) -> str:
    return _pairs((key, _word(value)) for key, value in flattened(design))


def flattened(design: Mapping[str, Any], prefix: str = "") -> Iterable[tuple[str, object]]:
    """Return the keys of a nested mapping as dotted paths, with their values, in order."""
    for key, value in design.items():
        path = f"{prefix}{key}"
        if isinstance(value, Mapping):
            yield from flattened(value, f"{path}.")
        else:
            yield path, value


def _word(value: object) -> str:
    if value is None:
        return "not given"
    if isinstance(value, (list, tuple)):
        return ", ".join(map(_word, value)) or "none"
    return str(value)


def _data_uri(content: bytes, kind: str) -> str:
    """Return bytes of a MIME type as an address that a page can hold in itself."""
    return f"data:{kind};base64,{base64.b64encode(content).decode('ascii')}"
