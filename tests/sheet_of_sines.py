"""A performance sheet made of sines, so that reports can be tested without a field solution.

Every figure here is invented; what matters is that it is complete and of plausible size.
"""

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.field import FieldMap
from fem_motor.findings import Finding, Headline
from fem_motor.loading import DemagnetisationMap
from fem_motor.performance.answers.current_records import (
    Inductances,
    Loaded,
    LoadedCurve,
    Waveforms,
)
from fem_motor.performance.answers.endurance_records import DutyRow, MechanicsSummary
from fem_motor.performance.answers.records import (
    Constants,
    Limiter,
    NoLoad,
    OperatingPoint,
    PerformanceSheet,
    SpeedConstant,
    Thermal,
    TorqueConstant,
    WindingSummary,
)
from fem_motor.quantities import RotorSweep

SLOTS, POLES = 18, 16
POLE_PAIRS = POLES // 2
DESIGN: Mapping[str, Any] = MappingProxyType(
    {
        "title": "Reed-bed airboat drive, second print",
        "machine": {"slots": SLOTS, "poles": POLES, "stack_length_mm": 20.0, "air_gap_mm": 0.8},
        "stator": {
            "outer_diameter_mm": 56.0,
            "inner_diameter_mm": 22.0,
            "yoke_thickness_mm": 4.0,
            "tooth_width_mm": 4.0,
            "slot_opening_mm": 1.8,
            "tip_thickness_mm": 1.0,
            "tip_taper_deg": 20.0,
            "core": "iron-filled-pla-10vol",
        },
        "rotor": {
            "magnet_shape": "block",
            "magnet_width_mm": 8.0,
            "magnet_thickness_mm": 3.0,
            "magnet": "ndfeb-n42h",
        },
        "winding": {"turns_per_tooth": 14, "strands": 2, "wire_awg": 24},
        "load": {
            "kind": "propeller",
            "diameter_mm": 254.0,
            "pitch_mm": 119.0,
            "thrust_coefficient": 0.12,
            "power_coefficient": 0.048,
        },
    }
)


def electrical_angles(samples: int = 96) -> FloatArray:
    """Return rotor angles over one electrical period in mechanical degrees, end excluded."""
    return np.arange(samples) * 360.0 / POLE_PAIRS / samples


def three_phases(angle_deg: FloatArray) -> FloatArray:
    """Return three cosines 120° apart, most negative at 0 in U, (3, n)."""
    electrical = POLE_PAIRS * np.radians(angle_deg) - np.radians([[0.0], [120.0], [240.0]])
    return -np.cos(electrical)


def no_load(**changes: object) -> NoLoad:
    """Return no-load curves of plausible size, some fields changed."""
    angle_deg = electrical_angles()
    electrical = POLE_PAIRS * np.radians(angle_deg) - np.radians([[0.0], [120.0], [240.0]])
    gap_angle_deg = np.arange(720) * 0.5
    gap = np.radians(gap_angle_deg)
    values: dict[str, Any] = {
        "angle_deg": angle_deg,
        "cogging_torque_Nm": 8e-4 * np.sin(math.lcm(SLOTS, POLES) * np.radians(angle_deg)),
        "flux_linkage_Wb": 1.9e-3 * three_phases(angle_deg),
        "back_emf_V_per_rad_per_s": 1.5e-2 * (np.sin(electrical) + 0.06 * np.sin(3 * electrical)),
        "cogging_peak_to_peak_Nm": 1.6e-3,
        "cogging_period_deg": 2.5,
        "flux_linkage_fundamental_Wb": 1.9e-3,
        "back_emf_thd": 0.06,
        "back_emf_line_thd": 0.004,
        "gap_flux_density_T": -0.32 * np.cos(POLE_PAIRS * gap) * (1 + 0.08 * np.cos(SLOTS * gap)),
        "gap_angle_deg": gap_angle_deg,
        "tooth_flux_density_T": 0.41,
        "yoke_flux_density_T": 0.28,
        "ring_flux_density_T": None,
    }
    return NoLoad(**(values | changes))


