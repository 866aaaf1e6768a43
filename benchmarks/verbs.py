"""What each verb costs on a shipped design, and where it spends that: a table for docs/speed.md.

    python -m benchmarks.verbs [--only VERB] [--design FILE]

Each verb runs twice, one after the other, in a process of its own on one thread and one worker:
once alone, for CPU time, wall time and peak memory as the system counts them; once watched, for
the two rooms of the program that most of its CPU time is spent in. Run it alone on the machine.
"""

import argparse
import json
import os
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import FrameType
from typing import NamedTuple

ROOT = Path(__file__).parent.parent
PACKAGE = str(ROOT / "fem_motor") + os.sep
DESIGN = ROOT / "geometries" / "printed_18s16p.toml"
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

GALLERY = (ROOT / "geometries").as_posix()
VERBS: Mapping[str, str] = {
    "new": "new new.toml",
    "check": "check FILE -o check",
    "run": "run FILE -o run",
    "sweep": "sweep FILE --from 0 --to 20 --points 121 -o sweep",
    "compare": f"compare FILE {GALLERY}/printed_18s16p_ring.toml --workers 1 -o compare",
    "rank": "rank FILE --workers 1 -o rank",
    "study": f"study {(ROOT / 'studies').as_posix()}/ring_thickness.toml --workers 1"
    " --store s.sqlite -o study",
    "bench": f"bench {GALLERY}/printed_18s16p_bench.csv FILE -o bench",
    "export": "export FILE --dxf a.dxf --vtu a.vtu --winding-card w.html --magnet-card m.html"
    " --parts-list p.html",
    "materials": "materials",
    "doctor": "doctor",
}
"""The words of each verb; FILE is the design."""

ROOMS: Mapping[str, str] = {
    "field": "fields",
    "mesh": "meshing",
    "quantities": "reading fields",
    "loading": "loaded fields",
    "charts": "drawing",
    "report": "page and PDF",
    "heat": "heat",
    "drive": "drive",
    "throttle": "throttle curves",
    "cli": "the shell",
    "losses": "losses",
    "powered": "motor with load",
}
"""Names of rooms in a table, where they are not words enough."""

BETWEEN_LOOKS_S = 0.002
LIBRARIES = "opening libraries"
ELSEWHERE = "Python itself"


class Cost(NamedTuple):
    """What the system counted of one process and those that it waited for."""

    status: int
    cpu_s: float
    wall_s: float
    memory_MB: float


def cost(words: list[str], folder: Path) -> Cost:
    """Return what a command costs that runs in `folder`; its answer and advice are not kept."""
    silent = os.open(os.devnull, os.O_WRONLY)
    began = time.perf_counter()
    process = os.posix_spawn(
        "/bin/sh",
        ["sh", "-c", 'cd "$0" && exec "$@"', str(folder), *words],
        {**os.environ, **ONE_THREAD, "PYTHONPATH": str(ROOT)},
        file_actions=[(os.POSIX_SPAWN_DUP2, silent, 1), (os.POSIX_SPAWN_DUP2, silent, 2)],
    )
    _, status, used = os.wait4(process, 0)
    wall = time.perf_counter() - began
    os.close(silent)
    return Cost(
        status=os.waitstatus_to_exitcode(status),
        cpu_s=used.ru_utime + used.ru_stime,
        wall_s=wall,
        memory_MB=used.ru_maxrss / 1024,  # Linux counts KiB
    )


def room_of(frame: FrameType | None) -> str:
    """Return the room of the innermost function of ours, or that it opens libraries."""
    while frame is not None:
        name = frame.f_code.co_filename
        if name.startswith("<frozen importlib"):
            return LIBRARIES
        inside = name.removeprefix(PACKAGE)
        if inside != name and os.sep in inside:  # modules of no room serve all
            return inside.partition(os.sep)[0]
        frame = frame.f_back
    return ELSEWHERE


def watched(words: list[str]) -> Mapping[str, float]:
    """Return CPU seconds by room, from looks at the running program.

    A look comes late where compiled code runs, so each counts for the CPU time since the last.
    """
    from fem_motor.cli import main as shell  # noqa: PLC0415  (opens while it is watched)

    spent: Counter[str] = Counter()
    last = time.process_time()

    def look(_: int, frame: FrameType | None) -> None:
        nonlocal last
        now = time.process_time()
        spent[room_of(frame)] += now - last  # type: ignore[assignment]  (seconds, not a count)
        last = now

    signal.signal(signal.SIGPROF, look)
    signal.setitimer(signal.ITIMER_PROF, BETWEEN_LOOKS_S, BETWEEN_LOOKS_S)
    shell(words)
    signal.setitimer(signal.ITIMER_PROF, 0)
    return spent


def two_largest(spent: Mapping[str, float]) -> str:
    """Return the two rooms where most of the time goes, with their shares.

    >>> two_largest({"field": 3.0, "charts": 1.5, "heat": 0.5})
    'fields 60 %, drawing 30 %'
    """
    total = sum(spent.values())
    largest = sorted(spent.items(), key=lambda one: -one[1])[:2]
    return ", ".join(
        f"{ROOMS.get(room, room)} {part / total:.0%}" for room, part in largest
    ).replace("%", " %")


def rows(design: Path, only: str | None) -> Iterator[str]:
    """Yield the lines of the table; a verb that fails says its status instead."""
    yield "| verb | CPU time | wall time | peak memory | most of it |"
    yield "|---|---|---|---|---|"
    for verb, line in VERBS.items():
        if only not in (None, verb):
            continue
        words = [str(design) if word == "FILE" else word for word in line.split()]
        with tempfile.TemporaryDirectory() as alone, tempfile.TemporaryDirectory() as again:
            found = cost([sys.executable, "-m", "fem_motor", *words], Path(alone))
            told = Path(again) / "spent.json"
            watch = [sys.executable, "-m", "benchmarks.verbs", "--watch", str(told), *words]
            cost(watch, Path(again))
            if found.status:
                yield f"| {verb} | exit status {found.status} | | | |"
                continue
            most = two_largest(json.loads(told.read_text(encoding="utf-8")))
        yield (
            f"| {verb} | {found.cpu_s:.2g} s | {found.wall_s:.2g} s "
            f"| {found.memory_MB:.0f} MB | {most} |"
        )


def main() -> int:
    """Print the table."""
    if sys.argv[1:2] == ["--watch"]:
        told, *words = sys.argv[2:]
        Path(told).write_text(json.dumps(watched(words)), encoding="utf-8")
        return 0
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else "")
    parser.add_argument("--only", choices=tuple(VERBS), help="one verb")
    parser.add_argument("--design", type=Path, default=DESIGN, help="instead of the printed one")
    options = parser.parse_args()
    for row in rows(options.design.resolve(), options.only):
        print(row, flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
