"""The end factor of whole motors, and what its range has to hold."""

import dataclasses
import math

import numpy as np
import pytest
from free_magnets import mean_harmonic, motor_of
from harmonic_elements import Rings

from fem_motor.design import Motor, coil_side_area
from fem_motor.ends import end_factor, ends_are_computed, linkage_ratio, plane_field, pole_charge
from fem_motor.ends.coils import coil_weights, overhang
from fem_motor.materials import BHCurve, Core
from fem_motor.section import Arc, Edge, cross_section

PRINTED, HALBACH, RING, STEEL = (
    "printed_18s16p",
    "halbach_18s16p",
    "printed_18s16p_ring",
    "steel_12s14p",
)


def scaled(motor: Motor, stack_length: float) -> Motor:
    return dataclasses.replace(motor, stack_length=stack_length)


def with_core(motor: Motor, permeability: float) -> Motor:
    core = Core(name="core", curve=BHCurve.linear(permeability))
    stator = dataclasses.replace(motor.stator, core=core, core_fraction=1.0)
    return dataclasses.replace(motor, stator=stator)


def moment(edge: Edge, p: int) -> complex:
    """Return ½ i⁻¹ ∫ z̄ z^p dz along an edge; around an area it is ∫ z^p dS (Green)."""
    node, weight = np.polynomial.legendre.leggauss(12)
    start, end, part = complex(*edge.start), complex(*edge.end), (1 + node) / 2
    if isinstance(edge, Arc):
        turn = np.log(end / start)
        z = start * np.exp(turn * part)
        along = turn * z
    else:
        z = start + (end - start) * part
        along = np.full_like(z, end - start)
    return complex(np.sum(weight / 2 * np.conj(z) * z**p * along) / 2j)


@pytest.mark.parametrize("name", [PRINTED, STEEL, "sloped tips", "one layer"])
def test_coils_link_the_bores_field_as_their_outline_does(name: str) -> None:
    # Second method: A ~ r^p sin pθ summed over the coil side, by Green's theorem along the
    # outline that is meshed, a tip's slope taken off it. With one layer the other half of the
    # slot, seen from the tooth, is the mirror image of this one in the slot's axis.
    motor = motor_of(PRINTED if " " in name else name)
    if name == "sloped tips":
        motor = dataclasses.replace(
            motor, stator=dataclasses.replace(motor.stator, tip_taper=math.radians(40))
        )
    if name == "one layer":
        motor = dataclasses.replace(motor, winding=dataclasses.replace(motor.winding, layers=1))
    p = motor.rotor.pole_pairs
    outlines = [
        region.edges for region in cross_section(motor).stator.regions if region.label == "coil"
    ]
    whole = sum(moment(edge, p) for edges in outlines for edge in edges)
    if motor.winding.layers == 1:
        whole += whole.conjugate() * np.exp(1j * p * motor.stator.slot_pitch)
    radii, weights = coil_weights(motor)
    found = weights @ radii ** (p - 1) / p
    assert found == pytest.approx(whole.imag, rel=1e-5, abs=0)


def test_the_mean_turn_stands_out_by_the_liner_and_half_the_coil() -> None:
    # By definition: thickness is area over height; with one layer twice as much.
    motor = motor_of(PRINTED)
    area, height = coil_side_area(motor.stator), 27e-3 - 15e-3 - 0.6e-3
    one = dataclasses.replace(motor, winding=dataclasses.replace(motor.winding, layers=1))
    for wound, halves in ((motor, 1), (one, 2)):
        mean, outermost = overhang(wound)
        assert mean == pytest.approx(0.3e-3 + halves * area / height / 2, rel=1e-9)
        assert outermost == pytest.approx(0.3e-3 + halves * area / height, rel=1e-9)


def test_a_halbach_ring_with_its_strong_side_outside_has_no_fundamental_in_its_bore() -> None:
    # In the plane A_n of a bore takes J_x − i J_y of each magnet alone, times exp(−i(n − 1)θ);
    # turned backwards by p θ against its axis that is exp(−i 2p θ), whose sum is nothing.
    motor = motor_of(HALBACH)
    weak = dataclasses.replace(motor.rotor, strong_side="outside")
    radii = np.array([27e-3])
    weak_field, field = (plane_field(pole_charge(one), radii)[0] for one in (weak, motor.rotor))
    assert abs(weak_field) < 1e-12 * abs(field)
    found = end_factor(dataclasses.replace(motor, rotor=weak))
    assert (found.low, found.value, found.high) == (0.5, 1.0, 2.0)
    assert "guess" in found.because


@pytest.mark.parametrize("stack_length", [0.2e-3, 1e-3, 4e-3])
def test_the_shortest_stack_keeps_some_flux(stack_length: float) -> None:
    # Kv is one over it.
    found = end_factor(scaled(motor_of(PRINTED), stack_length))
    assert 0 < found.low < found.value < found.high


@pytest.mark.parametrize("name", [PRINTED, HALBACH])
@pytest.mark.parametrize("stands_out", [0.0, 1.5e-3])
def test_whole_machines_link_the_flux_of_magpylibs_cuboids(name: str, stands_out: float) -> None:
    # 3-D field by magpylib at every radius of the coils; plane field tested apart.
    motor = motor_of(name)
    L, rotor = motor.stack_length, motor.rotor
    radii, weights = coil_weights(motor)
    length = L + 2 * stands_out
    mean = [mean_harmonic(rotor, r, stack_length=L, coil_length=length) for r in radii]
    plane = weights @ plane_field(pole_charge(rotor), radii)
    expected = length * (weights @ np.array(mean)) / (L * plane)
    assert linkage_ratio(motor, stands_out=stands_out) == pytest.approx(expected.real, rel=1e-4)


