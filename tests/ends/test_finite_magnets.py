"""The magnets' field in their bore, endless and of finite length."""

import math

import numpy as np
import pytest
from free_magnets import mean_harmonic, motor_of, small_ring
from verification.exact.annulus import (
    Annulus,
    Layer,
    Segment,
    alternating,
    halbach,
    segment_harmonics,
)
from verification.exact.blocks import block_ring, potentials

from fem_motor.design import Rotor
from fem_motor.ends import mean_field, plane_field, pole_charge
from fem_motor.ends.factor import _with_image

TURNED = -1
"""The reference rings begin with an outward magnet, the rotor with one towards the shaft."""

SHORT_RINGS = [
    # pole pitch/stack length; middle and mean over the coil, each over the endless field, for
    # parallel arcs at 20 and 18 mm and four Halbach segments a pole at 20 and 18 mm.
    # magpylib's exact cylinder segments: 7 pole pairs, 20.5 to 23.5 mm, pitch at 20 mm, computed
    # apart from this package to 3e-4.
    (0.10, (1.0001, 1.0055), (1.0000, 0.9868), (1.0002, 0.9918), (1.0000, 0.9778)),
    (0.25, (1.0007, 1.0129), (1.0008, 0.9669), (1.0000, 0.9790), (0.9996, 0.9445)),
    (0.50, (1.0126, 1.0258), (1.0108, 0.9337), (0.9975, 0.9579), (0.9883, 0.8890)),
    (1.00, (1.0788, 1.0477), (1.0045, 0.8635), (0.9888, 0.9166), (0.9067, 0.7812)),
    (1.50, (1.1441, 1.0595), (0.9274, 0.7878), (0.9705, 0.8769), (0.7898, 0.6838)),
    (2.00, (1.1825, 1.0599), (0.8259, 0.7125), (0.9427, 0.8386), (0.6796, 0.6002)),
    (3.00, (1.1936, 1.0354), (0.6456, 0.5812), (0.8739, 0.7670), (0.5139, 0.4719)),
]


def segments(kind: str) -> list[Segment]:
    if kind == "halbach":
        return halbach(7, remanence=1.0, segments_per_pole=4)
    return alternating(7, remanence=1.0, cover=0.9, magnetisation=kind)


@pytest.mark.parametrize("row", SHORT_RINGS, ids=lambda row: f"pitch {row[0]} lengths")
def test_short_rings_have_the_field_of_magpylibs_cylinder_segments(
    row: tuple[float, tuple[float, float]],
) -> None:
    ratio, *columns = row
    stack = math.pi * 20e-3 / 7 / ratio
    cases = [(kind, radius) for kind in ("parallel", "halbach") for radius in (20e-3, 18e-3)]
    for (kind, radius), (middle, mean) in zip(cases, columns, strict=True):
        charge, radii = pole_charge(small_ring(kind)), np.array([radius])
        endless = plane_field(charge, radii)
        for coil_length, expected in ((0.0, middle), (stack, mean)):
            found = mean_field(charge, radii, stack_length=stack, coil_length=coil_length)
            # The table's own 3e-4, and half of its last digit.
            assert (found / endless)[0] == pytest.approx(expected, abs=4e-4)


@pytest.mark.parametrize("kind", ["parallel", "radial", "halbach"])
def test_endless_arcs_have_the_exact_field_of_layers(kind: str) -> None:
    # Second method: the harmonic's differential equation across the magnets' layer.
    harmonics = segment_harmonics(segments(kind), 7, [7])
    ring = Annulus(layers=[Layer(inner_radius=20.5e-3, outer_radius=23.5e-3, remanence=harmonics)])
    for radius in (12e-3, 18e-3, 20.4e-3):
        found = plane_field(pole_charge(small_ring(kind)), np.array([radius]))[0]
        assert found == pytest.approx(TURNED * ring.at(7, radius).B_r, rel=1e-9)


