"""Studies: many designs from one file, a table, figures, and a verdict in plain words."""

from fem_motor.study.cluster import cluster
from fem_motor.study.figures import CURVES, points_of
from fem_motor.study.outcome.table import refuse_bad_table, write_table
from fem_motor.study.recording import in_words
from fem_motor.study.records import Study, StudyResult
from fem_motor.study.running import run_study
from fem_motor.study.study_file.reading import load_study

__all__ = [
    "CURVES",
    "Study",
    "StudyResult",
    "cluster",
    "in_words",
    "load_study",
    "points_of",
    "refuse_bad_table",
    "run_study",
    "write_table",
]
