"""The table of a study as files: every digit, no formula, one clear error where it cannot be."""

import csv
import json
import sqlite3
from dataclasses import replace
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from fem_motor.batch import Outcome, ResultStore
from fem_motor.design import load_design
from fem_motor.errors import InputError
from fem_motor.findings import Headline
from fem_motor.report import summary_text, write_report
from fem_motor.study import StudyResult, refuse_bad_table, write_table
from fem_motor.study.records import Axis, Row, Step, Study, Variant

OF = "motor_constant_Nm_per_sqrtW"


@pytest.fixture
def result() -> StudyResult:
    """Return two rows, the second without answers and with a label that is a formula."""
    labels = ("a", '=HYPERLINK("x")')
    study = Study(
        title="T", question="Q?", note="", base=load_design("geometries/printed_18s16p.toml"),
        quality="draft", record=(OF,),
        axes=(Axis(name="axis", steps=tuple(Step(label=one, changes={}) for one in labels)),),
    )  # fmt: skip
    values = {OF: Headline(value=0.1 + 0.2, low=0.25, high=0.5, because="by hand")}
    rows = (
        Row(variant=Variant(labels={"axis": labels[0]}, changes={}), values=values,
            outcome=Outcome(key="k", title="T", status="solved", text=json.dumps({}))),
        Row(variant=Variant(labels={"axis": labels[1]}, changes={}), values={OF: None},
            outcome=Outcome(key="", title="T", status="refused", reason="teeth meet")),
    )  # fmt: skip
    return StudyResult(study=study, rows=rows)


def test_csv_keeps_every_digit_and_disarms_formulas(result: StudyResult, tmp_path: Path) -> None:
    write_table(result, tmp_path / "table.csv")
    rows = list(csv.DictReader((tmp_path / "table.csv").read_text("utf-8").splitlines()))
    assert float(rows[0][OF]) == 0.1 + 0.2
    assert (rows[0][f"{OF} low"], rows[0][f"{OF} high"]) == ("0.25", "0.5")
    assert rows[1] == {
        "axis": '\'=HYPERLINK("x")', "status": "refused", "reason": "teeth meet",
        OF: "", f"{OF} low": "", f"{OF} high": "", "key": "",
    }  # fmt: skip
    assert [path.name for path in tmp_path.iterdir()] == ["table.csv"]


def test_parquet_has_the_same_columns(result: StudyResult, tmp_path: Path) -> None:
    write_table(result, tmp_path / "table.parquet")
    found = pq.read_table(tmp_path / "table.parquet").to_pydict()
    assert found[OF] == [0.1 + 0.2, None]
    assert found["status"] == ["solved", "refused"]


@pytest.mark.parametrize("name", ["table.xls", "nowhere/table.csv", "folder.csv"])
def test_a_table_that_cannot_be_written_is_refused_first(name: str, tmp_path: Path) -> None:
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(InputError) as caught:
        refuse_bad_table(tmp_path / name)
    assert str(caught.value).startswith(f"--export {tmp_path / name} ")


def test_a_full_disk_is_one_error_and_what_was_kept_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = ResultStore(tmp_path / "results.sqlite")
    first = Outcome(key="a" * 64, title="A", status="solved", text="{}")
    store.keep(first)
    connect = sqlite3.connect

    def small(path: Path, timeout: float) -> sqlite3.Connection:
        # SQLite's own limit of pages fails as a full disk does: SQLITE_FULL.
        connection = connect(path, timeout=timeout)
        connection.execute("PRAGMA max_page_count = 3")
        return connection

    monkeypatch.setattr(sqlite3, "connect", small)
    with pytest.raises(InputError) as caught:
        store.keep(Outcome(key="b" * 64, title="B", status="solved", text="x" * 100_000))
    assert str(caught.value) == (
        f"{store.path} cannot be used as a store of results.\n"
        "  why: database or disk is full.\n"
        "  do:  name another file with --store, make room on the disk, or allow writing there."
    )
    assert store.all() == (first,)


def test_the_folder_of_a_study_says_its_answers_in_words(
    result: StudyResult, tmp_path: Path
) -> None:
    write_report(result, tmp_path / "out")
    assert (tmp_path / "out" / "answers.txt").read_text("utf-8") == summary_text(result) + "\n"
    assert "[1] motor constant, mN m/√W" in summary_text(result)
    assert "motor_constant_Nm" not in summary_text(result)


def test_the_page_of_a_study_has_question_value_with_range_and_what_failed(
    result: StudyResult, tmp_path: Path
) -> None:
    write_report(result, tmp_path / "out")
    page = (tmp_path / "out" / "report.html").read_text("utf-8")
    page = page.replace("\N{NO-BREAK SPACE}", " ")
    # The unit stands in the heading of the column, the number with its range below it.
    for words in (
        "Q?",
        "otor constant, mN m/√W",
        ">300 (250 to 500)<",
        "teeth meet",
        "A propeller cuts",
    ):
        assert words in page
    assert "=HYPERLINK(&quot;x&quot;): teeth meet" in page
    assert "<script" not in page


def test_a_label_on_the_screen_is_whole_or_shows_that_its_end_is_left_out(
    result: StudyResult,
) -> None:
    whole, long = "sine controller, magnets over 0.75 of the pole", "tips 1.6 mm thick, " * 4
    rows = tuple(
        replace(row, variant=replace(row.variant, labels=dict.fromkeys(row.variant.labels, label)))
        for row, label in zip((result.rows[0], result.rows[0]), (whole, long), strict=True)
    )
    text = summary_text(replace(result, rows=rows))
    assert whole in text
    assert f"{long[:47]}…" in text
    assert all(len(line) <= 100 for line in text.splitlines())
