"""The periodic orbit of six-step currents against marching through time, and its symmetries."""

import math

import numpy as np
import pytest
from drive_machines import EMF, PAIRS, branch_waves, machine
from hypothesis import given, settings
from hypothesis import strategies as st
from marching import March

from fem_motor.design import Connection
from fem_motor.drive import Bridge, ElectricalMachine, six_step_state

LEAD, CONTROLLER, BUS = 0.003, 0.006, 12.0

CASES = {
    # self and mutual inductance (H), speed (rad/s), duty, diode drop (V)
    "freewheeling ends early": (4e-5, -1e-5, 300.0, 1.0, 0.0),
    "half the voltage and diodes with a drop": (1.5e-4, -2e-5, 300.0, 0.5, 0.6),
    "the old current never ends": (3e-4, -3e-5, 150.0, 1.0, 0.0),
    "faster than without load": (1e-4, -2e-5, 640.0, 1.0, 0.4),
}


@pytest.mark.slow
@pytest.mark.parametrize("connection", ["star", "delta"])
@pytest.mark.parametrize("advance_deg", [0.0, 22.0])
@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_orbit_is_where_marching_through_time_settles(
    connection: Connection, advance_deg: float, case: tuple[float, float, float, float]
) -> None:
    # Second method: scipy's DOP853 with events on the bridge itself; see `marching`.
    compare(connection, advance_deg, case)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_one_orbit_of_each_connection_is_where_marching_settles(connection: Connection) -> None:
    compare(connection, 10.0, CASES["freewheeling ends early"])


@pytest.mark.slow
@pytest.mark.parametrize("connection", ["star", "delta"])
def test_orbit_of_unequal_phases_is_where_marching_settles(connection: Connection) -> None:
    # A weak coil: six intervals that differ, no symmetry to lean on.
    compare(connection, 0.0, CASES["freewheeling ends early"], scales=(1.0, 0.8, 1.1))


def compare(
    connection: Connection,
    advance_deg: float,
    case: tuple[float, float, float, float],
    scales: tuple[float, float, float] = (1.0, 1.0, 1.0),
) -> None:
    own, mutual, speed, duty, drop = case
    advance = math.radians(advance_deg)
    marched = March(
        connection=connection,
        waves=((1, EMF), (3, 0.1 * EMF), (5, 0.04 * EMF)),
        pole_pairs=PAIRS,
        resistance=0.1,
        self_inductance=own,
        mutual_inductance=mutual,
        line_resistance=LEAD + CONTROLLER / 2,
        bus=BUS,
        duty=duty,
        drop=drop,
        advance=advance,
        speed=speed,
        scales=scales,
    ).settle()
    waves = np.array(scales)[:, None] * branch_waves(third=0.1, fifth=0.04, shift=0.0)
    state = six_step_state(
        machine(connection, inductance=own - mutual, zero=own + 2 * mutual, back_emf=waves),
        Bridge(
            supply_voltage=BUS,
            controller_resistance=CONTROLLER,
            lead_resistance=LEAD,
            diode_drop=drop,
            timing_advance=advance,
        ),
        speed=speed,
        duty=duty,
    )
    size = np.abs(marched.torque).max()
    assert state.torque == pytest.approx(marched.mean(marched.torque), abs=1e-3 * size, rel=2e-4)
    assert state.branch_current_rms == pytest.approx(marched.rms(marched.branch), rel=2e-4)
    assert state.line_current_rms == pytest.approx(marched.rms(marched.line), rel=2e-4)
    assert state.line_current_peak == pytest.approx(np.abs(marched.line).max(), rel=1e-3)
    electrical = np.mod(marched.angle, 2 * math.pi)
    order = np.argsort(electrical)
    # Waves: where both have samples, linear between marched ones (two a degree).
    for ours, theirs in (
        (state.branch_current, marched.branch),
        (state.line_current, marched.line),
    ):
        for phase in range(3):
            between = np.interp(
                state.angle * PAIRS, electrical[order], theirs[phase][order], period=2 * math.pi
            )
            worst = np.abs(ours[phase] - between).max()
            assert worst < 1e-3 * np.abs(theirs).max()


