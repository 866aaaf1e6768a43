"""Seconds to soften, continuous and short loads, duty: closed forms and second methods."""

import math
from dataclasses import replace

import numpy as np
import pytest
from networks import adiabatic_seconds, network_of, one_part, two_parts

from fem_motor.heat import Heating, duty_card, load_limit, seconds_until_soft, transient
from fem_motor.heat.endurance.duty import cycle_of
from fem_motor.heat.parts.network import assemble
from fem_motor.heat.states.steady import steady_readings

ALPHA = 0.00393


def plain(level: float) -> Heating:
    return Heating(copper=level)


def test_one_part_softens_when_its_exponential_says_so() -> None:
    # θ = P/(G − αP) (1 − e^(−(G − αP) t/C)) = 40 K.
    network = one_part()
    answer = seconds_until_soft(network, Heating(copper=30.0), softening_C=60.0)
    left = 0.5 - ALPHA * 30
    expected = -10 / left * math.log1p(-40 * left / 30)
    assert answer.value == pytest.approx(expected, rel=1e-6)
    assert answer.low == pytest.approx(expected, rel=1e-6)


def test_a_core_that_never_softens_says_where_it_ends() -> None:
    # One part without a coefficient: 20 °C + P/G = 20 + 10/0.5 = 40 °C.
    answer = seconds_until_soft(one_part(alpha=0.0), Heating(copper=10.0), softening_C=60.0)
    assert answer.value is None
    assert answer.because == "never: the core ends at 40 °C and softens at 60 °C."


def test_copper_that_burns_before_the_core_is_soft_is_named() -> None:
    # The coil, hardly tied to the core: 20 J/K and 100 W are 400 K after 80 s, the core cold.
    network = two_parts(between=1e-9)
    answer = seconds_until_soft(network, Heating(copper=100.0))
    assert answer.value == pytest.approx(80.0, rel=1e-6)
    assert answer.because is not None
    assert answer.because.startswith("copper risen by 400 K: the winding burns before the core")
    near = seconds_until_soft(two_parts(between=50.0), Heating(copper=100.0))
    assert near.because is not None
    assert near.because.startswith("core at 60 °C where the coil touches it")


def test_without_cooling_the_network_takes_the_adiabatic_seconds() -> None:
    # One part of copper alone, hardly tied to its surroundings: the formula of IEC 60724.
    volume = 1e-6
    network = replace(
        one_part(capacity=385 * 8890 * volume, outside=1e-12),
        copper_volume=volume,
        surroundings_C=25.0,
    )
    answer = seconds_until_soft(network, network.copper_heating(10e6), softening_C=55.0)
    expected = adiabatic_seconds(10e6, from_C=25.0, to_C=55.0)
    assert answer.value == pytest.approx(expected, rel=1e-6)
    assert answer.value == pytest.approx(55.3, abs=0.05)


def test_a_core_takes_longer_than_its_copper_alone() -> None:
    network = network_of("printed_18s16p")
    for density in (8e6, 10e6, 20e6, 30e6):
        answer = seconds_until_soft(network, network.copper_heating(density))
        assert answer.value is not None
        assert answer.value > adiabatic_seconds(density, from_C=25.0, to_C=53.0)


def test_more_current_softens_sooner() -> None:
    network = network_of("printed_18s16p")
    answers = [seconds_until_soft(network, network.copper_heating(j)) for j in (9e6, 12e6, 18e6)]
    seconds = [answer.value for answer in answers]
    assert None not in seconds
    assert seconds == sorted(seconds, key=lambda value: -(value or 0))
    for answer in answers:
        assert answer.low is not None
        assert answer.value is not None
        assert answer.low < answer.value


def test_the_seconds_are_those_at_which_the_history_passes_the_limit() -> None:
    network = network_of("printed_18s16p")
    heating = network.copper_heating(11e6)
    seconds = seconds_until_soft(network, heating).value
    assert seconds is not None
    history = transient(network, [(seconds, heating)])
    hottest = max(history.of(part)[-1] for part in network.core_readings)
    assert hottest == pytest.approx(53.0, abs=0.01)


def test_a_core_that_never_softens_says_why() -> None:
    network = network_of("printed_18s16p")
    answer = seconds_until_soft(network, network.copper_heating(3e6))
    assert answer.value is None
    assert answer.because.startswith("never: the core ends at ")
    steel = seconds_until_soft(network_of("steel_12s14p"), Heating(copper=500.0))
    assert steel.value is None
    assert steel.because == "never: the core is no plastic."


