"""What will this outrunner motor do, and what should change first.

The public door. A name opens its room on first use, so importing the package costs next to
nothing; what each name is stands in ``__init__.pyi`` for editors and type checkers.

>>> import fem_motor as fm
>>> print(fm.Finding(name="slot fill", status="ok", value=0.31, limit=0.45))
ok     slot fill: 0.31 (at most 0.45)
"""

from importlib import import_module

__version__ = "0.1.0"

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

_ROOM_OF = {
    "DesignError": "fem_motor.errors",
    "FemMotorError": "fem_motor.errors",
    "Finding": "fem_motor.findings",
    "MotorDesign": "fem_motor.design",
    "PerformanceSheet": "fem_motor.performance",
    "RotorSweep": "fem_motor.quantities",
    "check": "fem_motor.performance",
    "compare": "fem_motor.comparison",
    "draw_flux_map": "fem_motor.charts",
    "draw_section": "fem_motor.charts",
    "load_design": "fem_motor.design",
    "load_study": "fem_motor.study",
    "rank": "fem_motor.comparison",
    "rank_winding_faults": "fem_motor.winding",
    "rotor_sweep": "fem_motor.performance",
    "run": "fem_motor.performance",
    "run_study": "fem_motor.study",
    "solve_field": "fem_motor.performance",
    "solve_powered": "fem_motor.performance",
    "tolerance_study": "fem_motor.performance",
    "wind": "fem_motor.winding",
    "write_exports": "fem_motor.export",
    "write_report": "fem_motor.report",
}
"""A public name and the module that hands it out; ``__init__.pyi`` tells type checkers the same."""


def __getattr__(name: str) -> object:
    if name not in _ROOM_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(_ROOM_OF[name]), name)
    globals()[name] = value  # the next use finds it without coming here
    return value


def __dir__() -> list[str]:
    return __all__
