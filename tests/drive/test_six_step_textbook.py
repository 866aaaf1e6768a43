"""Six-step drive where closed forms exist: standstill, no inductance, no losses, fast decay.

Averages over the 60° in which a pair of terminals conducts, sine back-EMF of line amplitude
√3 p ψ: mean (3/π), mean square 1/2 + 3√3/(4π); integrals of cos and cos² over ±30°.
"""

import math

import numpy as np
import pytest
from drive_machines import EMF, PAIRS, PSI, branch_waves, machine

from fem_motor.drive import Bridge, ElectricalMachine, operating_point, six_step_state, torque_state

LINE = math.sqrt(3) * EMF
MEAN = 3 / math.pi
MEAN_SQUARE = 0.5 + 3 * math.sqrt(3) / (4 * math.pi)
STIFF = Bridge(supply_voltage=12.0)
NO_INDUCTANCE = 1e-9
TRAPEZOID_SAMPLES = 1440


def test_torque_per_ampere_at_standstill_is_1_654_p_psi() -> None:
    # Square current I in two phases: T = (3/π) √3 p ψ I, here 23.156 mN m/A by hand.
    state = six_step_state(machine(), STIFF, speed=0.0, duty=0.25)
    current = 0.25 * 12 / 0.2
    assert state.line_current_peak == pytest.approx(current, rel=1e-12)
    assert state.torque == pytest.approx(1.6540 * PAIRS * PSI * current, rel=1e-4)
    assert state.torque == pytest.approx(MEAN * LINE * current, rel=1e-9)
    assert state.torque / current == pytest.approx(23.156e-3, rel=2e-5)


def test_ripple_of_square_currents_is_the_60_degree_scallop() -> None:
    # Between 1.5 and √3 p ψ I: 14.03 % of the mean (samples one degree apart miss the tip).
    state = six_step_state(machine(back_emf=branch_waves(shift=0.0)), STIFF, speed=0.0, duty=0.25)
    assert state.torque_peak_to_peak / state.torque == pytest.approx(0.1403, rel=2e-3)


def test_currents_of_120_degrees_have_rms_of_root_two_thirds() -> None:
    state = six_step_state(machine(), STIFF, speed=0.0, duty=0.25)
    assert state.line_current_rms == pytest.approx(15 * math.sqrt(2 / 3), rel=1e-9)
    assert state.supply_current == pytest.approx(0.25 * 15, rel=1e-9)


@pytest.mark.parametrize("speed", [50.0, 250.0, 400.0])
def test_without_inductance_torque_is_the_average_over_60_degrees(speed: float) -> None:
    # i = (V − e)/(2R) at every angle: T = (V (3/π) k − ω (1/2 + 3√3/4π) k²)/(2R), k = √3 p ψ.
    state = six_step_state(machine(inductance=NO_INDUCTANCE), STIFF, speed=speed)
    expected = (12 * MEAN * LINE - speed * MEAN_SQUARE * LINE**2) / 0.2
    assert state.torque == pytest.approx(expected, rel=2e-5)


@pytest.mark.parametrize("speed", [50.0, 150.0, 250.0])
def test_without_inductance_the_first_order_formula_holds_within_half_a_percent(
    speed: float,
) -> None:
    # T = k (V − k ω)/(2R) with k = (3/π) √3 p ψ: M. Drela (2007), from memory.
    state = six_step_state(machine(inductance=NO_INDUCTANCE), STIFF, speed=speed)
    k = MEAN * LINE
    assert state.torque == pytest.approx(k * (12 - k * speed) / 0.2, rel=5e-3)
    assert state.first_order_torque == pytest.approx(k * (12 - k * speed) / 0.2, rel=1e-9)


def test_all_resistances_on_the_path_count_once_in_it() -> None:
    # Path: two branches, two leads, both switches; the supply carries the same current at duty 1.
    bridge = Bridge(
        supply_voltage=12.0, supply_resistance=0.02, controller_resistance=0.005,
        lead_resistance=0.01,
    )  # fmt: skip
    state = six_step_state(machine(), bridge, speed=0.0)
    assert state.supply_current == pytest.approx(12 / (0.2 + 0.02 + 0.005 + 0.02), rel=1e-7)
    current = state.supply_current
    assert state.losses["copper"] == pytest.approx(0.2 * current**2, rel=1e-7)
    assert state.losses["leads"] == pytest.approx(0.02 * current**2, rel=1e-7)
    assert state.losses["controller"] == pytest.approx(0.005 * current**2, rel=1e-7)
    assert state.losses["supply"] == pytest.approx(0.02 * current**2, rel=1e-7)


