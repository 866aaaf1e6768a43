"""Temperatures over time against closed forms, scipy's exponential and its integrator."""

import math

import numpy as np
import pytest
from networks import network_of, one_part, two_parts
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from fem_motor.arrays import FloatArray
from fem_motor.errors import InputError
from fem_motor.heat import Heating, ThermalNetwork, steady, transient
from fem_motor.heat.parts.network import assemble
from fem_motor.heat.states.stepping import propagator

LOSS = Heating(copper=12.0)


def integrated(network: ThermalNetwork, heating: Heating, seconds: float) -> FloatArray:
    """Return the temperatures at the end by a stiff integrator that renews films at every step."""
    assembly = assemble(network)
    power, gain = network.sources(heating)

    def slope(_time: float, rise: FloatArray) -> FloatArray:
        flow = assembly.conductances(rise, network.speed) @ rise
        return np.asarray((power + gain * rise - flow) / network.capacities)

    found = solve_ivp(
        slope, (0.0, seconds), np.zeros(power.size), method="Radau", rtol=1e-10, atol=1e-9
    )
    return np.asarray(network.surroundings_C + found.y[:, -1])


def test_one_part_rises_as_one_minus_e_to_the_minus_t_over_tau() -> None:
    network = one_part(alpha=0.0)
    history = transient(network, [(30.0, LOSS)])
    # τ = C/G = 20 s, final rise P/G = 24 K.
    rise = 24 * -np.expm1(-history.time / 20)
    assert history.of("copper") == pytest.approx(20 + rise, abs=1e-9)


def test_copper_loss_that_grows_with_resistance_slows_the_way_to_a_higher_end() -> None:
    # C θ' = P (1 + α θ) − G θ: rate (G − α P)/C, end P/(G − α P).
    network = one_part()
    left = 0.5 - 0.00393 * 12
    history = transient(network, [(50.0, LOSS)])
    rise = 12 / left * -np.expm1(-history.time * left / 10)
    assert history.of("copper") == pytest.approx(20 + rise, abs=1e-9)


def test_two_parts_follow_their_two_exponentials() -> None:
    # Eigenvalues of [[g/C₁, −g/C₁], [−g/C₂, (g + h)/C₂]] by the quadratic formula.
    network = two_parts()
    c1, c2, g, h, power = 20.0, 80.0, 0.5, 0.3, 12.0
    trace, determinant = g / c1 + (g + h) / c2, g * h / (c1 * c2)
    root = math.sqrt(trace**2 / 4 - determinant)
    fast, slow = trace / 2 + root, trace / 2 - root
    # Rise of the copper: end value and slope at 0 fix both amplitudes.
    end = power / h + power / g
    fast_part = (power / c1 - slow * end) / (fast - slow)
    slow_part = end - fast_part
    seconds = 137.0
    rise = end - fast_part * math.exp(-fast * seconds) - slow_part * math.exp(-slow * seconds)
    history = transient(network, [(seconds, LOSS)])
    assert history.of("copper")[-1] == pytest.approx(20 + rise, abs=1e-9)


@pytest.mark.parametrize("alpha", [0.0, 0.00393, 0.2])
def test_the_propagator_is_the_matrix_exponential(alpha: float) -> None:
    # Also where runaway makes an eigenvalue negative (last case).
    network = two_parts(alpha=alpha)
    assembly = assemble(network)
    law = propagator(assembly, LOSS, np.zeros(2))
    power, gain = network.sources(LOSS)
    matrix = assembly.conductances(np.zeros(2), 0.0) - np.diag(gain)
    block = np.zeros((3, 3))
    block[:2, :2] = -matrix / network.capacities[:, None]
    block[:2, 2] = power / network.capacities
    whole = expm(block * 40.0)
    found, fed = law.map(40.0)
    assert found == pytest.approx(whole[:2, :2], rel=1e-10)
    assert fed == pytest.approx(whole[:2, 2], rel=1e-10)
    start = np.array([3.0, 1.0])
    assert law.rises(start, 40.0) == pytest.approx(found @ start + fed, rel=1e-12)
    assert law.rises(start, np.array([0.0, 40.0]))[:, 0] == pytest.approx(start)


def test_a_step_of_constant_films_is_exact_whatever_its_length() -> None:
    network = two_parts(alpha=0.00393)
    one = transient(network, [(500.0, LOSS)]).temperatures_C[:, -1]
    many = transient(network, [(5.0, LOSS)] * 100).temperatures_C[:, -1]
    assert one == pytest.approx(many, abs=1e-9)


