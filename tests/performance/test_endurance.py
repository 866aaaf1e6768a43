"""Heat and turning at the load point, as the sheet has them."""

import functools
import math
import re

import pytest

import fem_motor as fm
from fem_motor.performance import PerformanceSheet

PRINTED, STEEL = "printed_18s16p", "steel_9s12p"


@functools.cache
def sheet_of(name: str, **changes: object) -> PerformanceSheet:
    design = fm.load_design(f"geometries/{name}.toml")
    return fm.run(design.replace(**changes) if changes else design, quality="draft")


@pytest.mark.parametrize("name", [PRINTED, STEEL])
def test_the_supply_pays_for_the_shaft_and_every_loss(name: str) -> None:
    # Energy is kept, at every operating point.
    for point in sheet_of(name).operating_points:
        assert point.supply_power_W == pytest.approx(
            (point.shaft_power_W or 0.0) + sum(point.losses_W.values()), rel=1e-9, abs=1e-9
        )


def test_the_propeller_law_holds_at_the_load_point() -> None:
    # P = CP ρ n³ D⁵ and T = CT ρ n² D⁴ with the figures of the file (Brandt and Selig 2011 use
    # the same definitions).
    sheet = sheet_of(PRINTED)
    load = next(point for point in sheet.operating_points if point.name == "load")
    values = fm.load_design(f"geometries/{PRINTED}.toml").values
    propeller, density = values["load"], values["cooling"]["air_density_kg_per_m3"]
    turns = (load.speed_rpm or 0.0) / 60
    diameter = propeller["diameter_mm"] / 1000
    power = propeller["power_coefficient"] * density * turns**3 * diameter**5
    thrust = propeller["thrust_coefficient"] * density * turns**2 * diameter**4
    assert load.shaft_power_W == pytest.approx(power, rel=1e-4)
    assert load.thrust_N == pytest.approx(thrust, rel=1e-4)


def test_a_printed_core_at_full_throttle_burns_and_the_sheet_says_so() -> None:
    sheet = sheet_of(PRINTED)
    heat = sheet.thermal
    assert heat.temperatures_C == {}
    assert heat.warm_shaft_power_W is None
    assert heat.limiting_part == "slot walls"
    stops = [finding.name for finding in sheet.checks if finding.status == "stop"]
    assert "steady state of the copper" in stops
    # Bursts are shorter and stronger, and never more than full throttle.
    load = next(point for point in sheet.operating_points if point.name == "load")
    bursts = heat.burst_shaft_power_W
    good = heat.continuous_shaft_power_W
    assert good is not None
    assert bursts["60 s"] is not None
    assert bursts["10 s"] is not None
    assert good < bursts["60 s"] <= bursts["10 s"] <= (load.shaft_power_W or 0.0) * (1 + 1e-9)


def test_the_history_crosses_the_softening_temperature_when_the_answer_says() -> None:
    heat = sheet_of(PRINTED).thermal
    walls = heat.history_C["slot walls"]
    crossing = next(
        time for time, at in zip(heat.history_time_s, walls, strict=True) if at >= heat.softening_C
    )
    step = heat.history_time_s[1]
    assert crossing == pytest.approx(heat.seconds_to_soften_core, abs=2 * step)


def test_a_steel_motor_holds_its_load_for_good_in_balance() -> None:
    heat = sheet_of(STEEL).thermal
    assert heat.seconds_to_soften_core is None
    assert heat.temperatures_C["copper"] > 25
    assert heat.continuous_shaft_power_W == pytest.approx(
        next(p.shaft_power_W for p in sheet_of(STEEL).operating_points if p.name == "load")
    )


def test_half_the_turns_of_two_wires_give_the_same_motor_at_twice_the_speed_constant() -> None:
    # Equal copper: Kv doubles, R quarters but for the leads, the motor constant stays (Hanselman,
    # Brushless Permanent Magnet Motor Design, 2006, from memory; power balance).
    values = fm.load_design(f"geometries/{PRINTED}.toml").values["winding"]
    one = sheet_of(PRINTED)
    two = sheet_of(
        PRINTED,
        winding__turns_per_tooth=values["turns_per_tooth"] // 2,
        winding__strands=2 * values["strands"],
    )
    kv = [s.constants.speed_constant_rpm_per_V.line_line_peak for s in (one, two)]
    assert kv[1] == pytest.approx(2 * kv[0], rel=1e-9)
    ohm = [s.winding.resistance_phase_ohm for s in (one, two)]
    assert ohm[1] == pytest.approx(ohm[0] / 4, rel=1e-9)
    km = [s.constants.motor_constant_Nm_per_sqrtW for s in (one, two)]
    assert km[1] == pytest.approx(km[0], rel=1e-9)


