"""The PDF: nothing broken in a column, no group of its own page, pages that are filled."""

import re

import pytest
import sheet_of_sines as sines
from reportlab.platypus import Paragraph

from fem_motor.charts import pictures_of, render
from fem_motor.findings import Finding
from fem_motor.report import Section, Table, Text
from fem_motor.report.pages.blocks import Checks
from fem_motor.report.pages.document import (
    _WIDTH,
    _in_halves,
    _joined,
    _Kept,
    _opened,
    _shares,
    _width,
    document,
)
from fem_motor.report.sections.sheet_sections import sheet_sections
from fem_motor.report.wording.spelling import check_words, unbroken

ROWS = (
    ("", "speed", "torque", "losses"),
    ("no load", "13200 rpm", "0 N m", "copper 150 mW, eddies in the strands 4.4 W, " * 4),
    ("current limit", "1630 rpm", "294 mN m", "copper 310 W, leads 20 W"),
)


def test_a_column_is_as_wide_as_its_longest_word() -> None:
    document("t", [Section(title="s", blocks=(Text(sentences=("x",)),))])  # its fonts
    widths = _shares(ROWS)
    assert sum(widths) == pytest.approx(_WIDTH)
    for width, column in zip(widths, zip(*ROWS, strict=True), strict=True):
        words = [word for cell in column for word in unbroken(cell).split(" ")]
        assert width >= max(map(_width, words))
    assert "13200\N{NO-BREAK SPACE}rpm" in unbroken(ROWS[1][1])


def test_a_heading_stays_with_what_follows_and_no_kept_group_holds_another() -> None:
    stop = Finding(name="air gap, mm", status="stop", value=0.1, limit=0.5, why="w.", do="d.")
    for blocks in ((Checks(findings=(stop,)),), (Text(sentences=("one",)),)):
        _, first, *_ = _opened(Section(title="Checks", blocks=blocks))
        assert not [one for one in first.parts if isinstance(one, _Kept)]
        assert first.parts[0].entry == "Checks"


def test_a_sentence_with_a_colon_stays_with_its_table() -> None:
    words = Paragraph("Where it goes:")
    words.is_opening = True
    row = Paragraph("row")
    (only,) = _joined([words, _Kept([row])])
    assert only.parts == (words, row)


def test_a_check_has_its_numbers_in_the_unit_of_its_name() -> None:
    # 17.63 MPa over 5.997 MPa; the unit stands at the number and no longer in the name.
    hoop = Finding(
        name="hoop stress at 1.2 times top speed, MPa", status="stop", value=17.63, limit=5.997
    )
    assert check_words(hoop) == (
        "hoop stress at 1.2 times top speed", "value 17.63 MPa, should be at most 5.997 MPa",
    )  # fmt: skip
    ripple = Finding(name="ripple, A peak to peak", status="ok", value=5.653, limit=4.585)
    assert check_words(ripple)[0] == "ripple, peak to peak"
    # An air gap is held against a least, a stress against a most.
    gap = Finding(name="air gap, mm", status="watch", value=0.3, limit=0.5)
    assert check_words(gap)[1] == "value 0.3 mm, should be at least 0.5 mm"
    mild = Finding(name="share", status="watch", value=0.1, limit=0.2, bound="at most")
    assert check_words(mild)[1] == "value 0.1, should be at most 0.2"
    # What rounding leaves of zero is zero beside a limit of 10°.
    zero = Finding(name="phases off", status="ok", value=1.9e-14, limit=10.0)
    assert check_words(zero)[1] == "value 0, should be at most 10"


def test_long_tables_stand_in_two_halves_and_pictures_beside_their_words() -> None:
    sheet = sines.sheet()
    rendered = [render(picture) for picture in pictures_of(sheet)]
    pdf = document(sheet.title, sheet_sections(sheet, rendered))
    pages = len(re.findall(rb"/Type /Page\b", pdf))
    long = Table(rows=tuple((f"key {n}", "1") for n in range(70)))
    short = document("t", [Section(title="s", blocks=(long,))])
    # 70 rows of 4 mm are longer than one page of 261 mm; two halves of 35 are not.
    assert len(re.findall(rb"/Type /Page\b", short)) == 1
    # Eleven pictures, three to a page, and as many pages of words at most.
    assert pages <= 12


def test_no_key_of_a_design_is_broken_in_the_two_halves() -> None:
    # "…_moh" and "m" on the next line would be another unit.
    sheet = sines.sheet()
    (part,) = [one for one in sheet_sections(sheet, []) if one.title == "The design, complete"]
    (table,) = [block for block in part.blocks if isinstance(block, Table)]
    document("t", [Section(title="s", blocks=(table,))])  # its fonts
    keys = [key for key, _ in table.rows]
    half = -(-len(keys) // 2)
    widths = _in_halves(table.rows)._colWidths  # noqa: SLF001
    for width, column in ((widths[0], keys[:half]), (widths[2], keys[half:])):
        assert width >= max(map(_width, column))


def test_the_pages_say_program_version_quality_and_how_to_get_them_again() -> None:
    sheet = sines.sheet()
    (part,) = [one for one in sheet_sections(sheet, []) if one.title == "The design, complete"]
    (words,) = [block.sentences[0] for block in part.blocks if isinstance(block, Text)]
    assert f"--quality {sheet.quality}" in words
    assert sheet.version in words
    plain, footed = (
        document("t", [Section(title="s", blocks=(Text(sentences=("x",)),))], foot=foot)
        for foot in ("", "fem_motor 9.9")
    )
    assert len(footed) > len(plain)
