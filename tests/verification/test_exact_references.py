"""The references are tested against each other, closed forms and published tables."""

import math

import numpy as np
import pytest
from exact import nonlinear_ring
from exact.annulus import (
    MU_0,
    Annulus,
    Layer,
    Segment,
    alternating,
    halbach,
    ideal_halbach,
    segment_harmonics,
    turned,
)
from exact.free_field import linkage_ratio, radial_fundamental, ring
from exact.tables import (
    SLOTLESS_ORDERS,
    SlotlessRow,
    machine_constants,
    slotless_machine,
    slotless_magnets,
    slotless_rows,
    slotted_machines,
)

RI, RO = 0.0205, 0.0235


# -- concentric layers -----------------------------------------------------------------------


@pytest.mark.parametrize("row", slotless_rows(), ids=lambda row: f"{row.magnets}, {row.back}")
def test_layers_reproduce_the_slotless_table(row: SlotlessRow) -> None:
    # Table: closed form, recomputed; half a unit in its last digit.
    machine = slotless_machine(row.back, slotless_magnets(row.magnets))
    found = [machine.at(n, 0.02025).B_r for n in SLOTLESS_ORDERS]
    assert found == pytest.approx(row.gap_harmonics, abs=0.51e-7)
    assert abs(machine.at(7, 0.020).A) == pytest.approx(row.potential, abs=0.51e-10)


def test_the_slotless_table_is_whole() -> None:
    rows = slotless_rows()
    assert len({(row.magnets, row.back) for row in rows}) == len(rows) == 48


@pytest.mark.parametrize("p", [2, 4, 7, 20])
def test_ideal_halbach_ring_fills_its_bore_and_leaves_the_outside_empty(p: int) -> None:
    # Closed form: Br p/(p − 1) (1 − (Ri/Ro)^(p−1)) (r/Ri)^(p−1); Halbach 1980.
    layer = Layer(inner_radius=RI, outer_radius=RO, remanence=ideal_halbach(p, remanence=1.2))
    machine = Annulus(layers=[layer])
    radius = 0.01
    expected = 1.2 * p / (p - 1) * (1 - (RI / RO) ** (p - 1)) * (radius / RI) ** (p - 1)
    assert machine.at(p, radius).B_r == pytest.approx(expected, rel=1e-12)
    assert abs(machine.at(p, 0.03).B_r) < 1e-13


def test_strong_side_outside_leaves_the_bore_empty() -> None:
    # One-sided flux, the mirror of the case above.
    wrong = ideal_halbach(7, remanence=1.2, strong_side="outside")
    machine = Annulus(layers=[Layer(inner_radius=RI, outer_radius=RO, remanence=wrong)])
    assert abs(machine.at(7, 0.02).B_r) < 1e-13
    assert abs(machine.at(7, 0.024).B_r) > 0.1


@pytest.mark.parametrize(
    ("segments_per_pole", "expected"),
    [(2, 0.6336544644), (3, 0.6848347970), (4, 0.7033033960), (6, 0.7166746404)],
)
def test_halbach_segments_weaken_the_bore_by_sin_x_over_x(
    segments_per_pole: int, expected: float
) -> None:
    # x = π(p + 1)/(2pk); tabulated at 20.25 mm for p = 7, Br = 1.2 T.
    p = 7
    segments = halbach(p, remanence=1.2, segments_per_pole=segments_per_pole)
    remanence = segment_harmonics(segments, p, [p])
    machine = Annulus(layers=[Layer(inner_radius=RI, outer_radius=RO, remanence=remanence)])
    x = math.pi * (p + 1) / (2 * p * segments_per_pole)
    ideal = 1.2 * p / (p - 1) * (1 - (RI / RO) ** (p - 1)) * (0.02025 / RI) ** (p - 1)
    assert machine.at(p, 0.02025).B_r == pytest.approx(ideal * math.sin(x) / x, rel=1e-12)
    assert machine.at(p, 0.02025).B_r == pytest.approx(expected, abs=1e-10)


def test_two_pole_halbach_cylinder_gives_br_ln_ro_over_ri() -> None:
    # p = 1, the limit of the formula above; Halbach 1980.
    magnets = Layer(inner_radius=RI, outer_radius=RO, remanence=ideal_halbach(1, remanence=1.2))
    bore = Annulus(layers=[magnets]).at(1, 0.01)
    assert bore.B_r == pytest.approx(1.2 * math.log(RO / RI), rel=1e-12)


