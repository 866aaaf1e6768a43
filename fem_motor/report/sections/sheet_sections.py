"""The performance sheet as a document: answers first, the physics below them."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from fem_motor.charts import Rendered
from fem_motor.numbers import digits
from fem_motor.performance import PerformanceSheet
from fem_motor.report.pages.blocks import Answers, Block, Checks, Figure, Section, Table, Text
from fem_motor.report.wording import words
from fem_motor.report.wording.cautions import cautions
from fem_motor.report.wording.current_words import (
    as_built_rows,
    conventions,
    inductance_rows,
    waveform_rows,
)
from fem_motor.report.wording.heat_words import heat_rows
from fem_motor.report.wording.power_words import (
    equal_copper,
    limits,
    throttle_note,
    throttle_table,
    turns_table,
)
from fem_motor.report.wording.verdict import verdict

_NO_SLIDER = (
    "The rotor of this picture cannot be turned: with odd magnets or off its axis it has another "
    "field at every angle, and a run computes that of angle 0 alone. In Python, "
    "solve_field(design, angle_deg=…) gives those of other angles."
)
_NO_LOAD_TURNED = "Nothing: the design turns no load."


def sheet_sections(
    sheet: PerformanceSheet, pictures: Sequence[Rendered] = ()
) -> tuple[Section, ...]:
    """Return the sections of the report; pictures stand under their topic."""
    drawn = _by_topic(pictures)
    parts = (*_answers(sheet), *_design(sheet, drawn), *_running(sheet, drawn))
    parts += (*_fields(sheet, drawn), *_ground(sheet, drawn))
    return tuple(
        Section(title=title, blocks=filled)
        for title, blocks in parts
        if (filled := _filled(blocks))
    )


def _by_topic(pictures: Sequence[Rendered]) -> dict[str, tuple[Figure, ...]]:
    topics = dict.fromkeys(picture.topic for picture in pictures)
    return {
        topic: tuple(Figure(picture=one) for one in pictures if one.topic == topic)
        for topic in topics
    }


def _filled(blocks: Sequence[Block]) -> tuple[Block, ...]:
    return tuple(block for block in blocks if not (isinstance(block, Table) and not block.rows))


Part = tuple[str, tuple[Block, ...]]
Drawn = Mapping[str, tuple[Figure, ...]]


def _answers(sheet: PerformanceSheet) -> Iterator[Part]:
    yield "Verdict", (Text(sentences=verdict(sheet), tone="lead"),)
    yield "Answers", (Answers(rows=words.answers(sheet)),)
    yield (
        "What limits this motor",
        (
            Text(sentences=limits(sheet)),
            Text(
                sentences=(
                    "Where the magnets' drive (ampere-turns) is spent along the mean flux path:",
                )
            ),
            Table(
                rows=tuple((where, f"{100 * it:.0f} %") for where, it in words.share_rows(sheet))
            ),
        ),
    )
    yield "Checks", (Checks(findings=words.open_checks(sheet)),)


def _design(sheet: PerformanceSheet, drawn: Drawn) -> Iterator[Part]:
    coils = words.coil_rows(sheet)
    yield "The machine", drawn.get("machine", ())
    yield (
        "Winding",
        (
            Table(rows=words.winding_rows(sheet)),
            Text(
                sentences=(
                    "Coils tooth by tooth, counter-clockwise from tooth 1; + counts outward flux: "
                    + "; ".join(coils),
                )
            ),
        ),
    )


def _running(sheet: PerformanceSheet, drawn: Drawn) -> Iterator[Part]:
    yield (
        "With this supply and load",
        (
            _headed(words.operating_table(sheet), words.operating_note(sheet)),
            *drawn.get("drive", ()),
        ),
    )
    yield "At any throttle", (_headed(throttle_table(sheet), throttle_note(sheet)),)
    yield "Which winding suits this load", (_headed(turns_table(sheet), equal_copper(sheet)),)
    yield "Heat", (Table(rows=heat_rows(sheet)), *drawn.get("heat", ()))


def _fields(sheet: PerformanceSheet, drawn: Drawn) -> Iterator[Part]:
    maps = drawn.get("field", ())
    is_still = maps and not any(figure.picture.turned for figure in maps)
    yield "Field", (*maps, *((Text(sentences=(_NO_SLIDER,)),) if is_still else ()))
    yield "Without current", (Table(rows=words.no_load_rows(sheet)), *drawn.get("no load", ()))
    yield (
        "With current",
        (
            Table(rows=(*words.loaded_rows(sheet), *waveform_rows(sheet))),
            *drawn.get("with current", ()),
        ),
    )
    yield "Inductance", (Table(rows=inductance_rows(sheet)),)
    yield (
        "Constants in every convention",
        (Table(rows=words.constants_rows(sheet)), Text(sentences=(conventions(sheet),))),
    )
    yield "As it was really built", (Table(rows=as_built_rows(sheet)), *drawn.get("building", ()))
    yield "Turning at the highest speed", (Table(rows=words.turning_rows(sheet)),)
    yield "More pictures", drawn.get("other", ())


def _ground(sheet: PerformanceSheet, drawn: Drawn) -> Iterator[Part]:
    del drawn
    yield "How far to trust this", (Text(sentences=words.trust(sheet)),)
    passed = tuple(finding for finding in sheet.checks if finding.status == "ok")
    yield "Checks that passed", ((Checks(findings=passed),) if passed else ())
    yield "Caution", (Text(sentences=cautions(sheet)),)
    yield "Sources", (Text(sentences=sheet.sources),)
    rows = tuple((key, _word(value)) for key, value in _flattened(sheet.design))
    again = (
        "Keys and values of the design file, defaults filled in; the file design.toml beside this "
        f"report holds them too. Run by fem_motor {sheet.version} with --quality {sheet.quality}, "
        "it gives this report again."
    )
    yield "The design, complete", (Text(sentences=(again,), tone="small"), Table(rows=rows))


def _headed(table: Sequence[tuple[str, ...]], note: str) -> Block:
    """Return a table whose first row is its heading, a sentence where there is none."""
    if not table:
        return Text(sentences=(_NO_LOAD_TURNED,))
    head, *rows = table
    return Table(head=head, rows=tuple(rows), note=note)


def _flattened(design: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, object]]:
    """Yield the keys of a nested mapping as dotted paths, with their values, in order."""
    for key, value in design.items():
        path = f"{prefix}{key}"
        if isinstance(value, Mapping):
            yield from _flattened(value, f"{path}.")
        else:
            yield path, value


def _word(value: object) -> str:
    if value is None:
        return "not given"
    if isinstance(value, float):
        return digits(value, 8)
    if isinstance(value, (list, tuple)):
        return ", ".join(map(_word, value)) or "none"
    return str(value)
