"""What a calibration takes and gives: steady points, bench checks, parameters, causes; SI."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from fem_motor.arrays import FloatArray, frozen
from fem_motor.bench import BenchResult
from fem_motor.calibration.planned import PredictionScore
from fem_motor.findings import Finding, Headline
from fem_motor.units import RPM

CheckKind = Literal[
    "resistance", "drill", "inductance", "coast_down", "standstill", "air_gap", "magnet",
    "thermometer",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class SteadyPoint:
    """One steady stretch of a log with standard uncertainties of its scatter alone.

    Attributes
    ----------
    speed, torque, voltage, current : float
        rad/s, N m at the shaft, V and A at the controller's input.
    speed_scatter, torque_scatter, voltage_scatter, current_scatter : float
        Standard uncertainties, type A, in the same units.
    throttle : "full" or "part"
        Part: which share of the voltage was on the motor is not known.
    winding_C : float or None
        As logged.
    """

    speed: float
    torque: float
    voltage: float
    current: float
    speed_scatter: float
    torque_scatter: float
    voltage_scatter: float
    current_scatter: float
    throttle: Literal["full", "part"]
    winding_C: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCheck:
    """One figure measured without a test stand.

    Attributes
    ----------
    kind : str
        resistance: ohm between two leads; drill: V s/rad, peak between two leads per mechanical
        rad/s; inductance: H between two leads, mean over the rotor angle; coast_down: N m of
        drag; standstill: N m per A through two leads in the best rotor position; air_gap: m;
        magnet: T; thermometer: °C of a part after a run at constant load.
    value, uncertainty : float
        SI; the uncertainty is standard.
    temperature_C : float
        Of the copper; for a thermometer of the surroundings, and of the motor before the run.
    speed, torque : float
        Of a coast-down or a run, rad/s and N m at the shaft.
    part : str
        Of the thermal network, for a thermometer.
    seconds : float
        How long the run lasted.
    """

    kind: CheckKind
    value: float
    uncertainty: float
    temperature_C: float = 20.0
    speed: float = 0.0
    torque: float = 0.0
    part: str = ""
    seconds: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Warming:
    """A log as far as heat is concerned, in stretches of time.

    Attributes
    ----------
    seconds : (n,)
        Length of each stretch.
    speed, torque, current : (n,)
        Means; rad/s, N m at the shaft, A at the controller's input.
    temperatures_C : mapping of part to (n,)
        Of the middle of each stretch, NaN where there is no reading.
    surroundings_C, start_C : float
        Of the air, and of all parts at the beginning.
    """

    seconds: FloatArray
    speed: FloatArray
    torque: FloatArray
    current: FloatArray
    temperatures_C: Mapping[str, FloatArray]
    surroundings_C: float
    start_C: float

    def __post_init__(self) -> None:
        for name in ("seconds", "speed", "torque", "current"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        plain = {part: frozen(values) for part, values in self.temperatures_C.items()}
        object.__setattr__(self, "temperatures_C", MappingProxyType(plain))


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """All that was measured of one motor.

    Attributes
    ----------
    points : tuple of SteadyPoint
    spans : mapping of torque, voltage, current to fraction
        Standard uncertainty of the instruments' spans, shared by all points.
    checks : tuple of BenchCheck
    ambient_C : float
    warming : Warming or None
        None where no thermometer was logged.
    propeller : mapping of thrust_coefficient, power_coefficient to (rad/s, headline)
        As measured, point by point.
    """

    points: tuple[SteadyPoint, ...]
    spans: Mapping[str, float]
    checks: tuple[BenchCheck, ...] = ()
    ambient_C: float = 20.0
    warming: Warming | None = None
    propeller: Mapping[str, tuple[tuple[float, Headline], ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in ("spans", "propeller"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    @property
    def thermometers(self) -> tuple[BenchCheck, ...]:
        """The checks of heat."""
        return tuple(check for check in self.checks if check.kind == "thermometer")

    @property
    def other_checks(self) -> tuple[BenchCheck, ...]:
        """The checks of everything else."""
        return tuple(check for check in self.checks if check.kind != "thermometer")


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """One thing that the model assumes and the measurements may correct.

    Attributes
    ----------
    name : str
        With its unit.
    prior : float
        As the design, the library or the meter states it.
    spread : float
        Standard: of its logarithm, or in °C of a temperature.
    because : str
        Where prior and spread come from.
    scale : "ratio" or "difference"
        Whether its error is a factor or a term.
    """

    name: str
    prior: float
    spread: float
    because: str
    scale: Literal["ratio", "difference"] = "ratio"


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibratedValue:
    """A calibrated figure beside what was assumed before.

    Attributes
    ----------
    value, low, high : float
        The range holds about 95 %.
    prior : float
    because : str
    """

    value: float
    low: float
    high: float
    prior: float
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """One possible reason for what was measured.

    Attributes
    ----------
    cause : str
    score : float
        Share of the weight exp(−BIC/2) among all causes tried, 0 to 1.
    why : str
    next_measurement : str
        The cheapest that decides, and how to do it safely.
    """

    cause: str
    score: float
    why: str
    next_measurement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ComputedPoint:
    """What the model says of one steady point, in the readings of the stand.

    Attributes
    ----------
    speed_rpm, voltage_V : float
        As measured.
    torque_Nm, current_A : float
        At part throttle the torque is the measured one, and the current the model's word.
    throttle : "full" or "part"
    """

    speed_rpm: float
    voltage_V: float
    torque_Nm: float
    current_A: float
    throttle: Literal["full", "part"]

    @property
    def efficiency(self) -> float:
        """Shaft power over power at the controller's input."""
        shaft_power = self.torque_Nm * self.speed_rpm * RPM
        return shaft_power / (self.voltage_V * self.current_A)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Calibration:
    """What the measurements say about the model.

    Attributes
    ----------
    calibrated : mapping of name to CalibratedValue
    correlation : (k, k)
        Of the parameters, in the order of `calibrated`.
    cannot_tell : tuple of groups of names
        Parameters that only their combination is known of.
    explanations : tuple of Explanation
        The likeliest first.
    misfit_before, misfit_after : float
        Root mean square of (computed − measured) over standard uncertainty, as designed and
        calibrated; 0 where there are no `residuals`.
    residuals : (n,)
        After calibration, in standard uncertainties; points first, then checks.
    calibrated_design : str
        A design file (TOML) with the calibrated values.
    findings : tuple of Finding
    as_designed, as_calibrated : tuple of ComputedPoint
        At the points of the log, by rising speed; the second empty where nothing was calibrated.
    """

    calibrated: Mapping[str, CalibratedValue]
    correlation: FloatArray
    cannot_tell: tuple[tuple[str, ...], ...]
    explanations: tuple[Explanation, ...]
    misfit_before: float
    misfit_after: float
    residuals: FloatArray
    calibrated_design: str
    findings: tuple[Finding, ...] = ()
    as_designed: tuple[ComputedPoint, ...] = ()
    as_calibrated: tuple[ComputedPoint, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "correlation", frozen(self.correlation))
        object.__setattr__(self, "residuals", frozen(self.residuals))
        object.__setattr__(self, "calibrated", MappingProxyType(dict(self.calibrated)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CalibratedBench:
    """What a log said, what it says about the model, and how a prediction of it did."""

    bench: BenchResult
    calibration: Calibration
    prediction: PredictionScore | None = None
