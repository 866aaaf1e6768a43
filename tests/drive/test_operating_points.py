"""Where drive and load meet, and what comes first: voltage, current, controller speed, friction."""

import math
from dataclasses import replace

import numpy as np
import pytest
from drive_machines import EMF, PAIRS, machine

from fem_motor.drive import (
    Bridge,
    ElectricalMachine,
    OperatingPoint,
    limit_state,
    operating_point,
    operating_points,
    six_step_state,
    torque_state,
)
from fem_motor.errors import InputError

SUPPLY = Bridge(
    supply_voltage=12.0, supply_resistance=0.02, controller_resistance=0.006, lead_resistance=0.003
)
CONTROLLERS = pytest.mark.parametrize("controller", ["six-step", "sine"])


def propeller(speed: float) -> float:
    return 1e-6 * speed**2


def friction(speed: float) -> float:
    return 2e-3 + 1e-5 * speed


@CONTROLLERS
def test_at_the_load_point_the_shaft_gives_what_the_load_takes(controller: str) -> None:
    point = operating_point(
        machine(),
        replace(SUPPLY, controller=controller),  # type: ignore[arg-type]
        load=propeller,
        drag=friction,
    )
    assert point.speed is not None
    assert point.state is not None
    assert point.shaft_torque == pytest.approx(propeller(point.speed), rel=1e-6)
    assert point.drag_torque == pytest.approx(friction(point.speed), rel=1e-12)
    assert point.state.duty == pytest.approx(1.0, rel=1e-6)
    assert point.shaft_power == pytest.approx(propeller(point.speed) * point.speed, rel=1e-6)
    spent = point.shaft_power + friction(point.speed) * point.speed
    spent += sum(point.state.losses.values())
    assert point.state.supply_power == pytest.approx(spent, rel=1e-6)
    assert point.efficiency == pytest.approx(point.shaft_power / point.state.supply_power)


@CONTROLLERS
def test_four_points_come_in_their_order_and_turn_slower_and_slower(controller: str) -> None:
    points = operating_points(
        machine(),
        replace(SUPPLY, controller=controller, current_limit=25.0),  # type: ignore[arg-type]
        load=propeller,
        drag=friction,
    )
    assert [p.name for p in points] == ["no load", "load", "current limit", "stall"]
    speeds = [p.speed for p in points if p.speed is not None]
    assert speeds == sorted(speeds, reverse=True)
    assert points[0].shaft_torque == pytest.approx(0.0, abs=1e-7)
    for held in points[2:]:
        assert held.state is not None
        assert held.state.line_current_peak == pytest.approx(25.0, rel=1e-7)
    assert points[2].state is not None
    assert points[2].state.duty == pytest.approx(1.0, rel=1e-6)
    assert points[3].speed == 0.0
    assert points[3].efficiency == 0.0


def test_first_order_model_of_a_published_method_is_met_without_inductance() -> None:
    # W = Drela's model on our numbers: V = R I + ω k, Q = k I, k = (3/π)√3 p ψ, propeller Q = c ω²;
    # the orbit's mean square of the back-EMF moves it by no more than half a percent.
    k, path, c = 3 / math.pi * math.sqrt(3) * EMF, 0.2, 1e-6
    b = k * k / path / c
    expected = (-b + math.sqrt(b * b + 4 * k * 12 / path / c)) / 2
    point = operating_point(machine(inductance=1e-9), Bridge(supply_voltage=12.0), load=propeller)
    assert point.speed == pytest.approx(expected, rel=5e-3)


@CONTROLLERS
def test_a_heavy_load_is_carried_at_the_current_limit(controller: str) -> None:
    limited = replace(SUPPLY, controller=controller, current_limit=8.0)  # type: ignore[arg-type]
    point = operating_point(machine(), limited, load=lambda speed: 1e-5 * speed**2)
    assert point.speed is not None
    assert point.state is not None
    assert point.state.line_current_peak == pytest.approx(8.0, rel=1e-5)
    assert point.state.duty < 0.8
    assert point.shaft_torque == pytest.approx(1e-5 * point.speed**2, rel=1e-5)


