"""What a motor does that was not built as designed."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fem_motor.arrays import FloatArray, frozen


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AsBuiltFigures:
    """Consequences of odd magnets and coils and of an offset rotor, in the plane, 20 °C.

    Attributes
    ----------
    back_emf_V_per_rad_per_s : (3,)
        Amplitude of the electrical fundamental of each phase, mean of a turn.
    back_emf_spread_fraction : float
        Largest less smallest of these over their mean.
    back_emf_angle_error_deg : (3,)
        Electrical, by which each phase is off 0, 120 and 240° after the mean of the three.
    cogging_peak_to_peak_Nm : float
        Over a whole turn.
    torque_order, torque_amplitude_Nm : (k,)
        Largest orders of the torque without current over a turn: vibrations per revolution.
    circulating_current_A : mapping of loop to A
        RMS at the speed of the waveforms, without load current: "delta", or "U", "V", "W" for the
        worst circuit of a phase. Empty where the winding has no closed loop.
    pull_N, pull_mean_N : float
        Largest force on the rotor over a turn, and the part that stands still.
    pressure_order, pressure_amplitude_Pa : (k,)
        Largest spatial orders of the radial stress in mid-gap, (B_r² − B_θ²)/(2 μ₀), rotor at 0;
        order 1 shakes the axis.
    shear_order, shear_amplitude_Pa : (k,)
        The same of the tangential stress, B_r B_θ/μ₀.
    probe_angle_deg : (m,)
        Around, rotor at 0.
    probe_gap_T, probe_outside_T : (m,) T, or None for the last
        Radial flux density in mid-gap, and outside the housing: what a viewing film shows.
    probe_distance_mm : float
        From the housing to the circle outside.
    odd_magnets : tuple of int
        Whose field outside, or in the gap, differs from the others'.
    """

    back_emf_V_per_rad_per_s: FloatArray
    back_emf_spread_fraction: float
    back_emf_angle_error_deg: FloatArray
    cogging_peak_to_peak_Nm: float
    torque_order: FloatArray
    torque_amplitude_Nm: FloatArray
    circulating_current_A: Mapping[str, float]
    pull_N: float
    pull_mean_N: float
    pressure_order: FloatArray
    pressure_amplitude_Pa: FloatArray
    shear_order: FloatArray
    shear_amplitude_Pa: FloatArray
    probe_angle_deg: FloatArray
    probe_gap_T: FloatArray
    probe_outside_T: FloatArray | None
    probe_distance_mm: float
    odd_magnets: tuple[int, ...]

    def __post_init__(self) -> None:
        for name in (
            "back_emf_V_per_rad_per_s", "back_emf_angle_error_deg", "torque_order",
            "torque_amplitude_Nm", "pressure_order", "pressure_amplitude_Pa", "shear_order",
            "shear_amplitude_Pa", "probe_angle_deg", "probe_gap_T",
        ):  # fmt: skip
            object.__setattr__(self, name, frozen(getattr(self, name)))
        if self.probe_outside_T is not None:
            object.__setattr__(self, "probe_outside_T", frozen(self.probe_outside_T))
        loops = MappingProxyType(dict(self.circulating_current_A))
        object.__setattr__(self, "circulating_current_A", loops)
