"""Windage and bearings against worked figures and laminar closed forms."""

import math

import pytest

from fem_motor.losses.drag import (
    Bearings,
    Fluid,
    air,
    disc_windage,
    gap_windage,
    surface_windage,
    water,
)

RPM = math.tau / 60
AIR = Fluid(density=1.2, viscosity=1.6e-5)


def test_windage_of_a_small_can_in_air() -> None:
    # Theodorsen and Regier 1944 by hand: r 30, l 30 mm, 6000 rpm: c_f 0.004063, 0.0923 W.
    found = surface_windage(AIR, radius=0.03, length=0.03, speed=6000 * RPM)
    assert 6000 * RPM * 0.03**2 / AIR.viscosity == pytest.approx(35_343, rel=1e-4)
    assert found == pytest.approx(0.0923, rel=5e-3)
    scale = math.pi * AIR.density * (6000 * RPM) ** 3 * 0.03**4 * 0.03
    assert found / scale == pytest.approx(0.004063, rel=5e-4)


@pytest.mark.parametrize(("rpm", "watts"), [(3000, 6.5), (6000, 47.0)])
def test_windage_of_the_same_can_in_water(rpm: float, watts: float) -> None:
    # The same formula with water at 20 °C, to the two figures that are given.
    found = surface_windage(water(20), radius=0.03, length=0.03, speed=rpm * RPM)
    assert found == pytest.approx(watts, rel=0.015)


def test_friction_of_the_turbulent_cylinder_solves_its_equation() -> None:
    speed, radius = 900.0, 0.04
    found = surface_windage(AIR, radius=radius, length=1.0, speed=speed)
    friction = found / (math.pi * AIR.density * speed**3 * radius**4)
    reynolds = speed * radius**2 / AIR.viscosity
    law = 2.04 + 1.768 * math.log(reynolds * math.sqrt(friction))
    assert 1 / math.sqrt(friction) == pytest.approx(law, rel=1e-9)


def test_a_slow_cylinder_turns_in_stokes_flow() -> None:
    # Exact: 4π ρ ν ω r² is the torque per metre in an endless medium.
    speed, radius = 0.1, 0.01
    expected = 4 * math.pi * AIR.density * AIR.viscosity * speed**2 * radius**2
    found = surface_windage(AIR, radius=radius, length=1.0, speed=speed)
    assert found == pytest.approx(expected, rel=1e-9)


def test_gap_is_never_below_laminar_flow_between_circles() -> None:
    # Thin gap: shear stress ρ ν ω r/d on 2π r l.
    fluid, radius, gap, length, speed = AIR, 0.028, 0.8e-3, 0.02, 5.0
    laminar = 2 * math.pi * fluid.density * fluid.viscosity * speed**2 * radius**3 * length / gap
    found = gap_windage(fluid, radius=radius, gap=gap, length=length, speed=speed)
    assert found == pytest.approx(laminar, rel=1e-12)


@pytest.mark.parametrize(
    ("reynolds", "factor", "power"), [(200, 2.0, -0.6), (5000, 1.03, -0.5), (1e5, 0.065, -0.2)]
)
def test_gap_follows_the_pieces_of_its_source(reynolds: float, factor: float, power: float) -> None:
    # Bilgen and Boulos 1973, from memory.
    radius, gap, length = 0.05, 1e-3, 0.03
    speed = reynolds * AIR.viscosity / (radius * gap)
    moment = factor * (gap / radius) ** 0.3 * reynolds**power
    expected = moment / 2 * math.pi * AIR.density * speed**3 * radius**4 * length
    found = gap_windage(AIR, radius=radius, gap=gap, length=length, speed=speed)
    assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("reynolds", "factor", "power"), [(2e4, 3.87, -0.5), (1e6, 0.146, -0.2)])
def test_discs_follow_the_laminar_and_the_turbulent_law(
    reynolds: float, factor: float, power: float
) -> None:
    # Schlichting, both sides, from memory.
    radius = 0.04
    speed = reynolds * AIR.viscosity / radius**2
    expected = factor * reynolds**power / 2 * AIR.density * speed**3 * radius**5
    assert disc_windage(AIR, radius=radius, speed=speed) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("kind", ["surface", "gap", "disc"])
def test_windage_grows_without_jumps(kind: str) -> None:
    def power(speed: float) -> float:
        if kind == "surface":
            return surface_windage(AIR, radius=0.03, length=0.03, speed=speed)
        if kind == "gap":
            return gap_windage(AIR, radius=0.03, gap=1e-3, length=0.03, speed=speed)
        return disc_windage(AIR, radius=0.03, speed=speed)

    assert power(0.0) == 0.0
    before = 0.0
    speed = 0.1
    while speed < 2e5:
        here = power(speed)
        assert here > before
        if before:
            assert here / before < 1.06  # at most the fourth power of the step
        before, speed = here, speed * 1.012


@pytest.mark.parametrize(
    ("temperature_C", "density", "viscosity"),
    [(20, 1.204, 1.51e-5), (40, 1.127, 1.70e-5), (60, 1.060, 1.89e-5), (100, 0.946, 2.31e-5)],
)
def test_viscosity_of_air(temperature_C: float, density: float, viscosity: float) -> None:
    # Tables of Incropera and DeWitt, from memory.
    assert air(temperature_C, density).viscosity == pytest.approx(viscosity, rel=0.01)


def test_thin_air_drags_less() -> None:
    # At the same dynamic viscosity; turbulent windage goes with more than half of the density.
    thick = surface_windage(air(20, 1.2), radius=0.05, length=0.03, speed=800.0)
    thin = surface_windage(air(20, 0.9), radius=0.05, length=0.03, speed=800.0)
    assert 0.75 < thin / thick < 1


def test_bearings_of_a_small_motor() -> None:
    # Two of 5 mm, 0.3 mN m each by themselves; the load adds ½ · 0.0015 · 10 N · 5 mm.
    small = Bearings(bore=5e-3)
    assert small.torque() == pytest.approx(0.6e-3, rel=1e-12)
    assert small.torque(10.0) - small.torque() == pytest.approx(37.5e-6, rel=1e-9)
    assert Bearings(bore=10e-3).torque() == pytest.approx(8 * small.torque(), rel=1e-12)
