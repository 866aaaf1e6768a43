from fem_motor.charts import draw_flux_map, draw_section
from fem_motor.comparison import compare, rank
from fem_motor.design import MotorDesign, load_design
from fem_motor.errors import DesignError, FemMotorError
from fem_motor.export import write_exports
from fem_motor.findings import Finding
from fem_motor.performance import (
    PerformanceSheet,
    check,
    rotor_sweep,
    run,
    solve_field,
    solve_powered,
    tolerance_study,
)
from fem_motor.quantities import RotorSweep
from fem_motor.report import write_report
from fem_motor.study import load_study, run_study
from fem_motor.winding import rank_winding_faults, wind

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
    "compare",
    "draw_flux_map",
    "draw_section",
    "load_design",
    "load_study",
    "rank",
    "rank_winding_faults",
    "rotor_sweep",
    "run",
    "run_study",
    "solve_field",
    "solve_powered",
    "tolerance_study",
    "wind",
    "write_exports",
    "write_report",
]
