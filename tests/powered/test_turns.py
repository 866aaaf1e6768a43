"""Turns and wire: equal copper is an equal motor, and the load says how many turns."""

import math
from dataclasses import replace

import pytest
from powered_machines import PRINTED, STEEL, powered, without_wires

from fem_motor.drive import torque_state
from fem_motor.heat import Heating, load_limit, seconds_until_soft, thermal_network
from fem_motor.powered import PoweredMotor, heating_at, rewound, winding_to_load
from fem_motor.powered.suiting import TurnsRow, verdict
from fem_motor.powered.wire import wire_for, wire_of
from fem_motor.quantities import machine_constants
from fem_motor.units import MM


def half_the_turns(motor: PoweredMotor) -> PoweredMotor:
    spec = motor.motor.winding
    return rewound(
        motor,
        turns=spec.turns_per_tooth // 2,
        strands=2 * spec.strands,
        wire_diameter=spec.wire_diameter,
    )


def test_half_the_turns_of_twice_the_wire_have_half_the_linkage_and_a_quarter_of_r_and_l() -> None:
    # Worked example: 20 turns, Kv 500, 0.200 ohm, 80 µH become 10 turns of two wires: Kv 1000,
    # 0.050 ohm, 20 µH, the motor constant as before. Source: D. Hanselman, Brushless Permanent
    # Magnet Motor Design (2006), from memory.
    one = powered()
    two = half_the_turns(one)
    assert two.model.fundamental_flux_linkage == pytest.approx(
        one.model.fundamental_flux_linkage / 2, rel=1e-9
    )
    assert two.winding.resistance_phase == pytest.approx(one.winding.resistance_phase / 4, rel=1e-9)
    assert two.machine().inductance == pytest.approx(one.machine().inductance / 4, rel=1e-9)
    # Leads are as long as before: of twice the wire, half the resistance.
    assert two.winding.lead_resistance == pytest.approx(one.winding.lead_resistance / 2, rel=1e-9)
    constants = [
        machine_constants(
            flux_linkage=motor.model.fundamental_flux_linkage,
            pole_pairs=motor.motor.rotor.pole_pairs,
            connection="star",
            resistance=motor.winding.resistance_phase,
        )
        for motor in (one, two)
    ]
    assert constants[1].speed_per_dc == pytest.approx(2 * constants[0].speed_per_dc, rel=1e-9)
    assert constants[1].motor_constant == pytest.approx(constants[0].motor_constant, rel=1e-9)


def test_a_rewound_motor_is_the_one_whose_file_says_so() -> None:
    # Second method: the design with other keys, meshed and solved again.
    solved = powered(PRINTED, winding__turns_per_tooth=7, winding__strands=4)
    found = half_the_turns(powered())
    ours, theirs = found.at_load(), solved.at_load()
    assert found.winding.fill_factor == pytest.approx(solved.winding.fill_factor, rel=1e-9)
    assert found.winding.copper_mass == pytest.approx(solved.winding.copper_mass, rel=1e-9)
    assert found.winding.wire_length == pytest.approx(solved.winding.wire_length, rel=1e-9)
    assert found.winding.resistance_line_line == pytest.approx(
        solved.winding.resistance_line_line, rel=1e-9
    )
    assert ours.shaft_power == pytest.approx(theirs.shaft_power, rel=1e-6)
    assert found.drag_losses(600.0) == pytest.approx(solved.drag_losses(600.0), rel=1e-6)


@pytest.mark.parametrize("name", [PRINTED, STEEL])
def test_at_equal_speed_the_torque_for_good_is_the_same_whatever_the_turns(name: str) -> None:
    # Equal copper, leads and controller without resistance, and the voltage goes with the turns:
    # the same torque, loss and heat. Source: power balance.
    one = without_wires(powered(name, winding__turns_per_tooth=14))
    two = half_the_turns(one)
    two = replace(
        two, bridge=replace(two.bridge, supply_voltage=one.bridge.supply_voltage / 2,
                            current_limit=2 * one.bridge.current_limit, lead_resistance=0.0)
    )  # fmt: skip
    one, two = ironless(one), ironless(two)
    speed = 0.4 * one.bridge.supply_voltage / one.machine().step_torques(1.0).max()
    torques = [torque_for_good(motor, speed) for motor in (one, two)]
    assert torques[1] == pytest.approx(torques[0], rel=1e-5)
    states = [
        torque_state(motor.machine(), motor.bridge, speed=speed, torque=torques[0])
        for motor in (one, two)
    ]
    assert states[1].losses["copper"] == pytest.approx(states[0].losses["copper"], rel=1e-6)
    assert states[1].duty == pytest.approx(states[0].duty, rel=1e-6)


