"""Kill, interrupt and starve the program while it writes, and look for what is half-written.

    python -m benchmarks.faults [--strikes 5] [--start 1] [--verb run]

Each verb that writes is struck with SIGKILL, which no program can catch, and with SIGINT (Ctrl-C),
both while its files appear; it meets a full disk and a folder that may not be written. Then every
file under its own name must be whole or absent; an interrupt must end with status 130 and leave
nothing but a finished table, the others with an error that says what to do; and the same command
must work afterwards. What SIGKILL leaves is a hidden file or folder that names the process; the
next one that writes there removes it.
The file system of the full disk and the one that is read-only are mounted where the user may do
that (root, with unshare); otherwise the size of files is limited and rights are taken away.
"""

import argparse
import json
import os
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

import numpy as np

ROOT = Path(__file__).parent.parent
DESIGN = ROOT / "geometries" / "printed_18s16p.toml"
PATIENCE_S = 600
INTERRUPTED = 130

STUDY = f"""
title = "Magnets"
question = "How thick?"
base = "{DESIGN.as_posix()}"
quality = "draft"
record = ["motor_constant_Nm_per_sqrtW"]
axis = [{{ key = "rotor.magnet_thickness_mm", values = [2.5, 3.0, 3.5] }}]
verdict = {{ of = "motor_constant_Nm_per_sqrtW" }}
"""


class Verb(NamedTuple):
    """A command that writes, what it keeps by intention, and how long its writing takes."""

    line: str
    keeps: tuple[str, ...]
    writing_s: float


VERBS: Mapping[str, Verb] = {
    "check": Verb("check FILE -o out", (), 0.5),
    "run": Verb("run FILE --quality draft -o out", (), 3.0),
    "export": Verb(
        "export FILE --quality draft --dxf a.dxf --vtu a.vtu --winding-card a.html", (), 0.01
    ),
    "study": Verb(
        "study study.toml --store kept.sqlite --export a.csv -o out --workers 2",
        # The table is finished, and stays, when the figures that follow are interrupted.
        ("kept.sqlite", "kept.sqlite-wal", "kept.sqlite-shm", "a.csv"),
        1.0,
    ),
}

ENDS = {
    ".html": b"</html>",
    ".pdf": b"%%EOF",
    ".png": b"IEND\xaeB`\x82",
    ".dxf": b"EOF",
    ".vtu": b"</VTKFile>",
    ".csv": b"",
    ".txt": b"",
}
"""What a whole file of each kind ends with, white space aside."""

READERS: dict[str, Callable[[str], object]] = {".json": json.loads, ".toml": tomllib.loads}
"""What reads a whole file of its kind; a TOML file that is cut between two lines passes."""


def is_whole(path: Path) -> bool:
    """Return whether a file is complete, by its own format."""
    if path.suffix == ".sqlite":
        with closing(sqlite3.connect(path)) as store:
            return store.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    content = path.read_bytes()
    if path.suffix in READERS:
        try:
            READERS[path.suffix](content.decode())
        except ValueError:
            return False
        return bool(content)
    return bool(content) and content.rstrip().endswith(ENDS[path.suffix])


def half_written(folder: Path) -> Iterator[str]:
    """Yield every file under its own name that is not whole; a report has its result.json."""
    for path in sorted(folder.rglob("*")):
        parts = path.relative_to(folder).parts
        if parts == ("study.toml",) or parts[0].startswith(".") or parts[0].endswith("-shm"):
            continue
        if path.is_dir():
            if not (path / "result.json").exists():
                yield f"{path.name} without its result.json"
        elif not path.name.endswith("-wal") and not is_whole(path):
            yield f"{path.name} is cut"


