"""Which pictures a result has, by its kind."""

from fem_motor.bench import BenchResult
from fem_motor.calibration import CalibratedBench
from fem_motor.charts.picture import Picture, SweepSetting
from fem_motor.charts.pictures.bench_pictures import bench_pictures
from fem_motor.charts.pictures.decisions import decision_pictures
from fem_motor.charts.pictures.sheet_pictures import detail_picture, section_picture, sheet_pictures
from fem_motor.charts.pictures.study_pictures import study_pictures
from fem_motor.charts.pictures.sweep_pictures import sweep_pictures
from fem_motor.comparison import Comparison, Ranking
from fem_motor.design import MotorDesign
from fem_motor.performance import PerformanceSheet
from fem_motor.quantities import RotorSweep
from fem_motor.study import StudyResult

Other = StudyResult | BenchResult | CalibratedBench | Comparison | Ranking
Drawable = PerformanceSheet | RotorSweep | MotorDesign | Other


def pictures_of(
    result: Drawable,
    *,
    design: MotorDesign | None = None,
    quality: str = "",
    current_angle_deg: float | None = None,
) -> tuple[Picture, ...]:
    """Return the pictures of a result, not yet drawn, in the order of the report.

    A sheet has its table of pictures, a design its section and one tooth with dimensions, a study
    its figures, a comparison and a ranking their curves and gains, a bench log its points on the
    model's curves, a sweep its curves; `design`, `quality` and `current_angle_deg` say what a
    sweep was made of.
    """
    if isinstance(result, PerformanceSheet):
        return sheet_pictures(result)
    if isinstance(result, RotorSweep):
        setting = SweepSetting(design=design, quality=quality, current_angle_deg=current_angle_deg)
        return sweep_pictures(result, setting)
    if isinstance(result, MotorDesign):
        return section_picture(result), detail_picture(result)
    return _of_other(result)


def _of_other(result: Other) -> tuple[Picture, ...]:
    if isinstance(result, StudyResult):
        return study_pictures(result)
    if isinstance(result, Comparison | Ranking):
        return decision_pictures(result)
    return bench_pictures(result)
