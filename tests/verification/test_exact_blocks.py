"""The references for straight-sided magnets and for coils are tested against second methods."""

import math

import magpylib
import numpy as np
import pytest
from exact.blocks import Block, block_ring, potentials
from exact.bore import Bore, CoilSide

SIDE = CoilSide(inner_radius=0.012, outer_radius=0.018, height=0.002, half_pitch=math.pi / 12)


def test_long_magpylib_cuboids_have_the_plane_field_of_the_blocks() -> None:
    # magpylib's exact cuboid; 4 m of stack leave about (0.02/2)² of the field at its ends.
    p, radius, samples = 5, 0.019, 256
    blocks = block_ring(
        2 * p, segments_per_pole=2, inner=0.0205, thickness=0.003, width=0.006, remanence=1.2
    )
    angle = 2 * math.pi / p * np.arange(samples) / samples
    where = np.column_stack([radius * np.cos(angle), radius * np.sin(angle), 0 * angle])
    B = sum(magpylib.getB(_cuboid(block), where) for block in blocks)
    B_r = B[:, 0] * np.cos(angle) + B[:, 1] * np.sin(angle)
    exact = potentials(blocks, [p, 3 * p, 5 * p, 7 * p], radius)
    for n, A in exact.items():
        found = 2 * np.mean(B_r * np.exp(-1j * n * angle))
        assert found == pytest.approx(1j * n * A / radius, abs=1e-6)


def _cuboid(block: Block) -> magpylib.magnet.Cuboid:
    cuboid = magpylib.magnet.Cuboid(
        polarization=(
            block.remanence * math.cos(block.direction),
            block.remanence * math.sin(block.direction),
            0.0,
        ),
        dimension=(block.thickness, block.width, 4.0),
        position=(block.inner + block.thickness / 2, 0.0, 0.0),
    )
    return cuboid.rotate_from_angax(math.degrees(block.angle), "z", anchor=(0, 0, 0))


@pytest.mark.parametrize("order", [1, 5, 35])
def test_mean_of_powers_over_a_coil_side_is_a_line_integral_around_it(order: int) -> None:
    # Green: ∫ z^n dS = (1/2i) ∮ z^n z̄ dz, and the area for n = 0.
    def corner(radius: float) -> complex:
        return complex(math.sqrt(radius**2 - SIDE.height**2), SIDE.height)

    low, high = corner(SIDE.inner_radius), corner(SIDE.outer_radius)
    axis = np.exp(1j * SIDE.half_pitch)
    x, weight = np.polynomial.legendre.leggauss(60)
    t = (1 + x) / 2
    arcs = [
        SIDE.outer_radius * np.exp(1j * (np.angle(high) + (SIDE.half_pitch - np.angle(high)) * t)),
        SIDE.inner_radius * np.exp(1j * (SIDE.half_pitch + (np.angle(low) - SIDE.half_pitch) * t)),
    ]
    sides = [
        (low + (high - low) * t, (high - low) + 0 * t),
        (arcs[0], 1j * arcs[0] * (SIDE.half_pitch - np.angle(high))),
        (axis * (SIDE.outer_radius + (SIDE.inner_radius - SIDE.outer_radius) * t),
         axis * (SIDE.inner_radius - SIDE.outer_radius) + 0 * t),
        (arcs[1], 1j * arcs[1] * (np.angle(low) - SIDE.half_pitch)),
    ]  # fmt: skip
    area, power = (
        sum(np.sum(weight / 2 * z**n * z.conj() * dz) for z, dz in sides) / 2j for n in (0, order)
    )
    expected = power / area.real / 0.02**order
    assert SIDE.moment(order, 0.02) == pytest.approx(expected, rel=1e-9)


def test_a_narrow_coil_links_the_flux_between_its_sides() -> None:
    # ψ = N L (A₂ − A₁); a coil side of no width at ±φ and radius R, A = Re a exp(i n(θ − θ_r)).
    thin = CoilSide(
        inner_radius=0.02 - 1e-7,
        outer_radius=0.02,
        height=0.02 * math.sin(math.pi / 6 - 1e-5),
        half_pitch=math.pi / 6,
    )
    bore = Bore(
        potential={4: 2e-3j}, radius=0.02, side=thin, coils=["U+", "", "", "", "", ""],
        turns=3, stack_length=0.1,
    )  # fmt: skip
    angle = np.linspace(0, 1, 5)
    A = [-2e-3 * np.sin(4 * (side - angle)) for side in (math.pi / 6, -math.pi / 6)]
    expected = 0.3 * (A[0] - A[1])
    assert bore.linkage("U", angle) == pytest.approx(expected, abs=1e-7)
    step = 1e-6
    rise = (bore.linkage("U", angle + step) - bore.linkage("U", angle - step)) / (2 * step)
    assert bore.linkage_slope("U", angle) == pytest.approx(rise, rel=1e-6, abs=1e-9)
