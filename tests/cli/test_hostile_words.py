"""Words that are markup, formulas or tricks of direction stay words in every file.

What a spreadsheet computes: OWASP, CSV Injection. What markup is: HTML standard, 13.1.
"""

import csv
import re
from pathlib import Path
from types import ModuleType

import pytest

import fem_motor as fm
from fem_motor.cli import main
from fem_motor.report import write_report

BOAT = "geometries/printed_18s16p.toml"
TITLE = "=1+1 <script>alert(1)</script> 🛶 \"é\" & 'q'"
MATERIAL = "=1+1 <script>"
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def hostile() -> fm.MotorDesign:
    text = Path(BOAT).read_text(encoding="utf-8")
    title = next(line for line in text.splitlines() if line.startswith("title"))
    core = next(line for line in text.splitlines() if line.startswith("core ="))
    text = text.replace(title, f"title = '''{TITLE}'''").replace(core, f'core = "{MATERIAL}"')
    text += f'\n[materials."{MATERIAL}"]\nlike = "iron-filled-pla-10vol"\n'
    return fm.MotorDesign.from_toml(text)


def armed(path: Path) -> list[str]:
    """Return the cells of a CSV that a spreadsheet would compute."""
    with path.open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    return [cell for cell in cells if cell.startswith(FORMULA) and not cell[1:2].isdigit()]


def test_cards_and_lists_show_words_as_words(tmp_path: Path) -> None:
    design = hostile()
    kinds = ("winding_card", "magnet_card", "parts_list")
    for suffix in (".html", ".csv", ".md"):
        fm.write_exports(design, **{kind: tmp_path / f"{kind}{suffix}" for kind in kinds})
    pages = [path.read_text(encoding="utf-8") for path in tmp_path.glob("*.html")]
    assert len(pages) == 3
    assert not any("<script" in page for page in pages)
    assert any("&lt;script&gt;" in page and "🛶" in page for page in pages)
    for path in tmp_path.glob("*.csv"):
        assert armed(path) == [], path.name
    assert MATERIAL in (tmp_path / "parts_list.csv").read_text(encoding="utf-8")
    for path in tmp_path.glob("*.md"):  # a backslash before it makes it text (CommonMark, 2.4)
        assert not re.search(r"(?<!\\)<script", path.read_text(encoding="utf-8")), path.name


@pytest.mark.slow
def test_a_report_shows_words_as_words(sines: ModuleType, tmp_path: Path) -> None:
    write_report(sines.sheet(title=TITLE), tmp_path / "out")
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    # One script is ours, and allowed by its hash: that of the turning field.
    assert re.findall(r"<script[^>]*>.{0,13}", page) == ['<script>"use strict";']
    assert "=1+1 &lt;script&gt;alert(1)&lt;/script&gt; 🛶" in page


@pytest.mark.parametrize("word", ["a\\nb", "\\u202Eabc", "\\u001b[31mred", "\\u200Fabc"])
def test_titles_with_new_lines_or_tricks_of_direction_are_refused_and_not_shown_raw(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], word: str
) -> None:
    text = Path(BOAT).read_text(encoding="utf-8")
    title = next(line for line in text.splitlines() if line.startswith("title"))
    design = tmp_path / "boat.toml"
    design.write_text(text.replace(title, f'title = "{word}"'), encoding="utf-8")
    assert main(["check", str(design)]) == 2
    study = tmp_path / "study.toml"
    example = Path("studies/ring_thickness.toml").read_text(encoding="utf-8")
    first = next(line for line in example.splitlines() if line.startswith("title"))
    base = f"{Path(BOAT).absolute().as_posix()}"
    example = example.replace("../geometries/printed_18s16p.toml", base)
    study.write_text(example.replace(first, f'title = "{word}"'), encoding="utf-8")
    assert main(["study", str(study), "--check"]) == 2
    err = capsys.readouterr().err
    assert all(line.isprintable() for line in err.split("\n"))


def test_headings_of_a_log_stay_out_of_the_terminal_and_of_spreadsheets(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = tmp_path / "log.csv"
    log.write_text("\x1b[31m=1+1,<script>,\u202eabc\n" + "0,1,2\n" * 50, encoding="utf-8")
    assert main(["bench", str(log), BOAT, "--quiet"]) == 2
    err = capsys.readouterr().err
    assert "has no column that is known" in err
    assert all(line.isprintable() for line in err.split("\n"))
