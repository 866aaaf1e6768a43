"""The kinds of files that `benchmarks.mutations` spoils: where they come from, how they are read.

Whatever is long comes after reading and is left out: a study is only checked, a log is measured
without a calibration, prices, profiles and checks are read and shown.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from fem_motor.bench import BenchResult, audit, measured, read_log, steady_segments
from fem_motor.calibration import read_checks
from fem_motor.cli import main as run_command
from fem_motor.cli.run.profile import read_profile
from fem_motor.cli.terminal import answer, print_json, say
from fem_motor.comparison import Prices
from fem_motor.design import MotorDesign, load_design
from fem_motor.errors import FemMotorError
from fem_motor.report import result_to_json, summary_text
from fem_motor.toml_file import read_text

ROOT = Path(__file__).parent.parent
LOG = ROOT / "geometries" / "printed_18s16p_bench.csv"
ROWS = 120
SPEED_CONSTANT = 33.0
"""rad/s per V, close to that of the printed design: what an audit compares with."""

COLUMNS = b"""
[columns]
time = { heading = "time", unit = "s" }
thrust = { heading = "thrust", unit = "gf", sign = 1, tare = true }
torque = { heading = 3, unit = "mN m" }
speed = { heading = "speed", unit = "rpm", scale = 1.0, offset = 0.0 }
[stand]
inertia_kg_m2 = 2.5e-4
winding_resistance_20C_ohm = 0.394
air_density_kg_per_m3 = 1.19
test = "load"
full_throttle = false
[uncertainty]
torque = 0.02
[file]
delimiter = ","
decimal = "."
"""
PRICES = b"""
currency = "EUR"
[per_kg]
iron-filled-pla-10vol = 45.0
pla = 20
[per_piece]
ndfeb-n42h = 0.45
[per_m]
copper = 0.06
"""
PROFILE_CSV = b"# full, then half\ntime_s,throttle\n0,1.0\n20,0.35\n120,0.5\n160,0\n220,0\n"
PROFILE_TOML = b"time_s = [0, 20, 120, 160, 220]\nthrottle = [1.0, 0.35, 0.5, 0, 0.0]\n"
CHECKS = b"""
[resistance]
ohm = 0.44
temperature_C = 21
uncertainty_percent = 1
[drill]
speed_rpm = 1200
voltage_V = 1.05
meter = "ac meter"
[inductance]
line_line_uH = 60
[[coast_down]]
inertia_kg_m2 = 4e-5
time_s = [0, 1, 2]
speed_rpm = [3000, 2700, 2420]
[standstill]
arm_mm = 100
scale_N = 0.9
current_A = 8
[air_gap]
gap_mm = 0.9
[magnet]
remanence_T = 1.29
"""


class Source(NamedTuple):
    """A file that is as it should be."""

    name: str
    data: bytes


class Kind(NamedTuple):
    """What is spoilt, and what reads the spoilt file: it prints and returns an exit status."""

    sources: Callable[[], Sequence[Source]]
    read: Callable[[Path], int]


def _files(pattern: str) -> Callable[[], Sequence[Source]]:
    @cache
    def sources() -> Sequence[Source]:
        return [Source(one.name, one.read_bytes()) for one in sorted(ROOT.glob(pattern))]

    return sources


@cache
def _studies() -> Sequence[Source]:
    # The spoilt file lies elsewhere, and its base must still be found there.
    folder = (ROOT / "geometries").as_posix().encode()
    return [
        Source(name, data.replace(b'"../geometries/', b'"' + folder + b"/"))
        for name, data in _files("studies/*.toml")()
    ]


@cache
def _logs() -> Sequence[Source]:
    """Return a few hundred rows of our log: thinned, a stretch, and as other programs write it."""
    lines = LOG.read_text(encoding="utf-8").splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("time"))
    head, rows = lines[: at + 1], lines[at + 1 :]
    thin = "\n".join([*head, *rows[:: len(rows) // ROWS]])
    stretch = "\n".join([*head, *rows[-ROWS:]])
    decimals = stretch.replace(",", ";").replace(".", ",")
    tabs = thin.replace(",", "\t")
    texts = {"thin": thin, "stretch": stretch, "decimals": decimals, "tabs": tabs}
    return [Source(f"{name}.csv", text.encode()) for name, text in texts.items()]


def _texts(**texts: bytes) -> Callable[[], Sequence[Source]]:
    """Return sources from texts by name, the last _ in it a dot."""
    return lambda: [Source(".".join(name.rsplit("_", 1)), data) for name, data in texts.items()]


def _verb(*words: str) -> Callable[[Path], int]:
    return lambda path: run_command([str(path) if word == "FILE" else word for word in words])


def _reader(read: Callable[[Path], Any]) -> Callable[[Path], int]:
    """Return what shows what was read, with the manners of a verb."""

    def shown(path: Path) -> int:
        try:
            found = read(path)
        except FemMotorError as error:
            say(str(error))
            return error.exit_code
        answer(str(found))
        return 0

    return shown


@cache
def _design() -> MotorDesign:
    return load_design(ROOT / "geometries" / "printed_18s16p.toml")


def _measured(log_file: Path, columns: Path | None = None) -> int:
    """Show what a log measured, as `bench` does before it calibrates."""
    design = _design()
    try:
        log = read_log(log_file, columns=columns)
        segments = steady_segments(log)
        doubts = audit(log, segments, motor=design.motor, speed_constant=SPEED_CONSTANT)
        found = BenchResult(
            title=design.title, log=log, segments=segments, audit=doubts,
            measured=measured(log, segments, motor=design.motor, doubts=doubts),
        )  # fmt: skip
    except FemMotorError as error:
        say(str(error))
        return error.exit_code
    print_json(result_to_json(found))
    summary_text(found)
    return 0


def _mapped(path: Path) -> int:
    log = path.with_name("log.csv")
    log.write_bytes(_logs()[0].data)
    try:
        return _measured(log, path)
    finally:
        log.unlink()


def _prices(path: Path) -> Prices:
    return Prices.from_toml(read_text(path, kind="list of prices"), name=str(path))


KINDS: Mapping[str, Kind] = {
    "design": Kind(_files("geometries/*.toml"), _verb("check", "FILE", "--json")),
    "material": Kind(
        _files("tests/design/data/own_materials.toml"), _verb("check", "FILE", "--json")
    ),
    "study": Kind(_studies, _verb("study", "FILE", "--check", "--json")),
    "log": Kind(_logs, _measured),
    "columns": Kind(_texts(columns_toml=COLUMNS), _mapped),
    "prices": Kind(_texts(prices_toml=PRICES), _reader(_prices)),
    "profile": Kind(
        _texts(profile_csv=PROFILE_CSV, profile_toml=PROFILE_TOML), _reader(read_profile)
    ),
    "checks": Kind(_texts(checks_toml=CHECKS), _reader(read_checks)),
}