def field_map(rings: int = 14, spokes: int = 96) -> FieldMap:
    """Return a turning multipole on a triangulated annulus of 10 to 36 mm."""
    radius = np.linspace(0.010, 0.036, rings)
    angle = np.arange(spokes) * 2 * math.pi / spokes
    r, theta = (grid.ravel() for grid in np.meshgrid(radius, angle, indexing="ij"))
    index = np.arange(rings * spokes).reshape(rings, spokes)
    inner, outer = index[:-1], index[1:]
    triangles = np.concatenate(
        [
            np.stack([inner, outer, np.roll(outer, -1, axis=1)]).reshape(3, -1),
            np.stack([inner, np.roll(outer, -1, axis=1), np.roll(inner, -1, axis=1)]).reshape(
                3, -1
            ),
        ],
        axis=1,
    )
    peak = 0.030
    shape = np.where(r < peak, (r / peak) ** POLE_PAIRS, (peak / r) ** POLE_PAIRS)
    potential = 1.5e-3 * shape * np.sin(POLE_PAIRS * theta)
    strength = 1.5e-3 * shape * POLE_PAIRS / r
    return FieldMap(
        points=np.stack([r * np.cos(theta), r * np.sin(theta)]),
        triangles=triangles,
        vector_potential=potential,
        flux_density=strength[triangles].mean(axis=0),
        rotor_angle=0.0,
    )


def headline(value: float | None, because: str, spread: float = 0.05) -> Headline:
    """Return an answer with a symmetrical range, or one that was not computed."""
    if value is None:
        return Headline(value=None, low=None, high=None, because=because)
    return Headline(
        value=value, low=value * (1 - spread), high=value * (1 + spread), because=because
    )


def loaded_curve(line_peak: float) -> LoadedCurve:
    """Return six-step torque with a scallop of 60 electrical degrees."""
    angle_deg = np.arange(16) * 60.0 / POLE_PAIRS / 16
    top = np.radians(POLE_PAIRS * angle_deg - 30.0)
    magnet = 0.0256 * line_peak * np.cos(top)
    cogging = 8e-4 * np.sin(math.lcm(SLOTS, POLES) * np.radians(angle_deg))
    torque = magnet + cogging
    amplitude = np.abs(np.fft.rfft(torque))[1:] / 8
    return LoadedCurve(
        waveform="six-step",
        current_A=line_peak,
        line_current_A=line_peak,
        current_angle_deg=0.0,
        angle_deg=angle_deg,
        torque_Nm=torque,
        cogging_torque_Nm=cogging,
        magnet_torque_Nm=magnet,
        reluctance_torque_Nm=np.zeros(16),
        mean_torque_Nm=float(torque.mean()),
        ripple_peak_to_peak_fraction=float(np.ptp(torque) / torque.mean()),
        ripple_order=6.0 * np.arange(1, 9),
        ripple_amplitude_Nm=amplitude,
    )


def loaded() -> Loaded:
    """Return the loaded part at 4 and 30 A."""
    return Loaded(
        rated=loaded_curve(4.0),
        limit=loaded_curve(30.0),
        torque_against_current=tuple((6.0 * k, 0.133 * k) for k in range(6)),
        best_current_angle_deg=0.0,
        demagnetisation_by_magnet_T=None,
        demagnetisation_margin_T={"hot": 0.12, "cold": 0.45},
        demagnetisation_at_stall_T={"hot": 0.15, "cold": 0.47},
        demagnetisation_at_stall_by_magnet_T=None,
        stall_line_current_A={"hot": 24.0, "cold": 30.0},
    )


def operating_points() -> tuple[OperatingPoint, ...]:
    """Return the four points of a drive, the stalled one not reached."""
    return (
        OperatingPoint(
            name="no load", speed_rpm=4400.0, torque_Nm=0.0, shaft_power_W=0.0, current_A=0.2,
            line_current_A=0.2, supply_current_A=0.15, supply_power_W=1.8,
            losses_W={"copper": 0.1, "controller": 0.0, "supply": 0.1, "drag": 1.6},
            efficiency=0.0, duty=1.0, bus_voltage_V=12.0, first_order_torque_Nm=0.001,
        ),
        OperatingPoint(
            name="load", speed_rpm=3100.0, torque_Nm=0.21, shaft_power_W=68.2, current_A=9.1,
            line_current_A=9.1, supply_current_A=8.3, supply_power_W=99.6,
            losses_W={"copper": 26.0, "controller": 0.8, "supply": 1.4, "drag": 3.2},
            efficiency=0.685, thrust_N=4.4, duty=1.0, bus_voltage_V=11.8,
            first_order_torque_Nm=0.215,
        ),
        OperatingPoint(
            name="current limit", speed_rpm=900.0, torque_Nm=0.7, shaft_power_W=66.0,
            current_A=24.0, line_current_A=24.0, supply_current_A=20.0, supply_power_W=240.0,
            losses_W={"copper": 160.0, "controller": 6.0, "supply": 8.0}, efficiency=0.275,
            duty=0.9, bus_voltage_V=11.6, first_order_torque_Nm=0.71,
        ),
        OperatingPoint(name="stall"),
    )  # fmt: skip