@pytest.mark.parametrize("permeability", [3.0, 1e6])
def test_endless_arcs_in_a_thick_ring_have_the_exact_field_of_layers(permeability: float) -> None:
    # Second method: the same equation with a ring of ten times the radius. The image in it is
    # −(μ − 1)/(μ + 1) of the charge.
    harmonics = segment_harmonics(segments("parallel"), 7, [7])
    layers = [
        Layer(inner_radius=20.5e-3, outer_radius=23.5e-3, remanence=harmonics),
        Layer(inner_radius=23.5e-3, outer_radius=0.235, relative_permeability=permeability),
    ]
    strength = (permeability - 1) / (permeability + 1)
    charge = _with_image(pole_charge(small_ring("parallel")), 23.5e-3, strength)
    for radius in (12e-3, 18e-3, 20.4e-3):
        found = plane_field(charge, np.array([radius]))[0]
        assert found == pytest.approx(TURNED * Annulus(layers=layers).at(7, radius).B_r, rel=1e-6)


@pytest.mark.parametrize("name", ["printed_18s16p", "halbach_18s16p"])
def test_endless_blocks_have_the_exact_field_of_their_currents(name: str) -> None:
    # Second method: surface currents instead of charge, in closed form. B_r = i n A_n/r.
    rotor, radius = motor_of(name).rotor, 27e-3
    blocks = block_ring(
        16,
        segments_per_pole=rotor.segments_per_pole,
        inner=rotor.magnet_inner_radius,
        thickness=rotor.magnet_thickness,
        width=rotor.magnet_width or 0.0,
        remanence=1.0,
    )
    expected = 8j / radius * potentials(blocks, [8], radius)[8]
    found = plane_field(pole_charge(rotor), np.array([radius]))[0]
    assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("kind", ["parallel", "radial", "halbach"])
def test_a_long_stack_has_the_endless_field_in_its_middle_and_on_average(kind: str) -> None:
    # What is left of the ends of 20 m over a pole pitch of 9 mm is their share of the length.
    charge, radii = pole_charge(small_ring(kind)), np.array([15e-3, 18e-3, 20e-3])
    for coil_length in (0.0, 20.0):
        found = mean_field(charge, radii, stack_length=20.0, coil_length=coil_length)
        assert found == pytest.approx(plane_field(charge, radii), rel=2e-4)


@pytest.mark.parametrize(
    ("rotor", "part", "coil_length"),
    [
        (small_ring("parallel"), 0.93, 0.0),
        (small_ring("parallel"), 0.93, 3e-3),
        (small_ring("halbach"), 0.9, 9e-3),
        (small_ring("radial"), 0.9, 9e-3),
        (motor_of("printed_18s16p").rotor, 0.93, 9e-3),
        (motor_of("halbach_18s16p").rotor, 0.93, 0.0),
        (motor_of("halbach_18s16p").rotor, 0.93, 13e-3),
        (motor_of("halbach_18s16p").rotor, 0.8, 9e-3),
    ],
    ids=lambda value: str(value) if isinstance(value, float) else value.magnetisation,
)
def test_finite_magnets_have_magpylibs_field_along_coils_of_any_length(
    rotor: Rotor, part: float, coil_length: float
) -> None:
    # magpylib's exact cylinder segments and cuboids, magnets of 9 mm; coils end within the
    # stack, with it and beyond it. Size and sign, not only ratios.
    lengths, radius = {"stack_length": 9e-3, "coil_length": coil_length}, part * 20.5e-3
    if rotor.magnet_width is not None:
        radius = part * rotor.magnet_inner_radius
    found = mean_field(pole_charge(rotor), np.array([radius]), **lengths)[0]
    expected = mean_harmonic(rotor, radius, **lengths)
    # Ten slices stand for a radial magnet; their error falls as their number squared.
    assert found == pytest.approx(expected, rel=2e-3 if rotor.magnetisation == "radial" else 2e-4)


def test_a_coil_beyond_all_ends_links_what_endless_magnets_of_that_length_would() -> None:
    # Gauss' theorem in the plane: ∫ B dz over all z of a slice is the field of an endless one.
    charge, radii = pole_charge(small_ring("parallel")), np.array([18e-3])
    mean = mean_field(charge, radii, stack_length=9e-3, coil_length=2.0)
    assert mean * 2.0 == pytest.approx(plane_field(charge, radii) * 9e-3, rel=1e-3)
