"""Sine drive against closed forms of the dq machine.

Source of the forms: R. Krishnan, Permanent Magnet Synchronous and Brushless DC Motor Drives (2010),
from memory; each written out from v = R i + dψ/dt beside its test.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from drive_machines import EMF, PAIRS, PSI, branch_waves, machine

from fem_motor.design import Connection
from fem_motor.drive import Bridge, limit_state, operating_point, operating_points, torque_state

SINE = Bridge(supply_voltage=12.0, controller="sine")
RPM = 2 * math.pi / 60


def test_torque_is_three_halves_p_psi_times_peak_current() -> None:
    # p = 7, ψ = 2 mV s: 21.000 mN m per peak ampere, 29.698 mN m per RMS ampere.
    state = torque_state(machine(), SINE, speed=200.0, torque=0.21)
    assert state.line_current_peak == pytest.approx(10.0, rel=1e-9)
    assert state.torque / state.branch_current_rms == pytest.approx(29.698e-3, rel=2e-5)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_waves_carry_the_torque_without_ripple(connection: Connection) -> None:
    state = torque_state(machine(connection), SINE, speed=150.0, torque=0.1)
    assert np.allclose(state.torque_wave, 0.1, rtol=1e-9)


def test_current_leads_the_back_emf_by_the_advance() -> None:
    # Back-EMF of U peaks at 90° electrical; the current 20° before it.
    motor = machine(back_emf=branch_waves(shift=0.0))
    state = torque_state(
        motor, replace(SINE, timing_advance=math.radians(20)), speed=100.0, torque=0.1
    )
    assert int(np.argmax(state.branch_current[0])) == 70
    assert state.line_current_peak == pytest.approx(
        0.1 / (1.5 * EMF * math.cos(math.radians(20))), rel=1e-9
    )


def test_delta_per_line_ampere_is_root_3_over_2_p_psi() -> None:
    # Branches carry the line current over √3: T = 1.5 p ψ I_line/√3.
    state = torque_state(machine("delta"), SINE, speed=200.0, torque=0.1)
    assert state.torque / state.line_current_peak == pytest.approx(
        math.sqrt(3) / 2 * PAIRS * PSI, rel=1e-9
    )
    assert np.abs(state.line_current).max() == pytest.approx(state.line_current_peak, rel=1e-3)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_no_load_speed_is_voltage_times_kv(connection: Connection) -> None:
    # Line peak equals the bus: Kv = 60/(2π √3 p ψ) = 393.81 rpm/V in star, √3 times that in delta.
    point = operating_point(machine(connection), SINE, load=lambda speed: 0.0 * speed)
    expected = 393.81 * (math.sqrt(3) if connection == "delta" else 1.0)
    assert point.speed is not None
    assert point.speed / RPM / 12 == pytest.approx(expected, rel=2e-5)


def test_kt_times_kv_of_peak_values_is_8_2699() -> None:
    state = torque_state(machine(), SINE, speed=0.0, torque=0.1)
    idle = operating_point(machine(), SINE, load=lambda speed: 0.0 * speed)
    assert idle.speed is not None
    per_ampere = state.torque / state.line_current_peak
    assert per_ampere * idle.speed / RPM / 12 == pytest.approx(8.2699, rel=1e-5)


@pytest.mark.parametrize("torque", [0.05, 0.2])
def test_full_speed_at_a_torque_solves_the_voltage_circle(torque: float) -> None:
    # i_d = 0: (R I + p ω ψ)² + (p ω L_q I)² = V²/3, a quadratic in ω.
    motor = machine(inductance=5e-5, inductance_q=8e-5)
    current = torque / (1.5 * EMF)
    drop = 0.1 * current
    a = EMF**2 + (PAIRS * 8e-5 * current) ** 2
    b, c = 2 * drop * EMF, drop**2 - 12.0**2 / 3
    expected = (-b + math.sqrt(b * b - 4 * a * c)) / (2 * a)
    point = operating_point(motor, SINE, load=lambda speed: torque + 0.0 * speed)
    assert point.speed == pytest.approx(expected, rel=1e-8)


def test_best_angle_of_a_salient_machine_is_the_closed_form() -> None:
    # dT/dγ = 0 at constant I: i_d = (ψ − √(ψ² + 8 (L_q − L_d)² I²))/(4 (L_q − L_d)).
    ld, lq, current = 4e-5, 1e-4, 25.0
    motor = machine(inductance=ld, inductance_q=lq)
    rise = lq - ld
    i_d = (PSI - math.sqrt(PSI**2 + 8 * rise**2 * current**2)) / (4 * rise)
    i_q = math.sqrt(current**2 - i_d**2)
    torque = 1.5 * PAIRS * (PSI - rise * i_d) * i_q
    best = replace(SINE, sine_angle="best", current_limit=current)
    state = limit_state(motor, best, speed=5.0)
    assert state.torque == pytest.approx(torque, rel=1e-9)
    assert state.current_angle == pytest.approx(math.atan2(-i_d, i_q), abs=1e-4)
    back = torque_state(motor, best, speed=5.0, torque=torque * (1 - 1e-6))
    assert back.line_current_peak == pytest.approx(current, rel=1e-5)


def test_field_weakening_meets_both_circles() -> None:
    # Without resistance: (ψ + L i_d)² + (L i_q)² = (V/(√3 p ω))² and i_d² + i_q² = I², so
    # i_d = ((V/(√3 p ω))² − ψ² − L² I²)/(2 ψ L).
    ind, current, speed = 8e-5, 20.0, 600.0
    motor = machine(inductance=ind, resistance=1e-9)
    flux = 12 / (math.sqrt(3) * PAIRS * speed)
    i_d = (flux**2 - PSI**2 - (ind * current) ** 2) / (2 * PSI * ind)
    assert -current < i_d < 0
    torque = 1.5 * EMF * math.sqrt(current**2 - i_d**2)
    state = limit_state(motor, replace(SINE, sine_angle="best", current_limit=current), speed=speed)
    assert state.torque == pytest.approx(torque, rel=1e-5)


@pytest.mark.parametrize("connection", ["star", "delta"])
@pytest.mark.parametrize("third", [0.0, 0.15])
@pytest.mark.parametrize("advance", [0.0, 0.4])
def test_supply_power_is_losses_and_rotor_power(
    connection: Connection, third: float, advance: float
) -> None:
    # In a delta the third harmonic drives a current around it: loss that the rotor pays.
    bridge = replace(
        SINE,
        supply_resistance=0.02,
        controller_resistance=0.006,
        lead_resistance=0.003,
        timing_advance=advance,
    )
    motor = machine(connection, back_emf=branch_waves(third=third), inductance_q=5e-5)
    state = torque_state(motor, bridge, speed=250.0, torque=0.12)
    spent = state.rotor_power + sum(state.losses.values())
    assert state.supply_power == pytest.approx(spent, rel=1e-9)
    assert state.torque == pytest.approx(0.12, rel=1e-9)
    assert np.mean(state.torque_wave) == pytest.approx(0.12, rel=1e-9)
    assert math.sqrt(np.mean(state.branch_current**2)) == pytest.approx(
        state.branch_current_rms, rel=1e-9
    )


def test_a_linear_flux_map_is_the_linear_machine() -> None:
    plain = machine(inductance=4e-5, inductance_q=7e-5)
    mapped = replace(plain, flux_map=lambda i_d, i_q: (4e-5 * i_d, 7e-5 * i_q))
    lead = replace(SINE, timing_advance=0.3)
    one = torque_state(plain, lead, speed=200.0, torque=0.2)
    other = torque_state(mapped, lead, speed=200.0, torque=0.2)
    assert other.line_current_peak == pytest.approx(one.line_current_peak, rel=1e-9)
    assert other.supply_current == pytest.approx(one.supply_current, rel=1e-9)


def test_saturation_asks_for_more_current() -> None:
    # ψ_d falls by i_q²: T = 1.5 p (ψ − a i_q²) i_q, solved by hand for 10 A.
    soft = replace(machine(), flux_map=lambda i_d, i_q: (3e-5 * i_d - 4e-6 * i_q**2, 3e-5 * i_q))
    torque = 1.5 * PAIRS * (PSI - 4e-6 * 100) * 10
    state = torque_state(soft, SINE, speed=100.0, torque=torque)
    assert state.line_current_peak == pytest.approx(10.0, rel=1e-9)


def test_six_step_costs_9_7_percent_more_copper_loss_than_sine_on_sine_back_emf() -> None:
    # 2 R I² at T = (3√3/π) k I against 1.5 R Î² at T = 1.5 k Î: ratio π²/9.
    steps = torque_state(machine(), replace(SINE, controller="six-step"), speed=0.0, torque=0.2)
    sine = torque_state(machine(), SINE, speed=0.0, torque=0.2)
    ratio = steps.losses["copper"] / sine.losses["copper"]
    assert ratio == pytest.approx(math.pi**2 / 9, rel=1e-7)


def test_current_limit_ends_where_the_voltage_does() -> None:
    # Corner: (R I + p ω ψ)² + (p ω L I)² = V²/3 at the limit current.
    limited = replace(SINE, current_limit=15.0)
    corner = operating_points(machine(), limited, load=None)[2]
    assert corner.speed is not None
    assert corner.state is not None
    electrical = PAIRS * corner.speed
    voltage = math.hypot(1.5 + electrical * PSI, electrical * 3e-5 * 15)
    assert voltage == pytest.approx(12 / math.sqrt(3), rel=1e-9)
    assert corner.state.line_current_peak == pytest.approx(15.0, rel=1e-9)
