"""Currents and voltages over an electrical period at the load, for a picture."""

from fem_motor.drive import OperatingPoint
from fem_motor.performance.answers.current_records import Waveforms
from fem_motor.powered import PoweredMotor
from fem_motor.units import DEG


def fill_waveforms(powered: PoweredMotor, point: OperatingPoint) -> Waveforms | None:
    """Return the waveforms of an operating point; None where there is no such point."""
    state = point.state
    if state is None:
        return None
    machine = powered.machine()
    terminal, back_emf = machine.line_voltages(state.branch_current, speed=state.speed)
    return Waveforms(
        name=point.name,
        angle_deg=machine.pole_pairs * state.angle / DEG,
        phase_current_A=state.branch_current,
        line_current_A=state.line_current,
        line_voltage_V=terminal,
        line_back_emf_V=back_emf,
        torque_Nm=state.torque_wave,
        mean_torque_Nm=state.torque,
        first_order_torque_Nm=state.first_order_torque,
    )
