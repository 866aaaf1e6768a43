"""The dq map and what follows from it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fem_motor.design import load_design
from fem_motor.drive import Bridge, ElectricalMachine, limit_state
from fem_motor.loading import DqMap, dq_map, loaded_torque
from fem_motor.mesh import mesh_motor
from fem_motor.powered import powered_motor
from fem_motor.quantities import MotorModel, motor_model
from fem_motor.winding import wind


def model_of(name: str) -> MotorModel:
    motor = load_design(f"geometries/{name}.toml").motor
    return motor_model(motor, wind(motor), mesh_motor(motor, quality="draft"), angles_per_period=12)


def salient(*, psi: float, inductance_d: float, inductance_q: float, peak: float) -> DqMap:
    current_d, current_q = np.linspace(-peak, 0, 3), np.linspace(0, peak, 3)
    return DqMap(
        pole_pairs=5,
        current_d=current_d,
        current_q=current_q,
        linkage_d=psi + inductance_d * current_d[:, None] + np.zeros((3, 3)),
        linkage_q=inductance_q * current_q[None] + np.zeros((3, 3)),
    )


def test_the_best_current_angle_of_a_salient_machine_is_that_of_the_closed_form() -> None:
    # Largest torque per ampere, constant inductances: i_d = [ψ − √(ψ² + 8 (L_q − L_d)² I²)] /
    # [4 (L_q − L_d)]. Source: Morimoto, Takeda, Hirasa, Taniguchi, IEEE Trans. Ind. Appl. 26
    # (1990) 866, from memory; follows by setting dT/dγ to zero.
    psi, d, q, peak = 0.02, 1e-3, 2.5e-3, 12.0
    machine = salient(psi=psi, inductance_d=d, inductance_q=q, peak=peak)
    current_d = (psi - math.sqrt(psi**2 + 8 * (q - d) ** 2 * peak**2)) / (4 * (q - d))
    expected = math.asin(-current_d / peak)
    assert machine.best_current_angle(peak) == pytest.approx(expected, abs=1e-4)
    best = machine.torque(peak, expected)
    closed = 1.5 * 5 * (psi * peak * math.cos(expected) + (d - q) * current_d * math.sqrt(
        peak**2 - current_d**2
    ))  # fmt: skip
    assert best == pytest.approx(closed, rel=1e-12)


def test_a_machine_without_saliency_wants_its_current_in_phase() -> None:
    machine = salient(psi=0.02, inductance_d=1e-3, inductance_q=1e-3, peak=10.0)
    assert machine.best_current_angle(10.0) == pytest.approx(0.0)


def test_a_printed_core_has_straight_linkages_with_the_slope_of_small_currents() -> None:
    model = model_of("printed_18s16p")
    found = dq_map(model, peak=20.0)
    assert found.linkage_d[2, 0] == pytest.approx(model.fundamental_flux_linkage, rel=1e-3)
    slope_d = np.diff(found.linkage_d[:, 0]) / 10
    slope_q = np.diff(found.linkage_q[2]) / 10
    assert slope_d == pytest.approx(np.full(2, model.inductance_d), rel=1e-3)
    assert slope_q == pytest.approx(np.full(2, model.inductance_q), rel=1e-3)


def test_the_torque_of_the_map_is_the_mean_over_the_angles() -> None:
    model = model_of("steel_9s12p")
    found = dq_map(model, peak=20.0)
    for peak in (10.0, 20.0):
        for current_angle in (0.0, 0.5):
            loaded = loaded_torque(model, peak=peak, current_angle=current_angle)
            assert found.torque(peak, current_angle) == pytest.approx(loaded.mean, rel=5e-3)


def test_saturation_bends_the_torque_over_current() -> None:
    found = dq_map(model_of("steel_9s12p"), peak=40.0)
    assert found.torque(40.0, 0.0) < 2 * found.torque(20.0, 0.0)


def saturating(peak: float) -> DqMap:
    """Return ψ_q = L_q i_q (1 − i_q/(4 peak)), ψ_d falling with i_q as well."""
    current_d, current_q = np.linspace(-peak, 0, 3), np.linspace(0, peak, 3)
    d, q = np.meshgrid(current_d, current_q, indexing="ij")
    return DqMap(
        pole_pairs=5,
        current_d=current_d,
        current_q=current_q,
        linkage_d=0.02 + 1e-3 * d - 1e-6 * q**2,
        linkage_q=2e-3 * q * (1 - q / (4 * peak)) + 1e-5 * d * q,
    )


def test_what_currents_add_is_the_map_itself_mirrored_and_straight_beyond_its_edge() -> None:
    # A map of the second degree is met everywhere; beyond its edge by the tangent there, by hand.
    added = saturating(20.0).added_linkages()
    for i_d, i_q in ((0.0, 0.0), (-7.0, 13.0), (-20.0, 20.0), (-3.0, -11.0)):
        psi_d, psi_q = added(i_d, i_q)
        assert psi_d == pytest.approx(1e-3 * i_d - 1e-6 * i_q**2, abs=1e-12)
        straight = 2e-3 * i_q * (1 - abs(i_q) / 80) + 1e-5 * i_d * i_q
        assert psi_q == pytest.approx(straight, abs=1e-12)
    # dψ_q/di_q = 2e-3 (1 − 2 · 20/80) = 1e-3 at the edge; ψ_d there falls by 4e-5 an ampere.
    psi_d, psi_q = added(0.0, 25.0)
    assert psi_q == pytest.approx(2e-3 * 20 * 0.75 + 1e-3 * 5, rel=1e-12)
    assert psi_d == pytest.approx(-1e-6 * 400 - 4e-5 * 5, rel=1e-12)
    assert added(5.0, 0.0)[0] == pytest.approx(5e-3, rel=1e-12)


def test_twice_the_turns_of_the_same_ampere_turns_have_twice_the_linkage() -> None:
    # Ampère: the field knows ampere-turns only; a linkage counts every turn.
    once, twice = saturating(20.0), saturating(20.0).rewound(2.0)
    one, other = once.added_linkages()(-8.0, 12.0), twice.added_linkages()(-4.0, 6.0)
    assert other == pytest.approx([2 * value for value in one], rel=1e-12)
    assert twice.torque(10.0, 0.3) == pytest.approx(once.torque(20.0, 0.3), rel=1e-9)


def test_a_sine_drive_at_its_limit_gives_the_torque_of_the_field_that_saturates() -> None:
    # Second method: the field solved with the currents turning, mean over the angles. Without
    # the map the drive would promise more by what steel and ring have lost.
    design = load_design("geometries/steel_9s12p.toml").replace(drive__controller="sine")
    motor, winding = design.motor, wind(design.motor)
    model = motor_model(motor, winding, mesh_motor(motor, quality="draft"), angles_per_period=12)
    assert motor.winding.connection == "delta"
    peak = 60.0
    powered = powered_motor(motor, winding, model, end_factor=1.0)
    mapped = replace(powered, saturation=dq_map(model, peak=peak))
    mean = loaded_torque(model, peak=peak).mean
    lines = math.sqrt(3) * peak  # of a delta
    bridge = Bridge(supply_voltage=200.0, current_limit=lines, controller="sine")
    plain, saturated = (
        limit_state(one.machine(), bridge, speed=10.0).torque for one in (powered, mapped)
    )
    assert saturated == pytest.approx(mean, rel=5e-3)
    assert plain > 1.02 * saturated


def test_weaker_magnets_weaken_a_sine_drive_with_a_map_too() -> None:
    # The linkage of the magnets is that of the back-EMF: 0.9 of it at little current is 0.9 of the
    # torque, 3/2 p ψ I.
    phase = 2 * math.pi / 3 * np.arange(3)[:, None]
    plain = ElectricalMachine(
        pole_pairs=5,
        back_emf=0.1 * np.sin(math.pi / 48 * np.arange(96) - phase),
        resistance=0.1,
        inductance_d=1e-3,
        inductance_q=2e-3,
        flux_map=saturating(20.0).added_linkages(),
    )
    bridge = Bridge(supply_voltage=24.0, current_limit=0.01, controller="sine")
    one, other = (
        limit_state(replace(plain, back_emf=part * plain.back_emf), bridge, speed=1.0).torque
        for part in (1.0, 0.9)
    )
    assert one == pytest.approx(1.5 * 0.1 * 0.01, rel=1e-3)
    assert other / one == pytest.approx(0.9, rel=1e-3)
