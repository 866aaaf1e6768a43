"""Losing step and starting: the numbers, their limits, and the verdicts on either side."""

import math
from dataclasses import replace

import numpy as np
import pytest
from drive_machines import EMF, PAIRS, branch_waves, machine

from fem_motor.drive import Bridge, ElectricalMachine, six_step_state, start_findings, step_findings
from fem_motor.drive.checks import pulse_ripple, start_finding
from fem_motor.errors import InputError
from fem_motor.findings import Finding

BRIDGE = Bridge(supply_voltage=12.0)
RPM = 2 * math.pi / 60


def test_current_must_be_gone_before_the_zero_crossing() -> None:
    # Without advance the open phase crosses zero 30° into its 60°.
    for inductance, status in ((1e-5, "ok"), (3e-4, "watch")):
        motor = machine(inductance=inductance)
        state = six_step_state(motor, BRIDGE, speed=200.0)
        finding = step_findings(motor, BRIDGE, state, full_speed=500.0)[0]
        assert finding.value == state.freewheel_share
        assert finding.limit == 0.5
        assert finding.status == status


def test_the_check_says_the_microseconds_of_the_decay_and_of_the_interval() -> None:
    # (L/R) ln(5/2) as in the textbook's step, 2e-4 H/0.1 Ω: 1833 µs; 60° at 35 rad/s electrical:
    # π/3/35 s = 29 920 µs.
    still = machine(back_emf=1e-6 * branch_waves(), inductance=2e-4)
    state = six_step_state(still, BRIDGE, speed=5.0)
    finding = step_findings(still, BRIDGE, state, full_speed=500.0)[0]
    assert "the old current is gone after 1830 µs, and the 60° last 29920 µs" in finding.why


def test_advance_leaves_the_old_current_more_time() -> None:
    # The steps come 15° earlier, the crossing does not: 45° of 60°.
    early = replace(BRIDGE, timing_advance=math.radians(15))
    state = six_step_state(machine(), early, speed=200.0)
    assert step_findings(machine(), early, state, full_speed=500.0)[0].limit == pytest.approx(0.75)


def test_electrical_speed_is_held_against_the_controller() -> None:
    state = six_step_state(machine(), BRIDGE, speed=100.0)
    for share, status in ((1.01, "ok"), (0.99, "stop")):
        bridge = replace(BRIDGE, maximum_electrical_speed=share * 100.0 * PAIRS)
        finding = step_findings(machine(), bridge, state, full_speed=500.0)[1]
        assert finding.value == pytest.approx(100.0 * PAIRS / RPM)
        assert finding.limit == pytest.approx(share * 100.0 * PAIRS / RPM)
        assert finding.status == status
    assert len(step_findings(machine(), BRIDGE, state, full_speed=500.0)) == 3


def test_back_emf_is_read_from_a_twentieth_of_full_speed() -> None:
    # Common practice, no source.
    for speed, status in ((24.0, "watch"), (26.0, "ok")):
        state = six_step_state(machine(), BRIDGE, speed=speed)
        finding = step_findings(machine(), BRIDGE, state, full_speed=500.0)[-2]
        assert finding.limit == pytest.approx(25.0 / RPM)
        assert finding.status == status


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_worst_position_lies_between_two_steps(connection: str) -> None:
    # Best of six scallops is least 30° off its peak: √3 p ψ I cos 30° in star; in delta the line
    # current finds a √3 lower back-EMF.
    motor = machine(connection, back_emf=branch_waves(shift=0.0, samples=360))  # type: ignore[arg-type]
    finding = start_finding(state_torque=motor.step_torques(10.0))
    line = math.sqrt(3) * EMF if connection == "star" else EMF
    assert finding.value == pytest.approx(0.8 * line * 10 * math.cos(math.pi / 6), rel=1e-9)


def test_cogging_counts_where_it_stands_not_by_its_peak_alone() -> None:
    motor = machine(back_emf=branch_waves(shift=0.0, samples=360))
    torque = motor.step_torques(10.0)
    angle = 2 * math.pi / 360 * np.arange(360)
    best = torque.max(axis=0)
    weakest = int(np.argmin(best))
    against = -0.05 * np.cos(6 * (angle - angle[weakest]))
    helping = -against
    plain = start_finding(state_torque=torque).value
    assert plain is not None
    worse = start_finding(state_torque=torque, cogging_torque=against).value
    better = start_finding(state_torque=torque, cogging_torque=helping).value
    assert worse == pytest.approx(plain - 0.05, rel=1e-9)
    assert better is not None
    assert better > plain - 0.05


