"""The single measurements; each is run in a process of its own, so that memory means something.

    python -m benchmarks.measure NAME [NUMBER …]

prints one JSON object. `benchmarks.run` calls it and makes the table.
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Literal

import numpy as np
from threadpoolctl import threadpool_limits

from benchmarks import machine
from benchmarks.machine import FloatArray, Solved

Quality = Literal["draft", "standard", "fine"]


# -- fem_motor -------------------------------------------------------------------------------


def load(**options: Any) -> Any:
    """Return the benchmark machine as a design."""
    import fem_motor as fm  # noqa: PLC0415  (its import is one of the things measured)

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "benchmark.toml"
        path.write_text(machine.design_text(**options), encoding="utf-8")
        return fm.load_design(path)


def study(quality: Quality, angles: str) -> dict[str, Any]:
    """Time a no-load study over one cogging period, meshing included; find its cogging error."""
    import fem_motor as fm  # noqa: PLC0415

    count = int(angles)
    design = load()
    _warm_up(fm, design)
    period = machine.COGGING_PERIOD_DEG
    angle_deg = np.arange(count) * period / count
    started = time.perf_counter()
    sweep = fm.rotor_sweep(design, angles_deg=angle_deg, currents_A=(0, 0, 0), quality=quality)
    seconds = time.perf_counter() - started
    return {
        "seconds": seconds,
        "stages": dict(sweep.timing_s),
        "dofs": sweep.dofs,
        "cogging_peak_mNm": 1e3 * float(np.abs(_between(sweep.torque_Nm, 2000)).max()),
        "error": _error(lambda at: _at(sweep.torque_Nm, at / period)) if count >= 8 else None,
    }


def linear_study(angles: str) -> dict[str, Any]:
    """Time the same with a plastic core, where nothing saturates."""
    import fem_motor as fm  # noqa: PLC0415

    design = load(core="plastic")
    _warm_up(fm, design)
    angle_deg = np.linspace(0, machine.COGGING_PERIOD_DEG, int(angles), endpoint=False)
    started = time.perf_counter()
    sweep = fm.rotor_sweep(design, angles_deg=angle_deg, currents_A=(0, 0, 0))
    seconds = time.perf_counter() - started
    return {"seconds": seconds, "stages": dict(sweep.timing_s), "dofs": sweep.dofs}


def designs(count: str) -> dict[str, Any]:
    """Time designs of changing magnet thickness, 16 angles each."""
    import fem_motor as fm  # noqa: PLC0415

    candidates = [load(magnet_mm=3 + 0.05 * k) for k in range(int(count))]
    _warm_up(fm, candidates[0])
    angle_deg = np.arange(16) * machine.COGGING_PERIOD_DEG / 16
    started = time.perf_counter()
    for design in candidates:
        fm.rotor_sweep(design, angles_deg=angle_deg, currents_A=(0, 0, 0))
    return {"seconds": time.perf_counter() - started}


def whole_run(quality: Quality) -> dict[str, Any]:
    """Time the performance sheet."""
    import fem_motor as fm  # noqa: PLC0415

    design = load()
    started = time.perf_counter()
    sheet = fm.run(design, quality=quality)
    return {"seconds": time.perf_counter() - started, "stages": dict(sheet.timing_s)}


def start_up() -> dict[str, Any]:
    """Time bare Python, the import of the package, and --help; the best of five each."""
    commands = {
        "python": ["-c", "pass"],
        "import": ["-c", "import fem_motor"],
        "help": ["-m", "fem_motor", "--help"],
    }
    return {name: min(_seconds_of(words) for _ in range(5)) for name, words in commands.items()}


def _warm_up(fm: Any, design: Any) -> None:
    """Load the libraries that open on first use, so that a study does not pay for them."""
    fm.rotor_sweep(design, angles_deg=[0.0], currents_A=(0, 0, 0), quality="draft")


def _seconds_of(words: list[str]) -> float:
    started = time.perf_counter()
    subprocess.run([sys.executable, *words], check=True, capture_output=True)  # noqa: S603
    return time.perf_counter() - started


# -- plain codes -----------------------------------------------------------------------------


def plain(code: str, *angles_deg: str) -> dict[str, Any]:
    """Time single angles of a plain code; its study time is the mean times the angles."""
    solve = _plain_codes()[code]
    solved = {float(angle): solve(float(angle)) for angle in angles_deg}
    seconds = [sum(one.seconds.values()) for one in solved.values()]
    first = next(iter(solved.values()))
    return {
        "seconds_per_angle": float(np.mean(seconds)),
        "stages": {
            stage: float(np.mean([one.seconds[stage] for one in solved.values()]))
            for stage in first.seconds
        },
        "dofs": first.dofs,
        "newton_steps": [one.newton_steps for one in solved.values()],
        "torque_mNm": {str(angle): 1e3 * one.torque_Nm for angle, one in solved.items()},
        "error": _error(lambda angle: solved[angle].torque_Nm, *solved),
    }


def _plain_codes() -> Mapping[str, Callable[[float], Solved]]:
    from benchmarks import plain_ngsolve, plain_skfem  # noqa: PLC0415  (ngsolve is an extra)

    return {
        "scikit-fem P2 coarse": lambda angle: plain_skfem.cogging(angle, plain_skfem.COARSE),
        "scikit-fem P2 fine": lambda angle: plain_skfem.cogging(angle, plain_skfem.FINE),
        "NGSolve order 3": lambda angle: plain_ngsolve.cogging(angle, plain_ngsolve.ORDER_3),
        "NGSolve order 4": lambda angle: plain_ngsolve.cogging(angle, plain_ngsolve.ORDER_4),
        "NGSolve 4, within 0.1 %": lambda angle: plain_ngsolve.cogging(
            angle, plain_ngsolve.ORDER_4_WITHIN_A_THOUSANDTH
        ),
    }


# -- errors ----------------------------------------------------------------------------------


def _error(torque_Nm: Callable[[float], float], *angles_deg: float) -> float:
    """Return the largest deviation from the reference over its largest value."""
    reference = machine.REFERENCE_TORQUE_NM
    scale = max(abs(value) for value in reference.values())
    return max(abs(torque_Nm(at) - reference[at]) for at in angles_deg or reference) / scale


def _at(torque: FloatArray, share: float) -> float:
    """Return the trigonometric interpolation at a share of the period."""
    orders = np.fft.fftfreq(len(torque), 1 / len(torque))
    return float((np.fft.fft(torque) @ np.exp(2j * np.pi * orders * share)).real) / len(torque)


def _between(torque: FloatArray, points: int) -> FloatArray:
    return np.array([_at(torque, k / points) for k in range(points)])


MEASUREMENTS: Mapping[str, Callable[..., dict[str, Any]]] = {
    "study": study,
    "linear": linear_study,
    "designs": designs,
    "run": whole_run,
    "start-up": start_up,
    "plain": plain,
}


def main() -> None:
    """Print one measurement with the peak memory of the process."""
    name, *words = sys.argv[1:]
    with threadpool_limits(1):
        result = MEASUREMENTS[name](*words)
    kilobytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(json.dumps({**result, "memory_MB": kilobytes / 1024}))


if __name__ == "__main__":
    main()
