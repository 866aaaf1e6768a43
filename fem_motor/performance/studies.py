"""Studies on one design that need fields but no sheet."""

from collections.abc import Sequence

from threadpoolctl import threadpool_limits

from fem_motor.design import MotorDesign
from fem_motor.loading import ToleranceStudy
from fem_motor.loading import tolerance_study as study
from fem_motor.mesh import mesh_motor
from fem_motor.performance.doubts.quality import Quality
from fem_motor.performance.running import wound
from fem_motor.performance.solved import solve_powered
from fem_motor.units import MM, ROOM_C, RPM
from fem_motor.winding import WindingFault, rank_winding_faults


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


def rank_faults(
    design: MotorDesign,
    *,
    resistance_ohm: Sequence[float],
    spin_voltage_V: Sequence[float] | None = None,
    spin_speed_rpm: float | None = None,
    copper_C: float = ROOM_C,
) -> tuple[WindingFault, ...]:
    """Return what may be wrong with the stator as wound, by its readings; the likeliest first.

    With a speed the voltages are also held against those of the design's field (draft mesh), not
    only against each other.

    Parameters
    ----------
    design : MotorDesign
    resistance_ohm : (3,)
        Between leads U-V, V-W and W-U; infinite where there is no connection.
    spin_voltage_V : (3,), optional
        RMS, in the same order, leads open, rotor turned.
    spin_speed_rpm : float, optional
        At which it was turned.
    copper_C : float
        Of the copper while its resistance was read.

    Raises
    ------
    InputError
        Where readings cannot be.
    """
    expected = None
    if spin_voltage_V is not None and spin_speed_rpm is not None:
        constants = solve_powered(design, quality="draft").constants
        expected = spin_speed_rpm * RPM / constants.speed_per_line_rms
    return rank_winding_faults(
        wound(design),
        resistance_line_line_ohm=resistance_ohm,
        line_voltage_V=spin_voltage_V,
        expected_line_voltage_V=expected,
        temperature_C=copper_C,
    )
