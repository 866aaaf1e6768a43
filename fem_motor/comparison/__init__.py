"""Which design, and what to change first: fair comparison and ranked changes."""

from fem_motor.comparison.changes.prices import Prices
from fem_motor.comparison.comparing import compare
from fem_motor.comparison.ranking import rank
from fem_motor.comparison.records import GOAL_NAMES, GOAL_WORDS, Comparison, Ranking
from fem_motor.comparison.wording.text import answer_rows, decision_text, gain_words

__all__ = [
    "GOAL_NAMES",
    "GOAL_WORDS",
    "Comparison",
    "Prices",
    "Ranking",
    "answer_rows",
    "compare",
    "decision_text",
    "gain_words",
    "rank",
]