def test_step_response_of_constant_films_is_that_of_an_integrator() -> None:
    network = two_parts(alpha=0.00393)
    history = transient(network, [(200.0, LOSS)])
    assert history.temperatures_C[:, -1] == pytest.approx(
        integrated(network, LOSS, 200.0), rel=1e-6
    )


@pytest.mark.parametrize("seconds", [3.0, 60.0, 400.0])
@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p"])
def test_a_step_response_with_films_and_resistance_that_follow_is_that_of_an_integrator(
    name: str, seconds: float
) -> None:
    # Second method: another of scipy's stiff integrators (Radau IIA) a thousand times finer, the
    # films renewed all the time, the network's equation written down here.
    network = network_of(name)
    heating = network.copper_heating(12e6)
    found = transient(network, [(seconds, heating)]).temperatures_C[:, -1]
    expected = integrated(network, heating, seconds)
    rises = found[: expected.size] - network.surroundings_C
    assert rises == pytest.approx(expected - network.surroundings_C, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p"])
def test_exponentials_in_long_steps_are_within_a_ten_thousandth_of_the_integrator(
    name: str,
) -> None:
    # Second method: LSODA. On, off and on again, as a log has it.
    network = network_of(name)
    phases = [(60.0, network.copper_heating(9e6)), (200.0, Heating()), (30.0, Heating(copper=40.0))]
    close = transient(network, phases)
    quick = transient(network, phases, method="exponentials")
    hottest = close.of("copper").max() - network.surroundings_C
    for part in network.parts:
        found, expected = (
            np.interp([60.0, 260.0, 290.0], history.time, history.of(part))
            for history in (quick, close)
        )
        # The air inside weighs nothing and follows the films of the moment.
        near = 1e-3 if part.endswith("air") else 1e-4
        assert found == pytest.approx(expected, abs=near * hottest)


@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p", "halbach_18s16p"])
def test_what_lasts_ends_in_the_steady_state(name: str) -> None:
    network = network_of(name)
    heating = network.copper_heating(6e6)
    # Three phases: the last begins with films that have settled.
    end = transient(network, [(1e5, heating)] * 3).temperatures_C[:, -1]
    balance = steady(network, heating).temperatures_C
    assert balance is not None
    assert end == pytest.approx(balance, abs=1e-6)


def test_a_motor_left_alone_cools_to_its_surroundings() -> None:
    network = network_of("printed_18s16p", speed=0.0)
    phases = [(100.0, network.copper_heating(12e6)), (1e5, Heating())]
    history = transient(network, phases)
    assert history.of("copper").max() > 40
    assert history.temperatures_C[:, -1] == pytest.approx(25.0, abs=1e-3)


def test_losses_may_change_from_phase_to_phase_and_may_start_warm() -> None:
    network = two_parts()
    first = transient(network, [(60.0, LOSS)])
    second = transient(network, [(30.0, Heating(copper=5.0))], start_C=first.temperatures_C[:2, -1])
    both = transient(network, [(60.0, LOSS), (30.0, Heating(copper=5.0))])
    assert both.temperatures_C[:, -1] == pytest.approx(second.temperatures_C[:, -1], abs=1e-9)
    assert both.time[-1] == pytest.approx(90.0)


def test_runaway_ends_the_history_with_its_second() -> None:
    network = one_part()
    history = transient(network, [(1e6, Heating(copper=200.0))])
    (finding,) = history.findings
    # C θ' = P + (α P − G) θ with α P − G = 0.286 W/K: 400 K after ln(1 + 400 · 0.286/200)/0.0286.
    gain = 0.00393 * 200 - 0.5
    expected = math.log1p(400 * gain / 200) / (gain / 10)
    assert finding.status == "stop"
    assert finding.value is not None
    assert expected <= finding.value < expected * 1.1


def test_what_cannot_be_is_refused() -> None:
    network = two_parts()
    with pytest.raises(InputError, match="a phase lasts"):
        transient(network, [(0.0, LOSS)])
    with pytest.raises(InputError, match="there are 2 parts: copper, teeth"):
        transient(network, [(1.0, LOSS)], start_C=np.zeros(3))
    with pytest.raises(InputError, match="copper = nan is impossible"):
        Heating(copper=math.nan)
    with pytest.raises(InputError, match="magnets takes losses, but this motor has none"):
        transient(network, [(1.0, Heating(magnets=1.0))])
