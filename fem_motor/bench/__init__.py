"""What a test-stand log measured: reading, cleaning, steady segments, doubts, figures."""

from fem_motor.bench.reading import read_log
from fem_motor.bench.records import (
    BenchLog,
    Discarded,
    Measured,
    MeasuredPoint,
    Reading,
    Segment,
)
from fem_motor.bench.segments import steady_segments

__all__ = [
    "BenchLog",
    "Discarded",
    "Measured",
    "MeasuredPoint",
    "Reading",
    "Segment",
    "read_log",
    "steady_segments",
]
