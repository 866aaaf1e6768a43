"""Waves of A and B in the elements: joined from half a cogging period, against whole solutions."""

import math

import numpy as np
import pytest
from small_machines import Machine, machine, machine_of
from verification.exact.annulus import Annulus, Layer, alternating, segment_harmonics

from fem_motor.field import FieldSweep, solve
from fem_motor.mesh import REGIONS, Region
from fem_motor.quantities.fields.no_load import direct_no_load_fields, no_load_fields
from fem_motor.quantities.readings.element_waves import Part, element_waves

REGIONS_OF: dict[Part, tuple[Region, ...]] = {
    "stator": ("core", "coil"),
    "rotor": ("magnet", "ring"),
}


def half_period(one: Machine) -> FieldSweep:
    return no_load_fields(
        one.problem, poles=one.motor.rotor.poles, angles_per_period=8, tolerance=1e-8
    ).solved


@pytest.mark.parametrize("part", ["stator", "rotor"])
@pytest.mark.parametrize(
    "name", ["printed_18s16p", "steel_9s12p", "halbach_18s16p", "single layer"]
)
def test_joined_waves_are_those_of_the_whole_period_solved_angle_by_angle(
    name: str, part: Part
) -> None:
    # Second method: the angles themselves are solved, no identity used. On steel Newton's method
    # stops at a residual of 1e-8; B in the flattest part of the curve then errs by some 3e-5.
    one = machine(name)
    poles, regions = one.motor.rotor.poles, REGIONS_OF[part]
    waves = element_waves(half_period(one), part, regions, poles=poles, is_as_designed=True)
    number = waves.potential.shape[-1]
    period = math.tau / (poles / 2) if part == "stator" else math.tau / one.motor.stator.slots
    assert number * waves.step == pytest.approx(period, rel=1e-12)
    picked = [1, number // 3, number // 2, number - 2]
    solved = solve(
        one.problem,
        angles=waves.step * np.array(picked),
        ampere_turns=np.zeros((4, one.motor.stator.slots, 2)),
        tolerance=1e-8,
    ).element_fields(part, regions)
    body = one.problem.stator if part == "stator" else one.problem.rotor
    # One tooth's half; one pole, from the clockwise half of its first magnet: copy −1 is the last
    # of the circle, the first sector's last up to the sign of all sectors but one.
    copies = [0] if part == "stator" else list(range(-1, len(waves.potential) - 1))
    for place, copy in enumerate(copies):
        sign = body.sign ** (body.sectors - 1) if copy < 0 else 1
        whole = sign * solved.flux_density[:, copy]
        assert np.moveaxis(waves.flux_density[place][..., picked], -1, 0) == pytest.approx(
            whole, abs=5e-5 * np.abs(whole).max()
        )
        potential = sign * solved.potential[:, copy]
        joined = waves.potential[place][..., picked].T
        assert joined == pytest.approx(potential, abs=5e-5 * np.abs(potential).max())


def test_waves_of_a_core_like_air_are_those_of_the_closed_form() -> None:
    # Concentric layers, Zhu, Howe, Bolte and Ackermann, IEEE Trans. Magn. 29 (1993) 124, from
    # memory. In the coils, 1 to 9 mm below the magnets, at the centre of every element; the mean
    # over an element differs by its size squared.
    one = machine("slotless")
    waves = element_waves(half_period(one), "stator", ("coil",), poles=10, is_as_designed=True)
    orders = [5, 15, 25, 35]
    magnets = segment_harmonics(
        alternating(5, remanence=1.2, cover=1, magnetisation="radial"), 5, orders
    )
    exact = Annulus(
        layers=[
            Layer(
                inner_radius=0.0205,
                outer_radius=0.0235,
                relative_permeability=1.05,
                remanence={n: (-J_r, -J_theta) for n, (J_r, J_theta) in magnets.items()},
            ),
            Layer(inner_radius=0.0235, outer_radius=0.0295, relative_permeability=1e5),
        ]
    )
    # |B|² averaged over the period is the same along a circle: Σ (|B_r|² + |B_θ|²)/2.
    square = [
        sum(
            (abs(exact.at(n, radius).B_r) ** 2 + abs(exact.at(n, radius).B_theta) ** 2) / 2
            for n in orders
        )
        for radius in waves.radius
    ]
    found = np.mean(np.sum(waves.flux_density[0] ** 2, axis=0), axis=-1)
    assert found @ waves.area == pytest.approx(np.array(square) @ waves.area, rel=0.01)


def test_flux_density_of_a_tooth_points_along_it_and_is_turned_round_by_half_a_period() -> None:
    one = machine("printed_18s16p")
    waves = element_waves(half_period(one), "stator", ("core",), poles=16, is_as_designed=True)
    along, across = waves.flux_density[0]
    # Pole 1 is magnetised towards the shaft and stands at tooth 1 at angle 0. Half a tooth leans
    # to its side of the pole, so its own extreme comes a little off.
    in_tooth = (waves.radius > 0.0155) & (waves.radius < 0.026)
    in_tooth &= waves.region == REGIONS.index("core")
    tooth = np.average(along[in_tooth], axis=0, weights=waves.area[in_tooth])
    assert tooth[0] < 0.95 * tooth.min() < 0
    half = along.shape[-1] // 2
    for wave in (along, across):
        assert wave[:, half:] == pytest.approx(-wave[:, :half], abs=1e-6 * np.abs(along).max())


def test_a_machine_that_is_not_as_designed_keeps_the_waves_of_all_copies() -> None:
    design = machine("printed_18s16p").design.replace(
        as_built__magnets=[{"index": 3, "remanence_factor": 0.5}]
    )
    one = machine_of(design)
    solved = direct_no_load_fields(one.problem, poles=16, angles=12).solved
    waves = element_waves(solved, "stator", ("coil",), poles=16, is_as_designed=False)
    assert not waves.is_closed
    assert waves.flux_density.shape[0] == 36
    assert waves.share == 1
    # The weak magnet leaves teeth that do not see it nearly as they were.
    sound = machine("printed_18s16p")
    whole = element_waves(half_period(sound), "stator", ("coil",), poles=16, is_as_designed=True)
    near = np.abs(waves.flux_density).max(axis=(1, 2, 3))
    peak = np.abs(whole.flux_density).max()
    assert near.max() == pytest.approx(peak, rel=0.05)
    assert near.min() < 0.95 * peak
