"""Mean flux densities of the core, and where the magnets' drive goes.

A core of permeability 1 leaves the field of concentric layers, whose closed form is at hand
(Zhu, Howe, Bolte and Ackermann, IEEE Trans. Magn. 29 (1993) 124, from memory; recomputed by
`verification/exact/annulus.py`): flux, and the work ∫ H·B inside every circle, harmonic by
harmonic.
"""

import functools
import math

import numpy as np
import pytest
from small_machines import design_of, machine, machine_of
from verification.exact.annulus import Annulus, Layer, alternating, segment_harmonics

from fem_motor.arrays import FloatArray
from fem_motor.field import field_work, solve
from fem_motor.quantities.fields.no_load import NoLoadFields, no_load_fields
from fem_motor.quantities.readings.core_flux import core_flux
from fem_motor.quantities.readings.limiter import DriveShares, drive_shares

MU_0 = 4e-7 * math.pi
P, BR, RECOIL, IRON = 5, 1.2, 1.05, 1e5
SURFACE, RI, RO, RING = 0.020, 0.0205, 0.0235, 0.0295
ODD = np.arange(1, 40, 2)
ORDERS = P * ODD
"""Up to 195; some 40 beyond, rounding spoils the closed form of layers with magnets."""


def layers(*, ring: bool, iron_inside: bool = False) -> Annulus:
    """Return the exact machine; its first magnet looks outward, that of the design inward."""
    magnets = segment_harmonics(
        alternating(P, remanence=BR, cover=1, magnetisation="radial"), P, list(ORDERS)
    )
    remanence = {n: (-J_r, -J_theta) for n, (J_r, J_theta) in magnets.items()}
    found = [
        Layer(inner_radius=RI, outer_radius=RO, relative_permeability=RECOIL, remanence=remanence)
    ]
    if ring:
        found.append(Layer(inner_radius=RO, outer_radius=RING, relative_permeability=IRON))
    if iron_inside:
        return Annulus(layers=[Layer(inner_radius=SURFACE, outer_radius=RI), *found], inside="iron")
    return Annulus(layers=found)


def potential(exact: Annulus, radius: float, theta: FloatArray) -> FloatArray:
    """Return A, (…) Wb/m, at a radius, rotor at 0."""
    return np.asarray(
        sum((exact.at(int(n), radius).A * np.exp(1j * n * theta)).real for n in ORDERS)
    )


@functools.cache
def fields(name: str) -> NoLoadFields:
    one = machine(name)
    return no_load_fields(one.problem, poles=one.motor.rotor.poles, angles_per_period=8)


@functools.cache
def shares(name: str) -> DriveShares:
    one = machine(name)
    stator, rotor = fields(name).solved.kept_fields
    return drive_shares(one.problem, one.motor, stator[0], rotor[0])


def seen_from(angle: float) -> FloatArray:
    """Return the angles against the rotor of all tooth axes, rotor at the solved angles."""
    rotor = fields("slotless").solved.angle
    return np.asarray(angle + 2 * math.pi / 12 * np.arange(12)[:, None] - rotor)


def between_magnets(exact: Annulus) -> float:
    """Return the flux through the ring where two magnets meet, Wb/m.

    There every term has the same sign and they fall as 1/n²: the last one gives the rest,
    Σ 1/k² over all odd k being π²/8.
    """
    theta = math.pi / (2 * P)
    terms = [
        ((exact.at(int(n), RO).A - exact.at(int(n), RING).A) * np.exp(1j * n * theta)).real
        for n in ORDERS
    ]
    rest = terms[-1] * ODD[-1] ** 2 * (math.pi**2 / 8 - np.sum(1 / ODD**2))
    return abs(float(sum(terms) + rest))


@pytest.mark.parametrize(("name", "iron_inside"), [("slotless", False), ("iron all round", True)])
def test_ring_carries_half_the_flux_of_a_pole(name: str, iron_inside: bool) -> None:  # noqa: FBT001
    # A on the inside of the ring less that on its outside, where two magnets meet. The openings
    # of 0.5 mm cost the iron stator less than a hundredth.
    expected = between_magnets(layers(ring=True, iron_inside=iron_inside)) / 0.006
    found = core_flux(fields(name).solved, machine(name).motor).ring
    assert found == pytest.approx(expected, rel=1e-2 if iron_inside else 3e-3)


def test_yoke_flux_density_is_that_of_the_closed_form() -> None:
    # Between 8 and 12 mm below the middle of a slot, largest over teeth and solved angles.
    exact, theta = layers(ring=True), seen_from(math.pi / 12)
    through = potential(exact, 0.012, theta) - potential(exact, 0.008, theta)
    found = core_flux(fields("slotless").solved, machine("slotless").motor).yoke
    assert found == pytest.approx(np.abs(through).max() / 0.004, rel=5e-3)


def test_tooth_flux_density_is_that_of_the_closed_form() -> None:
    # A across the tooth, 4 mm wide, at the nodes of its side; they end below the tip's corner.
    one, exact = machine("slotless"), layers(ring=True)
    x, y = one.mesh.stator.points
    radii = np.hypot(x, y)[np.abs(y - 0.002) < 1e-9]
    across = []
    for radius in radii[(radii > 0.01202) & (radii < 0.01898)]:
        half = math.asin(0.002 / radius)
        ahead, behind = (potential(exact, radius, seen_from(side)) for side in (half, -half))
        across.append(np.abs(ahead - behind).max())
    found = core_flux(fields("slotless").solved, one.motor).tooth
    assert found == pytest.approx(max(across) / 0.004, rel=5e-3)