@pytest.mark.parametrize("name", [PRINTED, HALBACH, RING])
def test_the_range_holds_the_straight_coil_the_mean_turn_and_the_outermost(name: str) -> None:
    motor = motor_of(name)
    found = end_factor(motor)
    mean, outermost = overhang(motor)
    for stands_out in (0.0, mean, outermost):
        assert found.low < linkage_ratio(motor, stands_out=stands_out) < found.high
    assert found.low < found.value < found.high
    assert "magnets 20 mm long" in found.because


@pytest.mark.parametrize("name", [PRINTED, HALBACH, RING])
def test_the_ends_of_a_long_stack_take_nothing(name: str) -> None:
    # 20 m against a pole pitch of 11 mm: 1 − 0.2·11/20 000.
    found = end_factor(scaled(motor_of(name), 20.0))
    for factor in (found.low, found.value, found.high):
        assert factor == pytest.approx(1, abs=3e-4)


@pytest.mark.parametrize("name", [PRINTED, HALBACH])
def test_a_long_stack_loses_a_length_that_does_not_depend_on_its_own(name: str) -> None:
    # Two ends that do not feel each other: (1 − k) L is the same from 6 pole pitches on.
    motor = motor_of(name)
    lost = [(1 - linkage_ratio(scaled(motor, L), stands_out=0.0)) * L for L in (0.066, 0.132)]
    assert lost[0] == pytest.approx(lost[1], rel=2e-3)


def test_a_motor_twice_as_large_has_the_same_factor() -> None:
    motor = motor_of(PRINTED)
    sizes = {
        part: {
            field.name: 2 * getattr(getattr(motor, part), field.name)
            for field in dataclasses.fields(getattr(motor, part))
            if field.type is float and field.name not in {"tip_taper", "core_fraction"}
        }
        for part in ("stator", "rotor")
    }
    sizes["rotor"]["magnet_width"] = 2 * (motor.rotor.magnet_width or 0)
    large = dataclasses.replace(
        scaled(motor, 2 * motor.stack_length),
        stator=dataclasses.replace(motor.stator, **sizes["stator"]),
        rotor=dataclasses.replace(motor.rotor, **sizes["rotor"]),
    )
    assert end_factor(large).value == pytest.approx(end_factor(motor).value, rel=1e-9)


def test_a_steel_core_has_a_range_from_practice_and_no_computed_ends() -> None:
    found = end_factor(motor_of(STEEL))
    assert not ends_are_computed(motor_of(STEEL))
    assert (found.low, found.value, found.high) == (0.95, 1.0, 1.0)
    assert "no source" in found.because


# -- cores and rings, by finite elements of the harmonic ---------------------------------------


def rings(**changes: object) -> Rings:
    """Return the printed machine with arcs of about the same cover for its blocks."""
    half = 0.73 * math.pi / 16
    wave = 2 * np.sin(7 * half) / 7 + 2 * np.sin(9 * half) / 9
    other = 2 * np.sin(7 * half) / 7 - 2 * np.sin(9 * half) / 9
    values = {
        "pole_pairs": 8,
        "stack_length": 20e-3,
        "core_radius": 28e-3,
        "magnet_inner": 28.8e-3,
        "magnet_outer": 32e-3,
        # Fourier integrals of cos θ and −sin θ times cos 8θ, sin 8θ over one arc.
        "remanence": (float(wave), float(-other)),
    }
    return Rings(**{**values, **changes})


def arcs(motor: Motor) -> Motor:
    rotor = dataclasses.replace(
        motor.rotor,
        magnet_shape="arc",
        magnet_width=None,
        magnet_arc_fraction=0.73,
        magnet_thickness=3.2e-3,
    )
    return dataclasses.replace(motor, rotor=rotor)


@pytest.mark.slow
def test_elements_and_charge_agree_without_a_core() -> None:
    # Nothing in common: 1.5e-3 is what the elements' corners leave.
    motor = arcs(motor_of(PRINTED))
    for stands_out in (0.0, 1.5e-3):
        found = rings().linkage(*coil_weights(motor), stands_out=stands_out)
        expected = linkage_ratio(motor, stands_out=stands_out)
        assert found == pytest.approx(expected, abs=1.5e-3)


@pytest.mark.slow
@pytest.mark.parametrize("permeability", [1.35, 2.0, 4.0])
def test_the_range_holds_what_a_smooth_core_makes_of_the_ends(permeability: float) -> None:
    motor = with_core(arcs(motor_of(PRINTED)), permeability)
    found = end_factor(motor)
    mean, _ = overhang(motor)
    for stands_out in (0.0, mean):
        true = rings(core=permeability).linkage(*coil_weights(motor), stands_out=stands_out)
        assert found.low < true < found.high
    assert found.value == pytest.approx(true, abs=0.01)


@pytest.mark.slow
def test_a_steel_ring_around_a_printed_core_costs_flux_at_the_ends() -> None:
    # The image in the ring is as long as the magnets: nothing is left out that elements see.
    motor = arcs(motor_of(PRINTED))
    ring = rings(ring=1000.0, ring_outer=34e-3)
    for stands_out in (0.0, 1.5e-3):
        true = ring.linkage(*coil_weights(motor), stands_out=stands_out)
        found = linkage_ratio(motor, stands_out=stands_out, ring=1.0)
        assert found == pytest.approx(true, abs=2.5e-3)
        assert found < linkage_ratio(motor, stands_out=stands_out) - 0.015
