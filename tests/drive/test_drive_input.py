"""Impossible input is one clear error, with all that is wrong in it."""

import math
from dataclasses import replace

import numpy as np
import pytest
from drive_machines import branch_waves, machine

from fem_motor.drive import (
    Bridge,
    ElectricalMachine,
    limit_state,
    operating_point,
    six_step_state,
    torque_state,
)
from fem_motor.errors import InputError

BRIDGE = Bridge(supply_voltage=12.0)
SINE = replace(BRIDGE, controller="sine")


def test_all_that_is_wrong_with_a_machine_comes_in_one_error() -> None:
    with pytest.raises(InputError) as caught:
        ElectricalMachine(
            pole_pairs=0, back_emf=np.zeros((2, 50)), resistance=-1.0,
            inductance_d=0.0, inductance_q=math.nan, cogging_torque=np.zeros(7),
        )  # fmt: skip
    places = [problem.place for problem in caught.value.problems]
    assert places == [
        "pole_pairs", "resistance", "inductance_d", "inductance_q", "zero_inductance",
        "shape of back_emf", "shape of cogging_torque",
    ]  # fmt: skip
    assert str(caught.value).startswith(
        "pole_pairs = 0 is impossible.\n  why: a rotor has at least one.\n  do:  correct the value."
    )


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"supply_voltage": 0.0}, "supply_voltage"),
        ({"supply_voltage": math.inf}, "supply_voltage"),
        ({"supply_resistance": -0.1}, "supply_resistance"),
        ({"diode_drop": math.nan}, "diode_drop"),
        ({"current_limit": 0.0}, "current_limit"),
        ({"timing_advance": 2.0}, "timing_advance"),
        ({"controller": "trapezoid"}, "controller"),
        ({"sine_angle": "none"}, "sine_angle"),
        ({"maximum_electrical_speed": -1.0}, "maximum_electrical_speed"),
        ({"throttle": 0.0}, "throttle"),
        ({"throttle": 1.1}, "throttle"),
    ],
)
def test_an_impossible_bridge_names_its_field(change: dict[str, float], place: str) -> None:
    with pytest.raises(InputError) as caught:
        replace(BRIDGE, **change)  # type: ignore[arg-type]
    assert [problem.place for problem in caught.value.problems] == [place]


def test_a_back_emf_that_does_not_alternate_is_refused() -> None:
    with pytest.raises(InputError, match="constant or not finite"):
        machine(back_emf=np.ones((3, 96)))


@pytest.mark.parametrize("speed", [-1.0, math.nan, math.inf])
def test_speeds_that_are_none_are_refused(speed: float) -> None:
    for call in (
        lambda: six_step_state(machine(), BRIDGE, speed=speed),
        lambda: torque_state(machine(), SINE, speed=speed, torque=0.1),
        lambda: limit_state(machine(), SINE, speed=speed),
    ):
        with pytest.raises(InputError) as caught:
            call()
        assert caught.value.problems[0].place == "speed"


def test_a_duty_above_one_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        six_step_state(machine(), BRIDGE, speed=100.0, duty=1.2)
    assert caught.value.problems[0].place == "duty"


@pytest.mark.parametrize("bridge", [BRIDGE, SINE], ids=["six-step", "sine"])
def test_a_torque_beyond_the_voltage_or_the_current_limit_is_refused(bridge: Bridge) -> None:
    limited = replace(bridge, current_limit=10.0)
    for setting, torque in ((bridge, 5.0), (limited, 0.4)):
        with pytest.raises(InputError) as caught:
            torque_state(machine(), setting, speed=200.0, torque=torque)
        assert caught.value.problems[0].place == "torque"
        assert caught.value.problems[0].why
    assert torque_state(machine(), limited, speed=200.0, torque=0.15).torque == pytest.approx(0.15)


def test_a_sine_drive_above_its_voltage_says_so() -> None:
    with pytest.raises(InputError) as caught:
        limit_state(machine(), SINE, speed=900.0)
    assert caught.value.problems[0].place == "speed"


def test_a_current_limit_below_the_ripple_is_refused() -> None:
    # Hardly any inductance and a strong fifth harmonic: current flows at any duty.
    rough = machine(inductance=1e-7, back_emf=branch_waves(fifth=0.3))
    with pytest.raises(InputError) as caught:
        limit_state(rough, replace(BRIDGE, current_limit=0.5), speed=250.0)
    assert caught.value.problems[0].place == "current_limit"


def test_records_are_frozen_to_their_arrays() -> None:
    state = operating_point(machine(), BRIDGE, load=lambda speed: 1e-6 * speed**2).state
    assert state is not None
    for values in (state.angle, state.branch_current, state.line_current, state.torque_wave):
        with pytest.raises(ValueError, match="read-only"):
            values[..., 0] = 1.0
    with pytest.raises(TypeError):
        state.losses["copper"] = 0.0  # type: ignore[index]
