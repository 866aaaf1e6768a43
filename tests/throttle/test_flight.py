"""Temperatures over a profile: steady in the end, and burning is an answer."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from powered_machines import PRINTED, STEEL, powered
from scipy.integrate import solve_ivp

from fem_motor.arrays import FloatArray
from fem_motor.errors import InputError
from fem_motor.heat import Heating, steady, thermal_network
from fem_motor.heat.parts.network import assemble
from fem_motor.powered import heating_at
from fem_motor.throttle import FlightProfile, fly
from fem_motor.throttle.loss_table import LossTables


def held(throttle: float, seconds: float) -> FlightProfile:
    return FlightProfile(time_s=np.array([0, seconds]), throttle=np.array([throttle, throttle]))


@pytest.mark.slow
def test_a_throttle_held_for_long_ends_in_the_steady_state() -> None:
    # Second method: balance of the network at the operating point of its own temperatures.
    motor = powered(STEEL)
    network = thermal_network(motor.motor, motor.winding)
    copper = magnet = 20.0
    state = None
    for _ in range(8):
        point = motor.at_load(throttle=0.6, copper_C=copper, magnet_C=magnet)
        state = steady(network, heating_at(motor, point, copper_C=copper, magnet_C=magnet))
        copper, magnet = state.of("copper") or 20.0, state.of("magnets") or 20.0
    assert state is not None
    assert state.temperatures_C is not None
    flight = fly(motor, held(0.6, 2e5))
    for part, value in zip(state.parts, state.temperatures_C, strict=True):
        assert flight.temperatures_C[part][-1] - 25 == pytest.approx(value - 25, rel=1e-6)


@pytest.mark.slow  # the second method works the operating point out hundreds of times
def test_a_flight_is_that_of_an_integrator_that_renews_point_and_films_all_the_time() -> None:
    # Second method: another stiff integrator of scipy's, the operating point of the temperatures
    # of the moment solved at each of its evaluations. Resistance, remanence and losses all follow.
    motor = powered(PRINTED)
    network = thermal_network(motor.motor, motor.winding)
    assembly, readings = assemble(network), network.readings
    copper_at, magnet_at = readings.index("copper"), readings.index("magnets")

    def heating_of(throttle: float, rise: FloatArray) -> Heating:
        if throttle == 0:
            return Heating(speed=0.0)
        copper, magnet = 25 + float(rise[copper_at]), 25 + float(rise[magnet_at])
        point = motor.at_load(throttle=throttle, copper_C=copper, magnet_C=magnet)
        return heating_at(motor, point, copper_C=copper, magnet_C=magnet)

    def slope(_time: float, rise: FloatArray, throttle: float) -> FloatArray:
        heating = heating_of(throttle, rise)
        power, gain = network.sources(heating)
        conductance = assembly.conductances(rise, heating.speed or 0.0)
        return np.asarray((power + gain * rise - conductance @ rise) / network.capacities)

    rise: FloatArray = np.zeros(len(network.parts))
    for throttle, seconds in ((0.5, 40.0), (0.9, 8.0), (0.0, 30.0), (0.3, 10.0)):
        found = solve_ivp(
            slope, (0, seconds), rise, args=(throttle,), method="BDF", rtol=1e-8, atol=1e-7
        )
        rise = np.asarray(found.y[:, -1])
    times = np.array([0.0, 40.0, 48.0, 78.0, 88.0])
    flight = fly(motor, FlightProfile(time_s=times, throttle=np.array([0.5, 0.9, 0, 0.3, 0.3])))
    ours = [flight.temperatures_C[part][-1] - 25 for part in network.parts]
    assert max(flight.temperatures_C["copper"]) > 45
    assert ours == pytest.approx(rise, rel=1e-6, abs=1e-6)


def test_energy_is_supply_power_times_time() -> None:
    motor = powered(STEEL)
    flight = fly(motor, held(0.3, 5.0))
    power = motor.at_load(throttle=0.3, copper_C=25.0, magnet_C=25.0)
    assert power.state is not None
    # From 25 °C, and hardly warmer after five seconds.
    assert flight.energy_Wh == pytest.approx(power.state.supply_power * 5.0 / 3600, rel=1e-3)
    currents = flight.supply_current_A[:-1]
    assert float(currents @ np.diff(flight.time_s)) * motor.bridge.supply_voltage == pytest.approx(
        flight.energy_Wh * 3600, rel=1e-9
    )


def test_at_throttle_0_nothing_is_drawn_and_the_motor_cools() -> None:
    profile = FlightProfile(time_s=np.array([0, 20, 500]), throttle=np.array([0.6, 0.0, 0.0]))
    flight = fly(powered(), profile)
    at = int(np.searchsorted(flight.time_s, 20.0))
    assert flight.supply_current_A[-1] == 0
    assert flight.speed_rpm[-1] == 0
    copper = flight.temperatures_C["copper"]
    assert copper[-1] < 0.5 * (copper[at] + 25)
    assert copper.max() == pytest.approx(copper[at])


def test_the_first_part_over_its_limit_is_named_with_its_second() -> None:
    motor = powered()
    flight = fly(motor, held(1.0, 60.0))
    assert flight.first_part == "slot walls"
    assert flight.first_s is not None
    # Second method: from the curve, where it crosses the deflection temperature less 10 K.
    crossing = np.interp(
        flight.limits_C["slot walls"], flight.temperatures_C["slot walls"], flight.time_s
    )
    assert flight.first_s == pytest.approx(float(crossing), rel=1e-6)
    assert flight.finding.status == "stop"
    assert "slot walls" in flight.finding.why


def test_a_motor_that_never_starts_burns_at_standstill_and_the_profile_ends_there() -> None:
    stuck = replace(powered(), load=lambda _speed: 50.0)
    flight = fly(stuck, held(1.0, 3600.0))
    assert flight.time_s[-1] < 3600
    assert float(flight.speed_rpm.max()) == 0
    assert "burns" in flight.finding.why


def test_what_is_wrong_with_a_profile_comes_all_at_once() -> None:
    with pytest.raises(InputError) as wrong:
        FlightProfile(time_s=np.array([1.0, 0.5]), throttle=np.array([50.0, 0.0]))
    text = str(wrong.value)
    assert "time_s starts at 1." in text
    assert "time_s does not rise in row 2: 0.5." in text
    assert "throttle = 50 in row 1 is out of range." in text
    assert "divide per cent by 100." in text


@pytest.mark.parametrize(
    ("time", "throttle", "words"),
    [
        ([0.0], [1.0], "time_s has 1 row(s)."),
        ([0.0, np.nan], [1.0, 1.0], "time_s has no number in row 2."),
        ([0.0, 1.0], [1.0], "throttle has 1 row(s)."),
        ([0.0, 1.0], [-0.1, 1.0], "throttle = -0.1 in row 1 is out of range."),
    ],
)
def test_profiles_that_are_none_are_refused(
    time: list[float], throttle: list[float], words: str
) -> None:
    with pytest.raises(InputError, match=words.replace("(", r"\(").replace(")", r"\)")):
        FlightProfile(time_s=np.array(time), throttle=np.array(throttle))


@pytest.mark.slow
@cache
def tables_of_many() -> LossTables:
    return LossTables(powered(), np.linspace(0.1, 1, 240), origin_C=25.0)


@pytest.mark.slow
@pytest.mark.parametrize("throttle", [0.137, 0.731, 0.999])
def test_between_the_throttles_that_are_worked_out_losses_are_those_of_the_point_itself(
    throttle: float,
) -> None:
    # Another way: the operating point itself, solved without the table.
    motor, tables = powered(), tables_of_many()
    found = tables.at(throttle, copper_C=48.0, magnet_C=31.0)
    point = motor.at_load(throttle=throttle, copper_C=48.0, magnet_C=31.0)
    expected = heating_at(motor, point, copper_C=48.0, magnet_C=31.0)
    assert found.heating.copper == pytest.approx(expected.copper, rel=2e-3)
    assert found.heating.magnets == pytest.approx(expected.magnets, rel=2e-3)
    assert found.speed == pytest.approx(point.speed, rel=2e-3)
    assert found.shaft_power == pytest.approx(point.shaft_power, rel=2e-3)


@pytest.mark.slow
def test_a_profile_of_many_throttles_ends_as_warm_as_one_of_half_as_many() -> None:
    # The mean of the losses is the same, so no part differs by a hundredth of its rise.
    motor = powered(STEEL)
    throttle = np.linspace(0.1, 0.3, 60)
    time = np.arange(60) * 8.0
    many = fly(motor, FlightProfile(time_s=time, throttle=throttle))
    few = fly(motor, FlightProfile(time_s=time[::2], throttle=throttle[::2]))
    rise = many.temperatures_C["copper"][-1] - 25
    assert few.temperatures_C["copper"][-1] - 25 == pytest.approx(rise, rel=0.04)


def test_a_profile_of_months_is_taken_for_milliseconds() -> None:
    with pytest.raises(InputError, match="milliseconds"):
        FlightProfile(time_s=np.array([0, 1e8]), throttle=np.array([1, 1]))
