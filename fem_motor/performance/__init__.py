"""From a design to its performance sheet."""

from fem_motor.performance.records import (
    Constants,
    Limiter,
    NoLoad,
    PerformanceSheet,
    WindingSummary,
)

__all__ = ["Constants", "Limiter", "NoLoad", "PerformanceSheet", "WindingSummary"]
