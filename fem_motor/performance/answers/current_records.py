"""What the sheet says of currents: loaded torque, inductances, waveforms at the load."""

from collections.abc import Mapping
from dataclasses import dataclass

from fem_motor.arrays import FloatArray, frozen


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadedCurve:
    """Torque over one period of its ripple, currents turning with the rotor, magnets at 20 °C.

    Two-dimensional, but for the magnets' part, which has the end factor. The three parts add up
    to the torque.

    Attributes
    ----------
    waveform : str
        sine or six-step.
    current_A : float
        Peak, of a branch.
    line_current_A : float
        Peak, of a lead.
    current_angle_deg : float
        Lead over the back-EMF, electrical.
    angle_deg : (n,)
        Rotor, mechanical, equally spaced over the period, end excluded.
    torque_Nm : (n,)
        On the rotor.
    cogging_torque_Nm : (n,)
        The part that is there without current.
    magnet_torque_Nm : (n,)
        Currents times the back-EMF without current.
    reluctance_torque_Nm : (n,)
        The rest: what position and saturation make of the inductances.
    mean_torque_Nm : float
        Of `torque_Nm`.
    ripple_peak_to_peak_fraction : float or None
        Of the mean; None where that is zero.
    ripple_order : (k,)
        Electrical: periods of the torque in one electrical period.
    ripple_amplitude_Nm : (k,)
        Of each order, half of its peak to peak.
    """

    waveform: str
    current_A: float
    line_current_A: float
    current_angle_deg: float
    angle_deg: FloatArray
    torque_Nm: FloatArray
    cogging_torque_Nm: FloatArray
    magnet_torque_Nm: FloatArray
    reluctance_torque_Nm: FloatArray
    mean_torque_Nm: float
    ripple_peak_to_peak_fraction: float | None
    ripple_order: FloatArray
    ripple_amplitude_Nm: FloatArray

    def __post_init__(self) -> None:
        for name in (
            "angle_deg", "torque_Nm", "cogging_torque_Nm", "magnet_torque_Nm",
            "reluctance_torque_Nm", "ripple_order", "ripple_amplitude_Nm",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """The machine with currents.

    Attributes
    ----------
    rated : LoadedCurve
        At the rated current.
    limit : LoadedCurve
        At the current limit.
    torque_against_current : tuple of (A, N m)
        Peak line current, sine, each at its best current angle; saturation included.
    best_current_angle_deg : float
        At the rated current, electrical, leading.
    demagnetisation_margin_T : mapping of hot, cold to T, or None
        Flux density left until magnets lose some for good, in the worst case of the currents;
        None where the coercivity of the magnets is not known.
    demagnetisation_by_magnet_T : mapping of hot, cold to (s,), or None
        Smallest margin of each magnet, from pole 1, segment by segment.
    demagnetisation_at_stall_T : mapping of hot, cold to T, or None
        The margin of a motor that is held, the worst rotor position and current direction.
    demagnetisation_at_stall_by_magnet_T : mapping of hot, cold to (s,), or None
        The same, magnet by magnet.
    stall_line_current_A : mapping of hot, cold to A
        Peak line current there, copper as warm as the magnets.
    """

    rated: LoadedCurve
    limit: LoadedCurve
    torque_against_current: tuple[tuple[float, float], ...]
    best_current_angle_deg: float
    demagnetisation_margin_T: Mapping[str, float] | None
    demagnetisation_by_magnet_T: Mapping[str, FloatArray] | None
    demagnetisation_at_stall_T: Mapping[str, float] | None
    demagnetisation_at_stall_by_magnet_T: Mapping[str, FloatArray] | None
    stall_line_current_A: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inductances:
    """Of the branches, 20 °C: in the plane, with the estimate for the end turns on top.

    Incremental (for small changes: what ripple and an LCR meter see) without current over rotor
    angle; apparent (linkage of the current over the current) at the rated current.

    Attributes
    ----------
    angle_deg : (n,)
        Rotor, mechanical, one electrical period, end excluded.
    self_H : (3, n)
        Of U, V, W. Incremental, without current.
    mutual_H : (3, n)
        Between U-V, V-W, W-U. Incremental, without current.
    line_line_H : (3, n)
        Between terminals U-V, V-W, W-U, the third one open.
    incremental_d_H, incremental_q_H : float
        Without current, mean over the angle.
    apparent_d_H, apparent_q_H : float
        Of the rated current all along one axis.
    rated_incremental_d_H, rated_incremental_q_H : float
        Around the rated current on the q axis.
    slot_leakage_H : float or None
        Part of a branch's self-inductance by the textbook's slot permeance; the field has it. None
        where the core is nearly air, so that flux does not cross the slots straight.
    end_turns_H : float
        Of a branch, estimate; the plane does not have it, the figures here do.
    """

    angle_deg: FloatArray
    self_H: FloatArray
    mutual_H: FloatArray
    line_line_H: FloatArray
    incremental_d_H: float
    incremental_q_H: float
    apparent_d_H: float
    apparent_q_H: float
    rated_incremental_d_H: float
    rated_incremental_q_H: float
    slot_leakage_H: float | None
    end_turns_H: float

    def __post_init__(self) -> None:
        for name in ("angle_deg", "self_H", "mutual_H", "line_line_H"):
            object.__setattr__(self, name, frozen(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Waveforms:
    """One electrical period of an operating point, copper and magnets at 20 °C.

    The controller's pulses are averaged out: ripple at its pulse frequency comes on top.

    Attributes
    ----------
    name : str
        Of the operating point.
    angle_deg : (n,)
        Rotor, electrical, from rotor angle 0.
    phase_current_A : (3, n)
        Of the branches U, V, W.
    line_current_A : (3, n)
        Of the leads U, V, W.
    line_voltage_V : (3, n)
        At the motor's terminals, U-V, V-W, W-U.
    line_back_emf_V : (3, n)
        The same of the back-EMF alone.
    torque_Nm : (n,)
        On the rotor, cogging included, before drag.
    mean_torque_Nm : float
        Mean of that.
    first_order_torque_Nm : float
        What V = I R + ω/Kv gives at the same speed.
    """

    name: str
    angle_deg: FloatArray
    phase_current_A: FloatArray
    line_current_A: FloatArray
    line_voltage_V: FloatArray
    line_back_emf_V: FloatArray
    torque_Nm: FloatArray
    mean_torque_Nm: float
    first_order_torque_Nm: float

    def __post_init__(self) -> None:
        for name in (
            "angle_deg", "phase_current_A", "line_current_A", "line_voltage_V", "line_back_emf_V",
            "torque_Nm",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen(getattr(self, name)))
