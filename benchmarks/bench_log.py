"""Time reading and segmenting a test-stand log of ten hours at 80 Hz.

    python -m benchmarks.bench_log [--rows N]

makes the file (invented numbers) in a temporary folder, reads it in a process of its own, and
prints CPU seconds and peak memory. The aim: three million rows in under 10 s on one core, 1 GiB.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
ROOT = Path(__file__).parent.parent
RATE = 80
BLOCK = 100_000
HEADINGS = "time_s,throttle_pct,thrust_gf,torque_mNm,speed_rpm,voltage_V,current_A,winding_temp_C"


def write_rows(path: Path, rows: int) -> None:
    """Write a log: half a minute of rest, then throttle steps of 15 s, over and over."""
    rng = np.random.default_rng(1)
    with path.open("w", encoding="utf-8") as file:
        file.write(f"# invented\n{HEADINGS}\n")
        for first in range(0, rows, BLOCK):
            time_s = np.arange(first, min(first + BLOCK, rows)) / RATE
            step = (time_s // 15).astype(int) % 8
            duty = np.array((0.0, 0.0, 0.3, 0.5, 0.7, 0.9, 1.0, 0.6))[step]
            speed = 6900 * duty**0.8
            noise = rng.standard_normal((5, len(time_s)))
            table = np.column_stack(
                (
                    time_s,
                    100 * duty,
                    930 * (speed / 6900) ** 2 * (1 + 0.02 * noise[0]) + 2 * noise[0],
                    128 * (speed / 6900) ** 2 * (1 + 0.02 * noise[1]) + 0.4 * noise[1],
                    speed * (1 + 0.002 * noise[2]),
                    14.8 - 0.36 * duty**2.5 + 0.01 * noise[3],
                    12 * duty**2.5 * (1 + 0.01 * noise[4]) + 0.02 * noise[4],
                    40 + 20 * np.sin(time_s / 600),
                )
            )
            np.savetxt(file, table, fmt="%.4f,%.0f,%.1f,%.2f,%.1f,%.3f,%.3f,%.1f")


def measure(path: Path) -> dict[str, float]:
    """Return CPU seconds and peak memory of reading and segmenting."""
    from fem_motor.bench import read_log, steady_segments  # noqa: PLC0415  (counted in the memory)

    started = time.process_time()
    log = read_log(path)
    read = time.process_time()
    segments = steady_segments(log)
    done = time.process_time()
    return {
        "rows": log.rows_read,
        "segments": len(segments),
        "reading_s": read - started,
        "segmenting_s": done - read,
        "memory_MB": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }


def main() -> None:
    """Make the file, measure in a process of its own, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--rows", type=int, default=3_000_000)
    parser.add_argument("--measure", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.measure:
        print(json.dumps(measure(options.measure)))
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        write_rows(path, options.rows)
        size = path.stat().st_size / 2**20
        done = subprocess.run(  # noqa: S603
            [sys.executable, "-m", "benchmarks.bench_log", "--measure", str(path)],
            cwd=ROOT,
            env={**os.environ, **ONE_THREAD},
            check=True,
            capture_output=True,
            text=True,
        )
    found = json.loads(done.stdout)
    print(
        f"{found['rows']:.0f} rows ({size:.0f} MiB), {found['segments']:.0f} segments: reading "
        f"{found['reading_s']:.2f} s, segmenting {found['segmenting_s']:.2f} s of CPU time, "
        f"peak memory {found['memory_MB']:.0f} MiB"
    )


if __name__ == "__main__":
    main()
