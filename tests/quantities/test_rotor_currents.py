"""Sweeps: currents that turn with the rotor, magnets as they were built, and the whole circle."""

import functools
import math
from dataclasses import replace

import numpy as np
import pytest
from small_machines import design_of, machine

from fem_motor.quantities import (
    MotorModel,
    Phases,
    RotorSweep,
    motor_model,
    solve_map,
    sweep_motor,
)
from fem_motor.quantities.fields.linkage import d_axis_angle, half_slot_turns
from fem_motor.quantities.fields.machine import magnets_of, symmetry

NAME = "single layer"
P, SLOTS, POLES = 7, 12, 14


@functools.cache
def model() -> MotorModel:
    one = machine(NAME)
    return motor_model(one.motor, one.winding, one.mesh, angles_per_period=6)


def swept(current_angle: float) -> RotorSweep:
    """Return two cogging periods, a sixth of the electrical period, with 10 A."""
    one = machine(NAME)
    angles = 2 * math.pi / P / 6 * np.arange(12) / 12
    phases = Phases.of(one.winding, one.motor)
    currents = phases.sine(angles, peak=10.0, current_angle=current_angle)
    return sweep_motor(one.motor, one.winding, one.mesh, angles=angles, currents=currents)


@pytest.mark.parametrize(("lead_deg", "share"), [(0.0, 1.0), (60.0, 0.5)])
def test_mean_torque_is_3_2_p_psi_i_q_without_saliency(lead_deg: float, share: float) -> None:
    # Power balance: 3/2 E i_q = T ω, E = pωψ, i_q = I cos γ.
    found = swept(math.radians(lead_deg)).torque_Nm.mean()
    full = 1.5 * P * model().fundamental_flux_linkage * 10.0
    assert found == pytest.approx(share * full, abs=5e-3 * full)


def test_at_the_d_axis_phase_u_links_most() -> None:
    one = machine(NAME)
    at = np.array([d_axis_angle(half_slot_turns(one.winding), P)])
    found = sweep_motor(one.motor, one.winding, one.mesh, angles=at, currents=np.zeros((3, 1)))
    u, v, w = found.flux_linkage_Wb[:, 0]
    assert u == pytest.approx(model().flux_linkage.max(), rel=1e-3)
    assert v == pytest.approx(w, rel=1e-6)
    assert v < 0


def test_back_emf_is_the_slope_of_the_linkage() -> None:
    # Central differences with ±0.02° by two more solutions; the slope of the series in the
    # model cuts off what lies beyond half its angles.
    one, at = machine(NAME), 5
    step = math.radians(0.02)
    angles = model().angle[at] + np.array([-step, step])
    linkage = sweep_motor(
        one.motor, one.winding, one.mesh, angles=angles, currents=np.zeros((3, 2))
    ).flux_linkage_Wb
    slope = (linkage[:, 1] - linkage[:, 0]) / (2 * step)
    peak = np.abs(model().back_emf).max()
    assert np.abs(model().back_emf[:, at] - slope).max() < 1e-3 * peak


def test_the_phases_follow_one_another_by_a_third_of_the_period() -> None:
    number = model().angle.size
    for phase in (1, 2):
        later = np.roll(model().flux_linkage[0], phase * number // 3)
        assert model().flux_linkage[phase] == pytest.approx(later, abs=1e-9 * later.max())
    assert model().cogging_peak_to_peak == np.ptp(model().cogging_torque)


@pytest.mark.slow
def test_a_weak_magnet_is_solved_on_the_whole_circle_and_superposes() -> None:
    # Linear cores: linkage is a straight line over the strength of one magnet, torque a parabola
    # (it goes with the square of the field). The sound machine is solved on a sector.
    one = machine(NAME)
    angles, currents = np.array([0.1, 0.25]), np.tile([[8.0], [-3.0], [-5.0]], 2)
    found = {}
    for factor in (1.0, 0.5, 0.0, -1.0):
        motor = one.motor
        if factor != 1.0:
            built = [{"index": 4, "remanence_factor": factor}]
            motor = one.design.replace(as_built__magnets=built).motor
            assert symmetry(motor) == 1
            strength = magnets_of(motor).remanence / magnets_of(one.motor).remanence
            assert strength == pytest.approx(np.where(np.arange(POLES) == 3, factor, 1.0))
        found[factor] = sweep_motor(motor, one.winding, one.mesh, angles=angles, currents=currents)
    assert found[0.5].dofs == symmetry(one.motor, half_slot_turns(one.winding)) * found[1.0].dofs
    linkage = {factor: sweep.flux_linkage_Wb for factor, sweep in found.items()}
    torque = {factor: sweep.torque_Nm for factor, sweep in found.items()}
    half = (linkage[1.0] + linkage[0.0]) / 2
    assert np.abs(linkage[0.5] - half).max() < 1e-8 * np.abs(half).max()
    assert np.abs(linkage[1.0] - linkage[0.5]).max() > 1e-3 * np.abs(half).max()
    parabola = 3 / 8 * torque[1.0] + 3 / 4 * torque[0.0] - 1 / 8 * torque[-1.0]
    assert np.abs(torque[0.5] - parabola).max() < 1e-7 * np.abs(parabola).max()


def test_a_tilted_magnet_turns_by_its_tilt_alone() -> None:
    design = design_of(NAME)
    tilted = design.replace(as_built__magnets=[{"index": 3, "tilt_deg": 5.0}])
    turned = magnets_of(tilted.motor).direction - magnets_of(design.motor).direction
    assert turned == pytest.approx(np.where(np.arange(POLES) == 2, math.radians(5.0), 0.0))


def test_currents_keep_the_symmetry_of_the_winding_only() -> None:
    # A coil turned round leaves no two equal halves once current flows, and two without.
    one = machine(NAME)
    turns = half_slot_turns(one.winding)
    broken = turns.copy()
    broken[:, 0] *= -1
    assert symmetry(one.motor) == symmetry(one.motor, turns) == 2
    assert symmetry(one.motor, broken) == 1
    assert symmetry(replace(one.motor, as_built=machine("three teeth, uneven").motor.as_built)) == 1


def test_the_map_shows_the_whole_machine() -> None:
    # Points in the sector of every tooth; nowhere more than twice the magnets' remanence.
    one = machine(NAME)
    found = solve_map(
        one.motor, one.winding, one.mesh, angle=0.2, currents=np.array([20.0, -10.0, -10.0])
    )
    theta = np.arctan2(*found.points[::-1])
    assert np.histogram(theta, SLOTS, (-math.pi, math.pi))[0].min() > 0
    assert found.rotor_angle == 0.2
    assert 0.1 < found.flux_density.max() < 2 * one.motor.rotor.magnet.remanence
