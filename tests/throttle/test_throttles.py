"""Curves over speed, the throttle table, the map, and seconds against current density."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from powered_machines import PRINTED, STEEL, powered

import fem_motor as fm
from fem_motor.drive import operating_points, torque_state
from fem_motor.heat import load_limit, seconds_until_limit, steady, thermal_network, transient
from fem_motor.powered import LoadLine, PoweredMotor, heating_with
from fem_motor.throttle import SpeedMap, Throttles, speed_map, throttles
from fem_motor.throttle.density import density_curve
from fem_motor.throttle.speeds import continuous_torque
from fem_motor.units import RPM


def network_of(motor: PoweredMotor):  # type: ignore[no-untyped-def]  # noqa: ANN201
    return thermal_network(motor.motor, motor.winding, speed=motor.at_load().speed or 0.0)


@cache
def found(name: str = PRINTED, **changes: object) -> Throttles:
    motor = powered(name, **changes)
    points = operating_points(motor.machine(), motor.bridge, load=motor.load, drag=motor.drag)
    return throttles(
        motor,
        network_of(motor),
        known=points[1] if motor.load else points[3],
        top_speed=points[0].speed or 0.0,
        corner_speed=points[2].speed,
    )


@cache
def a_map(name: str) -> SpeedMap:
    motor = powered(name)
    return speed_map(motor, network_of(motor), known=motor.at_load(), curve=found(name).curve)


@pytest.mark.parametrize("controller", ["six-step", "sine"])
def test_at_any_throttle_the_supply_pays_for_the_shaft_and_every_loss(controller: str) -> None:
    motor = powered(PRINTED, drive__controller=controller)
    for throttle in (0.1, 0.4, 0.7, 1.0):
        for copper in (20.0, 90.0):
            point = motor.at_load(throttle=throttle, copper_C=copper)
            assert point.state is not None
            drag = motor.drag_losses(point.state.speed, copper_C=copper)
            spent = (point.shaft_power or 0.0) + sum(point.state.losses.values())
            assert point.state.supply_power == pytest.approx(spent + sum(drag.values()), rel=1e-9)


def test_the_curve_of_full_throttle_meets_the_load_at_the_load_point() -> None:
    curve, point = found().curve, powered().at_load()
    assert point.speed is not None
    at = point.speed / RPM
    # Between points of the curve torque is nearly straight.
    assert np.interp(at, curve.speed_rpm, curve.torque_Nm) == pytest.approx(
        point.shaft_torque, rel=0.02
    )
    load = powered().load
    assert load is not None
    assert curve.load_torque_Nm == pytest.approx([load(n * RPM) for n in curve.speed_rpm])
    assert curve.shaft_power_W == pytest.approx(curve.torque_Nm * curve.speed_rpm * RPM)
    assert curve.torque_Nm[-1] == pytest.approx(0.0, abs=1e-6)


def test_the_torque_for_good_crosses_the_load_at_the_power_for_good() -> None:
    # Second method: along the load's line.
    motor = powered()
    full, network = motor.at_load(), network_of(motor)
    line = LoadLine(motor, full)
    lasting = load_limit(network, line.heating, highest=line.highest, spread="none").level.value
    assert lasting is not None
    assert motor.load is not None
    # A propeller's power goes with the cube of its speed.
    speed = (full.speed or 0.0) * (lasting / (full.shaft_power or 1.0)) ** (1 / 3)
    held = continuous_torque(motor, network, full, speed=speed, highest=1.0)
    assert held == pytest.approx(motor.load(speed), rel=5e-3)


def test_less_throttle_is_less_of_everything_and_lasts_longer() -> None:
    rows = found().rows
    assert [row.throttle for row in rows] == [0.25, 0.5, 0.75, 1.0]
    for name in ("speed_rpm", "shaft_power_W", "supply_current_A", "current_density_A_per_mm2"):
        values = [getattr(row, name) for row in rows]
        assert values == sorted(values)
    seconds = [row.seconds_to_limit or np.inf for row in rows]
    assert seconds == sorted(seconds, reverse=True)
    assert rows[0].seconds_to_limit is None


def test_the_current_density_is_that_of_the_wire() -> None:
    # J = I/A: RMS current of a branch over strands times π d²/4.
    motor = powered()
    state = motor.at_load().state
    assert state is not None
    spec = motor.motor.winding
    area = spec.strands * np.pi / 4 * (spec.wire_diameter * 1e3) ** 2
    assert found().rows[-1].current_density_A_per_mm2 == pytest.approx(
        state.branch_current_rms / area, rel=1e-9
    )


def test_a_load_that_never_starts_has_rows_without_figures_that_say_start() -> None:
    motor = replace(powered(), load=lambda _speed: 50.0)
    points = operating_points(motor.machine(), motor.bridge, load=motor.load, drag=motor.drag)
    rows = throttles(
        motor,
        network_of(motor),
        known=points[3],
        top_speed=points[0].speed or 0.0,
        corner_speed=points[2].speed,
    ).rows
    assert {row.limit for row in rows} == {"start"}
    assert all(row.speed_rpm is None for row in rows)


def test_a_point_of_the_map_is_the_steady_state_there() -> None:
    motor, grid = powered(STEEL), a_map(STEEL)
    row, column = 6, 4
    assert grid.is_reached[row, column]
    speed, torque = grid.speed_rpm[row] * RPM, grid.torque_Nm[column]
    state = torque_state(
        motor.machine(), motor.bridge, speed=speed, torque=torque + motor.drag(speed)
    )
    assert grid.efficiency[row, column] == pytest.approx(torque * speed / state.supply_power)
    assert grid.best_efficiency == grid.efficiency.max()


@pytest.mark.parametrize("name", [PRINTED, STEEL])
def test_the_map_ends_where_the_curve_of_full_throttle_does(name: str) -> None:
    grid, curve = a_map(name), found(name).curve
    most = np.interp(grid.speed_rpm, curve.speed_rpm, curve.torque_Nm)
    below = grid.torque_Nm[None, :] <= 0.97 * most[:, None]
    above = grid.torque_Nm[None, :] > 1.03 * most[:, None]
    assert grid.is_reached[below].all()
    assert not grid.is_reached[above].any()
    assert (grid.efficiency[grid.is_reached == 0] == 0).all()
    assert ((grid.efficiency >= 0) & (grid.efficiency < 1)).all()
    assert (grid.holds_for_good <= grid.is_reached).all()


def test_what_the_map_says_holds_for_good_holds_in_the_network() -> None:
    motor, grid = powered(), a_map(PRINTED)
    network = network_of(motor)
    known = motor.at_load()
    from fem_motor.powered import heating_with  # noqa: PLC0415

    for row in (0, 4, 8):
        for column in range(3):
            if not grid.is_reached[row, column]:
                continue
            heating = heating_with(
                motor, known, torque=grid.torque_Nm[column], speed=grid.speed_rpm[row] * RPM
            )
            temperatures = steady(network, heating).temperatures_C
            survives = temperatures is not None and bool(
                (temperatures <= network.limit_array).all()
            )
            assert bool(grid.holds_for_good[row, column]) == survives


def test_the_controller_s_speed_ends_the_curve() -> None:
    pairs = powered().motor.rotor.pole_pairs
    limited = found(PRINTED, drive__max_electrical_rpm=3000.0 * pairs)
    assert limited.curve.speed_rpm[-1] == pytest.approx(3000.0, rel=1e-9)
    assert limited.rows[-1].limit == "controller speed"


@pytest.mark.parametrize("controller", ["six-step", "sine"])
def test_no_operating_point_is_faster_than_the_controller(controller: str) -> None:
    motor = powered(STEEL, drive__max_electrical_rpm=30000, drive__controller=controller)
    points = operating_points(motor.machine(), motor.bridge, load=motor.load, drag=motor.drag)
    # 30000 electrical rpm on six pole pairs.
    assert [point.speed for point in points] == pytest.approx([5000 * RPM] * 3 + [0.0], rel=1e-9)
    state = points[2].state
    assert state is not None
    assert state.line_current_peak == pytest.approx(motor.bridge.current_limit, rel=1e-6)


def test_a_current_limit_below_the_ripple_is_an_answer_with_its_reason() -> None:
    # By definition: what the back-EMF drives alone is no matter of the throttle.
    motor = powered(STEEL, drive__current_limit_A=0.05)
    points = operating_points(motor.machine(), motor.bridge, load=motor.load, drag=motor.drag)
    (finding,) = [p.finding for p in points if p.state is None and p.finding is not None]
    assert finding.status == "stop"
    assert "ripple from the back-EMF alone" in finding.why
    assert finding.do == "raise current_limit, or put chokes into the leads."


def test_seconds_fall_with_the_current_density_and_end_at_what_lasts() -> None:
    density = found().density
    assert density.lasting_A_per_mm2 is not None
    values = [row.density_A_per_mm2 for row in density.rows]
    seconds = [row.seconds.value for row in density.rows]
    assert values == sorted(values)
    assert values[0] > density.lasting_A_per_mm2
    assert seconds == sorted(seconds, key=lambda value: -(value or 0))
    for row in density.rows:
        assert row.seconds.value is not None
        assert row.seconds.low is not None
        assert row.seconds.low <= row.seconds.value
        # The limit is 10 K below the deflection temperature: reached sooner.
        soft = row.seconds_to_soften_core
        if soft.value is not None:
            assert row.seconds.value < soft.value
            assert (soft.low or 0.0) <= soft.value
    assert density.lasting_low_A_per_mm2 is not None
    assert density.lasting_high_A_per_mm2 is not None
    assert (
        density.lasting_low_A_per_mm2 < density.lasting_A_per_mm2 < density.lasting_high_A_per_mm2
    )


def test_at_high_density_the_core_takes_longer_than_copper_alone() -> None:
    # Copper alone from 25 to 43 °C (the limit of the slot wall) by the adiabatic form of IEC
    # 60724, from memory: the wall cannot be sooner.
    row = found().density.rows[-1]
    c, alpha, rho = 385.0 * 8890.0, 0.00393, 1.7241e-8
    j = row.density_A_per_mm2 * 1e6
    adiabatic = c / (rho * alpha * j**2) * np.log((1 + alpha * 23) / (1 + alpha * 5))
    assert row.seconds.value is not None
    assert row.seconds.value > adiabatic


def test_the_limiting_part_changes_where_the_curve_says() -> None:
    # A core that bears 110 °C: for good it is first, in a short time the enamel of the copper is,
    # for the core follows late; both sides of each change are looked at in the network.
    design = fm.load_design(f"geometries/{PRINTED}.toml").replace(
        materials={"tough": {"like": "iron-filled-pla-10vol", "deflection_temperature_C": 110.0}},
        stator__core="tough",
    )
    motor = fm.solve_powered(design, quality="draft").powered
    known = motor.at_load()
    density = density_curve(motor, network_of(motor), known=known)
    speed = known.speed or 0.0
    turning = heating_with(motor, known, torque=-motor.drag(speed), speed=speed)
    assert density.changes
    for change in density.changes:
        network, at = network_of(motor), change.density_A_per_mm2
        for factor, part in ((0.998, change.below), (1.002, change.above)):
            copper = network.copper_heating(factor * at * 1e6).copper
            heating = replace(turning, copper=copper)
            assert seconds_until_limit(network, heating, spread="none").part == part
        assert (change.low_A_per_mm2 or 0.0) <= at <= (change.high_A_per_mm2 or np.inf)
    parts = [row.part for row in density.rows]
    assert len(density.changes) == sum(a != b for a, b in pairwise(parts))


def test_the_first_limit_is_where_the_history_passes_it() -> None:
    motor = powered()
    network = network_of(motor)
    heating = network.copper_heating(12e6)
    first = seconds_until_limit(network, heating)
    assert first.seconds.value is not None
    assert first.part is not None
    history = transient(network, [(first.seconds.value, heating)])
    limit = dict(zip(network.readings, network.limit_array, strict=True))[first.part]
    # The history takes finer steps than the search.
    assert history.of(first.part)[-1] == pytest.approx(limit, abs=0.3)
    others = history.temperatures_C[:, -1] - network.limit_array
    assert others.max() == pytest.approx(0.0, abs=0.3)


def test_a_motor_that_does_not_even_turn_itself_has_no_curve() -> None:
    motor = powered()
    points = operating_points(motor.machine(), motor.bridge, load=None, drag=motor.drag)
    stuck = throttles(
        replace(motor, load=None),
        network_of(motor),
        known=points[3],
        top_speed=0.0,
        corner_speed=points[2].speed,
    )
    assert stuck.curve.speed_rpm.size == 0
    assert stuck.rows == ()