def test_surroundings_hotter_than_the_core_bears_leave_no_seconds() -> None:
    network = replace(two_parts(), surroundings_C=65.0)
    assert seconds_until_soft(network, Heating(copper=1.0)).value == 0.0


def test_a_winding_may_burn_before_the_core_is_soft() -> None:
    network = two_parts(first=1.0, second=500.0, between=1e-3, alpha=ALPHA)
    answer = seconds_until_soft(network, Heating(copper=50.0))
    assert answer.value is not None
    assert answer.value < 10
    assert "the winding burns before the core is soft" in answer.because


def test_the_largest_lasting_load_of_one_part_is_that_of_its_hot_resistance() -> None:
    # P (1 + α θ) = G θ at θ = 115 K.
    found = load_limit(one_part(), plain, highest=1000.0)
    expected = 0.5 * 115 / (1 + ALPHA * 115)
    assert found.level.value == pytest.approx(expected, rel=2e-3)
    assert found.part == "copper"


def test_the_largest_burst_of_one_part_is_that_of_its_exponential() -> None:
    # Films do not change here, so the burst is exact: solve θ(10 s) = 115 K by bisection.
    low, high = 0.0, 1000.0
    for _ in range(60):
        power = (low + high) / 2
        left = 0.5 - ALPHA * power
        low, high = (
            (power, high) if -power / left * math.expm1(-left) < 115 else (low, power)
        )  # t/C = 1
    found = load_limit(one_part(), plain, highest=1000.0, seconds=10.0)
    assert found.level.value == pytest.approx(low, rel=2e-3)


@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p"])
def test_at_the_lasting_limit_one_part_is_at_its_limit_and_none_above(name: str) -> None:
    network = network_of(name)
    full = network.copper_heating(10e6).copper

    def load(level: float) -> Heating:
        return Heating(copper=full * (level / 100) ** 2, speed=600 * (level / 100) ** (1 / 3))

    found = load_limit(network, load, highest=2000.0)
    assert found.level.value is not None
    assert found.level.low is not None
    assert found.level.high is not None
    assert found.level.low < found.level.value < found.level.high
    readings = steady_readings(network, load(found.level.value))
    assert readings is not None
    assert float((readings - network.limit_array).max()) == pytest.approx(0.0, abs=0.3)
    worst = int(np.argmax(readings - network.limit_array))
    assert network.readings[worst] == found.part


@pytest.mark.parametrize("seconds", [10.0, 60.0])
def test_a_burst_is_that_of_a_history_with_its_heat_soaking_in_afterwards(seconds: float) -> None:
    # Second method: small steps that renew the films, then ten times the burst at rest.
    network = network_of("printed_18s16p")
    found = load_limit(network, plain, highest=1e4, seconds=seconds).level.value
    assert found is not None
    rest = [(seconds / 4, Heating(speed=0.0))] * 40
    history = transient(network, [(seconds, plain(found)), *rest])
    over = history.temperatures_C.max(axis=1) - network.limit_array
    assert float(over.max()) == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("end", ["low", "high"])
def test_the_range_of_a_burst_ends_where_the_unluckiest_and_luckiest_motors_are_at_their_limit(
    end: str,
) -> None:
    # Second method: a history of each corner of films, contacts and mount, its soaking included.
    # At the low end the worst of them just holds, at the high end the best.
    network = network_of("printed_18s16p")
    level = getattr(load_limit(network, plain, highest=1e4, seconds=60.0).level, end)
    over = []
    for corner in network.variants():
        phases = [(60.0, plain(level)), *[(15.0, Heating(speed=0.0))] * 40]
        found = transient(corner, phases)
        over.append(float((found.temperatures_C.max(axis=1) - corner.limit_array).max()))
    worst = max(over) if end == "low" else min(over)
    assert worst == pytest.approx(0.0, abs=0.5)