@pytest.mark.parametrize("duty", [1.0, 0.4])
def test_first_order_formula_is_exact_at_standstill(duty: float) -> None:
    # D V = I (R_path + D² R_s): the supply carries D I and sags by R_s D I, of which D arrives.
    bridge = Bridge(supply_voltage=12.0, supply_resistance=0.05, controller_resistance=0.01)
    state = six_step_state(machine(), bridge, speed=0.0, duty=duty)
    assert state.first_order_torque == pytest.approx(state.torque, rel=1e-7)
    current = duty * 12 / (0.2 + 0.01 + duty**2 * 0.05)
    assert state.line_current_peak == pytest.approx(current, rel=1e-7)


def test_no_load_speed_is_voltage_times_the_dc_speed_constant() -> None:
    # T = 0 at ω = V (3/π)/((1/2 + 3√3/4π) k): 0.18 % below V Kv_dc, Kv_dc = 412.39 rpm/V by hand.
    point = operating_point(
        machine(inductance=NO_INDUCTANCE), STIFF, load=lambda speed: 0.0 * speed
    )
    assert point.speed == pytest.approx(12 * MEAN / (MEAN_SQUARE * LINE), rel=1e-5)
    assert point.speed * 60 / (2 * math.pi) == pytest.approx(12 * 412.39, rel=5e-3)


def trapezoid(connection: str = "star") -> ElectricalMachine:
    """Return a machine whose back-EMF is flat over 120°, height `EMF`."""
    angle = 2 * math.pi / TRAPEZOID_SAMPLES * np.arange(TRAPEZOID_SAMPLES)
    x = angle - 2 * math.pi / 3 * np.arange(3)[:, None]
    wave = EMF * np.clip(np.arcsin(np.sin(x)) / (math.pi / 6), -1, 1)
    assert connection == "star"
    return machine(inductance=NO_INDUCTANCE, back_emf=wave)


def test_trapezoid_has_kt_times_kv_of_9_5493() -> None:
    # Flat top of both phases in use: T = 2 e_t I and no-load speed V/(2 e_t), their product 1 in
    # SI, 60/2π in N m/A times rpm/V. The Fourier series rounds the corners.
    stand = six_step_state(trapezoid(), STIFF, speed=0.0, duty=0.25)
    per_ampere = stand.torque / stand.line_current_peak
    idle = operating_point(trapezoid(), STIFF, load=lambda speed: 0.0 * speed)
    assert idle.speed is not None
    assert per_ampere == pytest.approx(2 * EMF, rel=1e-3)
    rpm_per_volt = idle.speed * 60 / (2 * math.pi) / 12
    assert per_ampere * rpm_per_volt == pytest.approx(9.5493, rel=1e-3)


def test_an_open_terminal_beyond_a_rail_feeds_the_bus() -> None:
    # Star, no inductance, back-EMF ~ sin θ in U, open from 150° to 210°. The open terminal stands
    # at (3/2) e from the middle; beyond the rail V/2 the diode carries (2/3)(V/2 − (3/2) e)/R.
    speed = 600.0
    state = six_step_state(
        machine(inductance=1e-11, back_emf=branch_waves(shift=0.0)), STIFF, speed=speed
    )
    for degrees in (151, 155):
        excess = 1.5 * speed * EMF * math.sin(math.radians(degrees)) - 6.0
        expected = -2 / 3 * max(excess, 0.0) / 0.1
        assert state.line_current[0, degrees] == pytest.approx(expected, rel=1e-3, abs=1e-9)
    assert state.line_current[0, 151] < -0.5


def test_old_current_decays_by_the_logarithm_of_resistance_inductance_and_voltage() -> None:
    # Slow steps with almost no back-EMF: before the hand-over the leaving phase carries
    # I = V/(2R); its diode then puts (2/3)(V/2) against it: t = (L/R) ln(1 + I/(V/(3R)))
    # = (L/R) ln(5/2).
    still = machine(back_emf=1e-6 * branch_waves(), inductance=2e-4)
    speed = 5.0  # 60° last fifteen times L/R
    state = six_step_state(still, STIFF, speed=speed)
    seconds = 2e-4 / 0.1 * math.log(2.5)
    interval = math.pi / 3 / (PAIRS * speed)
    assert state.freewheel_share == pytest.approx(seconds / interval, rel=1e-4)


def test_inductance_costs_torque_at_speed_and_nothing_at_standstill() -> None:
    low, high = machine(inductance=NO_INDUCTANCE), machine(inductance=1e-4)
    assert six_step_state(high, STIFF, speed=0.0).torque == pytest.approx(
        six_step_state(low, STIFF, speed=0.0).torque, rel=1e-9
    )
    assert (
        six_step_state(high, STIFF, speed=300.0).torque
        < 0.9 * six_step_state(low, STIFF, speed=300.0).torque
    )


def test_duty_for_a_torque_gives_that_torque() -> None:
    state = torque_state(machine(), STIFF, speed=200.0, torque=0.15)
    assert state.torque == pytest.approx(0.15, rel=1e-6)
    assert 0 < state.duty < 1
    again = six_step_state(machine(), STIFF, speed=200.0, duty=state.duty)
    assert again.torque == pytest.approx(0.15, rel=1e-6)
