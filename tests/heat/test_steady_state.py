"""Steady state: closed forms, balance of energy, runaway, limits and ranges."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from networks import network_of, one_part, two_parts, with_wall
from strategies import designs

from fem_motor.design import MotorDesign
from fem_motor.heat import Heating, ThermalNetwork, steady, thermal_network
from fem_motor.heat.parts.network import SURROUNDINGS, assemble
from fem_motor.heat.states.steady import steady_rise
from fem_motor.winding import wind

FULL = Heating(
    copper=8.0, copper_C=60.0, copper_eddy=0.5, teeth=0.3, yoke=0.2, magnets=0.4, windage=0.1,
    bearings=0.2,
)  # fmt: skip


def test_two_parts_in_series_are_warmer_by_their_resistances() -> None:
    # 12 W through 1/0.3 and 1/0.5 K/W: teeth 20 + 40 °C, copper 24 K more.
    state = steady(two_parts(), Heating(copper=12.0))
    assert state.of("teeth") == pytest.approx(60.0, abs=1e-9)
    assert state.of("copper") == pytest.approx(84.0, abs=1e-9)


def test_copper_at_its_resistance_when_hot() -> None:
    # θ = P/(G − α P) with P at 20 °C: 12/(0.5 − 0.00393 · 12).
    state = steady(one_part(), Heating(copper=12.0))
    assert state.of("copper") == pytest.approx(20 + 12 / (0.5 - 0.00393 * 12), abs=1e-9)


def test_copper_loss_told_hot_is_the_same_as_told_cold() -> None:
    cold = steady(one_part(), Heating(copper=12.0))
    hot = steady(one_part(), Heating(copper=12.0 * (1 + 0.00393 * 80), copper_C=100.0))
    assert hot.of("copper") == pytest.approx(cold.of("copper") or 0.0, abs=1e-9)


def test_runaway_begins_where_the_loss_grows_faster_than_the_cooling() -> None:
    # α P = G: 0.5/0.00393 = 127.2 W.
    threshold = 0.5 / 0.00393
    below = steady(one_part(), Heating(copper=0.98 * threshold))
    above = steady(one_part(), Heating(copper=1.02 * threshold))
    assert below.temperatures_C is not None
    assert above.temperatures_C is None
    assert above.of("copper") is None
    assert above.limiting_part is None
    assert above.findings[0].status == "stop"
    assert "no steady state, the winding burns" in above.findings[0].why


def test_a_motor_runs_away_as_an_answer_not_as_an_error() -> None:
    network = network_of("printed_18s16p")
    state = steady(network, network.copper_heating(60e6))
    assert state.temperatures_C is None
    assert state.high_C is None
    assert [finding.status for finding in state.findings] == ["stop"]


def test_runaway_in_poor_cooling_alone_is_said() -> None:
    network = network_of("printed_18s16p")
    states = [steady(network, network.copper_heating(j)) for j in np.linspace(10e6, 40e6, 31)]
    only_poor = [s for s in states if s.temperatures_C is not None and s.high_C is None]
    assert only_poor
    assert only_poor[0].findings[0].status == "watch"


def outflow(network: ThermalNetwork, rise: np.ndarray, speed: float) -> float:
    """Return the heat into the surroundings, W: path by path, not by the matrix."""
    total = 0.0
    for path in network.paths:
        if path.end != SURROUNDINGS:
            continue
        resistance = path.resistance + (network.mount_resistance if path.is_mount else 0.0)
        at = network.surroundings_C + rise[path.start]
        for film, area in path.films:
            resistance += 1 / (area * film(at, network.surroundings_C, speed))
        total += rise[path.start] / resistance
    return total


@pytest.mark.parametrize("name", ["printed_18s16p", "printed_18s16p_ring", "steel_9s12p"])
def test_what_goes_in_comes_out(name: str) -> None:
    network = network_of(name)
    rise = steady_rise(assemble(network), FULL)
    assert rise is not None
    copper = network.surroundings_C + rise[:2]
    at_20 = FULL.copper / (1 + 0.00393 * 40)
    loss = at_20 * float(network.copper_share[:2] @ (1 + 0.00393 * (copper - 20)))
    constant = 0.5 + 0.3 + 0.2 + 0.4 + 0.1 + 0.2
    assert outflow(network, rise, network.speed) == pytest.approx(loss + constant, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(design=designs(), speed=st.floats(0, 2000), watts=st.floats(0, 2000))
def test_every_motor_balances_or_runs_away(design: MotorDesign, speed: float, watts: float) -> None:
    network = thermal_network(design.motor, wind(design.motor), speed=speed)
    heating = Heating(copper=watts, magnets=0.1 * watts)
    assembly = assemble(network)
    rise = steady_rise(assembly, heating)
    power, gain = network.sources(heating)
    if rise is None:
        hottest = assembly.conductances(np.full(power.size, 400.0), speed) - np.diag(gain)
        assert np.linalg.eigvalsh(hottest)[0] <= 0
        return
    matrix = assembly.conductances(rise, speed)
    scale = max(1.0, float(np.abs(rise).max()))
    assert matrix @ rise == pytest.approx(power + gain * rise, abs=1e-7 * scale * matrix.max())
    assert rise.min() >= -1e-6 * scale


def test_better_films_never_warm_a_part() -> None:
    network = network_of("printed_18s16p")
    rises = [
        steady_rise(assemble(replace(network, film_factor=factor)), FULL) for factor in (1.0, 1.5)
    ]
    assert rises[0] is not None
    assert rises[1] is not None
    assert (rises[1] < rises[0]).all()


def test_the_range_holds_the_likely_value_and_is_that_of_the_worst_corners() -> None:
    state = steady(network_of("printed_18s16p"), FULL)
    likely, low, high = state.temperatures_C, state.low_C, state.high_C
    assert likely is not None
    assert low is not None
    assert high is not None
    assert (low <= likely).all()
    assert (likely <= high).all()
    network = network_of("printed_18s16p")
    poor = replace(network, film_factor=1 / 1.5, contact=50.0, mount_resistance=100.0)
    expected = steady(poor, FULL).temperatures_C
    assert expected is not None
    assert high[0] == pytest.approx(expected[0], rel=1e-9)


def test_a_printed_core_limits_a_printed_motor_and_the_enamel_a_steel_one() -> None:
    printed, steel = network_of("printed_18s16p"), network_of("steel_12s14p")
    assert steady(printed, printed.copper_heating(6e6)).limiting_part == "slot walls"
    assert steady(steel, steel.copper_heating(6e6)).limiting_part in {"copper", "end turns"}


def test_limits_are_deflection_less_10_kelvin_enamel_less_20_and_the_magnets_own() -> None:
    # Library: filled PLA softens at 53 °C, PETG at 70 °C; enamel class 155; grade H to 120 °C.
    state = steady(network_of("printed_18s16p"), FULL)
    limits = dict(zip(state.parts, state.limits_C, strict=True))
    assert limits["slot walls"] == limits["teeth"] == limits["yoke"] == 43.0
    assert limits["copper"] == 135.0
    assert limits["magnets"] == 120.0
    assert limits["housing"] == 60.0
    assert limits["mount"] is None


def test_a_part_over_its_limit_stops() -> None:
    network = network_of("printed_18s16p")
    findings = steady(network, network.copper_heating(9e6)).findings
    stops = [finding.name for finding in findings if finding.status == "stop"]
    assert "steady temperature of the slot walls, °C" in stops
    assert "steady temperature of the magnets, °C" not in stops


def test_a_wall_lies_between_its_parts_by_the_resistances_on_its_sides() -> None:
    # Copper side 1.0 K/W of solid and 1/(100 · 0.02) = 0.5 of contact, tooth side 0.5: a quarter.
    state = steady(with_wall(two_parts()), Heating(copper=12.0))
    assert state.of("slot walls") == pytest.approx(60.0 + 24.0 / 4, abs=1e-9)