@pytest.mark.parametrize(("load", "status"), [(0.15, "ok"), (0.19, "watch"), (0.25, "stop")])
def test_start_is_sure_likely_or_hopeless(load: float, status: str) -> None:
    # Worst step at 10 A: √3·14 mV s·10 A·cos 30° = 0.21 N m; four fifths of it 0.168.
    motor = machine(back_emf=branch_waves(shift=0.0, samples=360))
    finding = start_finding(
        state_torque=motor.step_torques(10.0), friction_torque=0.01, load_torque=load
    )
    assert finding.limit == pytest.approx(load + 0.01)
    assert finding.status == status
    assert bool(finding.do) == (status != "ok")


def test_cogging_alone_can_make_the_start_hopeless() -> None:
    # Worst step 0.21 N m; a cogging of 0.05 N m against it there leaves 0.16 for a load of 0.18.
    motor = machine(back_emf=branch_waves(shift=0.0, samples=360))
    torque = motor.step_torques(10.0)
    assert start_finding(state_torque=torque, load_torque=0.18).status == "watch"
    held = start_finding(state_torque=torque, cogging_torque=-0.05, load_torque=0.18)
    assert held.status == "stop"


def test_cogging_at_other_angles_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        start_finding(state_torque=np.ones((6, 96)), cogging_torque=np.ones(95))
    assert str(caught.value) == (
        "cogging_torque has 95 samples.\n"
        "  why: state_torque has 96 rotor angles.\n"
        "  do:  give both at the same angles."
    )


def test_pulses_of_16_khz_ripple_by_4_69_ampere_through_40_microhenry_at_12_volt() -> None:
    # ΔI = V D (1 − D)/(L f) at D = 0.5. Source: N. Mohan, Power Electronics, buck ripple.
    ripple = pulse_ripple(voltage=12.0, duty=0.5, line_inductance=40e-6, frequency=16e3)
    assert ripple == pytest.approx(4.69, rel=5e-3)
    # 20 µH of a branch in star, or 60 µH in delta, are 40 µH between two lines.
    for connection, branch in (("star", 20e-6), ("delta", 60e-6)):
        motor = machine(connection, inductance=branch)
        state = six_step_state(motor, BRIDGE, speed=400.0)
        found = step_findings(motor, BRIDGE, state, full_speed=800.0)[-1]
        assert found.value == pytest.approx(4.69, rel=5e-3)


def verdicts(motor: ElectricalMachine, bridge: Bridge = BRIDGE) -> dict[str, Finding]:
    found = start_findings(
        motor,
        bridge,
        full_speed=500.0,
        state_torque=motor.step_torques(10.0),
        cogging_torque=0.0,
        friction_torque=0.0,
        load_torque=0.0,
    )
    return {one.name: one for one in found}


PHASES_OFF = "start: phases off their 120°, electrical degrees"


def test_even_phases_are_found_even_and_turned_ones_by_their_angle() -> None:
    assert verdicts(machine())[PHASES_OFF].value == pytest.approx(0, abs=1e-6)
    # One of the phases with its ends swapped: two of three then stand 60° off.
    swapped = branch_waves() * np.array([[1.0], [-1.0], [1.0]])
    assert verdicts(machine(back_emf=swapped))[PHASES_OFF].status == "stop"
    # A third of one phase's turns on the next one moves it by atan(sin 120° / (2 + cos 120°)).
    moved = branch_waves()
    moved[1] = (2 * moved[1] + moved[2]) / 3
    off = math.degrees(math.atan2(math.sin(2 * math.pi / 3), 2 + math.cos(2 * math.pi / 3)))
    value = verdicts(machine(back_emf=moved))[PHASES_OFF].value
    assert value is not None
    assert off / 3 < value < off


def test_a_wrong_sequence_is_told_and_a_right_one_is_not() -> None:
    assert "start: sequence of the phases" not in verdicts(machine())
    back = machine(back_emf=branch_waves(sequence=-1))
    assert verdicts(back)["start: sequence of the phases"].status == "watch"
    assert verdicts(back)[PHASES_OFF].status == "ok"


def test_back_emf_of_a_twentieth_of_full_speed_is_told_in_volts() -> None:
    # Star of sines: √3 p ψ ω; a weak motor stays below what can be read.
    name = "start: line back-EMF at a twentieth of full speed, V"
    found = verdicts(machine())[name]
    assert found.value == pytest.approx(math.sqrt(3) * EMF * 25.0, rel=1e-2)
    assert found.status == "ok"
    assert verdicts(machine(back_emf=branch_waves() / 10))[name].status == "watch"


def test_much_advance_and_a_slow_controller_are_named() -> None:
    bridge = replace(
        BRIDGE, timing_advance=math.radians(40), maximum_electrical_speed=400.0 * PAIRS
    )
    found = verdicts(machine(), bridge)
    assert found["start: timing advance, electrical degrees"].status == "watch"
    speed = found["start: electrical speed at full throttle without load, rpm"]
    assert (speed.status, speed.value) == ("watch", pytest.approx(500.0 * PAIRS / RPM))
