"""What a test-stand log measured: reading, cleaning, steady segments, doubts, figures."""

from fem_motor.bench.audit import audit
from fem_motor.bench.measurements.measuring import measured
from fem_motor.bench.measurements.segments import steady_segments
from fem_motor.bench.reading import read_log
from fem_motor.bench.records import (
    BenchLog,
    BenchResult,
    Measured,
    MeasuredPoint,
    Reading,
    Segment,
)

__all__ = [
    "BenchLog",
    "BenchResult",
    "Measured",
    "MeasuredPoint",
    "Reading",
    "Segment",
    "audit",
    "measured",
    "read_log",
    "steady_segments",
]