def test_uniformly_magnetised_tube_in_the_open_has_the_field_of_two_rods() -> None:
    # A rod has B = J/2 inside; a tube is the rod Ro less the rod Ri, so its bore is empty.
    uniform = {1: (1.2 + 0j, 1.2j)}
    machine = Annulus(layers=[Layer(inner_radius=RI, outer_radius=RO, remanence=uniform)])
    assert abs(machine.at(1, 0.01).B_r) < 1e-15
    expected = 1.2 / 2 * (RO**2 - RI**2) / 0.03**2
    assert machine.at(1, 0.03).B_r == pytest.approx(expected, rel=1e-12)


def test_current_sheet_on_iron_has_twice_the_potential_it_has_in_air() -> None:
    # A = μ₀ K R/n on an iron rod, half of it in air (image currents).
    layers = [Layer(inner_radius=0.01, outer_radius=0.02)]
    sheets = {0.01: {3: 100.0}}
    on_iron = Annulus(layers=layers, inside="iron", sheets=sheets)
    in_air = Annulus(layers=layers, sheets=sheets)
    found = on_iron.at(3, 0.01).A
    assert found == pytest.approx(MU_0 * 100 * 0.01 / 3, rel=1e-12)
    assert found == pytest.approx(2 * in_air.at(3, 0.01).A, rel=1e-12)
    # The same seen from within, with the sheet on a bore in iron.
    bored = Annulus(layers=layers, outside="iron", sheets={0.02: {3: 100.0}})
    assert pytest.approx(MU_0 * 100 * 0.02 / 3, rel=1e-12) == bored.at(3, 0.02).A


def test_very_permeable_iron_approaches_the_ideal_end() -> None:
    # The error falls as 1/μ.
    remanence = slotless_magnets("parallel cover 0.85")
    ideal = slotless_machine("a", remanence).at(7, 0.02025).B_r.real
    layers = slotless_machine("c", remanence).layers

    def with_iron(mu: float) -> float:
        rings = [
            Layer(inner_radius=0.0, outer_radius=0.020, relative_permeability=mu),
            *layers,
            Layer(inner_radius=RO, outer_radius=0.030, relative_permeability=mu),
        ]
        return Annulus(layers=rings).at(7, 0.02025).B_r.real

    assert ideal - with_iron(1e5) == pytest.approx((ideal - with_iron(1e4)) / 10, rel=1e-2)


def test_normal_and_tangential_field_pass_interfaces_as_they_must() -> None:
    # Layer equation checked by differences: B_θ = −∂A/∂r on both sides; H_θ steady across.
    machine = slotless_machine("d", slotless_magnets("radial cover 0.85"))
    step = 1e-8
    for n in SLOTLESS_ORDERS:
        for radius in (0.019, 0.0203, 0.022, 0.025, 0.03):
            rise = machine.at(n, radius + step).A - machine.at(n, radius - step).A
            slope = -rise / (2 * step)
            assert machine.at(n, radius).B_theta == pytest.approx(slope, rel=1e-5, abs=1e-6)
        within, beyond = machine.at(n, RO - 1e-12), machine.at(n, RO + 1e-12)
        assert within.B_r == pytest.approx(beyond.B_r, rel=1e-6)
        # The radial magnets have no tangential remanence: μ₀H_θ is B_θ/μ on both sides.
        assert within.B_theta / 1.05 == pytest.approx(beyond.B_theta / 4.0, rel=1e-6, abs=1e-9)


def test_harmonics_of_segments_are_those_of_the_sampled_remanence() -> None:
    # Second method: Fourier sums of the pattern itself.
    p, samples = 3, 60_000
    segments = [
        Segment(centre=0.5, width=0.4, remanence=1.1, direction=0.7),
        Segment(centre=1.2, width=0.5, remanence=0.9, direction=2.5, magnetisation="radial"),
    ]
    angle = 2 * math.pi / p * (np.arange(samples) + 0.5) / samples
    J_r, J_theta = np.zeros(samples), np.zeros(samples)
    for one in segments:
        offset = angle - one.centre
        inside = np.abs(offset) < one.width / 2
        bend = offset if one.magnetisation == "parallel" else 0 * offset
        J_r += np.where(inside, one.remanence * np.cos(one.direction - bend), 0)
        J_theta += np.where(inside, one.remanence * np.sin(one.direction - bend), 0)
    for n, found in segment_harmonics(segments, p, [3, 4, 6, 9]).items():
        wave = np.exp(-1j * n * angle)
        assert found[0] == pytest.approx(2 * np.mean(J_r * wave), abs=1e-4)
        assert found[1] == pytest.approx(2 * np.mean(J_theta * wave), abs=1e-4)
    assert 4 not in segment_harmonics(segments, p, [4])


