"""The performance sheet, filled from the motor model: units out, ranges, checks, sources."""

import math
import time
from collections.abc import Mapping
from dataclasses import replace
from importlib.metadata import version

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.design import Motor, MotorDesign
from fem_motor.findings import Finding, Headline
from fem_motor.performance.answers.records import (
    Constants,
    Limiter,
    NoLoad,
    PerformanceSheet,
    SpeedConstant,
    TorqueConstant,
    WindingSummary,
)
from fem_motor.performance.currents.loaded import fill_loaded
from fem_motor.performance.doubts.checks import result_checks
from fem_motor.performance.doubts.quality import SETTINGS, Quality
from fem_motor.performance.doubts.spreads import unknowns_of
from fem_motor.performance.doubts.trust import answers, end_factor
from fem_motor.performance.operation.use import Asked, fill_use
from fem_motor.powered import powered_motor
from fem_motor.quantities import MachineConstants, MotorModel
from fem_motor.units import DEG, MM, RPM
from fem_motor.winding import Winding, cogging_period

RATED_DENSITY = 4e6
"""RMS current density that counts as rated where the file names no current, A/m²: common
practice for copper in plastic, no source."""

HARMONICS = 40
"""Electrical harmonics counted in the harmonic content."""


def fill_sheet(
    design: MotorDesign,
    motor: Motor,
    winding: Winding,
    model: MotorModel,
    *,
    quality: Quality,
    findings: tuple[Finding, ...],
    timing_s: Mapping[str, float],
    asked: Asked,
) -> PerformanceSheet:
    """Return the sheet of a solved machine.

    Parameters
    ----------
    design, motor, winding, model, quality, asked
    findings, timing_s : those so far
    """
    started, settings, factor = time.perf_counter(), SETTINGS[quality], end_factor(motor)
    ends, rated = factor.value or 1.0, rated_line_current(motor, winding)
    powered = powered_motor(motor, winding, model, end_factor=ends)
    constants = powered.constants
    rated_torque = constants.torque_per_peak_line * rated
    spreads = unknowns_of(
        motor, winding, model, settings, factor=factor, rated_torque=rated_torque
    ).spreads
    opened = time.perf_counter()
    currents = fill_loaded(powered, rated=rated, end_factor=ends)
    with_currents = time.perf_counter()
    powered = replace(powered, saturation=currents.saturation)
    use = fill_use(powered, limit=currents.loaded.limit, flux=spreads.flux, asked=asked)
    found = result_checks(motor, model, settings, rated_torque=rated_torque)
    return PerformanceSheet(
        title=motor.title,
        version=version("fem_motor"),
        quality=quality,
        design=design.to_dict(),
        answers=dict(use.answers)
        | answers(model, constants, resistance=winding.resistance_line_line, spreads=spreads),
        no_load=_no_load(motor, model),
        winding=_winding(winding, model),
        constants=_constants(constants, factor),
        loaded=currents.loaded,
        inductance=currents.inductance,
        waveforms=use.waveforms,
        as_built=use.as_built,
        operating_points=use.points,
        limiter=Limiter(shares=model.drive.shares, sentence=model.drive.sentence),
        thermal=use.thermal,
        mechanics=use.mechanics,
        checks=(*findings, *found, *currents.findings, *use.findings),
        sources=_sources(motor),
        timing_s={**timing_s, **_since(started, opened, with_currents)},
        field_map=model.field_map,
        magnets_map=currents.magnets_map,
        winding_to_load=use.turns,
        throttles=use.throttles,
        speed_map=use.speed_map,
        flight=use.flight,
    )


def _since(started: float, opened: float, with_currents: float) -> dict[str, float]:
    """Return the seconds of other cores, of fields with current, and of all that follows."""
    answered = time.perf_counter()
    return {
        "spread of materials": opened - started,
        "fields with current": with_currents - opened,
        "answers": answered - with_currents,
    }


