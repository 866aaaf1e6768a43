"""From a motor to its network: masses, paths by hand, and what changes what."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from networks import motor_of, network_of
from strategies import designs

from fem_motor.design import MotorDesign
from fem_motor.errors import InputError
from fem_motor.heat import Heating, steady, thermal_network
from fem_motor.heat.parts.network import SURROUNDINGS, Path, ThermalNetwork, assemble
from fem_motor.heat.states.steady import steady_rise
from fem_motor.winding import wind


def path_between(network: ThermalNetwork, start: str, end: str) -> Path:
    place = SURROUNDINGS if end == "surroundings" else network.parts.index(end)
    (found,) = (
        path
        for path in network.paths
        if path.start == network.parts.index(start) and path.end == place
    )
    return found


def test_copper_stores_385_joules_per_kilogram_and_kelvin_in_slots_and_ends() -> None:
    motor = motor_of("printed_18s16p")
    winding = wind(motor)
    network = thermal_network(motor, winding)
    assert network.parts[:2] == ("copper", "end turns")
    assert network.capacities[:2].sum() == pytest.approx(385 * winding.copper_mass, rel=1e-12)
    share = 2 * motor.stack_length / winding.turn_length
    assert network.capacities[0] / network.capacities[:2].sum() == pytest.approx(share)
    assert network.copper_share[0] == pytest.approx(share)


def test_magnets_and_yoke_store_by_their_size() -> None:
    # 16 blocks of 8 × 3 × 20 mm, 7500 kg/m³, 450 J/(kg K); ring 22 to 30 mm, 1903 and 1240.
    network = network_of("printed_18s16p")
    stored = dict(zip(network.parts, network.capacities, strict=True))
    assert stored["magnets"] == pytest.approx(16 * 8e-3 * 3e-3 * 20e-3 * 7500 * 450)
    yoke = math.pi * (15e-3**2 - 11e-3**2) * 20e-3
    assert stored["yoke"] == pytest.approx(yoke * 1903 * 1240)


def test_teeth_reach_the_yoke_through_a_third_of_their_length() -> None:
    # 18 teeth of 4 × 20 mm, 13 mm long, k 0.27; half of a yoke of 4 mm at a radius of 13 mm.
    path = path_between(network_of("printed_18s16p"), "teeth", "yoke")
    tooth = 13e-3 / 3 / (0.27 * 18 * 4e-3 * 20e-3)
    yoke = 2e-3 / (0.27 * 2 * math.pi * 13e-3 * 20e-3)
    assert path.resistance == pytest.approx(tooth + yoke)


def test_both_faces_of_the_yoke_take_heat_through_a_sixth_of_the_stack() -> None:
    # Heated evenly and cooled at both faces: of half the stack a third. Ring 22 to 30 mm, k 0.27.
    network = network_of("printed_18s16p")
    face = 20e-3 / 2 / 3 / (0.27 * math.pi * (15e-3**2 - 11e-3**2))
    for end in ("surroundings", "inner air"):
        assert path_between(network, "yoke", end).resistance == pytest.approx(face)


def test_coils_touch_the_yoke_between_the_teeth() -> None:
    # 18 slots: what 18 teeth of 4 mm leave of a circle of 15 mm radius, over 20 mm.
    path = path_between(network_of("printed_18s16p"), "copper", "yoke")
    assert path.contact_area == pytest.approx((2 * math.pi * 15e-3 - 18 * 4e-3) * 20e-3)


def test_an_evenly_heated_tooth_is_warmer_on_the_mean_by_a_third_of_its_resistance() -> None:
    # Second method: a tooth in 400 slices, a watt spread over them, its root at 0.
    slices, whole = 400, 1111.0
    g = slices / whole
    matrix = np.diag(np.full(slices, 2 * g)) - np.diag(np.full(slices - 1, g), 1)
    matrix -= np.diag(np.full(slices - 1, g), -1)
    matrix[0, 0], matrix[-1, -1] = 3 * g, g
    mean = np.linalg.solve(matrix, np.full(slices, 1 / slices)).mean()
    assert mean == pytest.approx(whole / 3, rel=1e-4)


def test_the_gap_passes_heat_by_conduction_alone() -> None:
    # Films of both walls in series, per area, are k/δ of the mean temperature.
    motor = motor_of("printed_18s16p")
    network = thermal_network(motor, wind(motor))
    ((film, area),) = path_between(network, "teeth", "gap air").films
    assert area == pytest.approx((2 * math.pi * 28e-3 - 18 * 1.8e-3) * 20e-3)
    assert film(30.0, 50.0, 600.0) / 2 == pytest.approx(0.0273 / 0.8e-3, rel=0.01)
    assert film(30.0, 50.0, 0.0) == film(30.0, 50.0, 2000.0)


def test_half_a_millimetre_of_skin_warms_the_magnets_side_of_the_gap() -> None:
    motor = motor_of("printed_18s16p")
    skinned = replace(motor, rotor=replace(motor.rotor, pocket_skin=0.5e-3))
    path = path_between(thermal_network(skinned, wind(skinned)), "magnets", "gap air")
    ((_, area),) = path.films
    assert path.resistance == pytest.approx(0.5e-3 / (0.2 * area))


def test_magnets_reach_the_ring_through_half_of_each_and_a_line_of_glue() -> None:
    # 16 backs of 8 × 20 mm: 1.5 mm of magnet, 0.1 mm of epoxy of 0.2 W/(m K); then 1 mm of steel,
    # all around at its outer radius. The materials' own conductivities, as in the library.
    motor = motor_of("printed_18s16p_ring")
    ring = motor.rotor.ring
    assert ring is not None
    assert ring.thermal_conductivity is not None
    magnet = motor.rotor.magnet.thermal_conductivity
    assert magnet is not None
    backs = 16 * 8e-3 * 20e-3
    around = 2 * math.pi * motor.rotor.ring_outer_radius * 20e-3
    expected = 1.5e-3 / (magnet * backs) + 0.1e-3 / (0.2 * backs)
    expected += 1e-3 / (ring.thermal_conductivity * around)
    path = path_between(network_of("printed_18s16p_ring"), "magnets", "ring")
    # Closer than the steel's share of 1/200.
    assert path.resistance == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("printed_18s16p", {"housing"}),
        ("printed_18s16p_ring", {"housing", "ring"}),
        ("steel_12s14p", {"housing", "ring"}),
    ],
)
def test_only_parts_that_exist_are_in_the_network(name: str, parts: set[str]) -> None:
    assert parts == {"housing", "ring"} & set(network_of(name).parts)


def test_without_housing_the_ring_faces_the_surroundings() -> None:
    motor = motor_of("steel_12s14p")
    bare = replace(motor, rotor=replace(motor.rotor, housing_thickness=0.0))
    network = thermal_network(bare, wind(bare))
    assert path_between(network, "ring", "surroundings").films


@settings(max_examples=25, deadline=None)
@given(design=designs())
def test_every_part_of_every_motor_is_tied_to_the_surroundings(design: MotorDesign) -> None:
    network = thermal_network(design.motor, wind(design.motor), speed=300.0)
    assert (network.capacities > 0).all()
    matrix = assemble(network).conductances(np.full(len(network.parts), 20.0), 300.0)
    assert matrix == pytest.approx(matrix.T)
    assert np.linalg.eigvalsh(matrix)[0] > 0
    weights = network.reading_matrix
    assert weights.sum(axis=1) == pytest.approx(1.0)
    assert (weights >= 0).all()


def colder(network: ThermalNetwork, other: ThermalNetwork) -> bool:
    heating = Heating(copper=3.0)
    one, two = (steady(each, heating).of("slot walls") for each in (network, other))
    assert one is not None
    assert two is not None
    return one < two - 0.1


def test_speed_airflow_steel_mount_and_water_each_cool() -> None:
    motor = motor_of("printed_18s16p")
    winding = wind(motor)
    still = thermal_network(motor, winding)
    assert colder(thermal_network(motor, winding, speed=600.0), still)
    assert colder(thermal_network(motor, winding, airflow=10.0), still)
    assert colder(thermal_network(motor, winding, mount="metal"), still)
    wet = replace(motor, cooling=replace(motor.cooling, medium="water"))
    assert colder(thermal_network(wet, winding), still)


def test_the_speed_of_the_losses_rules_over_that_of_the_network() -> None:
    network = network_of("printed_18s16p", speed=0.0)
    fast = steady_rise(assemble(replace(network, speed=600.0)), Heating(copper=3.0))
    told = steady_rise(assemble(network), Heating(copper=3.0, speed=600.0))
    assert told == pytest.approx(fast, abs=1e-9)


def test_a_material_that_tells_nothing_is_assumed_and_said() -> None:
    motor = motor_of("printed_18s16p")
    silent = replace(motor.rotor.magnet, thermal_conductivity=None, heat_capacity=None)
    network = thermal_network(
        replace(motor, rotor=replace(motor.rotor, magnet=silent)), wind(motor)
    )
    said = " ".join(finding.why for finding in network.findings)
    assert "thermal conductivity of ndfeb-n42h: 8" in said
    assert "heat capacity of ndfeb-n42h: 460" in said


def test_negative_speed_and_airflow_are_refused() -> None:
    motor = motor_of("printed_18s16p")
    with pytest.raises(InputError, match=r"speed = -1\.0 is impossible"):
        thermal_network(motor, wind(motor), speed=-1.0)
    with pytest.raises(InputError, match=r"airflow = -2\.0 is impossible"):
        thermal_network(motor, wind(motor), airflow=-2.0)