@settings(deadline=None, max_examples=25)
@given(
    connection=st.sampled_from(["star", "delta"]),
    speed=st.floats(1.0, 900.0),
    duty=st.floats(0.05, 1.0),
    advance_deg=st.floats(-30.0, 45.0),
    inductance=st.floats(1e-6, 1e-3),
    third=st.floats(-0.2, 0.2),
    fifth=st.floats(-0.1, 0.1),
    drop=st.floats(0.0, 0.8),
)
def test_supply_power_is_losses_and_rotor_power(
    *,
    connection: Connection,
    speed: float,
    duty: float,
    advance_deg: float,
    inductance: float,
    third: float,
    fifth: float,
    drop: float,
) -> None:
    # Energy: over a period the inductances give back what they took.
    state = six_step_state(
        machine(
            connection,
            inductance=inductance,
            zero=0.6 * inductance,
            back_emf=branch_waves(third=third, fifth=fifth),
        ),
        Bridge(
            supply_voltage=BUS,
            supply_resistance=0.02,
            controller_resistance=CONTROLLER,
            lead_resistance=LEAD,
            diode_drop=drop,
            timing_advance=math.radians(advance_deg),
        ),
        speed=speed,
        duty=duty,
    )
    spent = state.rotor_power + sum(state.losses.values())
    scale = abs(state.rotor_power) + sum(state.losses.values())
    assert state.supply_power == pytest.approx(spent, abs=1e-6 * scale)
    assert all(loss >= 0 for loss in state.losses.values())


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_means_are_those_of_the_waveforms(connection: Connection) -> None:
    # Mean of Σ e i from the samples shown, one a degree: good to their spacing.
    state = state_of(machine(connection, back_emf=branch_waves(fifth=0.05)), speed=300.0)
    assert np.mean(state.torque_wave) == pytest.approx(state.torque, rel=3e-3)
    square = np.mean(state.branch_current**2)
    assert math.sqrt(square) == pytest.approx(state.branch_current_rms, rel=3e-3)
    assert np.abs(state.line_current.sum(axis=0)).max() < 1e-9
    assert np.abs(state.line_current).max() <= state.line_current_peak * (1 + 1e-9)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_line_currents_are_what_the_branches_bring(connection: Connection) -> None:
    # Kirchhoff at the terminals; in delta line U is branch U–V less branch W–U.
    waves = branch_waves(third=0.1)
    state = state_of(machine(connection, back_emf=waves), speed=300.0)
    branch = state.branch_current
    expected = branch - np.roll(branch, 1, axis=0) if connection == "delta" else branch
    assert np.allclose(state.line_current, expected, atol=1e-9)
    if connection == "delta":  # the third harmonic runs around
        assert np.abs(branch.sum(axis=0)).max() > 1.0


def test_upper_switch_conducts_about_the_peak_of_its_back_emf() -> None:
    # Back-EMF ~ sin θ in U, its peak at 90°: upper rail from 30° to 150°, lower half a turn later.
    state = state_of(machine(inductance=1e-8, back_emf=branch_waves(shift=0.0)), speed=200.0)
    current = state.line_current[0]
    assert (current[31:150] > 0).all()
    assert (current[211:330] < 0).all()
    assert np.abs(current[[5, 15, 25, 155, 170, 200, 335]]).max() < 1e-6


def test_advance_begins_the_steps_earlier() -> None:
    plain = machine(inductance=1e-8, back_emf=branch_waves(shift=0.0))
    state = six_step_state(
        plain, Bridge(supply_voltage=BUS, timing_advance=math.radians(20)), speed=200.0
    )
    assert (state.line_current[0][11:130] > 0).all()
    assert abs(state.line_current[0][135]) < 1e-6


