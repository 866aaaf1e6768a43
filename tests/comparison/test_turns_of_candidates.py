"""Turns are a transformer between supply and motor: no gain at the same copper."""

import math

import pytest

import fem_motor as fm
from fem_motor.comparison.assessing.tuning import TurnsOfOneMotor, matched_supply, with_turns
from fem_motor.performance import solve_powered
from fem_motor.powered import PoweredMotor, rewound


@pytest.fixture(scope="module")
def powered() -> PoweredMotor:
    design = fm.load_design("geometries/printed_18s16p.toml")
    return solve_powered(design, quality="draft").powered


@pytest.mark.parametrize(("turns", "strands"), [(7, 4), (28, 1)])
@pytest.mark.slow
def test_a_supply_seen_through_the_turns_does_what_a_rewound_motor_does(
    powered: PoweredMotor, turns: int, strands: int
) -> None:
    # Second method: the winding itself scaled (rewound), the same wire: 14 × 2 = 7 × 4 = 28 × 1.
    wound = rewound(
        powered,
        turns=turns,
        strands=strands,
        wire_diameter=powered.motor.winding.wire_diameter,
    ).at_load()
    seen = with_turns(powered, turns / 14).at_load()
    assert wound.shaft_power == pytest.approx(seen.shaft_power, rel=1e-6)
    assert wound.state is not None
    assert seen.state is not None
    assert wound.state.losses["copper"] == pytest.approx(seen.state.losses["copper"], rel=1e-6)
    # Amperes go against the turns.
    assert wound.state.line_current_rms == pytest.approx(
        seen.state.line_current_rms * 14 / turns, rel=1e-6
    )


@pytest.mark.parametrize("wanted", [5.0, 40.0, 150.0])
@pytest.mark.slow
def test_the_turns_found_bring_the_power_that_is_wanted(
    powered: PoweredMotor, wanted: float
) -> None:
    match = matched_supply(TurnsOfOneMotor(powered, powered.at_load()), wanted=wanted)
    power = with_turns(powered, match.turns_factor).at_load().shaft_power
    assert power == pytest.approx(wanted, rel=0.05)
    assert math.isinf(match.most)


@pytest.mark.slow
def test_a_power_beyond_supply_and_controller_is_refused_with_the_most_there_is(
    powered: PoweredMotor,
) -> None:
    # 30 A at 14.8 V are 444 W before any loss.
    match = matched_supply(TurnsOfOneMotor(powered, powered.at_load()), wanted=1000.0)
    assert match.most < 30 * 14.8
    power = with_turns(powered, match.turns_factor).at_load().shaft_power
    assert power == pytest.approx(match.most, rel=1e-6)


@pytest.mark.slow
def test_no_other_turns_bring_more_than_the_most_there_is(powered: PoweredMotor) -> None:
    # Second method: true full throttle at other turns around, none above by more than 1 %.
    match = matched_supply(TurnsOfOneMotor(powered, powered.at_load()), wanted=1000.0)
    factors = [match.turns_factor * math.exp(step) for step in (-0.5, -0.2, -0.05, 0.05, 0.2, 0.5)]
    powers = [with_turns(powered, factor).at_load().shaft_power or 0.0 for factor in factors]
    assert max(powers) < 1.01 * match.most
    assert powers == pytest.approx(sorted(powers[:3]) + sorted(powers[3:], reverse=True))


@pytest.mark.slow
def test_the_first_order_power_is_near_the_true_one(powered: PoweredMotor) -> None:
    # k I with I = (V − k ω)/R leaves out commutation (Drela 2007), which counts with the current.
    errors = []
    for factor in (1.0, 2.0, 3.0, 5.0):
        true = with_turns(powered, factor).at_load().shaft_power or 0.0
        errors.append(powered.rough_shaft_power(factor) / true - 1)
    assert errors == sorted(errors, reverse=True)
    assert errors[0] < 0.3
    assert abs(errors[-1]) < 0.06
