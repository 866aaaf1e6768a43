"""Spinning rings: worked examples of the thin ring, the thick ring by a second method."""

import pytest
from scipy.integrate import solve_ivp

from fem_motor.arrays import FloatArray
from fem_motor.mechanics.rings import (
    centrifugal_pull,
    magnet_pressure,
    thick_ring_stress,
    thin_ring_stress,
)
from fem_motor.units import MM, RPM


def pressure_at(rpm: float) -> float:
    """Return the pressure of magnets from 25 to 28 mm, 7500 kg/m³, neighbours touching."""
    return magnet_pressure(
        cover=1.0,
        density=7500.0,
        thickness=3 * MM,
        mean_radius=26.5 * MM,
        wall_radius=28 * MM,
        speed=rpm * RPM,
    )


def stress_at(rpm: float, *, wall_mm: float = 3.0) -> float:
    return thin_ring_stress(
        pressure=pressure_at(rpm),
        inner_radius=28 * MM,
        thickness=wall_mm * MM,
        density=1240.0,
        speed=rpm * RPM,
    )


def test_magnets_press_with_619_kilopascal_at_10_000_rpm() -> None:
    # Thin ring, Timoshenko, from memory: 618.8 kPa.
    assert pressure_at(10_000) == pytest.approx(618.8e3, rel=2e-4)


def test_a_printed_wall_of_3_mm_bears_6_96_megapascal_at_10_000_rpm() -> None:
    # 5.78 from the magnets and 1.18 of its own, at its mean radius of 29.5 mm.
    own = thin_ring_stress(
        pressure=0.0, inner_radius=28 * MM, thickness=3 * MM, density=1240.0, speed=10_000 * RPM
    )
    assert own == pytest.approx(1.18e6, abs=0.005e6)
    assert stress_at(10_000) - own == pytest.approx(5.78e6, abs=0.005e6)
    assert stress_at(10_000) == pytest.approx(6.96e6, abs=0.005e6)


def test_the_same_wall_bears_10_02_at_12_000_rpm_and_9_81_with_2_mm_at_10_000() -> None:
    assert stress_at(12_000) == pytest.approx(10.02e6, abs=0.005e6)
    assert stress_at(10_000, wall_mm=2.0) == pytest.approx(9.81e6, abs=0.005e6)


def test_a_magnet_of_12_by_5_by_3_mm_pulls_with_39_2_newton() -> None:
    # 1.35 g at a radius of 26.5 mm and 10 000 rpm.
    mass = 7500 * 12e-3 * 5e-3 * 3e-3
    assert mass == pytest.approx(1.35e-3)
    found = centrifugal_pull(mass=mass, radius=26.5 * MM, speed=10_000 * RPM)
    assert found == pytest.approx(39.2, abs=0.05)


def thick_by_equilibrium(
    *, inner: float, outer: float, pressure: float, density: float, speed: float, poisson: float
) -> float:
    """Return the hoop stress at the inside from d(r σ_r)/dr = σ_θ − ρ ω² r² and compatibility."""

    def slope(r: float, stress: FloatArray) -> list[float]:
        radial, hoop = stress
        d_radial = (hoop - radial) / r - density * speed**2 * r
        # d/dr (r ε_θ) = ε_r with E ε_θ = σ_θ − ν σ_r, E ε_r = σ_r − ν σ_θ.
        return [d_radial, (1 + poisson) * (radial - hoop) / r + poisson * d_radial]

    def radial_outside(hoop_inside: float) -> float:
        start = [-pressure, hoop_inside]
        found = solve_ivp(slope, (inner, outer), start, rtol=1e-11, atol=1e-3)
        return float(found.y[0, -1])

    # Linear: the hoop stress inside that leaves the outside free.
    low, high = radial_outside(0.0), radial_outside(1e6)
    return -low * 1e6 / (high - low)


@pytest.mark.parametrize(("pressure", "speed"), [(0.6e6, 0.0), (0.0, 1000.0), (0.6e6, 1000.0)])
def test_a_thick_ring_is_in_equilibrium(pressure: float, speed: float) -> None:
    found = thick_ring_stress(
        pressure=pressure,
        inner_radius=28 * MM,
        thickness=8 * MM,
        density=1240.0,
        speed=speed,
        poisson=0.36,
    )
    expected = thick_by_equilibrium(
        inner=28 * MM, outer=36 * MM, pressure=pressure, density=1240.0, speed=speed, poisson=0.36
    )
    assert found == pytest.approx(expected, rel=1e-6)


def test_a_thick_ring_gets_thin() -> None:
    same = {"pressure": 0.5e6, "inner_radius": 0.03, "thickness": 3e-6, "density": 1240.0}
    thick = thick_ring_stress(**same, speed=900.0, poisson=0.36)
    assert thick == pytest.approx(thin_ring_stress(**same, speed=900.0), rel=1e-3)


def test_the_inside_of_a_thick_ring_bears_more_than_the_mean() -> None:
    same = {"pressure": 0.6e6, "inner_radius": 0.028, "thickness": 0.003, "density": 1240.0}
    assert thick_ring_stress(**same, speed=1000.0, poisson=0.36) > thin_ring_stress(
        **same, speed=1000.0
    )