def test_delta_is_the_star_of_a_third_of_its_impedance() -> None:
    # e_UV = e_U − e_V: a star with E/√3, 30° later, has the same line voltages and impedance.
    delta = machine("delta", inductance=9e-5, resistance=0.3)
    star = machine(
        inductance=3e-5,
        resistance=0.1,
        back_emf=branch_waves(shift=0.4 + math.radians(30)) / math.sqrt(3),
    )
    one, other = state_of(delta, speed=300.0), state_of(star, speed=300.0)
    assert one.torque == pytest.approx(other.torque, rel=1e-9)
    assert np.allclose(one.line_current, other.line_current, atol=1e-8)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_a_winding_the_other_way_round_swaps_two_leads_and_nothing_else(
    connection: Connection,
) -> None:
    forward = state_of(machine(connection, back_emf=branch_waves(third=0.1)), speed=300.0)
    swapped = branch_waves(third=0.1)[[0, 2, 1]]
    backward = state_of(machine(connection, back_emf=swapped), speed=300.0)
    assert backward.torque == pytest.approx(forward.torque, rel=1e-9)
    assert backward.torque_peak_to_peak == pytest.approx(forward.torque_peak_to_peak, rel=1e-6)
    assert backward.supply_current == pytest.approx(forward.supply_current, rel=1e-9)
    # e i of each phase is what it was, whichever branch carries it.
    emf = ElectricalMachine.step_torques(machine(back_emf=swapped), 1.0)
    assert emf.shape == (6, 96)
    assert np.mean(backward.torque_wave) == pytest.approx(np.mean(forward.torque_wave), rel=1e-6)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_phases_that_differ_a_little_drive_almost_the_same(connection: Connection) -> None:
    # Six intervals instead of one: the other road through the code, to the same place.
    equal = branch_waves(fifth=0.05)
    apart = equal * np.array([[1 + 2e-3], [1.0], [1.0]])
    one = state_of(machine(connection, back_emf=equal), speed=300.0)
    other = state_of(machine(connection, back_emf=apart), speed=300.0)
    assert other.torque == pytest.approx(one.torque, rel=4e-3)
    assert other.torque != one.torque
    assert other.line_current_rms == pytest.approx(one.line_current_rms, rel=4e-3)


def test_more_supply_resistance_is_the_same_as_less_voltage() -> None:
    # The bus is held at V − R_s I_s: a stiff supply of that voltage drives the same currents.
    sagging = six_step_state(
        machine(), Bridge(supply_voltage=12, supply_resistance=0.05), speed=250.0
    )
    stiff = six_step_state(machine(), Bridge(supply_voltage=sagging.bus_voltage), speed=250.0)
    assert sagging.bus_voltage == pytest.approx(12 - 0.05 * sagging.supply_current, rel=1e-8)
    assert stiff.torque == pytest.approx(sagging.torque, rel=1e-9)
    assert sagging.bus_voltage < 11.5


def test_cogging_rides_on_the_torque_wave_but_not_on_its_mean() -> None:
    angle = 2 * math.pi / 96 * np.arange(96)
    smooth = machine()
    rough = ElectricalMachine(
        pole_pairs=PAIRS,
        back_emf=smooth.back_emf,
        resistance=0.1,
        inductance_d=3e-5,
        inductance_q=3e-5,
        cogging_torque=0.02 * np.sin(6 * angle),
    )
    one, other = state_of(smooth, speed=300.0), state_of(rough, speed=300.0)
    assert other.torque == one.torque
    difference = other.torque_wave - one.torque_wave
    assert np.allclose(difference, 0.02 * np.sin(6 * one.angle * PAIRS), atol=1e-12)


def state_of(motor: ElectricalMachine, *, speed: float):  # noqa: ANN201  (a SteadyState, not on the door)
    return six_step_state(
        motor,
        Bridge(supply_voltage=BUS, controller_resistance=CONTROLLER, lead_resistance=LEAD),
        speed=speed,
    )
