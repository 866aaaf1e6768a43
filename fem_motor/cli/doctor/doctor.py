"""Say what is installed and what is missing, and solve a small case whose answer is known."""

import argparse
import tempfile
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from fem_motor.cli import options as shared
from fem_motor.cli.doctor import installation, known_case
from fem_motor.cli.terminal import answer, print_json, status_word
from fem_motor.errors import FemMotorError
from fem_motor.findings import Status

HELP = "what is installed, what is missing, does a small case come out right"
_LITTLE_MEMORY_GiB = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """One line of the answer: status, what it is about, what was found, what to do."""

    status: Status
    what: str
    found: str
    do: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _TestCase:
    """The known case: what was found and expected (T), and how long it took."""

    quantity: Literal["gap flux density, fundamental, T"]
    value: float
    expected: float
    tolerance: float
    seconds: float

    @property
    def is_right(self) -> bool:
        return abs(self.value - self.expected) <= self.tolerance * self.expected


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status: 1 where something fails."""
    versions = installation.versions()
    lines = [*_version_lines(versions), *_gmsh_lines()]
    can_solve = all(line.status == "ok" for line in lines)
    lines += _machine_lines() if can_solve else []
    case: _TestCase | None = None
    if can_solve:
        try:
            case = _solve()
            lines.append(_case_line(case))
        except FemMotorError as error:
            lines.append(_Line(status="stop", what="test case", found=str(error)))
    problems = [line for line in lines if line.status != "ok"]
    if options.json:
        print_json(
            {
                "versions": versions,
                "problems": [asdict(line) for line in problems],
                "test_case": None if case is None else asdict(case),
            }
        )
    else:
        for line in lines:
            do = f"\n         do:  {line.do}" if line.do else ""
            answer(f"{status_word(line.status)}  {line.what}: {line.found}{do}")
    return 1 if any(line.status == "stop" for line in lines) else 0


def _version_lines(versions: dict[str, str | None]) -> list[_Line]:
    lines = []
    for name, version in versions.items():
        # Run from its source tree the program itself has no version of an installed package.
        if version is None and name != "fem_motor":
            do = f"python -m pip install {name}"
            lines.append(_Line(status="stop", what=name, found="not installed", do=do))
        else:
            lines.append(_Line(status="ok", what=name, found=version or "run from its source"))
    return lines


def _gmsh_lines() -> list[_Line]:
    failure = installation.gmsh_failure()
    if failure is None:
        return [_Line(status="ok", what="gmsh's libraries", found="load")]
    missing = installation.missing_libraries(failure)
    do = installation.remedy(missing) if missing else "python -m pip install --force-reinstall gmsh"
    return [_Line(status="stop", what="gmsh's libraries", found=failure, do=do)]


def _machine_lines() -> list[_Line]:
    memory, threads = installation.free_memory_GiB(), installation.blas_threads()
    pools = ", ".join(f"{name} {count}" for name, count in threads.items()) or "none found"
    lines = [
        _Line(status="ok", what="processor cores", found=str(installation.cores())),
        _Line(status="ok", what="threads of linear algebra", found=pools),
    ]
    if memory is None:
        return lines
    is_little = memory < _LITTLE_MEMORY_GiB
    do = "close other programs, or use --quality draft" if is_little else ""
    status: Status = "watch" if is_little else "ok"
    return [*lines, _Line(status=status, what="free memory", found=f"{memory:.1f} GiB", do=do)]


def _solve() -> _TestCase:
    """Solve the known case from its file to its field, as any other design."""
    import numpy as np

    from fem_motor import performance
    from fem_motor.design import load_design

    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "known_case.toml"
        file.write_text(known_case.DESIGN, encoding="utf-8")
        sheet = performance.run(load_design(file), quality="draft")
    fields = sheet.no_load
    # Pole 1, its north face towards the shaft, stands at 0: the field is −cos there.
    pattern = -np.cos(known_case.POLE_PAIRS * np.radians(fields.gap_angle_deg))
    amplitude = 2 * np.mean(fields.gap_flux_density_T * pattern)
    return _TestCase(
        quantity="gap flux density, fundamental, T",
        value=float(amplitude),
        expected=known_case.expected_gap_fundamental(),
        tolerance=known_case.TOLERANCE,
        seconds=time.perf_counter() - start,
    )


def _case_line(case: _TestCase) -> _Line:
    found = (
        f"{case.quantity}: {case.value:.5f}, closed form {case.expected:.5f}, {case.seconds:.1f} s"
    )
    if case.is_right:
        return _Line(status="ok", what="test case", found=found)
    do = "do not trust results of this installation: reinstall it, then report this output"
    return _Line(status="stop", what="test case", found=found, do=do)
