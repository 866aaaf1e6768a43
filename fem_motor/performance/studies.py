"""Studies on one design that need fields but no sheet."""

from threadpoolctl import threadpool_limits

from fem_motor.design import MotorDesign
from fem_motor.loading import ToleranceStudy
from fem_motor.loading import tolerance_study as study
from fem_motor.mesh import mesh_motor
from fem_motor.performance.quality import Quality
from fem_motor.performance.running import wound
from fem_motor.units import MM


def tolerance_study(
    design: MotorDesign,
    *,
    samples: int = 10_000,
    remanence_deviation: float = 0.01,
    position_deviation_mm: float = 0.1,
    seed: int = 1,
    quality: Quality = "standard",
) -> ToleranceStudy:
    """Return what magnets of uneven strength and place do to cogging, phases and side pull.

    Cores count as linear. Strengths and places are independent and normally distributed; the
    same seed gives the same study.

    Parameters
    ----------
    design : MotorDesign
    samples : int
        Rotors.
    remanence_deviation : float
        Standard deviation of a magnet's strength over its design value; a third of the ±3 % of a
        trade grade unless said otherwise.
    position_deviation_mm : float
        Of its place along the circumference; common practice for printed pockets, no source.
    seed : int
    quality : "draft", "standard" or "fine"

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> study = fm.tolerance_study(design, samples=50, quality="draft")
    >>> bool(study.cogging.mean() > study.designed_cogging)
    True
    """
    with threadpool_limits(1):
        motor = design.motor
        return study(
            motor,
            wound(design),
            mesh_motor(motor, quality=quality),
            samples=samples,
            remanence_deviation=remanence_deviation,
            position_deviation=position_deviation_mm * MM,
            seed=seed,
        )
