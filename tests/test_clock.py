"""No answer depends on the clock of the machine, set back or wrong."""

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "fem_motor"
OF_THE_DAY = {"time", "time_ns", "clock_gettime", "clock_gettime_ns", "ctime", "asctime"}
"""Of Python's module time; others, as perf_counter and monotonic, are never set."""

ELSEWHERE = re.compile(r"\b(st_[acm]time|getmtime|strftime|localtime|gmtime)\b")


def clocks_read(tree: ast.AST) -> Iterator[str]:
    """Yield every use of the modules that know the time of day."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.value.id == "time" and node.attr in OF_THE_DAY:
                yield f"time.{node.attr}"
        elif isinstance(node, ast.ImportFrom) and node.module in {"time", "datetime"}:
            yield from (f"{node.module}.{name.name}" for name in node.names)
        elif isinstance(node, ast.Import):
            yield from (name.name for name in node.names if name.name == "datetime")


MAY_DATE = {"cli/verbs/bench.py": ["datetime"]}
"""The shell dates a prediction that is kept; nothing is computed from the date."""


def test_no_module_reads_the_time_of_day_but_to_date_a_prediction() -> None:
    files = sorted(PACKAGE.rglob("*.py"))
    assert len(files) > 100
    found = {
        path.relative_to(PACKAGE).as_posix(): list(clocks_read(ast.parse(path.read_text("utf-8"))))
        for path in files
    }
    assert {name: uses for name, uses in found.items() if uses} == MAY_DATE
    assert [path.name for path in files if ELSEWHERE.search(path.read_text("utf-8"))] == []


def test_a_clock_that_is_read_would_be_found() -> None:
    assert list(clocks_read(ast.parse("import time\nx = time.time()"))) == ["time.time"]
    assert list(clocks_read(ast.parse("from datetime import date"))) == ["datetime.date"]


SET_BACK = """
import sys, time
time.time = lambda: {second}
time.time_ns = lambda: {second} * 10**9
from fem_motor.cli import main
sys.exit(main(["run", "geometries/printed_18s16p.toml", "--quality", "draft", "-o", {folder!r}]))
"""


@pytest.mark.slow
def test_a_report_of_1999_is_that_of_2040_but_for_how_long_it_took(tmp_path: Path) -> None:
    reports = []
    for second in (915_148_800, 2_208_988_800):  # 1 January of both years, UTC
        folder = tmp_path / str(second)
        code = SET_BACK.format(second=second, folder=str(folder))
        subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)  # noqa: S603
        result = json.loads((folder / "result.json").read_text(encoding="utf-8"))
        result.pop("timing_s")
        files = {path.name: path.read_bytes() for path in folder.iterdir()}
        files.pop("result.json")
        reports.append((result, files))
    (one, one_files), (other, other_files) = reports
    assert one == other
    assert {n for n in one_files if one_files[n] != other_files.get(n)} == set()
