"""What a test-stand log measured: reading, cleaning, steady segments, doubts, figures."""

from fem_motor.bench.records import (
    BenchLog,
    Discarded,
    Measured,
    MeasuredPoint,
    Reading,
    Segment,
)

__all__ = [
    "BenchLog",
    "Discarded",
    "Measured",
    "MeasuredPoint",
    "Reading",
    "Segment",
]
