"""Where drive and load meet, and what comes first: voltage, current, controller speed, friction."""

import math
from dataclasses import replace

import pytest
from drive_machines import EMF, PAIRS, machine

from fem_motor.drive import (
    Bridge,
    OperatingPoint,
    limit_state,
    operating_point,
    operating_points,
    six_step_state,
)

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