def begun(verb: Verb, folder: Path, *, before: str = "") -> subprocess.Popen[str]:
    """Return the running program, in `folder`, after a line of shell."""
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    words = [str(DESIGN) if word == "FILE" else word for word in verb.line.split()]
    shell = ["/bin/sh", "-c", f'{before}\nexec "$@"', "sh"]
    return subprocess.Popen(  # noqa: S603
        [*shell, sys.executable, "-m", "fem_motor", *words, "--quiet"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def struck(verb: Verb, folder: Path, *, blow: signal.Signals, delay: float) -> tuple[int, str]:
    """Return status and stderr of a program that was struck so long after it began to write."""
    program = begun(verb, folder)
    limit = time.monotonic() + PATIENCE_S
    while program.poll() is None and not _is_writing(folder) and time.monotonic() < limit:
        time.sleep(0.001)
    time.sleep(delay)
    if program.poll() is None:
        if blow == signal.SIGINT:  # as a terminal does it: to all of the foreground
            os.killpg(program.pid, blow)
        else:
            os.kill(program.pid, blow)
    _, err = program.communicate(timeout=PATIENCE_S)
    return program.returncode, err


def _is_writing(folder: Path) -> bool:
    """Return whether something hidden is there: a file, or a folder that holds one."""
    for path in folder.glob(".*"):
        try:
            if path.is_file() or any(path.iterdir()):
                return True
        except OSError:  # gone, or moved to its place
            continue
    return False


def faults_of_a_blow(
    verb: Verb, folder: Path, *, blow: signal.Signals, delay: float
) -> Iterator[str]:
    """Yield what is wrong after one blow."""
    status, err = struck(verb, folder, blow=blow, delay=delay)
    yield from half_written(folder)
    if "Traceback" in err or "this is a bug" in err:
        yield f"bug: {err[-300:]}"
    if blow == signal.SIGKILL:
        if status not in {-signal.SIGKILL, 0}:
            yield f"status {status} after SIGKILL"
        return
    if status == 0:  # it had ended before
        return
    if status != INTERRUPTED or not err.endswith("interrupted.\n"):
        yield f"status {status} after Ctrl-C, and {err[-100:]!r}"
    left = {path.name for path in folder.iterdir()} - {"study.toml", *verb.keeps}
    if left:
        yield f"left after Ctrl-C: {', '.join(sorted(left))}"


def faults_without_room(verb: Verb, folder: Path, *, before: str) -> Iterator[str]:
    """Yield what is wrong where the disk is full or may not be written: shell line `before`."""
    program = begun(verb, folder, before=before)
    _, err = program.communicate(timeout=PATIENCE_S)
    yield from half_written(folder)
    if program.returncode not in {1, 2} or "do:" not in err or "bug" in err or "Trace" in err:
        yield f"status {program.returncode}: {err[-300:]}"
    left = {path.name for path in folder.iterdir()} - {"study.toml", *verb.keeps}
    if left:
        yield f"left: {', '.join(sorted(left))}"


LIMITED = "ulimit -f 8"
"""Files of 8 blocks of 512 bytes: less than any picture, more than the text of an error."""


def may_mount() -> bool:
    """Return whether file systems may be mounted here, in a name space of their own."""
    trial = ["unshare", "-m", "mount", "-t", "tmpfs", "tmpfs", "/mnt"]
    try:
        return subprocess.run(trial, capture_output=True, check=False).returncode == 0  # noqa: S603
    except OSError:
        return False


def mounted(options: str) -> str:
    """Return the line of shell that gives the program a file system of its own at its folder.

    Its name space, and what stood there, end with the program; what was left is said on stderr.
    """
    return f"""
exec unshare -m /bin/sh -c '
cp study.toml /dev/shm/study.$$.toml
mount -t tmpfs -o size=64k tmpfs "$PWD" && cd "$PWD" && mv /dev/shm/study.$$.toml study.toml
{options}
"$@"; status=$?
left=$(ls -A | grep -v "^study.toml$" | grep -v "^kept.sqlite")
test "$left" && echo "Traceback: left $left" >&2
exit $status' sh "$@\""""


def lives(verb: Verb, folder: Path) -> Iterator[str]:
    """Yield what is wrong with a command that is left alone after all that."""
    program = begun(verb, folder)
    _, err = program.communicate(timeout=PATIENCE_S)
    if program.returncode:
        yield f"afterwards: status {program.returncode}, {err[-300:]}"
    yield from half_written(folder)
    yield from (f"{path.name} is still there" for path in sorted(folder.glob(".*")))


def trials(
    verb: Verb, folder: Path, *, strikes: int, rng: np.random.Generator
) -> Iterator[tuple[str, list[str]]]:
    """Yield what was done to a verb, and what was wrong then."""
    for blow in (signal.SIGKILL, signal.SIGINT):
        for number in range(strikes):
            delay = float(rng.uniform(0, verb.writing_s))
            place = _new(folder, f"{blow.name} {number}")
            yield (
                f"{blow.name} {1e3 * delay:.0f} ms after the first file",
                list(faults_of_a_blow(verb, place, blow=blow, delay=delay)),
            )
            if blow == signal.SIGKILL and number == 0:
                yield "the same command again", list(lives(verb, place))
    full = {"files limited to 4 KiB": LIMITED}
    if may_mount():
        full |= {
            "a disk of 64 KiB": mounted(""),
            "a disk that is read-only": mounted('mount -o remount,ro "$PWD"'),
        }
    for name, before in full.items():
        place = _new(folder, name)
        yield name, list(faults_without_room(verb, place, before=before))


def _new(folder: Path, name: str) -> Path:
    place = folder / name.replace(" ", "_")
    place.mkdir()
    return place


def main() -> int:
    """Do it all, and return 0 where nothing was half-written."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else "")
    parser.add_argument("--strikes", type=int, default=5, help="of each kind, for each verb")
    parser.add_argument("--start", type=int, default=1, help="another number, other moments")
    parser.add_argument("--verb", choices=tuple(VERBS), help="one verb only")
    options = parser.parse_args()
    rng = np.random.default_rng(options.start)
    say: Callable[..., None] = print
    wrong = 0
    for name in [options.verb] if options.verb else list(VERBS):
        with tempfile.TemporaryDirectory() as folder:
            for done, faults in trials(VERBS[name], Path(folder), strikes=options.strikes, rng=rng):
                wrong += bool(faults)
                say(f"{name}, {done}: {'; '.join(faults) or 'well met'}", flush=True)
    say(f"{wrong} faulty" if wrong else "nothing half-written")
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