def test_turned_magnets_turn_their_field() -> None:
    # Half a pole pair turns north into south.
    straight = slotless_magnets("Halbach 3/pole")
    reversed_ = turned(straight, math.pi / 7)
    for n in SLOTLESS_ORDERS:
        assert reversed_[n][0] == pytest.approx(-straight[n][0], abs=1e-12)


# -- free field in three dimensions ----------------------------------------------------------


@pytest.mark.parametrize("kind", ["parallel", "halbach"])
def test_long_magpylib_ring_has_the_plane_field_of_the_layers(kind: str) -> None:
    # magpylib's cylinder segments against the layers; 2 m of stack leave about (0.02/1)² of ends.
    p = 7
    segments = (
        alternating(p, remanence=1.2, cover=0.9, magnetisation="parallel")
        if kind == "parallel"
        else halbach(p, remanence=1.2, segments_per_pole=4)
    )
    layer = Layer(inner_radius=RI, outer_radius=RO, remanence=segment_harmonics(segments, p, [p]))
    plane = Annulus(layers=[layer])
    magnets = ring(segments, p, inner_radius=RI, outer_radius=RO, stack_length=2.0)
    for radius in (0.018, 0.020, 0.026):
        found = radial_fundamental(magnets, p, radius=radius)[0]
        assert found == pytest.approx(plane.at(p, radius).B_r, abs=1e-6)


def test_short_ironless_ring_loses_flux_at_its_ends() -> None:
    # magpylib, computed: Halbach 4 per pole, stack of one pole pitch, coil at 18 mm: 0.7812.
    p, stack_length = 7, math.pi * 0.020 / 7
    segments = halbach(p, remanence=1.2, segments_per_pole=4)
    magnets = ring(segments, p, inner_radius=RI, outer_radius=RO, stack_length=stack_length)
    ratio = linkage_ratio(
        magnets, p, radius=0.018, stack_length=stack_length, plane_fundamental=0.346919, points=5
    )
    assert ratio == pytest.approx(0.7812, abs=3e-4)


# -- saturating ring -------------------------------------------------------------------------

TEAM_13 = [
    # current, B at 10, 15, 20 mm, flux in mWb/m of straight lines and of PCHIP: exact integrals.
    (5, 0.020698, 0.012204, 0.008059, 0.1290445, 0.12716),
    (20, 0.918310, 0.218388, 0.066828, 3.3872817, 3.35936),
    (50, 1.451851, 1.315479, 1.137299, 13.0782832, 13.12675),
    (100, 1.575747, 1.521701, 1.451851, 15.2013693, 15.23917),
    (300, 1.694751, 1.656493, 1.623152, 16.5679764, 16.58874),
    (1000, 1.808159, 1.801492, 1.767206, 17.9693763, 17.96963),
]
BRAUER = [
    # As above with the closed form of H over B; fluxes confirmed by order-5 finite elements.
    (20, 0.7759232, 0.5263936, 0.3963578, 5.4566616),
    (100, 1.5368728, 1.4394941, 1.3468212, 14.4022314),
    (300, 1.7224577, 1.6615924, 1.6139475, 16.6374414),
    (1000, 1.8789898, 1.8291055, 1.7921992, 18.3121967),
    (5000, 2.0608331, 2.0168967, 1.9850512, 20.1886630),
]


@pytest.mark.parametrize("row", TEAM_13, ids=lambda row: f"{row[0]} A")
def test_ring_of_tabulated_steel_has_the_exact_flux(row: tuple[float, ...]) -> None:
    current, B10, B15, B20, straight, cubic = row
    lines = nonlinear_ring.linear_table(nonlinear_ring.TEAM_13_H, nonlinear_ring.TEAM_13_B)
    for radius, expected in ((0.010, B10), (0.015, B15), (0.020, B20)):
        assert lines.B(current / (2 * math.pi * radius)) == pytest.approx(expected, abs=0.6e-6)
    where = {"current": current, "inner_radius": 0.010, "outer_radius": 0.020}
    assert nonlinear_ring.flux(lines, **where) * 1e3 == pytest.approx(straight, abs=1e-7)
    smooth = nonlinear_ring.pchip_table(nonlinear_ring.TEAM_13_H, nonlinear_ring.TEAM_13_B)
    assert nonlinear_ring.flux(smooth, **where) * 1e3 == pytest.approx(cubic, abs=0.6e-5)


