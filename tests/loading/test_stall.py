"""Magnets of a motor that is held: which currents flow, where they point, what is left."""

import functools
import math

import numpy as np
import pytest

from fem_motor.design import load_design
from fem_motor.field import solve
from fem_motor.loading import StallCurrent, demagnetisation, demagnetisation_findings
from fem_motor.loading.magnet_readings import density_exceeded
from fem_motor.loading.margins import DemagnetisationMargins, StallMargin
from fem_motor.loading.stall import leads_of, stall_currents, stall_margin
from fem_motor.mesh import mesh_motor
from fem_motor.performance.currents.loaded import stall_current
from fem_motor.powered import powered_motor
from fem_motor.quantities import MotorModel, motor_model
from fem_motor.quantities.fields.machine import motor_problem
from fem_motor.winding import wind

DESIGNS = {
    name: load_design(f"geometries/{name}.toml") for name in ("printed_18s16p", "steel_9s12p")
}
PRINTED, STEEL = DESIGNS.values()
COPPER_PER_K = 0.00393
"""At 20 °C, IEC 60028."""


@functools.cache
def model_of(name: str) -> MotorModel:
    motor = DESIGNS[name].motor
    return motor_model(motor, wind(motor), mesh_motor(motor, quality="draft"), angles_per_period=4)


def held(peak: float) -> StallCurrent:
    return StallCurrent(line_peak=peak, held_by="current limit")


@pytest.mark.parametrize("copper_C", [80.0, -10.0])
def test_a_stalled_motor_draws_the_voltage_over_all_resistances(copper_C: float) -> None:
    # Ohm's law: V/(R_supply + R_controller + R of two leads and two branches), copper at its
    # temperature. The design's 30 A lie far above.
    motor = PRINTED.replace(drive__current_limit_A=200.0).motor
    model = model_of("printed_18s16p")
    powered = powered_motor(motor, wind(motor), model, end_factor=0.9)
    found = stall_current(powered, copper_C)
    cold = wind(motor).resistance_line_line
    leads = 2 * wind(motor).lead_resistance  # not warmed with the winding
    copper = (cold - leads) * (1 + COPPER_PER_K * (copper_C - 20)) + leads
    drive = motor.drive
    whole = drive.supply_resistance + drive.controller_resistance + copper
    assert found.line_peak == pytest.approx(drive.supply_voltage / whole, rel=2e-3)
    assert found.held_by == "resistance"


def test_the_controllers_limit_holds_the_current_where_it_comes_first() -> None:
    # By definition: the controller cuts at its limit, whatever the supply could drive.
    motor = PRINTED.replace(drive__current_limit_A=12.0).motor
    powered = powered_motor(motor, wind(motor), model_of("printed_18s16p"), end_factor=0.9)
    found = stall_current(powered, 20.0)
    assert found.line_peak == pytest.approx(12.0, rel=1e-6)
    assert found.held_by == "current limit"


@pytest.mark.parametrize("connection", ["star", "delta"])
@pytest.mark.parametrize("controller", ["six-step", "sine"])
def test_the_states_of_the_bridge_are_six_directions_of_one_vector(
    controller: str, connection: str
) -> None:
    # 2/3 |Σ i exp(2πik/3)|: 2/√3 of the line current in six-step, star; √3 less in delta.
    motor = PRINTED.replace(winding__connection=connection, drive__controller=controller).motor
    branches = stall_currents(motor, 10.0)
    vector = 2 / 3 * np.exp(2j * math.pi / 3 * np.arange(3)) @ branches
    length = 10.0 * (2 / math.sqrt(3) if controller == "six-step" else 1.0)
    length /= math.sqrt(3) if connection == "delta" else 1.0
    assert np.abs(vector) == pytest.approx(np.full(6, length))
    turns = np.sort(np.angle(vector) % (2 * math.pi))
    assert np.diff(turns) == pytest.approx(np.full(5, math.pi / 3))


def test_leads_of_currents_are_those_that_turning_currents_are_made_with() -> None:
    # There and back: the other way is that of every turning current of the program.
    phases = model_of("printed_18s16p").phases
    for lead in (-2.5, -0.3, 0.0, math.pi / 2, 3.0):
        for angle in (0.0, 0.11, 2.9):
            made = phases.sine(np.array([angle]), peak=3.0, current_angle=lead)
            assert leads_of(phases, made, angle) == pytest.approx([lead], abs=1e-9)