def rated_line_current(motor: Motor, winding: Winding) -> float:
    """Return the peak line current of "rated" figures, A."""
    if motor.drive.rated_current is not None:
        return motor.drive.rated_current
    branch = math.sqrt(2) * RATED_DENSITY * winding.phase_copper_area
    return branch * (math.sqrt(3) if motor.winding.connection == "delta" else 1.0)


def _no_load(motor: Motor, model: MotorModel) -> NoLoad:
    line = model.back_emf - np.roll(model.back_emf, -1, axis=0)
    flux = model.core_flux
    return NoLoad(
        angle_deg=model.angle / DEG,
        cogging_torque_Nm=model.cogging_torque,
        flux_linkage_Wb=model.flux_linkage,
        back_emf_V_per_rad_per_s=model.back_emf,
        cogging_peak_to_peak_Nm=model.cogging_peak_to_peak,
        cogging_period_deg=cogging_period(motor.stator.slots, motor.rotor.poles) / DEG,
        flux_linkage_fundamental_Wb=model.fundamental_flux_linkage,
        back_emf_thd=harmonic_content(model.back_emf[0]),
        back_emf_line_thd=harmonic_content(line[0]),
        gap_flux_density_T=model.gap_flux_density,
        gap_angle_deg=model.gap_angle / DEG,
        tooth_flux_density_T=flux.tooth,
        yoke_flux_density_T=flux.yoke,
        ring_flux_density_T=flux.ring,
    )


def harmonic_content(wave: FloatArray) -> float:
    """Return the root of the harmonics' squares over the fundamental of one period, (n,).

    >>> import numpy as np
    >>> x = 2 * np.pi / 64 * np.arange(64)
    >>> round(harmonic_content(np.sin(x) + 0.03 * np.sin(5 * x) + 0.04 * np.cos(7 * x)), 12)
    0.05
    """
    amplitude = np.abs(np.fft.rfft(wave))
    return float(np.sqrt(np.sum(amplitude[2 : HARMONICS + 1] ** 2)) / amplitude[1])


def _winding(winding: Winding, model: MotorModel) -> WindingSummary:
    return WindingSummary(
        coils=winding.coils,
        winding_factor=winding.winding_factor,
        fill_factor=winding.fill_factor,
        resistance_phase_ohm=winding.resistance_phase,
        resistance_line_line_ohm=winding.resistance_line_line,
        inductance_d_H=model.inductance_d + model.inductance_end,
        inductance_q_H=model.inductance_q + model.inductance_end,
        copper_mass_kg=winding.copper_mass,
        wire_length_m=winding.wire_length,
        turn_length_mm=winding.turn_length / MM,
    )


def _constants(constants: MachineConstants, factor: Headline) -> Constants:
    return Constants(
        torque_constant_Nm_per_A=TorqueConstant(
            per_peak_phase_ampere=constants.torque_per_peak_phase,
            per_rms_phase_ampere=constants.torque_per_rms_phase,
            per_peak_line_ampere=constants.torque_per_peak_line,
            per_dc_ampere_six_step=constants.torque_per_dc,
        ),
        speed_constant_rpm_per_V=SpeedConstant(
            line_line_peak=constants.speed_per_line_peak / RPM,
            line_line_rms=constants.speed_per_line_rms / RPM,
            phase_peak=constants.speed_per_phase_peak / RPM,
            dc_six_step=constants.speed_per_dc / RPM,
        ),
        motor_constant_Nm_per_sqrtW=constants.motor_constant,
        end_factor=factor,
    )


def _sources(motor: Motor) -> tuple[str, ...]:
    """Return where the materials come from, each once, in the order of the parts."""
    rotor = motor.rotor
    parts = [motor.stator.core, rotor.magnet, rotor.ring, rotor.housing]
    lines = [f"{part.name}: {part.source}" for part in parts if part is not None]
    return tuple(dict.fromkeys(lines))
