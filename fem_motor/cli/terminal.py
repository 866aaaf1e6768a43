"""What goes to the terminal: advice, progress, and colour where it is wanted."""

import json
import os
import signal
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from typing import Any, Literal, TextIO

from fem_motor.errors import FemMotorError
from fem_motor.findings import Finding

_COLOURS = {"ok": "32", "watch": "33", "stop": "31"}
_BAR = 24
_LINES_FOR_A_STAGE, _LINES_OF_A_LONG_ONE, _LONG = 4, 20, 40
"""Without a terminal: many designs take hours, and a few lines would look like a standstill."""


def say(text: str) -> None:
    """Print advice or an error to stderr, whatever becomes of it."""
    outlive_readers()
    with suppress(OSError):
        print(text, file=sys.stderr, flush=True)


def answer(text: str) -> None:
    """Print the answer, or a part of it, to stdout.

    Raises
    ------
    BrokenPipeError
        Where its reader went away.
    FemMotorError
        Where it cannot be written for another reason.
    """
    outlive_readers()
    try:
        print(text, flush=True)
    except BrokenPipeError:
        raise
    except OSError as error:
        close_stdout()
        raise FemMotorError(
            "the answer could not be written to the end.",
            why=f"{error.strerror or error}.",
            do="make room on the disk, or send the answer elsewhere.",
            place="stdout:",
        ) from error


def print_json(plain: Mapping[str, Any] | Sequence[Any]) -> None:
    """Print plain data to stdout as one JSON document on one line."""
    text = json.dumps(plain, ensure_ascii=False, allow_nan=False)
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        # An escape of JSON's own stays readable; one of the terminal's would break the document.
        text = json.dumps(plain, allow_nan=False)
    answer(text)


def outlive_readers() -> None:
    """Make writing to a closed pipe an error that can be met, not the end of the process.

    So Python starts, but gmsh sets the signal back, and a run whose progress nobody reads any
    more would die without its report.
    """
    # Windows has no such signal; threads other than the main one cannot set it.
    with suppress(AttributeError, ValueError):
        signal.signal(signal.SIGPIPE, signal.SIG_IGN)


def close_stdout() -> None:
    """Point stdout at nothing, so that Python's own flush at exit does not fail again."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):  # stdout has no descriptor: nothing to flush
        return


def status_style() -> Literal["plain", "coloured"]:
    """Return whether status words may be coloured: on a terminal, without NO_COLOR."""
    is_wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return "coloured" if sys.stdout.isatty() and is_wanted else "plain"


def status_word(status: str) -> str:
    """Return ok, watch or stop, five columns wide, coloured where colour is wanted."""
    if status_style() == "plain":
        return f"{status:<5}"
    return f"\033[{_COLOURS[status]}m{status:<5}\033[0m"


def finding_text(finding: Finding) -> str:
    """Return a finding as printed, its status word coloured where colour is wanted."""
    rest = str(finding).removeprefix(f"{finding.status:<5}")
    return f"{status_word(finding.status)}{rest}"


class Progress:
    """Draws (done, of, stage): a bar on a terminal, a few plain lines elsewhere, or nothing."""

    def __init__(self, stream: TextIO, *, style: Literal["bar", "lines", "none"]) -> None:
        self._stream = stream
        self._style = style
        self._shown: tuple[str, int] = ("", -1)

    def __call__(self, done: int, of: int, stage: str) -> None:
        """Show that `done` of `of` steps of a stage are done."""
        if self._style == "none":
            return
        lines = _LINES_OF_A_LONG_ONE if of >= _LONG else _LINES_FOR_A_STAGE
        parts = _BAR if self._style == "bar" else lines
        mark = (stage, parts * done // max(of, 1))
        if mark == self._shown:
            return
        self._shown = mark
        if self._style == "bar":
            filled = "#" * min(mark[1], _BAR)
            self._write(f"\r\033[K[{filled:<{_BAR}}] {stage} {done}/{of}")
        else:
            self._write(f"{stage}: {done} of {of}\n")

    def close(self) -> None:
        """Take the bar away."""
        if self._style == "bar" and self._shown[1] >= 0:
            self._write("\r\033[K")

    def _write(self, text: str) -> None:
        outlive_readers()
        with suppress(OSError):
            self._stream.write(text)
            self._stream.flush()


@contextmanager
def progress(*, quiet: bool) -> Iterator[Progress]:
    """Hand out what draws progress on stderr, and clean up after it."""
    is_terminal = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
    shown = Progress(sys.stderr, style="none" if quiet else "bar" if is_terminal else "lines")
    try:
        yield shown
    finally:
        shown.close()
