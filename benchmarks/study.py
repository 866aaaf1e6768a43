"""Time a study of 200 printed-core designs on one process and on two, and their ratio.

    python -m benchmarks.study [--designs 200] [--workers 2]

Every design has another geometry, so every one is meshed and solved. Run it alone on the machine;
the answers of both runs are compared as well.
"""

import argparse
import os
import time
from pathlib import Path

from fem_motor.batch import Outcome, solve_designs
from fem_motor.design import MotorDesign, load_design

BASE = Path(__file__).parent.parent / "geometries" / "printed_18s16p.toml"
THINNEST, THICKEST = 2.5, 3.5
"""mm of the magnets."""


def designs(number: int) -> list[MotorDesign]:
    """Return so many designs that differ in the thickness of their magnets."""
    base, step = load_design(BASE), (THICKEST - THINNEST) / max(number - 1, 1)
    return [base.replace(rotor__magnet_thickness_mm=THINNEST + k * step) for k in range(number)]


def timed(wanted: list[MotorDesign], workers: int) -> tuple[float, tuple[Outcome, ...]]:
    """Return the seconds that all take, and what became of them."""
    started = time.perf_counter()
    outcomes = solve_designs(wanted, quality="draft", workers=workers)
    return time.perf_counter() - started, outcomes


def main() -> int:
    """Run it and return 0 where both runs have the same answers."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--designs", type=int, default=200)
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    wanted = designs(options.designs)
    load = os.getloadavg()[0]
    solve_designs(wanted[:1], quality="draft")  # libraries loaded
    one, alone = timed(wanted, 1)
    print(f"{len(wanted)} designs, draft quality; load before: {load:.1f}")
    print(f"1 process: {one:.1f} s, {one / len(wanted):.2f} s a design")
    several, shared = timed(wanted, options.workers)
    print(f"{options.workers} processes: {several:.1f} s; ratio {one / several:.2f}")
    solved = sum(outcome.status == "solved" for outcome in alone)
    print(f"solved: {solved}; the same answers: {'yes' if alone == shared else 'NO'}")
    return 0 if alone == shared else 1


if __name__ == "__main__":
    raise SystemExit(main())
