"""What a report can be made of."""

from dataclasses import dataclass

from fem_motor.design import MotorDesign
from fem_motor.findings import Finding
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep


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
    """

    file: str
    design: MotorDesign
    findings: tuple[Finding, ...]
    picture: str | None = None


Result = PerformanceSheet | RotorSweep | DesignCheck