def test_a_motor_that_burns_is_not_allowed_more_stress_than_one_that_lasts() -> None:
    # The housing of what burns within seconds is cold. Both motors are held against the strength
    # at the temperature that the housing has at the largest power held for good: the same machine
    # on 6 V, which lasts longer, and on 14 V, which burns sooner, may bear nearly the same.
    gentle, harsh = (sheet_of(PRINTED, drive__supply_voltage_V=volt) for volt in (6.0, 14.0))
    allowed, warm = [], []
    for sheet in (gentle, harsh):
        (finding,) = [one for one in sheet.checks if "hoop stress of the housing" in one.name]
        assert finding.limit is not None
        allowed.append(finding.limit)
        said = re.search(r"is left at (\d+) °C \(at the shaft power that it holds", finding.why)
        assert said is not None
        warm.append(float(said[1]))
    assert harsh.thermal.temperatures_C == {}  # it burns
    assert warm[1] > 25  # warmer than the surroundings all the same
    assert allowed[1] == pytest.approx(allowed[0], rel=0.05)
    # By hand: a quarter of the strength across layers, on the line from 1 at 23 °C to 1/20 at the
    # deflection temperature.
    housing = fm.load_design(f"geometries/{PRINTED}.toml").motor.rotor.housing
    strength, soft = housing.strength_across_layers, housing.deflection_temperature_C
    assert strength is not None
    assert soft is not None
    for limit, at in zip(allowed, warm, strict=True):
        share = 1 - 0.95 * (at - 23) / (soft - 23)
        assert limit == pytest.approx(0.25 * share * strength / 1e6, rel=0.02)


NO_PROPELLER = {
    f"load__{key}": None
    for key in ("diameter_mm", "pitch_mm", "thrust_coefficient", "power_coefficient")
}


def loaded(**load: object) -> PerformanceSheet:
    changes = {**NO_PROPELLER, **{f"load__{key}": value for key, value in load.items()}}
    return fm.run(fm.load_design(f"geometries/{PRINTED}.toml").replace(**changes), quality="draft")


def test_a_table_of_one_value_is_a_propeller_by_its_coefficients() -> None:
    propeller = fm.load_design(f"geometries/{PRINTED}.toml").values["load"]
    coefficients = [propeller["thrust_coefficient"], propeller["power_coefficient"]]
    sizes = {key: propeller[key] for key in ("diameter_mm", "pitch_mm")}
    rows = [[0, *coefficients], [20_000, *coefficients]]
    by_table = loaded(kind="propeller", table=rows, **sizes).answers
    for name, expected in sheet_of(PRINTED).answers.items():
        assert by_table[name].value == pytest.approx(expected.value, rel=1e-9)


@pytest.mark.slow
def test_a_load_beyond_the_end_of_its_table_is_named() -> None:
    # 4000 rpm with 0.1 N m are 42 W; this motor gives more at a higher speed.
    curve = {"kind": "torque-curve", "torque_Nm": [0.005, 0.05, 0.1]}
    for last, statuses in ((4000, ["watch"]), (20_000, [])):
        found = loaded(**curve, speed_rpm=[0, 2000, last]).checks
        assert [one.status for one in found if "beyond the last speed" in one.name] == statuses


def test_a_constant_torque_that_heats_at_any_speed_can_not_be_held_and_that_is_said() -> None:
    # Copper loss goes with torque, not with speed: taking back the throttle does not help.
    answer = loaded(kind="constant-torque", torque_Nm=0.05).answers["continuous_shaft_power_W"]
    assert answer.value == pytest.approx(0.0, abs=0.05)
    assert answer.because == "teeth: past the limit for good however slowly this load turns."


def test_without_a_load_heat_says_what_is_missing() -> None:
    sheet = loaded(kind="none")
    assert sheet.thermal.continuous_shaft_power_W is None
    assert "load_shaft_power_W" not in sheet.answers
    assert any(finding.name == "heat at the load point" for finding in sheet.checks)
    assert math.isfinite(sheet.mechanics.magnet_pull_N)