@pytest.mark.parametrize(("current", "B10", "B15", "B20", "flux"), BRAUER)
def test_ring_of_brauer_steel_has_the_exact_flux(
    current: float, B10: float, B15: float, B20: float, flux: float
) -> None:
    curve = nonlinear_ring.brauer()
    for radius, expected in ((0.010, B10), (0.015, B15), (0.020, B20)):
        assert curve.B(current / (2 * math.pi * radius)) == pytest.approx(expected, abs=1e-7)
    found = nonlinear_ring.flux(curve, current=current, inner_radius=0.010, outer_radius=0.020)
    assert found * 1e3 == pytest.approx(flux, abs=2e-7)


def test_ring_of_constant_permeability_has_the_logarithmic_flux() -> None:
    # Ampère: μ₀ μ I/(2π) ln(r₂/r₁).
    mu = 50 * MU_0
    curve = nonlinear_ring.linear_table([0, 1e6], [0, 1e6 * mu])
    found = nonlinear_ring.flux(curve, current=80, inner_radius=0.01, outer_radius=0.03)
    assert found == pytest.approx(mu * 80 / (2 * math.pi) * math.log(3), rel=1e-12)


def test_brauer_steel_reaches_the_slope_of_vacuum_at_2_068_tesla() -> None:
    # Computed: B* = 2.0677759446 T, H* = 84917.2422 A/m.
    curve = nonlinear_ring.brauer()
    assert curve.knots[-1] == pytest.approx(2.0677759446, abs=1e-10)
    assert curve.H(curve.knots[-1]) == pytest.approx(84917.2422, abs=1e-4)


# -- tables ----------------------------------------------------------------------------------


def test_machine_constants_follow_from_the_power_balance() -> None:
    # 3 E_rms I_rms = T ω, E = pωψ; six-step: means of the sine over its 60 degree top.
    table = machine_constants()
    ke = table["pole_pairs"] * table["flux_linkage_Vs"]
    rpm = 60 / (2 * math.pi)
    expected = {
        "torque_per_peak_phase_ampere": 1.5 * ke,
        "torque_per_rms_phase_ampere": 1.5 * math.sqrt(2) * ke,
        "back_emf_line_line_peak_V_per_rad_per_s": math.sqrt(3) * ke,
        "speed_rpm_per_line_line_peak_V": rpm / (math.sqrt(3) * ke),
        "speed_rpm_per_line_line_rms_V": rpm / (math.sqrt(3 / 2) * ke),
        "speed_rpm_per_dc_V_six_step": rpm / (3 / math.pi * math.sqrt(3) * ke),
        "torque_per_dc_ampere_six_step": 3 / math.pi * math.sqrt(3) * ke,
    }
    for name, value in expected.items():
        assert table[name] == pytest.approx(value, rel=3e-5), name


def test_slotted_table_agrees_with_itself() -> None:
    # The sines of the cogging period rebuild the values at single angles, to the harmonics left
    # out (the fourth on) and the digits shown.
    for machine in slotted_machines().values():
        period = machine.cogging_period
        assert period == pytest.approx(2 * math.pi / math.lcm(machine.slots, machine.poles))
        for angle, torque in machine.cogging:
            x = 2 * math.pi * angle / period
            rebuilt = sum(
                sine * math.sin(k * x) for k, sine in enumerate(machine.cogging_sines, start=1)
            )
            assert rebuilt == pytest.approx(torque, abs=6e-3 * abs(machine.cogging_peak[1]))


def test_slotted_machines_without_iron_outside_link_less_flux() -> None:
    # Same rotor and stator: iron back, plastic ring of permeability 5, air.
    table = slotted_machines()
    iron, plastic, air = (table[name].linkage_harmonics[1] for name in ("C1", "C8", "C7"))
    assert iron > plastic > air
    assert sum(table["C1"].currents.values()) == 0
