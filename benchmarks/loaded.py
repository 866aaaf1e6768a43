"""Time what currents cost against what the fields without current cost, and the tolerance study.

    python -m benchmarks.loaded

One thread, process time, each case in a process of its own; the loaded sweep covers one electrical
period of currents at the limit. Goals: at most a fifth more than the no-load study on a printed
core, at most twice on steel, ten thousand uneven rotors in seconds.
"""

import argparse
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import fem_motor as fm
from benchmarks.accuracy import print_table
from fem_motor.loading import StallCurrent, demagnetisation, dq_map, loaded_torque
from fem_motor.mesh import mesh_motor
from fem_motor.quantities import motor_model
from fem_motor.winding import wind

ROOT = Path(__file__).parent.parent
DESIGNS = ("printed_18s16p", "steel_9s12p", "steel_12s14p")
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")


def timed(name: str) -> dict[str, float]:
    """Return seconds of process time by what was done with a shipped design."""
    design = fm.load_design(ROOT / "geometries" / f"{name}.toml")
    fm.rotor_sweep(design, angles_deg=[0.0], quality="draft")  # imports
    motor = design.motor
    seconds = {}

    def clocked(what: str, before: float) -> float:
        seconds[what] = time.process_time() - before
        return time.process_time()

    now = time.process_time()
    mesh, winding = mesh_motor(motor), wind(motor)
    model = motor_model(motor, winding, mesh)
    now = clocked("no-load model", now)
    # The model's stages are wall time, which other work stretches: their shares of process time.
    stages = model.timing_s
    whole = seconds["no-load model"]
    share = {stage: spent / sum(stages.values()) for stage, spent in stages.items()}
    seconds["ready"] = share["mesh with currents"] * whole
    seconds["inductance"] = share["inductance"] * whole
    seconds["no-load model"] = whole - seconds["ready"] - seconds["inductance"]
    limit = motor.drive.current_limit
    loaded_torque(model, peak=limit, waveform=motor.drive.controller)
    now = clocked("loaded sweep", now)
    dq_map(model, peak=limit)
    now = clocked("dq map", now)
    held = StallCurrent(line_peak=limit, held_by="current limit")
    demagnetisation(motor, model, line_peak=limit, stall=lambda _: held)
    now = clocked("demagnetisation", now)
    if model.problem.is_linear:
        fm.tolerance_study(design, samples=10_000)
        clocked("tolerance", now)
    return seconds


def in_a_process(name: str) -> dict[str, float]:
    """Return the same, measured in a process of its own."""
    done = subprocess.run(  # noqa: S603  (this interpreter, on this module)
        (sys.executable, "-m", "benchmarks.loaded", "--one", name),
        cwd=ROOT,
        env=os.environ | ONE_THREAD,
        capture_output=True,
        check=True,
        text=True,
    )
    found: dict[str, float] = json.loads(done.stdout)
    return found


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--one", choices=DESIGNS, help=argparse.SUPPRESS)
    only = parser.parse_args().one
    if only:
        print(json.dumps(timed(only)))
        return
    rows = []
    for name in DESIGNS:
        found = in_a_process(name)
        both = found["no-load model"] + found["ready"] + found["loaded sweep"]
        rows.append(
            (
                name,
                *(
                    f"{found[what]:.2f}"
                    for what in (
                        "no-load model", "ready", "loaded sweep", "inductance", "dq map",
                        "demagnetisation",
                    )
                ),
                f"{both / found['no-load model']:.2f}",
                f"{found['tolerance']:.1f}" if "tolerance" in found else "–",
            )
        )  # fmt: skip
    print("Seconds of process time, one thread, standard quality")
    print_table(
        (
            "design", "without current", "mesh for currents", "loaded sweep",
            "inductance", "dq map", "demagnetisation", "loaded and unloaded over unloaded",
            "10 000 uneven rotors",
        ),
        iter(rows),
    )  # fmt: skip


if __name__ == "__main__":
    main()