def test_a_tooth_of_iron_gathers_the_flux_of_its_pitch() -> None:
    # By hand, with slots closed but for 0.5 mm: no H in iron, B_r r = c in gap and magnets,
    # c = Br h/(μ_rec ln(Rm/Rs) + ln(Ro/Rm)); a tooth takes what meets its pitch of 30° (the pole
    # is 36° wide). A twentieth is left for the openings and for flux from magnet to magnet.
    one = machine("iron all round")
    found = core_flux(fields("iron all round").solved, one.motor)
    c = BR * 0.003 / (RECOIL * math.log(RI / SURFACE) + math.log(RO / RI))
    assert found.tooth == pytest.approx(c * 2 * math.pi / 12 / 0.004, rel=0.05)


def test_no_ring_has_no_flux_density() -> None:
    assert core_flux(fields("slotless, open").solved, machine("slotless, open").motor).ring is None


def work_inside(exact: Annulus, radius: float) -> float:
    """Return ∫ H·B of the air inside a circle, J/m: π/μ₀ Σ n |A_n|²; outside it is the same."""
    return sum(math.pi / MU_0 * int(n) * abs(exact.at(int(n), radius).A) ** 2 for n in ORDERS)


@pytest.mark.parametrize("ring", [True, False])
def test_shares_of_the_drive_are_the_work_of_the_closed_form(ring: bool) -> None:  # noqa: FBT001
    # What the magnets give is what all space within and beyond them takes.
    exact = layers(ring=ring)
    core, bore = work_inside(exact, SURFACE), work_inside(exact, RI)
    outside = 0.0 if ring else work_inside(exact, RO)  # the ring takes 1e-5 of it
    found = shares("slotless" if ring else "slotless, open").shares
    total = bore + outside
    assert found["gap"] == pytest.approx((bore - core) / total, rel=3e-3)
    assert found["core"] + found["leakage"] == pytest.approx(core / total, rel=3e-3)
    assert found["outside"] == pytest.approx(outside / total, rel=3e-3, abs=1e-6)
    assert found["ring"] == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("name", ["slotless", "slotless, open", "iron all round", "printed_18s16p"])
def test_shares_add_up_to_one(name: str) -> None:
    found = shares(name).shares
    assert set(found) == {"gap", "core", "ring", "leakage", "outside"}
    assert sum(found.values()) == pytest.approx(1, abs=1e-12)
    assert min(found.values()) >= 0


def test_iron_all_round_leaves_the_drive_to_the_gap() -> None:
    # Magnets and gap in series, nothing else; a twentieth for what leaks through the openings.
    # What the magnets give, −∫ H·B, is then the work of the gap between smooth circles, in
    # closed form −π r/μ₀ Σ A B_θ at the magnets; the openings of 0.5 mm cost a fiftieth.
    one, found = machine("iron all round"), shares("iron all round")
    assert found.shares["gap"] > 0.95
    assert found.shares["core"] + found.shares["ring"] < 0.01
    assert "in the air gap" in found.sentence
    assert "thinner gap or thicker magnets would help most" in found.sentence
    stator, rotor = fields("iron all round").solved.kept_fields
    exact = layers(ring=True, iron_inside=True)
    edge = [exact.at(int(n), RI) for n in ORDERS]
    given = -math.pi * RI / MU_0 * sum((wave.A * wave.B_theta.conjugate()).real for wave in edge)
    work = field_work(one.problem, stator[0], rotor[0]).magnets
    assert work == pytest.approx(given, rel=0.02)


def test_without_iron_the_open_outside_takes_most_of_the_drive() -> None:
    # Printed core, no ring: the flux of every pole closes in the open.
    found = shares("printed_18s16p")
    assert max(found.shares, key=found.shares.__getitem__) == "outside"
    assert "is spent in the open air outside the rotor" in found.sentence
    assert "a steel ring or a Halbach layout would help most" in found.sentence


@pytest.mark.parametrize(("thickness_mm", "is_full"), [(0.4, True), (2.0, False)])
def test_a_ring_far_too_thin_is_full_and_named(thickness_mm: float, is_full: bool) -> None:  # noqa: FBT001
    # By hand: half a pole of block magnets, 2.5 mm at some 0.6 T, is 1.5 mWb/m: 3.8 T in 0.4 mm
    # of steel, which is full near 2 T, and 0.8 T in 2 mm, leakage between magnets to be added.
    one = machine_of(
        design_of("steel_9s12p").replace(
            rotor__ring_material="steel-1008", rotor__ring_thickness_mm=thickness_mm
        )
    )
    solved = solve(one.problem, angles=np.zeros(1), ampere_turns=np.zeros((1, 9, 2)))
    stator, rotor = solved.kept_fields
    found = drive_shares(one.problem, one.motor, stator[0], rotor[0])
    density = core_flux(solved, one.motor).ring
    assert density is not None
    assert (density > 2.0) == is_full
    assert ("a thicker ring would help most" in found.sentence) == is_full
    assert (found.shares["ring"] > 0.1) == is_full
    assert (found.shares["outside"] > 0.1) == is_full