@CONTROLLERS
def test_half_throttle_without_drag_is_half_the_speed(controller: str) -> None:
    stiff = Bridge(supply_voltage=12.0, controller=controller)  # type: ignore[arg-type]
    light = machine(inductance=1e-9)
    full = operating_point(light, stiff, load=lambda speed: 0.0 * speed)
    half = operating_point(light, replace(stiff, throttle=0.5), load=lambda speed: 0.0 * speed)
    assert full.speed is not None
    assert half.speed == pytest.approx(full.speed / 2, rel=1e-4)


@CONTROLLERS
def test_a_load_beyond_the_stall_torque_does_not_start(controller: str) -> None:
    limited = replace(SUPPLY, controller=controller, current_limit=5.0)  # type: ignore[arg-type]
    stall = limit_state(machine(), limited, speed=0.0).torque
    point = operating_point(machine(), limited, load=lambda speed: 1.01 * stall + 0.0 * speed)
    assert point.speed == 0.0
    assert point.finding is not None
    assert point.finding.status == "stop"
    assert point.finding.value == pytest.approx(stall)
    assert point.finding.limit == pytest.approx(1.01 * stall)
    other = operating_point(machine(), limited, load=lambda speed: 0.99 * stall + 0.0 * speed)
    assert other.finding is None


@CONTROLLERS
def test_the_controller_s_electrical_speed_ends_the_climb(controller: str) -> None:
    top = 200.0
    limited = replace(
        SUPPLY,
        controller=controller,  # type: ignore[arg-type]
        maximum_electrical_speed=top * PAIRS,
    )
    point = operating_point(machine(), limited, load=propeller)
    assert point.speed == pytest.approx(top)
    assert point.shaft_torque == pytest.approx(propeller(top), rel=1e-5)
    assert point.state is not None
    assert point.state.duty < 0.7
    assert point.finding is not None
    assert point.finding.status == "watch"


def test_of_two_meetings_the_first_one_from_standstill_counts() -> None:
    # A boat before it planes: the hump is the first load that drive and hull agree on.
    def hump(speed: float) -> float:
        return math.exp(-(((speed - 150) / 40) ** 2))

    point = operating_point(machine(), SUPPLY, load=hump)
    assert point.speed is not None
    assert point.speed < 150
    full = six_step_state(machine(), SUPPLY, speed=point.speed)
    assert full.torque == pytest.approx(hump(point.speed), rel=1e-6)


def test_points_that_do_not_exist_say_why() -> None:
    points = operating_points(machine(), replace(SUPPLY, current_limit=1e4), load=None)
    for missing in (points[1], points[2]):
        assert isinstance(missing, OperatingPoint)
        assert missing.state is None
        assert missing.speed is missing.shaft_torque is missing.efficiency is None
        assert missing.finding is not None
        assert missing.finding.why
    assert points[3].state is not None
    assert points[3].state.duty == 1.0


def test_advance_turns_an_unloaded_motor_faster() -> None:
    plain = operating_point(machine(), SUPPLY, load=lambda speed: 0.0 * speed)
    early = operating_point(
        machine(), replace(SUPPLY, timing_advance=math.radians(20)), load=lambda speed: 0.0 * speed
    )
    assert plain.speed is not None
    assert early.speed is not None
    assert early.speed > 1.02 * plain.speed


