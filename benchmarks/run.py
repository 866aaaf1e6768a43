"""Time fem_motor and plain finite-element codes on one machine in one run, time beside error.

    python -m benchmarks.run [--quick] [--without-plain] [--history FILE]

One thread each, one process per measurement, one after the other: run it alone on the machine.
"""

import argparse
import json
import os
import platform
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
ROOT = Path(__file__).parent.parent
COMPARED_ANGLES = (16, 60)


class Row(NamedTuple):
    """A study in the table: seconds at 16 and 60 angles."""

    code: str
    dofs: int
    error: float | None
    seconds: tuple[float, float]
    memory_MB: float


def measure(name: str, *words: str) -> dict[str, Any]:
    """Return one measurement from a process of its own."""
    finished = subprocess.run(  # noqa: S603
        [sys.executable, "-m", "benchmarks.measure", name, *words],
        cwd=ROOT,
        env={**os.environ, **ONE_THREAD},
        check=False,
        capture_output=True,
        text=True,
    )
    if finished.returncode:
        last = finished.stderr.strip().splitlines()[-1:] or ["no message"]
        print(f"{name} {' '.join(words)} failed: {last[0]}", file=sys.stderr)
        return {}
    print(f"{name} {' '.join(words)} done", file=sys.stderr)
    result: dict[str, Any] = json.loads(finished.stdout.splitlines()[-1])
    return result


def plans(options: argparse.Namespace) -> list[tuple[str, ...]]:
    """Return the measurements of this run in their order."""
    qualities = ("standard",) if options.quick else ("draft", "standard", "fine")
    counts = ("1", "16", "60")
    plan: list[tuple[str, ...]] = [("start-up",)]
    plan += [("study", quality, count) for quality in qualities for count in counts]
    plan += [("linear", "1"), ("linear", "101"), ("designs", "3" if options.quick else "10")]
    plan += [("run", quality) for quality in qualities]
    if options.without_plain:
        return plan
    angles = ("0.75",) if options.quick else ("0.375", "0.75", "1.125")
    plan += [("plain", code, *angles) for code in ("scikit-fem P2 coarse", "NGSolve order 3")]
    if not options.quick:
        plan += [("plain", f"NGSolve {which}", *angles) for which in ("order 4", "4, within 0.1 %")]
        plan.append(("plain", "scikit-fem P2 fine", "0.75"))
    return plan


def study_rows(results: dict[tuple[str, ...], dict[str, Any]]) -> list[Row]:
    """Return the studies that finished, plain ones scaled from their angles."""
    rows = []
    for quality in ("draft", "standard", "fine"):
        pair = [results.get(("study", quality, str(count)), {}) for count in COMPARED_ANGLES]
        if all(pair):
            rows.append(
                Row(
                    code=f"fem_motor {quality}",
                    dofs=pair[0]["dofs"],
                    error=max(one["error"] for one in pair),
                    seconds=(pair[0]["seconds"], pair[1]["seconds"]),
                    memory_MB=max(one["memory_MB"] for one in pair),
                )
            )
    for key, result in results.items():
        if key[0] == "plain" and result:
            each = result["seconds_per_angle"]
            scaled = (COMPARED_ANGLES[0] * each, COMPARED_ANGLES[1] * each)
            rows.append(Row(key[1], result["dofs"], result["error"], scaled, result["memory_MB"]))
    return rows


def print_studies(rows: list[Row]) -> None:
    """Print time and error together, and how many times longer each study takes than ours."""
    print("\nNo-load study over one cogging period, meshing included")
    ours = {row.code.removeprefix("fem_motor "): row for row in rows if "fem_motor" in row.code}
    against = [quality for quality in ("standard", "fine") if quality in ours]
    heads = "".join(f"  times {quality:>8} (16, 60)" for quality in against)
    print(
        f"{'code':24}{'unknowns':>9}{'cogging error':>15}{'16 angles':>11}{'60 angles':>11}", end=""
    )
    print(f"{'memory':>9}{heads}")
    for row in rows:
        error = "-" if row.error is None else f"{100 * row.error:.2f} %"
        print(
            f"{row.code:24}{row.dofs:>9}{error:>15}{row.seconds[0]:>9.2f} s"
            f"{row.seconds[1]:>9.2f} s{row.memory_MB:>6.0f} MB",
            end="",
        )
        for quality in against:
            ratios = [
                mine / base for mine, base in zip(row.seconds, ours[quality].seconds, strict=True)
            ]
            print(f"{ratios[0]:>14.1f}, {ratios[1]:>8.1f}", end="")
        print()


def print_pieces(results: dict[tuple[str, ...], dict[str, Any]]) -> None:
    """Print where the time goes, and how it grows."""
    print("\nPieces")
    for key, result in results.items():
        stages = result.get("stages", {})
        pieces = ", ".join(f"{stage} {1e3 * value:.0f} ms" for stage, value in stages.items())
        total = result.get("seconds", result.get("seconds_per_angle"))
        if total is not None:
            print(f"  {' '.join(key):45}{total:>8.3f} s  {pieces}")
    start = results.get(("start-up",), {})
    if start:
        print(
            f"  import {1e3 * (start['import'] - start['python']):.0f} ms, --help "
            f"{1e3 * start['help']:.0f} ms (bare Python {1e3 * start['python']:.0f} ms of it)"
        )
    _print_growth(results)


def _print_growth(results: dict[tuple[str, ...], dict[str, Any]]) -> None:
    single = {}
    for quality in ("draft", "standard", "fine"):
        counted = [results.get(("study", quality, str(count)), {}) for count in (1, 16, 60)]
        if not all(counted):
            continue
        first, some, many = (one["seconds"] for one in counted)
        single[counted[0]["dofs"]] = first
        print(
            f"  {quality}: first angle {first:.3f} s, each further one "
            f"{1e3 * (some - first) / 15:.1f} ms to 16 and {1e3 * (many - some) / 44:.1f} ms to 60"
        )
    if len(single) > 1:
        exponent = np.polyfit(np.log(list(single)), np.log(list(single.values())), 1)[0]
        print(f"  one angle grows with unknowns to the power {exponent:.2f}")
    linear = [results.get(("linear", count), {}) for count in ("1", "101")]
    if all(linear):
        further = (linear[1]["seconds"] - linear[0]["seconds"]) / 100
        first = linear[0]["seconds"]
        print(f"  plastic core: first {first:.3f} s, further {1e3 * further:.2f} ms each")


def main() -> None:
    """Measure, print, and add a line to the history."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--quick", action="store_true", help="standard quality, one plain angle")
    parser.add_argument("--without-plain", action="store_true", help="fem_motor alone")
    parser.add_argument("--history", type=Path, help="JSON lines, one added per run")
    options = parser.parse_args()
    results = {plan: measure(*plan) for plan in plans(options)}
    desk = {"processor": _processor(), "cores": os.cpu_count(), "python": platform.python_version()}
    print(", ".join(f"{name} {value}" for name, value in desk.items()))
    print_studies(study_rows(results))
    print_pieces(results)
    if options.history:
        line = {
            "date": datetime.now(UTC).isoformat(timespec="seconds"),
            "desk": desk,
            "results": {" ".join(key): value for key, value in results.items()},
        }
        with options.history.open("a", encoding="utf-8") as history:
            history.write(json.dumps(line) + "\n")


def _processor() -> str:
    information = Path("/proc/cpuinfo")
    if information.exists():
        for line in information.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine()


if __name__ == "__main__":
    main()
