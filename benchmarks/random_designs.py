"""Solve random designs that can be built and look for what must never happen.

    python -m benchmarks.random_designs [--number 1000] [--first 0] [--workers 2] [--sides]

Every design is drawn over the whole design file by `tests/strategies.py`; number n is the same
design on every desk. For each one this holds: the run ends in a sheet, or in one of the program's
own errors with a reason; three torques agree; with `--sides` the sector gives what the whole circle
gives; the JSON has no null without a finding that is not ok. What does not hold is printed with
the number, and with the design where `--show` asks for it; at the end the slowest design and the
one that took the most memory. Needs `.[test]`.
"""

import argparse
import json
import os
import resource
import sys
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from hypothesis import HealthCheck, Phase, given, seed, settings

TESTS = Path(__file__).parent.parent / "tests"
sys.path[:0] = [str(TESTS)]

from strategies import designs  # noqa: E402

import fem_motor as fm  # noqa: E402
from fem_motor.report import result_to_json  # noqa: E402

SAME = 1e-6
"""Largest difference of sector and whole circle over the largest value: Newton stops at 1e-5 of
the load, and errors of A enter squared or times that again."""

TOLD = 25
"""Designs from one line of progress to the next."""

OPTIONAL = (
    "no_load.ring_flux_density_T",  # no ring, or a ring that is not asked about
    "design.",
    "checks.",
    "provenance.",
)
"""Nulls that need no finding: the figure does not exist in such a machine."""


class Outcome(NamedTuple):
    """What became of one design: a word, details, seconds, and MiB at the worker's peak so far."""

    number: int
    word: str
    details: str
    seconds: float
    peak: float


def drawn(number: int) -> fm.MotorDesign:
    """Return random design `number`, always the same one."""
    found: list[fm.MotorDesign] = []

    @seed(number)
    @settings(
        max_examples=1,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(design=designs())
    def collect(design: fm.MotorDesign) -> None:
        found.append(design)

    collect()
    return found[-1]


def nulls(value: object, place: str = "") -> Iterator[str]:
    """Yield the place of every null in plain data."""
    if value is None and not place.startswith(OPTIONAL):
        yield place
    elif isinstance(value, dict):
        for name, part in value.items():
            yield from nulls(part, f"{place}.{name}" if place else str(name))
    elif isinstance(value, list):
        for part in value:
            yield from nulls(part, place)


def faults_of(design: fm.MotorDesign) -> Iterator[str]:
    """Yield what is wrong with the sheet of a design."""
    sheet = fm.run(design, quality="draft")
    plain: dict[str, Any] = json.loads(json.dumps(result_to_json(sheet), allow_nan=False))
    for check in plain["checks"]:
        if check["name"].startswith("spread of three torques") and check["status"] != "ok":
            yield f"three torques: {check['value']:.3g} N m, limit {check['limit']:.3g}"
    without = sorted(set(nulls(plain)))
    if without and all(check["status"] == "ok" for check in plain["checks"]):
        yield f"null without a finding: {', '.join(without)}"


def differences(design: fm.MotorDesign) -> Iterator[str]:
    """Yield where a sector and the whole circle give different answers."""
    angles = np.array([0.7, 3.1])
    for currents in ((0.0, 0.0, 0.0), (3.0, -1.0, -2.0)):
        sector, whole = (
            fm.rotor_sweep(
                design, angles_deg=angles, currents_A=currents, quality="draft", extent=extent
            )
            for extent in ("sector", "whole")
        )
        scale = np.abs(whole.flux_linkage_Wb).max()
        linkage = np.abs(sector.flux_linkage_Wb - whole.flux_linkage_Wb).max()
        torque = np.abs(sector.torque_Nm - whole.torque_Nm).max()
        most = max(np.abs(whole.torque_Nm).max(), scale * max(np.abs(currents)))
        if linkage > SAME * scale or torque > 10 * SAME * max(most, scale):
            yield f"sector and whole differ: {linkage / scale:.1e} of flux, {torque:.1e} N m"


def tried(task: tuple[int, bool]) -> Outcome:
    """Return what became of one design."""
    number, with_sides = task
    started = time.perf_counter()
    try:
        design = drawn(number)
        faults = list(faults_of(design))
        if with_sides:
            faults += differences(design)
        word, details = ("fault", "; ".join(faults)) if faults else ("solved", "")
    except fm.FemMotorError as error:
        word, details = "refused", " ".join(str(error).split())
    except Exception as error:  # noqa: BLE001  (whatever it is, it is what is looked for)
        word, details = "crashed", f"{type(error).__name__}: {error}"
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # KiB on Linux
    return Outcome(number, word, details, time.perf_counter() - started, peak)


def main() -> None:
    """Draw, solve, and print what went wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--number", type=int, default=1000, help="designs; 1000 by default")
    parser.add_argument("--first", type=int, default=0, help="number of the first design")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--sides", action="store_true", help="compare sector and whole circle")
    parser.add_argument("--show", action="store_true", help="print the first design as a file")
    options = parser.parse_args()
    if options.show:
        print(drawn(options.first).to_toml())
        return
    os.environ["OMP_NUM_THREADS"] = "1"
    tasks = [(options.first + n, options.sides) for n in range(options.number)]
    words: Counter[str] = Counter()
    slowest = largest = Outcome(0, "", "", 0.0, 0.0)
    with ProcessPoolExecutor(options.workers, mp_context=get_context("spawn")) as pool:
        for done, outcome in enumerate(pool.map(tried, tasks), 1):
            words[outcome.word] += 1
            if done % TOLD == 0:
                print(f"{done} of {len(tasks)}", file=sys.stderr, flush=True)
            slowest = max(slowest, outcome, key=lambda one: one.seconds)
            # A worker's peak never falls: the first design that reaches the highest set it.
            largest = max(largest, outcome, key=lambda one: one.peak)
            if outcome.details:
                print(f"{outcome.number} {outcome.word}: {outcome.details}", flush=True)
    print(", ".join(f"{count} {word}" for word, count in sorted(words.items())))
    print(f"slowest: design {slowest.number}, {slowest.seconds:.1f} s")
    print(f"largest: design {largest.number}, {largest.peak:.0f} MiB at the peak of its worker")
    sys.exit(1 if words["fault"] or words["crashed"] else 0)


if __name__ == "__main__":
    main()