def ironless(motor: PoweredMotor) -> PoweredMotor:
    return motor


def torque_for_good(motor: PoweredMotor, speed: float) -> float:
    network = thermal_network(motor.motor, motor.winding, speed=speed)
    machine = motor.machine()

    def heating(torque: float) -> Heating:
        if torque <= 0:
            return Heating(speed=speed)
        state = torque_state(machine, motor.bridge, speed=speed, torque=torque)
        drag = motor.drag_losses(speed)
        return Heating(
            copper=state.losses["copper"],
            copper_eddy=drag["strand_eddy"],
            speed=speed,
        )

    highest = 0.2 * machine.step_torques(motor.bridge.current_limit).max()
    limit = load_limit(network, heating, highest=highest, spread="none")
    assert limit.level.value is not None
    return limit.level.value


def test_rows_keep_the_motor_constant_but_for_what_whole_wires_leave_of_the_copper() -> None:
    # Km goes with the root of the copper: Km² / copper share is the same in all rows.
    found = winding_to_load(powered())
    squares = [row.motor_constant_Nm_per_sqrtW**2 / row.copper_share for row in found.rows]
    assert squares == pytest.approx([squares[0]] * len(squares), rel=1e-9)
    assert all(row.copper_share <= 1 + 1e-9 for row in found.rows)
    assert "same copper" in found.explanation


def test_a_printed_motor_that_burns_at_full_throttle_wants_more_turns() -> None:
    found = winding_to_load(powered())
    assert found.designed is not None
    assert found.best is not None
    assert found.best.turns > found.designed.turns
    assert found.finding.status == "watch"
    assert found.finding.do.startswith(f"more turns: wind {found.best.turns} turns of ")
    # At the best turns full throttle is what the core holds: within a step of turns, P ∝ N^-3.
    full, lasting = found.best.load_shaft_power_W, found.best.continuous_shaft_power_W
    assert full is not None
    assert lasting is not None
    step = ((found.best.turns + 1) / found.best.turns) ** 3
    assert lasting <= full * (1 + 1e-9)
    assert full / lasting < step**2
    # Nearest to the root of all: at full throttle power falls with the turns.
    powers = [row.load_shaft_power_W or 0.0 for row in found.rows]
    assert powers == sorted(powers, reverse=True)


def test_the_row_of_the_design_softens_when_the_design_does() -> None:
    # All cold at first: copper and magnets at 20 °C.
    motor = powered()
    designed = winding_to_load(motor).designed
    assert designed is not None
    point = motor.at_load()
    network = thermal_network(motor.motor, motor.winding, speed=point.speed or 0.0)
    heating = heating_at(motor, point, copper_C=20.0, magnet_C=20.0)
    expected = seconds_until_soft(network, heating, spread="none").value
    assert designed.seconds_to_soften_core == pytest.approx(expected, rel=1e-6)


def test_a_motor_that_its_battery_holds_back_wants_fewer_turns() -> None:
    found = winding_to_load(powered(STEEL))
    assert found.designed is not None
    assert found.best is not None
    assert found.best.turns < found.designed.turns
    assert found.best.lasting > found.designed.lasting
    assert found.designed.limit == "supply"
    assert "fewer turns" in found.finding.do


def test_the_best_of_all_turns_is_the_best_of_those_shown() -> None:
    # Second method: every number of turns on the way, worked out.
    motor = powered(STEEL)
    shown = winding_to_load(motor)
    everyone = winding_to_load(motor, turns=range(8, 14))
    assert shown.best is not None
    assert everyone.best is not None
    assert shown.best.lasting >= 0.95 * everyone.best.lasting


