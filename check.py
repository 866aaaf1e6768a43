"""Run the gates of the house, one after the other, and say which held.

``python check.py`` takes under a minute: format, lint, types, fast tests. ``python check.py --all``
adds the slow tests and the examples of the pages; continuous integration runs that one.

The exit status is 0 where every gate held, 1 where one failed. A gate that fails does not keep
the next one from running, so one call shows everything that has to be mended. Tests come last
and are shown as they run; the other gates speak only when they fail.
"""

import argparse
import importlib.util
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

ROOT = Path(__file__).resolve().parent
ONE_THREAD = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "BLIS_NUM_THREADS"), "1"
)
"""Two test processes with a thread pool each would fight over the cores."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A module of this interpreter to run, and whether its words are for every day."""

    name: str
    arguments: tuple[str, ...]
    shown: Literal["always", "on failure"] = "on failure"


def gates(extent: Literal["fast", "all"]) -> Iterator[Gate]:
    """Hand out the gates in the order in which they run."""
    yield Gate(name="format", arguments=("ruff", "format", "--check", "."))
    yield Gate(name="lint", arguments=("ruff", "check", "."))
    yield Gate(name="types", arguments=("mypy",))
    tests: tuple[str, ...] = ("pytest",)
    if importlib.util.find_spec("xdist"):
        # A file stays in one process: its fixtures, often a whole field solution, are made once.
        tests += ("-n", "2", "--dist", "loadfile")
    if extent == "fast":
        tests += ("-m", "not slow", "fem_motor", "tests")
    yield Gate(name="tests", arguments=tests, shown="always")


def is_held(gate: Gate) -> bool:
    """Run `gate`, print its line, and return whether it held."""
    started = time.perf_counter()
    done = subprocess.run(
        (sys.executable, "-m", *gate.arguments),
        cwd=ROOT,
        env=os.environ | ONE_THREAD,
        check=False,
        stdout=None if gate.shown == "always" else subprocess.PIPE,
        stderr=None if gate.shown == "always" else subprocess.STDOUT,
        text=True,
    )
    seconds = time.perf_counter() - started
    if done.returncode:
        print(done.stdout or "", end="")
    word = "failed" if done.returncode else "ok"
    print(f"{gate.name:<7} {word:<6} {seconds:6.1f} s", flush=True)
    return not done.returncode


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the gates that `arguments` ask for and return the exit status."""
    parser = argparse.ArgumentParser(description="Run the gates: format, lint, types, tests.")
    parser.add_argument("--all", action="store_true", help="slow tests and pages as well")
    extent: Literal["fast", "all"] = "all" if parser.parse_args(arguments).all else "fast"
    held = [is_held(gate) for gate in gates(extent)]
    return 0 if all(held) else 1


if __name__ == "__main__":
    sys.exit(main())
