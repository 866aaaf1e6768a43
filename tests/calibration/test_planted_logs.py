"""Logs with a fault planted in motor or stand, from the file to the cause that is named.

All logs are invented: this program's own simulator with noise. The motor of a log is another design
than the one it is held against; its field is solved anew.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from invented_logs import DEMO_LINES, Columns, SimulatedMotor, stand_log, write_log
from stand import solved

from fem_motor.bench import audit, measured, read_log, steady_segments
from fem_motor.calibration import Calibration, calibrate, evidence_of
from fem_motor.calibration.fit.causes import ALIKE
from fem_motor.calibration.model.response import with_permeability, with_remanence
from fem_motor.design import MotorDesign

pytestmark = pytest.mark.slow

STEPS = ((0.3, 10.0), (0.45, 10.0), (0.6, 10.0), (0.8, 10.0), (1.0, 10.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A motor that is not as designed, or columns that are not what they say; how it is named."""

    cause: str
    motor: Callable[[MotorDesign], MotorDesign] = lambda design: design
    columns: Callable[[Columns], Columns] = lambda log: log


def scaled(name: str, factor: float) -> Callable[[Columns], Columns]:
    return lambda log: {**log, name: factor * log[name]}


FOUND = (
    Fault(cause="weak magnets", motor=lambda design: with_remanence(design, 0.85)),
    Fault(cause="low-permeability core", motor=lambda design: with_permeability(design, 1.08)),
    Fault(cause="gap not as drawn", motor=lambda one: one.replace("machine.air_gap_mm", 1.3)),
    Fault(
        cause="1 of 2 strands carry the current",
        motor=lambda design: design.replace("winding.strands", 1),
    ),
    Fault(
        cause="12 turns instead of 14 on every tooth",
        motor=lambda design: design.replace("winding.turns_per_tooth", 12),
    ),
    Fault(cause="load-cell calibration", columns=scaled("torque", 1.12)),
    Fault(
        cause="speed counted with 7 pole pairs instead of 8", columns=scaled("speed", 8 / 7),
    ),
)  # fmt: skip


def logged(fault: Fault, folder: Path) -> Path:
    design = fault.motor(solved().design)
    file = folder / "motor.toml"
    file.write_text(design.to_toml(), encoding="utf-8")
    motor = SimulatedMotor(file)
    log = stand_log(
        motor, rng=np.random.default_rng(8), steps=STEPS, rate=30.0,
        heat=lambda current: 0.2 * current**2,
    )  # fmt: skip
    names = ("time", "throttle", "torque", "speed", "voltage", "current")
    return write_log(
        folder / "log.csv", fault.columns(log), first_lines=DEMO_LINES.split("\n")[0] + "\n",
        names=names,
    )  # fmt: skip


def calibrated(path: Path) -> Calibration:
    design = solved().design
    log = read_log(path)
    segments = steady_segments(log)
    doubts = audit(
        log, segments, motor=design.motor, speed_constant=solved().constants.speed_per_dc
    )
    found = measured(log, segments, motor=design.motor, doubts=doubts)
    evidence = evidence_of(log, found.points, segments=segments, ambient_C=21.0)
    return calibrate(design, solved().powered, evidence, ends=solved().end_factor, doubts=doubts)


@pytest.mark.parametrize("fault", FOUND, ids=lambda fault: fault.cause)
def test_a_planted_fault_stands_first_or_among_those_that_explain_as_well(
    fault: Fault, tmp_path: Path
) -> None:
    found = calibrated(logged(fault, tmp_path))
    best = found.explanations[0].score
    alike = [one.cause for one in found.explanations if one.score >= best * math.exp(-ALIKE / 2)]
    assert fault.cause in alike
    assert found.explanations[alike.index(fault.cause)].next_measurement


@pytest.mark.parametrize(
    ("name", "factor"), [("speed", 8.0), ("voltage", 0.4)],
    ids=["electrical revolutions", "more power out than in"],
)  # fmt: skip
def test_a_log_that_fails_its_audit_is_explained_but_not_calibrated(
    name: str, factor: float, tmp_path: Path
) -> None:
    found = calibrated(logged(Fault(cause="", columns=scaled(name, factor)), tmp_path))
    assert dict(found.calibrated) == {}
    assert found.calibrated_design == ""
    assert found.explanations


def test_a_load_cell_turned_round_leaves_no_point_of_which_causes_could_be_told(
    tmp_path: Path,
) -> None:
    # It would take power from the shaft and from the supply: the audit has a word on that.
    found = calibrated(logged(Fault(cause="", columns=scaled("torque", -1.0)), tmp_path))
    assert dict(found.calibrated) == {}
    assert found.explanations == ()
    (finding,) = found.findings
    assert finding.why.startswith("no steady point has speed, torque above zero, voltage and")
