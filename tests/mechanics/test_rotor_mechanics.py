"""The rotor of a motor: what carries, what holds, what is warned of."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from strategies import designs

from fem_motor.design import Motor, MotorDesign, load_design
from fem_motor.errors import InputError
from fem_motor.findings import Finding
from fem_motor.mechanics import Mechanics, Shaft, eccentric_stiffness, mechanics
from fem_motor.mechanics.rotor import magnets, rotor_mass, walls
from fem_motor.mechanics.strength import hot_share
from fem_motor.units import MM, RPM

GEOMETRIES = Path(__file__).parents[2] / "geometries"


def motor_of(name: str) -> Motor:
    return load_design(GEOMETRIES / f"{name}.toml").motor


def finding(found: Mechanics, start: str) -> Finding:
    (one,) = (each for each in found.findings if each.name.startswith(start))
    return one


def test_a_motor_bears_what_the_thin_ring_says() -> None:
    # Sixteen blocks of 8 × 3 mm on 28.8 mm; wall from their corners outwards, 3 mm of PETG.
    motor, speed = motor_of("printed_18s16p"), 1000.0
    corner = math.hypot(31.8, 4.0) * MM
    mass_per_length = 16 * 8 * MM * 3 * MM * 7500
    pressure = mass_per_length * 30.3 * MM * speed**2 / (2 * math.pi * corner)
    expected = pressure * corner / (3 * MM) + 1270 * (speed * (corner + 1.5 * MM)) ** 2
    assert mechanics(motor, top_speed=speed).hoop_stress == pytest.approx(expected, rel=1e-9)


def test_stress_and_pull_grow_with_the_square_of_the_speed() -> None:
    motor = motor_of("printed_18s16p")
    slow, fast = mechanics(motor, top_speed=400.0), mechanics(motor, top_speed=800.0)
    assert fast.hoop_stress == pytest.approx(4 * (slow.hoop_stress or 0))
    assert fast.magnet_pull == pytest.approx(4 * slow.magnet_pull)
    assert slow.overspeed_margin == pytest.approx(4 * (fast.overspeed_margin or 0))


def test_the_margin_is_the_allowed_stress_over_that_at_1_2_times_top_speed() -> None:
    # PETG across its layers 25 MPa, a quarter of it at 23 °C.
    motor = motor_of("printed_18s16p")
    found = mechanics(motor, top_speed=700.0, wall_C=23.0)
    assert found.test_speed == pytest.approx(840.0)
    assert found.allowed_stress == pytest.approx(25e6 / 4)
    assert found.stress_at_test_speed == pytest.approx(1.44 * (found.peak_hoop_stress or 0))
    assert found.overspeed_margin == pytest.approx(6.25e6 / (found.stress_at_test_speed or 1))


def test_a_hot_print_bears_a_twentieth_at_its_deflection_temperature() -> None:
    assert hot_share(20.0, 70.0) == 1.0
    assert hot_share(46.5, 70.0) == pytest.approx(0.525)
    assert hot_share(80.0, 70.0) == 0.05
    motor = motor_of("printed_18s16p")
    cold, hot = (mechanics(motor, top_speed=500.0, wall_C=wall_C) for wall_C in (23.0, 70.0))
    assert hot.allowed_stress == pytest.approx(0.05 * (cold.allowed_stress or 0))
    assert finding(hot, "largest hoop stress of the housing").status == "stop"


def test_within_the_strength_along_the_layers_only_the_orientation_is_watched() -> None:
    # Limits at 23 °C: 6.25 MPa across, 11.5 along the layers.
    motor = motor_of("printed_18s16p")
    name = "largest hoop stress of the housing"
    speeds = {"ok": 700.0, "watch": 1000.0, "stop": 1200.0}
    for status, speed in speeds.items():
        found = finding(mechanics(motor, top_speed=speed, wall_C=23.0), name)
        assert found.status == status, found
    watched = finding(mechanics(motor, top_speed=1000.0, wall_C=23.0), name)
    assert watched.limit == pytest.approx(6.25)
    assert watched.do.startswith("print it upright")


def test_a_ring_carries_the_magnets_and_the_housing_only_itself() -> None:
    motor = motor_of("steel_12s14p")
    found = mechanics(motor, top_speed=1000.0)
    ring, housing = walls(motor)
    assert (ring.name, housing.name) == ("ring", "housing")
    assert found.hoop_stress == pytest.approx(
        ring.mean_stress(magnets(motor).pressure(1000.0), 1000.0)
    )
    # Own load only, outer 32.7 mm, 1.5 mm thick: at most ρ (ω r)².
    named = finding(found, "largest hoop stress of the housing")
    assert named.value == pytest.approx(1270 * (1200 * 31.95e-3) ** 2 / 1e6, rel=0.04)


def test_a_ring_whose_strength_is_not_told_is_taken_for_soft_steel_and_said() -> None:
    found = mechanics(motor_of("steel_12s14p"), top_speed=1000.0)
    assert found.allowed_stress == pytest.approx(90e6)
    assert "assumed: soft steel" in finding(found, "largest hoop stress of the ring").why


def test_a_housing_whose_strength_is_not_told_has_no_margin() -> None:
    motor = motor_of("printed_18s16p")
    silent = replace(motor.rotor.housing, strength=None, strength_across_layers=None)
    found = mechanics(replace(motor, rotor=replace(motor.rotor, housing=silent)), top_speed=700.0)
    assert found.overspeed_margin is None
    assert "is not known" in finding(found, "largest hoop stress of the housing").why


def test_without_any_wall_nothing_holds_the_magnets() -> None:
    motor = motor_of("printed_18s16p")
    bare = replace(motor, rotor=replace(motor.rotor, housing_thickness=0.0))
    found = mechanics(bare, top_speed=700.0)
    assert found.hoop_stress is None
    assert finding(found, "pull that flings").status == "stop"


def test_a_block_pulls_from_its_middle_and_an_arc_from_its_centre_of_mass() -> None:
    block = motor_of("printed_18s16p")
    assert magnets(block).centre_radius == pytest.approx(30.3 * MM)
    assert magnets(block).mass == pytest.approx(7500 * 8e-3 * 3e-3 * 20e-3)
    arc = motor_of("steel_12s14p")
    rotor = arc.rotor
    # Second method: the mean of x over the arc's area on a fine grid.
    half = (rotor.magnet_arc_fraction or 1) * rotor.segment_pitch / 2
    r = rotor.magnet_inner_radius + rotor.magnet_thickness * (np.arange(400) + 0.5) / 400
    angle = half * ((np.arange(400) + 0.5) / 200 - 1)
    weight = r[:, None] * np.ones(400)
    mean_x = float((weight * r[:, None] * np.cos(angle)).sum() / weight.sum())
    assert magnets(arc).centre_radius == pytest.approx(mean_x, rel=1e-5)


def test_glue_holds_a_megapascal_against_the_pull_of_the_stator() -> None:
    motor = motor_of("printed_18s16p")  # backs of 8 × 20 mm: 160 N
    weak = mechanics(motor, top_speed=500.0, magnet_attraction=159.0)
    strong = mechanics(motor, top_speed=500.0, magnet_attraction=161.0)
    assert finding(weak, "pull that flings").status == "ok"
    assert finding(strong, "pull that flings").status == "watch"


def test_bearings_carry_side_pull_weight_and_unbalance() -> None:
    # G6.3: the centre of mass runs at 6.3 mm/s around the axis.
    motor = motor_of("printed_18s16p")
    mass = rotor_mass(motor)
    found = mechanics(motor, top_speed=800.0, side_pull=7.0)
    assert found.bearing_load == pytest.approx(7.0 + mass * (9.81 + 6.3e-3 * 800))
    assert found.unbalanced_pull == 7.0
    assert found.rotor_mass == mass


def test_the_rotor_weighs_its_magnets_barrel_and_end() -> None:
    motor = motor_of("printed_18s16p")
    corner = math.hypot(31.8, 4.0) * MM
    barrel = math.pi * ((corner + 3 * MM) ** 2 - corner**2) * 20 * MM * 1270
    bell = math.pi * (corner + 3 * MM) ** 2 * 3 * MM * 1270
    blocks = 16 * 7500 * 8e-3 * 3e-3 * 20e-3
    assert rotor_mass(motor) == pytest.approx(blocks + barrel + bell)


def test_a_shaft_bends_as_a_cantilever_and_more_with_a_pull_that_grows() -> None:
    # F l³/(3 E I), 5 mm steel 20 mm long: 3 · 210e9 · π · 5e-3⁴/64/20e-3³ = 2.416e6 N/m.
    stiffness = Shaft(diameter=5 * MM).stiffness(20 * MM)
    assert stiffness == pytest.approx(2.416e6, rel=1e-3)
    motor = motor_of("printed_18s16p")
    plain = mechanics(motor, top_speed=500.0, side_pull=10.0)
    grown = mechanics(motor, top_speed=500.0, side_pull=10.0, side_pull_stiffness=stiffness / 2)
    assert plain.gap_deflection == pytest.approx(10.0 / stiffness)
    assert grown.gap_deflection == pytest.approx(20.0 / stiffness)


def test_the_first_bending_speed_is_that_of_a_mass_on_a_spring() -> None:
    # Second method: the deflection under the rotor's own weight, ω = √(g/δ) (Rayleigh; any
    # handbook of machine dynamics), 60/2π rpm in a rad/s; 1.3 of top speed is the practice said.
    motor = motor_of("printed_18s16p")
    weight = rotor_mass(motor) * 9.81
    sag = weight * (20 * MM) ** 3 / (3 * 210e9 * math.pi / 64 * (5 * MM) ** 4)
    rpm = 60 / math.tau * math.sqrt(9.81 / sag)
    found = finding(mechanics(motor, top_speed=500.0), "first bending speed")
    assert found.value == pytest.approx(rpm)
    assert found.limit == pytest.approx(1.3 * 500.0 * 60 / math.tau)
    limit = rpm / 1.3 * math.tau / 60
    for share, status in ((0.99, "ok"), (1.01, "watch")):
        at = mechanics(motor, top_speed=share * limit)
        assert finding(at, "first bending speed").status == status


def test_petg_holds_across_its_layers_25_of_the_46_megapascals_along_them() -> None:
    # The pair of strengths by which the limits of 6.25 and 11.5 MPa above are a quarter.
    found = finding(mechanics(motor_of("printed_18s16p"), top_speed=500.0), "strength of the print")
    assert (found.value, found.limit, found.status) == (pytest.approx(25 / 46), 1.0, "watch")


def test_the_rim_runs_at_its_circumference_a_turn() -> None:
    # Housing outside the corners of the blocks, 3 mm thick: π d n/60 metres per second.
    motor = motor_of("printed_18s16p")
    diameter = 2 * (math.hypot(31.8, 4.0) + 3) * MM
    rpm = 3000.0
    speed = math.pi * diameter * rpm / 60
    found = mechanics(motor, top_speed=rpm * math.tau / 60)
    assert found.rim_speed == pytest.approx(speed)
    assert finding(found, "rim speed with magnets").value == pytest.approx(speed)
    wet = replace(motor, cooling=replace(motor.cooling, medium="water"))
    found = mechanics(wet, top_speed=rpm * math.tau / 60)
    assert finding(found, "rim speed under water").value == pytest.approx(speed)


def test_a_housing_whose_density_is_not_told_weighs_as_pla() -> None:
    # PLA 1.24 g/cm³ (data sheets, from memory), here against PETG's 1.27.
    motor = motor_of("printed_18s16p")
    silent = replace(motor.rotor.housing, density=None)
    light = replace(motor, rotor=replace(motor.rotor, housing=silent))
    magnets_alone = 16 * 7500 * 8e-3 * 3e-3 * 20e-3
    assert (rotor_mass(light) - magnets_alone) / (
        rotor_mass(motor) - magnets_alone
    ) == pytest.approx(1240 / 1270)


def test_a_pull_that_outgrows_the_shaft_stops() -> None:
    motor = motor_of("printed_18s16p")
    found = mechanics(motor, top_speed=500.0, side_pull=1.0, side_pull_stiffness=3e6)
    assert found.gap_deflection is None
    assert finding(found, "deflection of the shaft").status == "stop"
    assert finding(found, "first bending speed").value is None


def test_a_tenth_of_the_gap_is_watched() -> None:
    motor = motor_of("printed_18s16p")  # gap 0.8 mm
    stiffness = Shaft(diameter=5 * MM).stiffness(20 * MM)
    for pull_mm, status in ((0.07, "ok"), (0.09, "watch"), (0.9, "stop")):
        found = mechanics(motor, top_speed=500.0, side_pull=pull_mm * MM * stiffness)
        assert finding(found, "deflection of the shaft").status == status


def test_a_print_alone_is_watched_above_5000_rpm_at_50_mm() -> None:
    motor = motor_of("printed_18s16p")
    limit = 5000 * RPM * 25 * MM / motor.rotor.housing_outer_radius
    name = "rim speed with magnets held by a print alone"
    assert finding(mechanics(motor, top_speed=0.99 * limit), name).status == "ok"
    assert finding(mechanics(motor, top_speed=1.01 * limit), name).status == "watch"
    with_ring = mechanics(motor_of("steel_12s14p"), top_speed=1000.0)
    assert not [each for each in with_ring.findings if each.name.startswith(name)]


def test_under_water_the_rim_stays_below_five_metres_per_second() -> None:
    motor = motor_of("printed_18s16p")
    wet = replace(motor, cooling=replace(motor.cooling, medium="water"))
    assert finding(mechanics(wet, top_speed=100.0), "rim speed under water").status == "ok"
    assert finding(mechanics(wet, top_speed=200.0), "rim speed under water").status == "watch"


def test_what_cannot_be_is_refused_all_at_once() -> None:
    with pytest.raises(InputError) as caught:
        mechanics(motor_of("printed_18s16p"), top_speed=-1.0, side_pull=math.nan)
    assert [problem.place for problem in caught.value.problems] == [
        "top_speed",
        "side_pull",
    ]
    with pytest.raises(InputError, match="a shaft has a size"):
        Shaft(diameter=0.0)


@settings(max_examples=20, deadline=None)
@given(design=designs())
def test_every_rotor_has_finite_answers(design: MotorDesign) -> None:
    found = mechanics(design.motor, top_speed=500.0, side_pull=1.0)
    numbers = [getattr(found, name) for name in Mechanics.__slots__ if name != "findings"]
    assert all(math.isfinite(number) for number in numbers if number is not None)
    if found.hoop_stress is not None:
        assert found.peak_hoop_stress is not None
        assert found.hoop_stress > 0
    for each in found.findings:
        assert each.why
        assert each.status == "ok" or each.do


def test_a_rotor_at_rest_bears_nothing() -> None:
    found = mechanics(motor_of("printed_18s16p"), top_speed=0.0)
    assert found.hoop_stress == 0.0
    assert found.overspeed_margin is None


def test_a_tenth_of_a_millimetre_off_centre_pulls_with_5_96_newton() -> None:
    # D 50, L 10 mm, 0.8 T, gap 0.5, magnet 3 mm of 1.05. Source: form as in D. Dorrell et al.
    # (2011), from memory: π D L B²/(4 μ0) e/(g + l_m/μ_rec).
    stiffness = eccentric_stiffness(
        diameter=50 * MM,
        length=10 * MM,
        flux_density=0.8,
        gap=0.5 * MM,
        magnet_thickness=3 * MM,
        recoil_permeability=1.05,
    )
    assert stiffness * 0.1 * MM == pytest.approx(5.96, rel=5e-3)
