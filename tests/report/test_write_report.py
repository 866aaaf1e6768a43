import base64
import hashlib
import json
import math
import re
from dataclasses import replace
from html import escape
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
import sheet_of_sines as sines
from matplotlib.image import imread

import fem_motor.report as report_door
from fem_motor.charts import pictures_of
from fem_motor.design import MotorDesign, load_design
from fem_motor.errors import InputError
from fem_motor.findings import Finding
from fem_motor.report import result_to_json, write_report, writing
from fem_motor.report.pages.web_page import page
from fem_motor.report.sections.sheet_sections import sheet_sections
from fem_motor.report.wording import words
from fem_motor.report.wording.heat_words import heat_rows
from fem_motor.report.wording.verdict import verdict

PICTURES = {
    "section", "detail", "flux_map", "gap_field", "back_emf", "cogging", "ripple", "heat",
    "inductance", "demagnetisation", "waveforms",
}  # fmt: skip
PNG_START = b"\x89PNG\r\n\x1a\n"


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("with space") / "Schilf & Gerät-report"
    write_report(sines.sheet(), folder)
    return folder


class Page(HTMLParser):
    """Collects what a page shows and what it loads."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.images: list[dict[str, str]] = []
        self.addresses: list[str] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: D102  (of the base class)
        values = {key: value or "" for key, value in attrs}
        self.addresses += [values[key] for key in ("src", "href", "srcset") if key in values]
        if tag == "img":
            self.images.append(values)
        if tag not in {"img", "meta", "br", "input"}:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:  # noqa: D102  (of the base class)
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:  # noqa: D102  (of the base class)
        if self.open[-1:] not in (["style"], ["script"]):
            self.words.append(data.replace("\N{NO-BREAK SPACE}", " "))


def page_of(report: Path) -> Page:
    return Page((report / "report.html").read_text(encoding="utf-8"))


def test_the_folder_holds_page_pdf_pictures_and_result(report: Path) -> None:
    assert {path.name for path in report.iterdir()} == {
        "report.html", "report.pdf", "result.json", "design.toml",
        *(f"{name}.png" for name in PICTURES),
    }  # fmt: skip


def test_who_gets_the_folder_alone_has_the_design_file(report: Path) -> None:
    assert load_design(report / "design.toml") == MotorDesign.from_dict(sines.sheet().design)


def test_result_json_is_the_sheet(report: Path) -> None:
    read = json.loads((report / "result.json").read_text(encoding="utf-8"))
    assert read == json.loads(json.dumps(result_to_json(sines.sheet())))


def test_the_page_loads_nothing_from_outside(report: Path) -> None:
    text = (report / "report.html").read_text(encoding="utf-8")
    shown = Page(text)
    assert shown.open == []
    assert shown.addresses
    assert all(address.startswith(("data:image/", "#")) for address in shown.addresses)
    without_pictures = re.sub(r"data:[^\"]*", "", text)
    assert "://" not in without_pictures
    assert "@import" not in text


def test_the_one_script_is_the_one_that_the_policy_allows(report: Path) -> None:
    # Content Security Policy Level 3 (W3C): the SHA-256 of what stands between the tags, base64.
    text = (report / "report.html").read_text(encoding="utf-8")
    (script,) = re.findall(r"<script>(.*?)</script>", text, flags=re.DOTALL)
    assert text.count("<script") == 1
    allowed = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"style-src 'unsafe-inline'; script-src 'sha256-{allowed}'\"" in text
    assert "<script" not in page("t", sheet_sections(sines.sheet()))


def test_pictures_inside_the_page_load_nothing_from_outside(report: Path) -> None:
    for image in page_of(report).images:
        content = base64.b64decode(image["src"].partition(",")[2])
        if "svg" in image["src"][:30]:
            # Names of XML dialects are addresses that nobody opens; what is opened is in href.
            links = re.findall(rb'href="([^"]*)"', content)
            assert all(link.startswith((b"#", b"data:")) for link in links)
        else:
            assert content.startswith(PNG_START)


def test_every_picture_has_words_for_those_who_cannot_see_it(report: Path) -> None:
    images = page_of(report).images
    assert len(images) == len(PICTURES)
    assert all(len(image["alt"]) > 40 for image in images)


def test_every_caption_of_a_field_says_that_it_is_two_dimensional_and_at_which_temperature() -> (
    None
):
    shown = {picture.name: picture for picture in pictures_of(sines.sheet())}
    for name in ("flux_map", "gap_field", "back_emf", "cogging"):
        assert "2-D" in shown[name].caption
        assert "20 °C" in shown[name].caption


def test_answers_come_first_on_the_page(report: Path) -> None:
    words = " ".join(page_of(report).words)
    order = ["372.4 rpm/V", "Where the magnets' drive", "Coils tooth by tooth", "Sources"]
    start = words.index("Answers", words.index("The design, complete") + 1)
    places = [words.index(piece, start) for piece in order]
    assert places == sorted(places)
    assert "354 to 391" in words


def test_the_page_fits_a_phone(report: Path) -> None:
    text = (report / "report.html").read_text(encoding="utf-8")
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in text


def test_words_of_the_design_cannot_become_markup() -> None:
    name = '<img src="http://x/y.png"> & "co"'
    text = page(name, sheet_sections(sines.sheet(title=name)), subtitle=name, foot=name)
    shown = Page(text)
    assert name in shown.words
    assert shown.images == []


def test_pngs_hold_a_drawing(report: Path) -> None:
    for name in PICTURES:
        pixels = imread(report / f"{name}.png")[..., :3]
        assert min(pixels.shape[:2]) > 300
        assert np.mean(pixels.min(axis=-1) < 0.9) > 0.01, name


def test_the_pdf_has_pages_and_no_date(report: Path) -> None:
    content = (report / "report.pdf").read_bytes()
    assert content.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", content)) >= 4
    # The library writes a date of its own, the same for ever.
    assert set(re.findall(rb"Date \(D:(\d{4})", content)) <= {b"2000"}


def digest(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def test_a_rebuilt_report_is_the_same_to_the_byte(report: Path, tmp_path: Path) -> None:
    # Twice into one folder: the second takes the place of the first.
    for _ in range(2):
        write_report(sines.sheet(), tmp_path / "again")
        assert digest(tmp_path / "again") == digest(report)


def test_a_design_that_was_changed_in_the_folder_of_a_report_is_not_deleted(
    tmp_path: Path,
) -> None:
    write_report(sines.sheet(), tmp_path / "report", pictures="without")
    design = tmp_path / "report" / "design.toml"
    whole = design.read_text(encoding="utf-8")
    changed = whole.replace("air_gap_mm = ", "air_gap_mm = 1", 1)
    assert changed != whole
    for text in (changed, f"# A note.\n{whole}", whole[:-40], ""):
        design.write_text(text, encoding="utf-8")
        with pytest.raises(InputError, match=r"it holds design\.toml"):
            write_report(sines.sheet(), tmp_path / "report", pictures="without")
        assert design.read_text(encoding="utf-8") == text


@pytest.mark.parametrize("error", [RuntimeError("half"), KeyboardInterrupt()])
def test_an_interrupt_in_the_middle_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException
) -> None:
    def fail(*_: object, **__: object) -> bytes:
        assert list(tmp_path.rglob("*.png")), "the pictures are written before the PDF"
        raise error

    monkeypatch.setattr(writing, "document", fail)
    with pytest.raises(type(error)):
        write_report(sines.sheet(), tmp_path / "report")
    assert list(tmp_path.iterdir()) == []


def test_a_sweep_is_written_as_curves_table_and_result(tmp_path: Path) -> None:
    sweep = sines.sweep(7)
    write_report(sweep, tmp_path / "sweep")
    names = {path.name for path in (tmp_path / "sweep").iterdir()}
    assert names == {"torque.png", "flux_linkage.png", "sweep.csv", "result.json"}
    rows = np.loadtxt(tmp_path / "sweep" / "sweep.csv", delimiter=",", skiprows=1)
    np.testing.assert_array_equal(rows[:, 1], sweep.torque_Nm)
    np.testing.assert_array_equal(rows[:, 2:5].T, sweep.flux_linkage_Wb)
    np.testing.assert_array_equal(rows[:, 5:].T, sweep.currents_A)


def test_letters_that_the_font_lacks_make_no_noise(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Warnings are errors here: 芦 and the boat are not in the one font.
    write_report(sines.sheet(title="芦 🚤 $x$"), tmp_path / "report")
    assert capsys.readouterr() == ("", "")


def test_the_page_says_what_the_motor_does_with_current(report: Path) -> None:
    words = page_of(report).words
    place = words.index("Mean torque at the rated current, 4 A peak in the line, six-step")
    # By the sines: 25.6 mN m/A times 4 A and the mean of a cosine's top 60°, 3/π, within the
    # error of 16 samples, 0.1 %.
    assert float(words[place + 1].removesuffix(" mN m")) == pytest.approx(
        25.6 * 4 * 3 / math.pi, rel=1e-3
    )


def test_without_pictures_the_report_has_words_and_tables_alone(tmp_path: Path) -> None:
    write_report(sines.sheet(), tmp_path / "r", pictures="without")
    assert {path.name for path in (tmp_path / "r").iterdir()} == {
        "report.html", "report.pdf", "result.json", "design.toml",
    }  # fmt: skip
    shown = page_of(tmp_path / "r")
    assert shown.images == []
    assert "Verdict" in shown.words


def test_each_cause_of_ranges_is_told_once_under_its_letter() -> None:
    rows = words.answers(sines.sheet())
    html = page("t", sheet_sections(sines.sheet()))
    reasons = {row.because for row in rows if row.because}
    assert reasons
    for reason in reasons:
        assert html.count(f"<dd>{escape(reason)}</dd>") == 1


def test_a_motor_that_holds_all_of_its_load_has_no_part_at_its_limit() -> None:
    thermal = sines.sheet().thermal
    # 68.2 W is the load's power at full throttle: what holds 41 W of it is limited by a part.
    assert "It can hold 41 W for good; first at its limit: slot walls." in verdict(sines.sheet())
    lasting = sines.sheet(thermal=replace(thermal, continuous_shaft_power_W=68.2))
    said = "It can hold that for good; nearest to its limit: slot walls."
    assert said in verdict(lasting)
    assert "Part that comes nearest to its limit" in dict(heat_rows(lasting))


def test_names_of_checks_lose_their_unit_in_the_verdict() -> None:
    stop = Finding(name="air gap, mm", status="stop", why="too small.", do="widen it.")
    sentences = verdict(sines.sheet(checks=(stop,)))
    assert sentences[0] == "Do not build or run it like this. To be put right first: air gap."
    assert sentences[-1] == "First thing to do, about the air gap: widen it."


def test_the_doors_page_is_the_function_also_after_its_module_is_open() -> None:
    # A module of the same name would take its place in the package once it is imported.
    assert report_door.page is page


def luminance(colour: str) -> float:
    """Return the relative luminance of #rgb or #rrggbb. Source: WCAG 2.2, definition."""
    digits = colour.lstrip("#")
    digits = "".join(2 * one for one in digits) if len(digits) == 3 else digits
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize(
    ("words", "ground"),
    [
        ("ink", "#fff"), ("soft", "#fff"), ("deep", "#fff"), ("ink", "pale"), ("deep", "pale"),
        ("#fff", "deep"), ("#dce7f2", "deep"), ("#1d5c33", "#fff"), ("#7a4a00", "#fff"),
        ("#a01515", "#fff"),
    ],
)  # fmt: skip
def test_words_stand_out_from_their_ground(words: str, ground: str) -> None:
    # WCAG 2.2, 1.4.3: at least 4.5 to 1.
    style = (files("fem_motor.report.pages") / "report.css").read_text(encoding="utf-8")
    named = dict(re.findall(r"--(\w+): (#[0-9a-f]+)", style))
    assert words in {*named, "#fff"} or words in style
    bright, dark = sorted(luminance(named.get(one, one)) for one in (words, ground))[::-1]
    assert (bright + 0.05) / (dark + 0.05) >= 4.5


def test_every_table_says_what_its_headings_are_for_also_where_a_phone_stacks_it(
    report: Path,
) -> None:
    # WCAG 2.2, 1.3.1; roles, since browsers drop a table's own where its cells become blocks.
    text = (report / "report.html").read_text(encoding="utf-8")
    assert re.search(r'<html lang="en-GB">', text)
    headings = re.findall(r"<th\b[^>]*>", text)
    assert headings
    for heading in headings:
        assert re.search(r'scope="(col|row)" role="(columnheader|rowheader)"', heading), heading
    assert text.count("<table") == text.count('role="table"')
    assert all('role="cell"' in cell for cell in re.findall(r"<td\b[^>]*>", text))


def test_words_for_those_who_cannot_see_a_picture_have_its_main_numbers() -> None:
    for picture in pictures_of(sines.sheet()):
        assert re.search(r"\d", picture.alt), picture.name
