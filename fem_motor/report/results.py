"""What a report can be made of."""

from dataclasses import dataclass

from fem_motor.bench import BenchResult
from fem_motor.calibration import CalibratedBench
from fem_motor.comparison import Comparison, Ranking
from fem_motor.design import MotorDesign
from fem_motor.findings import Finding
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep
from fem_motor.study import StudyResult
from fem_motor.winding import WindingFault


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignCheck:
    """The findings on one design file.

    Attributes
    ----------
    file : str
        As the user named it.
    design : MotorDesign
        For the picture of the section; not part of the JSON.
    findings : tuple of Finding
    picture : str or None
        Path of the picture of the section, where one is drawn.
    faults : tuple of WindingFault or None
        What readings at the leads say, the likeliest first; None where none were given.
    """

    file: str
    design: MotorDesign
    findings: tuple[Finding, ...]
    picture: str | None = None
    faults: tuple[WindingFault, ...] | None = None


Result = (
    PerformanceSheet
    | RotorSweep
    | DesignCheck
    | BenchResult
    | CalibratedBench
    | StudyResult
    | Comparison
    | Ranking
)
