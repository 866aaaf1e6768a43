"""Inductances, waveforms and the conventions of Kv and Kt, in words."""

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.numbers import digits, quantity
from fem_motor.performance import PerformanceSheet


def inductance_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return the inductances as (what, value), end turns included unless said otherwise."""
    found = sheet.inductance
    low, high = found.line_line_H.min(), found.line_line_H.max()
    leakage = found.slot_leakage_H
    return (
        ("Phase, d and q axis, incremental, no current",
         _pair(found.incremental_d_H, found.incremental_q_H)),
        ("Phase, d and q axis, incremental, around the rated current",
         _pair(found.rated_incremental_d_H, found.rated_incremental_q_H)),
        ("Phase, d and q axis, apparent, at the rated current",
         _pair(found.apparent_d_H, found.apparent_q_H)),
        ("Phase, self, mean over the rotor angle", quantity(float(found.self_H.mean()), "H")),
        ("Between two phases, mutual, mean", quantity(float(found.mutual_H.mean()), "H")),
        ("Line to line over the rotor angle, what a meter reads",
         f"{quantity(float(low), 'H', count=3)} to {quantity(float(high), 'H', count=3)}"),
        ("of which slot leakage of a phase, textbook estimate",
         "not computed: the core is nearly air" if leakage is None else quantity(leakage, "H")),
        ("of which end turns of a phase, estimate (0.2 to 0.4 μ₀ N² l, here 0.3)",
         quantity(found.end_turns_H, "H")),
    )  # fmt: skip


def _pair(d: float, q: float) -> str:
    return f"{quantity(d, 'H', count=3)}, {quantity(q, 'H', count=3)}"


def waveform_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return what the currents at the load add up to, beside the average formula."""
    waves = sheet.waveforms
    if waves is None:
        return ()
    peak = float(abs(waves.line_current_A).max())
    return (
        (f"Peak of the line current, {waves.name}", quantity(peak, "A", count=3)),
        (f"Mean torque of the waveforms, {waves.name}, before drag",
         quantity(waves.mean_torque_Nm, "N m")),
        ("The same by V = I R + ω/Kv, which knows no inductance",
         quantity(waves.first_order_torque_Nm, "N m")),
    )  # fmt: skip


def conventions(sheet: PerformanceSheet) -> str:
    """Return why two spec sheets of one motor disagree, with this motor's numbers."""
    speed = sheet.constants.speed_constant_rpm_per_V
    torque = sheet.constants.torque_constant_Nm_per_A
    rms, dc, peak, phase = (
        digits(value, 3)
        for value in (
            speed.line_line_rms, speed.dc_six_step, speed.line_line_peak, speed.phase_peak
        )
    )  # fmt: skip
    return (
        "Two spec sheets of one motor disagree because neither says which volt and which ampere "
        f"it means. This motor is {peak} rpm per volt of peak between two leads, {dc} by the "
        "battery's volts without load (what shops mostly call Kv; common practice, no source), "
        f"{rms} by a multimeter's RMS volts when a drill spins it, and {phase} per peak volt of "
        "one phase: nothing about it has changed. Kt goes the same way: "
        f"{quantity(torque.per_dc_ampere_six_step, 'N m', count=3)} per ampere of the flat top in "
        f"six-step, {quantity(torque.per_peak_phase_ampere, 'N m', count=3)} per peak and "
        f"{quantity(torque.per_rms_phase_ampere, 'N m', count=3)} per RMS phase ampere with sine "
        "currents. Only the direct-current pair multiplies to 9.55 rpm N m per watt, the number "
        "that turns rpm into rad/s; ask for the convention before comparing."
    )


def demagnetisation_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return the margins at the current limit and of a motor that is held."""
    loaded = sheet.loaded
    rows = [
        (f"Demagnetisation margin, {name}", quantity(margin, "T", count=3))
        for name, margin in (loaded.demagnetisation_margin_T or {}).items()
    ]
    for name, margin in (loaded.demagnetisation_at_stall_T or {}).items():
        current = quantity(loaded.stall_line_current_A[name], "A", count=3)
        what = f"The same at stall, {name}, {current} in the lines"
        rows.append((what, quantity(margin, "T", count=3)))
    return tuple(rows)


def as_built_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return what the motor as it was really built does; nothing as designed."""
    found = sheet.as_built
    if found is None:
        return ()
    emf = ", ".join(
        quantity(float(one), "V s/rad", count=3) for one in found.back_emf_V_per_rad_per_s
    )
    off = ", ".join(f"{digits(float(one), 2)}°" for one in found.back_emf_angle_error_deg)
    rows = [
        ("Back-EMF of phases U, V, W, amplitude per rad/s", emf),
        ("Largest less smallest of these, over their mean",
         f"{digits(100 * found.back_emf_spread_fraction, 3)} %"),
        ("Phases off their 120°, electrical", off),
        ("Cogging over a whole turn, peak to peak",
         quantity(found.cogging_peak_to_peak_Nm, "N m", count=3)),
        ("Vibration by torque: orders in a turn, the largest first",
         _largest(found.torque_order, found.torque_amplitude_Nm, "N m")),
        ("Pull on the rotor, largest; part of it that stands still",
         f"{quantity(found.pull_N, 'N', count=3)}; {quantity(found.pull_mean_N, 'N', count=3)}"),
        ("Vibration by radial pull: orders around the gap, rotor at 0",
         _largest(found.pressure_order, found.pressure_amplitude_Pa, "Pa")),
        ("The same along the surface of the rotor",
         _largest(found.shear_order, found.shear_amplitude_Pa, "Pa")),
    ]  # fmt: skip
    for loop, current in found.circulating_current_A.items():
        name = "the delta" if loop == "delta" else f"the circuits of phase {loop}"
        rows.append((f"Current around {name} by itself, RMS, at the load's speed",
                     quantity(current, "A", count=3)))  # fmt: skip
    odd = ", ".join(map(str, found.odd_magnets)) or "none"
    rows.append(("Magnets that a viewing film or a probe would show as odd", odd))
    return tuple(rows)


def _largest(orders: FloatArray, amplitudes: FloatArray, unit: str) -> str:
    places = np.argsort(-amplitudes)[:3]
    return ", ".join(
        f"{digits(float(orders[k]))}: {quantity(float(amplitudes[k]), unit, count=2)}"
        for k in places
    )
