"""A design with its fields, ready for questions of drive and heat; no sheet."""

from dataclasses import dataclass

from threadpoolctl import threadpool_limits

from fem_motor.design import MotorDesign
from fem_motor.findings import Headline
from fem_motor.mesh import mesh_motor
from fem_motor.performance.doubts.quality import SETTINGS, Quality
from fem_motor.performance.doubts.spreads import Unknowns, unknowns_of
from fem_motor.performance.doubts.trust import RESISTANCE_SPREAD, end_factor
from fem_motor.performance.running import wound
from fem_motor.performance.sheet import rated_line_current
from fem_motor.powered import PoweredMotor, powered_motor
from fem_motor.progress import OnStage, ignore
from fem_motor.quantities import MachineConstants, MotorModel, motor_model
from fem_motor.winding import Winding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolvedDesign:
    """A powered motor with the doubts of its flux, cogging and resistance.

    Attributes
    ----------
    design : MotorDesign
    quality : "draft", "standard" or "fine"
    powered : PoweredMotor
    constants : MachineConstants
        End factor applied, 20 °C.
    end_factor : Headline
    unknowns : Unknowns
    resistance_spread : float
        Hand-wound coils against the computed resistance, either way.
    rated_line_current : float
        Peak, A.
    """

    design: MotorDesign
    quality: Quality
    powered: PoweredMotor
    constants: MachineConstants
    end_factor: Headline
    unknowns: Unknowns
    resistance_spread: float
    rated_line_current: float

    def serves(self, design: MotorDesign) -> bool:
        """Return whether the fields of `design` are these, per metre and turn."""
        is_one = self.powered.model.turn is None
        return is_one and design.field_values == self.design.field_values

    def again(self, design: MotorDesign) -> "SolvedDesign":
        """Return the same fields with another stack length, winding or use.

        Raises
        ------
        DesignError
            Where the design cannot be built.
        ValueError
            Where the fields are others, see `serves`.
        """
        if not self.serves(design):
            msg = "a design with other fields"
            raise ValueError(msg)
        winding = wound(design)
        model = self.powered.model.again(design.motor, winding)
        return _with_use(design, winding, model, quality=self.quality, known=self.unknowns)


def solve_powered(
    design: MotorDesign, *, quality: Quality = "standard", on_step: OnStage = ignore
) -> SolvedDesign:
    """Return the fields without current, and the motor with supply, load and losses around them.

    A fifth of the work of a sheet where the core saturates: no field with current is solved.

    Parameters
    ----------
    design : MotorDesign
    quality : "draft", "standard" or "fine"
    on_step : callable
        Called with (done, of, stage).

    Raises
    ------
    DesignError
        Where the design cannot be built.
    SolverError
        Where the field does not converge.

    Examples
    --------
    >>> import fem_motor as fm
    >>> design = fm.load_design("geometries/printed_18s16p.toml")
    >>> bool(fm.solve_powered(design, quality="draft").powered.at_load().shaft_power > 0)
    True
    """
    settings, motor = SETTINGS[quality], design.motor
    with threadpool_limits(1):
        winding = wound(design)
        on_step(0, 1, "mesh")
        mesh = mesh_motor(motor, quality=quality)
        angles, told = settings.angles_per_period, lambda done, of: on_step(done, of, "fields")
        model = motor_model(
            motor,
            winding,
            mesh,
            angles_per_period=angles,
            mesh_with_currents=None,
            on_step=told,
        )
        return _with_use(design, winding, model, quality=quality)


def _with_use(
    design: MotorDesign,
    winding: Winding,
    model: MotorModel,
    *,
    quality: Quality,
    known: Unknowns | None = None,
) -> SolvedDesign:
    motor, factor = design.motor, end_factor(design.motor)
    powered = powered_motor(motor, winding, model, end_factor=factor.value or 1.0)
    constants, rated = powered.constants, rated_line_current(motor, winding)
    return SolvedDesign(
        design=design,
        quality=quality,
        powered=powered,
        constants=constants,
        end_factor=factor,
        unknowns=unknowns_of(
            motor,
            winding,
            model,
            SETTINGS[quality],
            factor=factor,
            rated_torque=constants.torque_per_peak_line * rated,
            known=known,
        ),
        resistance_spread=RESISTANCE_SPREAD,
        rated_line_current=rated,
    )