def test_a_linear_motor_at_stall_is_superposed_as_if_solved_hot_in_that_state() -> None:
    # Another way: magnets as they are at 80 °C, the state solved as a whole, not superposed.
    model, motor = model_of("printed_18s16p"), PRINTED.motor
    found = stall_margin(motor, model, current=held(60.0), temperature_C=80.0).worst
    assert found.case == "stall"
    hot = motor_problem(
        motor,
        mesh_motor(motor, quality="draft"),
        sectors=model.problem.sectors,
        saturation="ignored",
        temperature_C=80.0,
    )
    angle = np.array([found.rotor_angle])
    lowest = []
    for state in stall_currents(motor, 60.0).T:
        turns = model.phases.ampere_turns(state[:, None])
        values = solve(hot, angles=angle, ampere_turns=turns).kept_fields[1][0]
        field = hot.magnet_field(values, found.rotor_angle)
        by_magnet = density_exceeded(field.flux_density.reshape(16, -1), field.area.ravel(), 0.01)
        lowest.append(by_magnet.min())
    assert found.flux_density == pytest.approx(min(lowest), abs=2e-4)


def test_the_worst_direction_of_a_stalled_current_is_more_or_less_against_the_magnets() -> None:
    # A field along the magnets (−90°) cannot be the worst. The winding repeats after half a turn.
    model = model_of("printed_18s16p")
    found = stall_margin(PRINTED.motor, model, current=held(300.0), temperature_C=80.0)
    lead = found.worst.current_angle
    assert lead is not None
    assert 0 < lead < math.pi
    assert found.by_magnet is not None
    assert found.by_magnet[:8] == pytest.approx(found.by_magnet[8:], abs=1e-6)
    assert found.by_magnet.min() == pytest.approx(found.worst.margin, abs=1e-6)
    without = found.worst.margin_without_current
    assert found.worst.margin is not None
    assert without is not None
    assert found.worst.margin < without


def test_six_states_at_stall_are_no_milder_than_the_same_vector_straight_against_the_magnets() -> (
    None
):
    # The case of the current limit holds 1.5 times its vector at 90°; stall at that current tries
    # other directions beside it, up to 30° off its own.
    model, motor = model_of("printed_18s16p"), PRINTED.motor
    limit = demagnetisation(motor, model, line_peak=100.0).hot
    stalled = stall_margin(motor, model, current=held(150.0), temperature_C=80.0).worst
    assert limit.margin is not None
    assert stalled.margin is not None
    assert stalled.margin <= limit.margin + 0.02


def test_steel_at_stall_is_solved_with_the_state_that_it_names() -> None:
    # Another way: magnets as they are at 80 °C from the start, and a field of its own.
    model, motor = model_of("steel_9s12p"), STEEL.motor
    found = stall_margin(motor, model, current=held(20.0), temperature_C=80.0).worst
    assert found.current_angle is not None
    hot = motor_problem(
        motor, mesh_motor(motor, quality="draft"), sectors=model.problem.sectors, temperature_C=80.0
    )
    angle = np.array([found.rotor_angle])
    state = stall_currents(motor, 20.0)[:, :1]
    assert leads_of(model.phases, state, found.rotor_angle) == pytest.approx(found.current_angle)
    values = solve(hot, angles=angle, ampere_turns=model.phases.ampere_turns(state))
    field = hot.magnet_field(values.kept_fields[1][0], found.rotor_angle)
    lowest = density_exceeded(field.flux_density.reshape(12, -1), field.area.ravel(), 0.01)
    assert found.flux_density == pytest.approx(lowest.min(), abs=5e-4)


def margins(peak: float) -> DemagnetisationMargins:
    current = held(peak)
    model = model_of("printed_18s16p")
    return demagnetisation(PRINTED.motor, model, line_peak=30.0, stall=lambda _: current)


def test_stall_is_a_finding_of_its_own_with_current_place_and_what_to_do() -> None:
    found = margins(600.0)
    assert found.stall is not None
    hot: StallMargin = found.stall[0]
    assert (hot.worst.temperature_C, found.stall[1].worst.temperature_C) == (80, -10)
    names = [finding.name for finding in demagnetisation_findings(found)]
    assert names[2:] == [
        "demagnetisation margin at stall, magnets at 80 °C, T",
        "demagnetisation margin at stall, magnets at -10 °C, T",
    ]
    finding = demagnetisation_findings(found)[2]
    assert finding.status == "stop"
    assert "the rotor held at" in finding.why
    assert "600 A in the lines (the controller's limit, copper at 80 °C)" in finding.why
    assert finding.do.startswith("hold the current of a stalled motor to")
    # The advice keeps what it promises.
    advised = float(finding.do.split(" to ")[1].split(" A")[0])
    after = margins(advised).stall
    assert after is not None
    assert after[0].worst.margin == pytest.approx(0.055, abs=0.02)
