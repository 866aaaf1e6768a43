from fem_motor.design import MotorDesign, load_design
from fem_motor.errors import DesignError, FemMotorError
from fem_motor.findings import Finding
from fem_motor.performance import (
    PerformanceSheet,
    check,
    rotor_sweep,
    run,
    solve_field,
)
from fem_motor.quantities import RotorSweep
from fem_motor.report import draw_flux_map, draw_section, write_report

__version__: str

__all__ = [
    "DesignError",
    "FemMotorError",
    "Finding",
    "MotorDesign",
    "PerformanceSheet",
    "RotorSweep",
    "__version__",
    "check",
    "draw_flux_map",
    "draw_section",
    "load_design",
    "rotor_sweep",
    "run",
    "solve_field",
    "write_report",
]