def first_order(
    *, kv_rpm: float, resistance: float, idle: float, voltage: float
) -> tuple[ElectricalMachine, Bridge, float]:
    """Return machine, bridge and drag of the first-order model: V = I R + ω/Kv, Q = (I − I0)/Kv.

    A trapezoid that is flat over 120° makes the average exact; hardly any inductance.
    """
    constant = 60 / (2 * math.pi * kv_rpm)  # V s/rad, line to line
    turn = 2 * math.pi / 720 * np.arange(720)
    wave = np.clip(np.degrees(np.arcsin(np.sin(turn))) / 30, -1, 1) * constant / 2
    emf = np.array([np.roll(wave, 240 * phase) for phase in range(3)])
    machine = ElectricalMachine(
        pole_pairs=1, back_emf=emf, resistance=resistance / 2, inductance_d=1e-9, inductance_q=1e-9
    )
    return machine, Bridge(supply_voltage=voltage), constant * idle


def test_a_published_first_order_motor_on_a_published_propeller() -> None:
    # Kv 700, 0.12 ohm, 0.5 A, 11.1 V; 10 inch propeller of CP 0.0525 in air of 1.225 kg/m³: 6858
    # rpm, 10.86 A, 0.1414 N m, 101.5 W of 120.6 W. Source: M. Drela, First-order DC electric motor
    # model (2007), from memory; solved by hand.
    machine, bridge, drag = first_order(kv_rpm=700, resistance=0.12, idle=0.5, voltage=11.1)

    def load(speed: float) -> float:
        return 0.0525 * 1.225 * (speed / (2 * math.pi)) ** 2 * 0.254**5 / (2 * math.pi)

    point = operating_point(machine, bridge, load=load, drag=lambda _speed: drag)
    assert point.speed is not None
    assert point.state is not None
    assert point.speed * 30 / math.pi == pytest.approx(6858, rel=5e-3)
    assert point.state.supply_current == pytest.approx(10.86, rel=5e-3)
    assert point.shaft_torque == pytest.approx(0.1414, rel=5e-3)
    assert point.shaft_power == pytest.approx(101.5, rel=5e-3)
    assert point.state.supply_power == pytest.approx(120.6, rel=5e-3)
    assert point.efficiency == pytest.approx(0.842, rel=5e-3)


def test_the_best_efficiency_is_that_of_the_root_of_idle_current_and_stall_current() -> None:
    # η = (1 − I0/I)(1 − I R/V) is best at √(I0 V/R): 0.8703 at 7.45 A for 11.1 V, 0.1 ohm, 0.5 A.
    # Source: as above.
    machine, bridge, drag = first_order(kv_rpm=700, resistance=0.1, idle=0.5, voltage=11.1)

    def at(torque: float) -> OperatingPoint:
        return operating_point(
            machine, bridge, load=lambda _speed: torque, drag=lambda _speed: drag
        )

    best = max((at(torque) for torque in np.linspace(0.05, 0.16, 45)), key=lambda p: p.efficiency)
    assert best.state is not None
    assert best.efficiency == pytest.approx(0.8703, rel=1e-3)
    assert best.state.supply_current == pytest.approx(7.45, rel=0.05)  # the top is flat


def test_a_torque_up_to_the_current_limit_is_had_and_one_beyond_it_is_refused_by_its_amperes() -> (
    None
):
    # Six-step with next to no ripple at standstill: 1.654 p ψ I (mean of blocks of 120° on sines),
    # so 1 % more torque takes 1 % more current.
    bridge = Bridge(supply_voltage=12.0, current_limit=10.0)
    motor = machine(inductance=3e-5)
    most = limit_state(motor, bridge, speed=0.0).torque
    assert most == pytest.approx(3 * math.sqrt(3) / math.pi * EMF * 10.0, rel=1e-3)
    at_limit = torque_state(motor, bridge, speed=0.0, torque=most)
    assert at_limit.line_current_peak == pytest.approx(10.0, rel=1e-6)
    with pytest.raises(InputError) as refused:
        torque_state(motor, bridge, speed=0.0, torque=1.01 * most)
    assert "exceeds the current limit" in str(refused.value)
    assert "it takes 10.1 A at the peak of a line, the limit is 10 A" in str(refused.value)
