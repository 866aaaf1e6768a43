"""Kill a small study at random moments, resume it, and hold its table against an undisturbed one.

    python -m benchmarks.endurance [--kills 20] [--start 1]

Every kill is SIGKILL, which no program can catch. Prints one line for each life, and whether the
table and the store are those of the undisturbed study, bit for bit.
"""

import argparse
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from fem_motor.batch import Outcome, ResultStore

ROOT = Path(__file__).parent.parent
SHORTEST, LONGEST = 0.5, 12.0
"""s of a life: before the first design is done, up to after some."""

STUDY = """
title = "Magnets of the reed-bed drive"
question = "How thick?"
base = "{base}"
quality = "draft"
record = ["motor_constant_Nm_per_sqrtW", "cogging_peak_to_peak_Nm", "loaded.rated.mean_torque_Nm"]
axis = [{{ key = "rotor.magnet_thickness_mm", from = 2.5, to = 3.5, points = {designs} }}]
verdict = {{ of = "motor_constant_Nm_per_sqrtW" }}
"""

Table = tuple[bytes, tuple[Outcome, ...]]


def endure(
    folder: Path,
    *,
    kills: int,
    designs: int,
    rng: np.random.Generator,
    say: Callable[[str], None],
    longest: float = LONGEST,
) -> tuple[Table, Table]:
    """Return table and store of a study that was killed so often, and of one that was not."""
    study = folder / "magnets.toml"
    base = ROOT / "geometries" / "printed_18s16p.toml"
    study.write_text(STUDY.format(base=base, designs=designs), encoding="utf-8")
    whole = _finished(study, folder / "whole")
    killed = folder / "killed"
    for number in range(1, kills + 1):
        seconds = float(rng.uniform(SHORTEST, longest))
        life = _begun(study, killed)
        time.sleep(seconds)
        ended = life.poll() is not None
        if not ended:
            os.kill(life.pid, signal.SIGKILL)
        life.wait()
        store = killed.with_suffix(".sqlite")
        kept = len(ResultStore(store).all()) if store.exists() else 0
        say(f"life {number}: {seconds:.1f} s, {'finished' if ended else 'killed'}, {kept} kept")
        if ended:  # begin again: there is nothing left to disturb
            for path in folder.glob("killed.*"):
                path.unlink()
    return _finished(study, killed), whole


def _begun(study: Path, name: Path) -> subprocess.Popen[bytes]:
    words = ["study", str(study), "--store", f"{name}.sqlite", "--export", f"{name}.csv"]
    return subprocess.Popen(  # noqa: S603
        [sys.executable, "-m", "fem_motor", *words, "--workers", "2", "--quiet"],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        start_new_session=True,
    )


def _finished(study: Path, name: Path) -> Table:
    status = _begun(study, name).wait()
    if status:
        raise SystemExit(f"the study ended with status {status}")
    return Path(f"{name}.csv").read_bytes(), ResultStore(Path(f"{name}.sqlite")).all()


def main() -> int:
    """Run it and return 0 where nothing was lost or changed."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--start", type=int, default=1, help="another number, other moments")
    options = parser.parse_args()
    rng = np.random.default_rng(options.start)
    with tempfile.TemporaryDirectory() as folder:
        killed, whole = endure(Path(folder), kills=options.kills, designs=24, rng=rng, say=print)
    same = killed == whole
    print(f"table and store after {options.kills} kills: {'the same' if same else 'DIFFERENT'}")
    return 0 if same else 1


if __name__ == "__main__":
    raise SystemExit(main())