def test_the_range_of_a_rest_ends_where_the_unluckiest_motor_just_holds() -> None:
    # Second method: thirty cycles of each corner with the longest rest of the range.
    network = network_of("printed_18s16p")
    heating = network.copper_heating(9e6)
    (row,) = duty_card(network, heating, on_seconds=(30.0,))
    rest, likely, low = row.rest_seconds.high, row.rest_seconds.value, row.rest_seconds.low
    assert rest is not None
    assert likely is not None
    assert low is not None
    assert low < likely < rest
    over = []
    for corner in network.variants():
        history = transient(corner, [(30.0, heating), (rest, Heating(speed=0.0))] * 30)
        last = history.temperatures_C[:, history.time > history.time[-1] - 30.0 - rest]
        over.append(float((last.max(axis=1) - corner.limit_array).max()))
    assert max(over) == pytest.approx(0.0, abs=0.6)


def test_shorter_bursts_bear_more_than_longer_ones_and_these_more_than_for_good() -> None:
    network = network_of("printed_18s16p")
    ten, sixty, lasting = (
        load_limit(network, plain, highest=1e4, seconds=seconds).level.value
        for seconds in (10.0, 60.0, None)
    )
    assert ten is not None
    assert sixty is not None
    assert lasting is not None
    assert ten > sixty > lasting


def test_a_load_that_nothing_minds_is_said_to_be_the_highest_looked_at() -> None:
    found = load_limit(one_part(), plain, highest=1.0, measure="copper loss, W")
    assert found.level.value == 1.0
    assert found.part is None
    assert found.findings[0].value == 1.0
    assert found.findings[0].name == "copper loss, W, up to which limits were looked for"


def test_a_motor_too_hot_at_rest_bears_no_load() -> None:
    found = load_limit(replace(one_part(), surroundings_C=140.0), plain, highest=10.0)
    assert found.level.value is None
    assert found.part == "copper"
    assert found.level.because == "copper: too hot even without load."


def test_load_and_rest_in_turn_peak_where_the_geometric_series_says() -> None:
    # One part: θ after the load is E (1 − a)/(1 − a b) with a, b the decays of load and rest.
    network = one_part(alpha=0.0)
    cycle = cycle_of(assemble(network), Heating(copper=40.0), Heating(), on=15.0, rise=np.zeros(1))
    rises = cycle.rises(45.0)
    assert rises is not None
    a, b = math.exp(-15 / 20), math.exp(-45 / 20)
    peak = 80 * (1 - a) / (1 - a * b)
    assert rises[0, 0] == pytest.approx(peak, rel=1e-12)
    assert rises[0, -1] == pytest.approx(peak * b, rel=1e-12)


def test_the_rest_on_the_card_is_the_one_that_keeps_the_peak_at_the_limit() -> None:
    # 115 K = E (1 − a)/(1 − a b): b = (1 − E (1 − a)/115)/a.
    network = one_part(alpha=0.0)
    (row,) = duty_card(network, Heating(copper=100.0), on_seconds=(12.0,))
    a = math.exp(-12 / 20)
    expected = -20 * math.log((1 - 200 * (1 - a) / 115) / a)
    assert row.rest_seconds.value == pytest.approx(expected, rel=0.01)
    assert row.part == "copper"


def test_the_card_of_a_motor_repeats_in_a_history() -> None:
    # Second method: thirty cycles one after the other; the last peak is at the limit.
    network = network_of("printed_18s16p")
    heating = network.copper_heating(10e6)
    (row,) = duty_card(network, heating, on_seconds=(30.0,))
    off = row.rest_seconds.value
    assert off is not None
    history = transient(network, [(30.0, heating), (off, Heating(speed=0.0))] * 30)
    last = history.temperatures_C[:, history.time > history.time[-1] - 30.0 - off]
    over = last.max(axis=1) - network.limit_array
    assert float(over.max()) == pytest.approx(0.0, abs=0.5)


def test_a_load_that_can_stay_needs_no_rest_and_one_too_long_has_none() -> None:
    network = network_of("printed_18s16p")
    easy = duty_card(network, network.copper_heating(3e6))
    assert [row.rest_seconds.value for row in easy] == [0.0] * 4
    (hard,) = duty_card(network, network.copper_heating(15e6), on_seconds=(300.0,))
    assert hard.rest_seconds.value is None
    assert hard.finding is not None
    assert hard.finding.status == "stop"


def test_longer_loads_need_longer_rests() -> None:
    network = network_of("printed_18s16p")
    rows = duty_card(network, network.copper_heating(10e6), on_seconds=(10.0, 30.0, 60.0))
    rests = [row.rest_seconds.value or math.nan for row in rows]
    assert rests == sorted(rests)
    for row in rows:
        assert (row.rest_seconds.low or 0.0) < (row.rest_seconds.value or 0.0)