def thermal() -> Thermal:
    """Return a core that softens."""
    return Thermal(
        temperatures_C={"copper": 96.0, "teeth": 71.0, "magnets": 44.0},
        seconds_to_soften_core=212.0,
        continuous_shaft_power_W=41.0,
        burst_shaft_power_W={"10 s": 68.2, "60 s": 62.0},
        limiting_part="slot walls",
        other_limiting_parts=("copper",),
        duty_card=(
            DutyRow(on_s=30.0, rest_s=55.0, rest_low_s=31.0, rest_high_s=None, part="slot walls"),
        ),
        warm_shaft_power_W=64.0,
        warm_point=OperatingPoint(name="load", speed_rpm=6100.0, torque_Nm=0.1, shaft_power_W=64.0),
        warm_when="in steady state: copper 96 °C, magnets 44 °C",
        softening_C=55.0,
        history_time_s=np.linspace(0, 600, 61),
        history_C={
            "copper": 25 + 90 * (1 - np.exp(-np.linspace(0, 4, 61))),
            "slot walls": 25 + 50 * (1 - np.exp(-np.linspace(0, 2, 61))),
        },
    )


END = "the ends of the stack: a 2-D field stretched by an end factor of 0.90 to 0.97"
COILS = "U+ U- U+ V- V+ V- W+ W- W+ U- U+ U- V+ V- V+ W- W+ W-"


def inductance() -> Inductances:
    """Return inductances with a little saliency."""
    angle_deg = np.linspace(0.0, 360.0 / POLE_PAIRS, 24, endpoint=False)
    twice = np.cos(2 * np.radians(POLE_PAIRS * angle_deg - 120.0 * np.arange(3)[:, None]))
    return Inductances(
        angle_deg=angle_deg,
        self_H=4.4e-5 + 1e-6 * twice,
        mutual_H=2e-6 + 1e-6 * np.roll(twice, 1, axis=0),
        line_line_H=8.3e-5 + 1e-6 * np.roll(twice, 1, axis=0),
        incremental_d_H=4.1e-5,
        incremental_q_H=4.2e-5,
        apparent_d_H=4.1e-5,
        apparent_q_H=4.15e-5,
        rated_incremental_d_H=4.0e-5,
        rated_incremental_q_H=3.9e-5,
        slot_leakage_H=1.2e-5,
        end_turns_H=6e-6,
    )


def waveforms() -> Waveforms:
    """Return sines at the load."""
    angle_deg = np.arange(360.0)
    wave = np.cos(np.radians(angle_deg - 120.0 * np.arange(3)[:, None]))
    return Waveforms(
        name="load",
        angle_deg=angle_deg,
        phase_current_A=14.0 * wave,
        line_current_A=14.0 * wave,
        line_voltage_V=11.0 * np.roll(wave, 1, axis=0),
        line_back_emf_V=9.5 * np.roll(wave, 1, axis=0),
        torque_Nm=0.32 + 8e-4 * np.cos(np.radians(6 * angle_deg)),
        mean_torque_Nm=0.32,
        first_order_torque_Nm=0.33,
    )


def magnets_map() -> DemagnetisationMap:
    """Return one triangle in each of four magnets."""
    turn = np.pi / 2 * np.arange(4)
    corners = [(30e-3, -0.1), (33e-3, 0.0), (30e-3, 0.1)]
    points = np.array([[r * np.cos(t + a), r * np.sin(t + a)] for t in turn for r, a in corners]).T
    return DemagnetisationMap(
        points=points,
        triangles=np.arange(12).reshape(4, 3).T,
        area=np.full(4, 9e-6),
        flux_density=np.array([0.4, 0.5, 0.6, 0.7]),
        margin=np.array([0.04, 0.1, 0.2, 0.3]),
        rotor_angle=0.0,
        temperature_C=80.0,
    )


