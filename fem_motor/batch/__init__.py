"""Many designs: worked through by several processes, kept in a store that nothing can tear."""

from fem_motor.batch.pool import in_order, processes
from fem_motor.batch.records import Outcome
from fem_motor.batch.solving import content_key, design_key, solve_designs
from fem_motor.batch.store import ResultStore

__all__ = [
    "Outcome",
    "ResultStore",
    "content_key",
    "design_key",
    "in_order",
    "processes",
    "solve_designs",
]