def test_a_cooler_limit_asks_for_more_turns_or_less_power() -> None:
    motor = powered()
    usual = winding_to_load(motor, turns=[28])
    cooler = winding_to_load(motor, turns=[28], limit_C=40.0)
    pairs = zip(usual.rows, cooler.rows, strict=True)
    assert all(cool.lasting < warm.lasting for warm, cool in pairs)


def test_a_limit_below_the_surroundings_leaves_no_power_and_says_so() -> None:
    found = winding_to_load(powered(), turns=[28], limit_C=20.0)
    assert found.best is None
    assert found.finding.status == "stop"


def test_without_a_load_there_are_no_rows_and_the_finding_says_what_is_missing() -> None:
    found = winding_to_load(replace(powered(), load=None))
    assert found.rows == ()
    assert found.best is None
    assert "[load]" in found.finding.do


def test_a_load_that_never_starts_says_so_in_every_row() -> None:
    stuck = replace(powered(), load=lambda _speed: 50.0)
    found = winding_to_load(stuck)
    assert {row.limit for row in found.rows} == {"start"}
    assert found.best is None
    assert found.finding.status == "stop"


def test_wires_fill_the_copper_without_exceeding_it_and_pass_the_slot_opening() -> None:
    motor = powered().motor
    room = wire_of(motor).area * motor.winding.turns_per_tooth
    for turns in range(1, 60):
        wire = wire_for(motor, turns=turns)
        assert wire is not None
        assert turns * wire.area <= room * (1 + 1e-9)
        assert wire.diameter < motor.stator.slot_opening
    # ASTM B258: three gauges are half the copper, so AWG 24 twice becomes AWG 24 once.
    wire = wire_for(motor, turns=28)
    assert wire is not None
    assert math.isclose(wire.diameter, 0.5106 * MM, rel_tol=1e-3)
    assert wire.strands == 1
    assert wire.gauge == wire_of(motor).gauge == 24


@pytest.mark.parametrize("name", [PRINTED, STEEL])
def test_a_rough_look_at_other_turns_is_that_at_the_rewound_motor(name: str) -> None:
    # k halves, the copper's resistance quarters, that of leads of twice the wire halves. The drag
    # of wires as thick as before stays.
    one = powered(name, winding__turns_per_tooth=14)
    rough = one.rough_shaft_power(0.5)
    assert rough == pytest.approx(half_the_turns(one).rough_shaft_power(1.0), rel=1e-4)
    # Without inductance the currents build up at once: the whole drive gives less, not half.
    assert 0.5 < (one.at_load().shaft_power or 0.0) / one.rough_shaft_power(1.0) < 1.0


def row_of_turns(turns: int, *, lasting: float, at_full: float) -> TurnsRow:
    return TurnsRow(
        turns=turns,
        strands=1,
        wire_diameter_mm=1.0,
        wire_awg=18,
        copper_share=1.0,
        speed_constant_rpm_per_V=1000.0,
        resistance_line_line_ohm=0.1,
        motor_constant_Nm_per_sqrtW=0.02,
        load_shaft_power_W=at_full,
        load_supply_current_A=10.0,
        continuous_shaft_power_W=lasting,
        seconds_to_soften_core=None,
        limit="supply",
    )


@pytest.mark.parametrize(
    ("designed", "best", "status", "begins"),
    [
        ((10, 99.0, 99.0), (9, 100.0, 100.0), "ok", ""),
        ((10, 60.0, 60.0), (8, 100.0, 100.0), "watch", "fewer turns: wind 8 turns of 1 × AWG 18."),
        ((10, 60.0, 200.0), (14, 100.0, 100.0), "watch", "more turns: wind 14 turns"),
        ((10, 100.0, 200.0), (14, 100.0, 110.0), "watch", "more turns: wind 14 turns"),
    ],
)
def test_turns_suit_where_no_others_hold_much_more_and_full_throttle_does_not_burn(
    designed: tuple[int, float, float],
    best: tuple[int, float, float],
    status: str,
    begins: str,
) -> None:
    # The first loses a hundredth of the best; the last holds as much, and burns at full throttle.
    rows = [row_of_turns(n, lasting=held, at_full=full) for n, held, full in (designed, best)]
    found = verdict(*rows)
    assert found.status == status
    assert (found.do or "").startswith(begins)
