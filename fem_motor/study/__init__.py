"""Studies: many designs from one file, a table, figures, and a verdict in plain words."""

from fem_motor.study.cluster import cluster
from fem_motor.study.figures import CURVES, points_of
from fem_motor.study.keys import study_key_reference
from fem_motor.study.reading import load_study
from fem_motor.study.records import Study, StudyResult
from fem_motor.study.running import run_study
from fem_motor.study.table import csv_table, parquet_table

__all__ = [
    "CURVES",
    "Study",
    "StudyResult",
    "cluster",
    "csv_table",
    "load_study",
    "parquet_table",
    "points_of",
    "run_study",
    "study_key_reference",
]
