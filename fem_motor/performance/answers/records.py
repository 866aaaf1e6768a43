"""The performance sheet: every answer of a run, by the names that its JSON has."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Any

from fem_motor.arrays import FloatArray, frozen
from fem_motor.field import FieldMap
from fem_motor.findings import Finding, Headline
from fem_motor.loading import DemagnetisationMap
from fem_motor.performance.answers.as_built_records import AsBuiltFigures
from fem_motor.performance.answers.current_records import Inductances, Loaded, Waveforms
from fem_motor.performance.answers.endurance_records import DutyRow, MechanicsSummary
from fem_motor.plain import gap_finding, plain_data, provenance
from fem_motor.powered import WindingToLoad
from fem_motor.throttle import Flight, SpeedMap, Throttles

PERFORMANCE_FORMAT = "fem_motor.performance"
_ONLY_FOR_PICTURES = frozenset(("field_map", "magnets_map"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoLoad:
    """Fields without current over one electrical period, 20 °C, two-dimensional.

    Attributes
    ----------
    angle_deg : (n,)
        Rotor angle, mechanical, equally spaced, end excluded.
    cogging_torque_Nm : (n,)
        On the rotor, counter-clockwise positive.
    flux_linkage_Wb : (3, n)
        Of a branch, phases U, V, W.
    back_emf_V_per_rad_per_s : (3, n)
        Of a branch, phases U, V, W; volts for each mechanical rad/s.
    cogging_peak_to_peak_Nm : float
    cogging_period_deg : float
        Mechanical.
    flux_linkage_fundamental_Wb : float
        Amplitude of the electrical fundamental.
    back_emf_thd : float
        Harmonic content over fundamental, of a phase.
    back_emf_line_thd : float
        The same of the voltage between two leads.
    gap_flux_density_T : (m,)
        Radial, in the middle of the air gap, rotor at 0.
    gap_angle_deg : (m,)
        Where: mechanical, from tooth 1.
    tooth_flux_density_T, yoke_flux_density_T : float
        Largest mean over the cross-section of a tooth, of the yoke.
    ring_flux_density_T : float or None
        The same of the ring behind the magnets; None where there is none.
    """

    angle_deg: FloatArray
    cogging_torque_Nm: FloatArray
    flux_linkage_Wb: FloatArray
    back_emf_V_per_rad_per_s: FloatArray
    cogging_peak_to_peak_Nm: float
    cogging_period_deg: float
    flux_linkage_fundamental_Wb: float
    back_emf_thd: float
    back_emf_line_thd: float
    gap_flux_density_T: FloatArray
    gap_angle_deg: FloatArray
    tooth_flux_density_T: float
    yoke_flux_density_T: float
    ring_flux_density_T: float | None

    def __post_init__(self) -> None:
        for name in (
            "angle_deg", "cogging_torque_Nm", "flux_linkage_Wb", "back_emf_V_per_rad_per_s",
            "gap_flux_density_T", "gap_angle_deg",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True)
class WindingSummary:
    """The winding at 20 °C; resistances and inductances of a branch unless named line-line.

    Attributes
    ----------
    coils : tuple of str
        Phase and sign of each tooth in order, "U+": current in its start makes outward flux.
    winding_factor : float
        Of the fundamental, a share of 1.
    fill_factor : float
        Bare copper over slot area inside the liner, a share of 1.
    resistance_phase_ohm : float
        Of a branch.
    resistance_line_line_ohm : float
        As a meter reads it between two leads.
    inductance_d_H, inductance_q_H : float or None
        Without current, the estimate for the end turns included.
    copper_mass_kg, wire_length_m : float
        Of the whole machine.
    turn_length_mm : float
        Mean length of a turn.
    """

    coils: tuple[str, ...]
    winding_factor: float
    fill_factor: float
    resistance_phase_ohm: float
    resistance_line_line_ohm: float
    inductance_d_H: float | None
    inductance_q_H: float | None
    copper_mass_kg: float
    wire_length_m: float
    turn_length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueConstant:
    """Torque per ampere, by which ampere is meant, N m/A.

    Attributes
    ----------
    per_peak_phase_ampere, per_rms_phase_ampere : float
        Sine currents; of a branch.
    per_peak_line_ampere : float
        Sine currents; of a lead.
    per_dc_ampere_six_step : float
        Of the supply, at full throttle with six-step.
    """

    per_peak_phase_ampere: float
    per_rms_phase_ampere: float
    per_peak_line_ampere: float
    per_dc_ampere_six_step: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedConstant:
    """Speed per volt, by which volt is meant, rpm/V.

    Attributes
    ----------
    line_line_peak, line_line_rms : float
        Of the back-EMF between two leads.
    phase_peak : float
        Of the back-EMF of a branch.
    dc_six_step : float
        No-load speed for each volt of supply with six-step.
    """

    line_line_peak: float
    line_line_rms: float
    phase_peak: float
    dc_six_step: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Constants:
    """Kt, Kv and motor constant in every convention, end factor applied.

    Attributes
    ----------
    torque_constant_Nm_per_A : TorqueConstant
        By which ampere is meant.
    speed_constant_rpm_per_V : SpeedConstant
        By which volt is meant.
    motor_constant_Nm_per_sqrtW : float
        Torque for each root of a watt lost in the copper, sine, 20 °C.
    end_factor : Headline
        Share of the section's flux linkage that a machine of this length has.
    """

    torque_constant_Nm_per_A: TorqueConstant
    speed_constant_rpm_per_V: SpeedConstant
    motor_constant_Nm_per_sqrtW: float
    end_factor: Headline


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingPoint:
    """Drive, supply, motor and load in equilibrium, copper and magnets at 20 °C.

    Every figure is None where there is no such point; the checks say why.

    Attributes
    ----------
    name : str
        no load, load, current limit or stall.
    speed_rpm, torque_Nm, shaft_power_W : float or None
        At the shaft.
    current_A : float or None
        RMS, of a branch.
    line_current_A : float or None
        RMS, of a lead.
    supply_current_A : float or None
        Mean.
    supply_power_W : float or None
        Mean, from the ideal voltage.
    losses_W : mapping of kind to W
        With the shaft power they add up to the supply power.
    efficiency : float or None
        Shaft power over supply power, 0 to 1.
    thrust_N : float or None
        Standing still; None for loads that do not push.
    duty : float or None
        Share of the bus voltage that the controller uses, 0 to 1.
    bus_voltage_V : float or None
        At the controller's input.
    first_order_torque_Nm : float or None
        What V = I R + ω/Kv gives at this speed, for comparison.
    """

    name: str
    speed_rpm: float | None = None
    torque_Nm: float | None = None
    shaft_power_W: float | None = None
    current_A: float | None = None
    line_current_A: float | None = None
    supply_current_A: float | None = None
    supply_power_W: float | None = None
    losses_W: Mapping[str, float] = field(default_factory=dict)
    efficiency: float | None = None
    thrust_N: float | None = None
    duty: float | None = None
    bus_voltage_V: float | None = None
    first_order_torque_Nm: float | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "losses_W", MappingProxyType(dict(self.losses_W)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Thermal:
    """Heat at the load point, full throttle; figures are None where the checks say why.

    Attributes
    ----------
    temperatures_C : mapping of part to °C
        In steady state, the operating point warm; empty where there is none.
    seconds_to_soften_core : float or None
        From cold, all parts at ambient temperature.
    continuous_shaft_power_W : float or None
        Largest along the load's line for which no part passes its limit.
    burst_shaft_power_W : mapping of "10 s" and "60 s" to W
        From cold; the answers have their ranges.
    limiting_part : str or None
        The part that sets the power for good.
    other_limiting_parts : tuple of str
        Those that give way first with films, contacts and mount at the ends of their ranges.
    duty_card : tuple of DutyRow
        So long on, so long at rest.
    warm_shaft_power_W : float or None
        At full throttle once warm.
    warm_point : OperatingPoint or None
        The load at full throttle as warm as the motor gets: in steady state, or where there is
        none at the moment at which the first part passes its limit.
    warm_when : str
        Which of the two, and how warm.
    softening_C : float or None
        Deflection temperature of the core.
    history_time_s : (n,)
        From cold, full throttle from second 0 on; empty where there is no load.
    history_C : mapping of part to (n,)
        Its temperature at these times.
    """

    temperatures_C: Mapping[str, float]
    seconds_to_soften_core: float | None
    continuous_shaft_power_W: float | None
    burst_shaft_power_W: Mapping[str, float | None]
    limiting_part: str | None
    other_limiting_parts: tuple[str, ...]
    duty_card: tuple[DutyRow, ...]
    warm_shaft_power_W: float | None
    warm_point: OperatingPoint | None
    warm_when: str
    softening_C: float | None
    history_time_s: FloatArray
    history_C: Mapping[str, FloatArray]

    def __post_init__(self) -> None:
        object.__setattr__(self, "history_time_s", frozen(self.history_time_s))
        history = {part: frozen(values) for part, values in self.history_C.items()}
        object.__setattr__(self, "history_C", MappingProxyType(history))


@dataclass(frozen=True, slots=True, kw_only=True)
class Limiter:
    """Where the magnets' drive (ampere-turns) goes along the mean flux path.

    Attributes
    ----------
    shares : mapping
        Keys gap, core, ring, leakage, outside; they add up to 1.
    sentence : str
        The same in plain words.
    """

    shares: Mapping[str, float]
    sentence: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "shares", MappingProxyType(dict(self.shares)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PerformanceSheet:
    """All answers of one run.

    Attributes
    ----------
    title : str
        Of the design.
    version : str
        Of fem_motor.
    quality : str
        draft, standard or fine.
    design : mapping
        The complete design file with defaults filled in.
    answers : mapping of name to Headline
        The first screen: each answer with its range and the cause of the range.
    no_load : NoLoad
        Fields without current.
    winding : WindingSummary
    constants : Constants
        Kt, Kv and motor constant in every convention.
    loaded : Loaded
        The machine with currents.
    inductance : Inductances
        Over rotor angle and at the rated current.
    waveforms : Waveforms or None
        Over rotor angle, at the load or, without one, at the current limit.
    as_built : AsBuiltFigures or None
        What was not built as designed; None where all was.
    operating_points : tuple of OperatingPoint
        Without load, with the load, at the current limit, at stall.
    limiter : Limiter
        Where the magnets' drive goes.
    thermal : Thermal
    mechanics : MechanicsSummary
    checks : tuple of Finding
        What was checked, with limits and advice.
    sources : tuple of str
        Where the materials and formulas used come from.
    timing_s : mapping of stage to seconds
        Of the computation.
    field_map : FieldMap
        For the pictures, rotor at 0; not part of the JSON.
    magnets_map : DemagnetisationMap
        For the pictures, the worst case for the magnets; not part of the JSON.
    winding_to_load : WindingToLoad or None
        Power at the load against turns, at the same copper; its rows are empty without a load.
    throttles : Throttles or None
        Curves over speed, the load at a few throttles, seconds against current density.
    speed_map : SpeedMap or None
        Efficiency over speed and torque; None where it was not asked for.
    flight : Flight or None
        Temperatures over a profile of throttle; None where none was given.
    """

    title: str
    version: str
    quality: str
    design: Mapping[str, Any]
    answers: Mapping[str, Headline]
    no_load: NoLoad
    winding: WindingSummary
    constants: Constants
    loaded: Loaded
    inductance: Inductances
    waveforms: Waveforms | None
    as_built: AsBuiltFigures | None
    operating_points: tuple[OperatingPoint, ...]
    limiter: Limiter
    thermal: Thermal
    mechanics: MechanicsSummary
    checks: tuple[Finding, ...]
    sources: tuple[str, ...]
    timing_s: Mapping[str, float]
    field_map: FieldMap
    magnets_map: DemagnetisationMap
    winding_to_load: WindingToLoad | None = None
    throttles: Throttles | None = None
    speed_map: SpeedMap | None = None
    flight: Flight | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return the sheet as plain data for JSON, its keys the field names.

        Floats keep every digit. A value that is not a finite number becomes None, and the
        ``checks`` say where and why.
        """
        gaps: list[str] = []
        parts = {
            one.name: plain_data(getattr(self, one.name), one.name, gaps)
            for one in fields(self)
            if one.name not in _ONLY_FOR_PICTURES
        }
        parts["checks"] += [plain_data(finding, "checks", []) for finding in map(gap_finding, gaps)]
        return {"format": PERFORMANCE_FORMAT, **parts, "provenance": provenance(parts)}
