import io

import pytest

from fem_motor.cli.terminal import Progress, finding_text, status_style
from fem_motor.findings import Finding


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Return what a terminal returns."""
        return True


def pretend_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    # Not a fixture: pytest sets stdout anew between the fixtures and the test.
    monkeypatch.setattr("sys.stdout", Terminal())
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)


def test_status_words_are_coloured_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend_a_terminal(monkeypatch)
    assert status_style() == "coloured"
    finding = Finding(name="slot fill", status="stop", value=0.7, limit=0.5)
    assert finding_text(finding) == "\033[31mstop \033[0m  slot fill: 0.7 (at most 0.5)"


def test_no_color_is_honoured(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend_a_terminal(monkeypatch)
    # no-color.org: "when present and not an empty string".
    monkeypatch.setenv("NO_COLOR", "1")
    assert status_style() == "plain"
    monkeypatch.setenv("NO_COLOR", "")
    assert status_style() == "coloured"


def test_nothing_is_coloured_in_a_file(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdout", io.StringIO())
    assert status_style() == "plain"


def drawn(style: str, steps: int = 100) -> str:
    stream = io.StringIO()
    shown = Progress(stream, style=style)  # type: ignore[arg-type]  # one of the three words
    for done in range(steps + 1):
        shown(done, steps, "fields")
    shown.close()
    return stream.getvalue()


def test_progress_in_a_file_is_a_few_plain_lines() -> None:
    assert drawn("lines", 8).splitlines() == [f"fields: {done} of 8" for done in (0, 2, 4, 6, 8)]


def test_progress_of_many_steps_in_a_file_is_no_standstill() -> None:
    assert drawn("lines", 600).splitlines() == [
        f"fields: {done} of 600" for done in range(0, 601, 30)
    ]


def test_progress_on_a_terminal_is_one_line_that_goes_away() -> None:
    text = drawn("bar")
    assert "\n" not in text
    assert "[############            ] fields 50/100" in text
    assert text.endswith("\r\033[K")


def test_quiet_shows_no_progress() -> None:
    assert drawn("none") == ""


def test_a_stage_without_steps_does_not_fail() -> None:
    stream = io.StringIO()
    Progress(stream, style="bar")(0, 0, "mesh")
    assert "mesh" in stream.getvalue()