def sheet(**changes: object) -> PerformanceSheet:
    """Return a complete sheet, some fields changed."""
    values: dict[str, Any] = {
        "title": DESIGN["title"],
        "version": "0.1.0",
        "quality": "standard",
        "design": DESIGN,
        "answers": {
            "speed_constant_rpm_per_V": headline(372.4, END),
            "torque_constant_Nm_per_A": headline(0.02564, END),
            "cogging_peak_to_peak_Nm": headline(1.6e-3, "mesh quality", 0.01),
            "resistance_line_line_ohm": headline(0.2134, "the lie of the end turns"),
        },
        "no_load": no_load(),
        "winding": WindingSummary(
            coils=tuple(COILS.split()),
            winding_factor=0.945,
            fill_factor=0.311,
            resistance_phase_ohm=0.1013,
            resistance_line_line_ohm=0.2134,
            inductance_d_H=4.1e-5,
            inductance_q_H=4.2e-5,
            copper_mass_kg=0.0583,
            wire_length_m=31.8,
            turn_length_mm=63.1,
        ),
        "constants": Constants(
            torque_constant_Nm_per_A=TorqueConstant(
                per_peak_phase_ampere=0.02218,
                per_rms_phase_ampere=0.03137,
                per_peak_line_ampere=0.02218,
                per_dc_ampere_six_step=0.02564,
            ),
            speed_constant_rpm_per_V=SpeedConstant(
                line_line_peak=372.9, line_line_rms=527.3, phase_peak=645.8, dc_six_step=372.4
            ),
            motor_constant_Nm_per_sqrtW=0.0569,
            end_factor=headline(0.935, "short stack with a core that is nearly air", 0.04),
        ),
        "loaded": loaded(),
        "operating_points": operating_points(),
        "thermal": thermal(),
        "mechanics": MechanicsSummary(
            hoop_stress_MPa=3.1,
            magnet_pull_N=44.0,
            overspeed_margin=1.4,
            unbalanced_pull_N=0.0,
            bearing_load_N=1.3,
            rotor_mass_kg=0.09,
        ),
        "limiter": Limiter(
            shares={"gap": 0.22, "core": 0.46, "ring": 0.0, "leakage": 0.08, "outside": 0.24},
            sentence="Nearly half of the magnets' drive is lost in the printed core: a filament "
            "with more iron or wider teeth would help most.",
        ),
        "checks": (
            Finding(name="slot fill factor", status="ok", value=0.311, limit=0.45),
            Finding(
                name="flux density in the teeth, T",
                status="watch",
                value=0.41,
                limit=0.38,
                why="above this the filament saturates and the linear figures are too high.",
                do="widen the teeth, or choose a filament with more iron.",
            ),
        ),
        "sources": (
            "ndfeb-n42h: maker's data sheet, invented for this test",
            "End factor: field of the magnets of finite length, computed.",
        ),
        "timing_s": {"mesh": 0.4, "field": 1.2},
        "field_map": field_map(),
        "inductance": inductance(),
        "waveforms": waveforms(),
        "as_built": None,
        "magnets_map": magnets_map(),
    }
    return PerformanceSheet(**(values | changes))


def sweep(samples: int = 61, **changes: object) -> RotorSweep:
    """Return a sweep with current that turns with the rotor."""
    angle_deg = np.linspace(0.0, 360.0 / POLE_PAIRS, samples)
    values: dict[str, Any] = {
        "angle_deg": angle_deg,
        "torque_Nm": 0.32 + 8e-4 * np.sin(math.lcm(SLOTS, POLES) * np.radians(angle_deg)),
        "pull_N": np.zeros((2, samples)),
        "flux_linkage_Wb": 1.9e-3 * three_phases(angle_deg),
        "currents_A": 14.0 * np.roll(three_phases(angle_deg), 1, axis=1),
        "waveform": "held" if "currents_A" in changes else "sine",
        "parts": None,
        "dofs": 12345,
        "method": "linear",
        "timing_s": {"mesh": 0.4, "field": 1.2},
    }
    return RotorSweep(**(values | changes))
