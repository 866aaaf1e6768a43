"""Kt and Kv in every convention, against power balances of waves that are written out here.

Definitions: R. Krishnan, Permanent Magnet Synchronous and Brushless DC Motor Drives (2010), from
memory; each is derived again by its power balance.
"""

import math
from typing import Literal

import numpy as np
import pytest

from fem_motor.quantities import MachineConstants, machine_constants

P, PSI, OHM = 7, 2.0e-3, 0.1
SAMPLES = 6000
SPEED = 2 * math.pi / 60
"""rad/s of one revolution per minute."""


def constants(connection: Literal["star", "delta"] = "star") -> MachineConstants:
    return machine_constants(flux_linkage=PSI, pole_pairs=P, connection=connection, resistance=OHM)


def waves() -> np.ndarray:
    """Return the back-EMF of the three branches over an electrical period, V s per rad."""
    angle = 2 * math.pi * (np.arange(SAMPLES) + 0.5) / SAMPLES
    return P * PSI * np.cos(angle - 2 * math.pi / 3 * np.arange(3)[:, None])


def test_constants_of_a_star_by_hand() -> None:
    # p = 7, ψ = 2 mV s, worked out by hand: 1.5·7·2 mV s = 21 mN m/A; its √2 fold; line to line
    # √3·14 = 24.249 mV s/rad, 9.5493 over it 393.81 rpm/V; √2 and π/3 times that.
    found = constants()
    assert found.torque_per_peak_phase == pytest.approx(21.0e-3, rel=1e-12)
    assert found.torque_per_rms_phase == pytest.approx(29.698e-3, rel=2e-5)
    assert found.torque_per_peak_line == found.torque_per_peak_phase
    assert found.torque_per_dc == pytest.approx(23.156e-3, rel=2e-5)
    assert found.speed_per_line_peak / SPEED == pytest.approx(393.81, rel=2e-5)
    assert found.speed_per_line_rms / SPEED == pytest.approx(556.93, rel=2e-5)
    assert found.speed_per_phase_peak / SPEED == pytest.approx(682.09, rel=2e-5)
    assert found.speed_per_dc / SPEED == pytest.approx(412.39, rel=2e-5)


def test_torque_per_ampere_is_the_power_of_sine_currents_over_speed() -> None:
    # Mean of Σ e i with i of 1 A in phase with e.
    e = waves()
    torque = np.mean(np.sum(e * e / (P * PSI), axis=0))
    assert constants().torque_per_peak_phase == pytest.approx(torque, rel=1e-9)
    effective = e / np.sqrt(np.mean(e[0] ** 2))  # 1 A RMS
    torque = np.mean(np.sum(e * effective, axis=0))
    assert constants().torque_per_rms_phase == pytest.approx(torque, rel=1e-9)


def test_six_step_torque_is_a_third_of_a_period_of_each_line_voltage() -> None:
    # 1 A flows through the two branches with the largest line-to-line EMF: T = max of e_UV ….
    e = waves()
    line = np.array([e[j] - e[k] for j in range(3) for k in range(3) if j != k])
    top = line.max(axis=0)
    assert constants().torque_per_dc == pytest.approx(top.mean(), rel=1e-6)
    # The scallop runs from 1.5 to √3 of p ψ: 14.03 % of its mean; the samples miss its tips.
    assert np.ptp(top) / top.mean() == pytest.approx(0.1403, abs=5e-4)


def test_speed_constants_are_one_over_the_emf_by_each_reading() -> None:
    e = waves()
    line = e[0] - e[1]
    found = constants()
    assert 1 / found.speed_per_phase_peak == pytest.approx(e[0].max(), rel=1e-6)
    assert 1 / found.speed_per_line_peak == pytest.approx(line.max(), rel=1e-6)
    assert 1 / found.speed_per_line_rms == pytest.approx(np.sqrt(np.mean(line**2)), rel=1e-9)
    top = line[line > math.cos(math.pi / 6) * line.max()]  # 60° wide
    assert 1 / found.speed_per_dc == pytest.approx(top.mean(), rel=1e-3)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_kt_times_kv_is_one_only_for_a_pair_of_the_same_kind(
    connection: Literal["star", "delta"],
) -> None:
    # In N m/A and rad/s per V: DC with DC gives 1 (rpm/V: 9.5493); peak line ampere with peak
    # line volt √3/2 (8.2699), by the power balance 3/2 E I = T ω.
    found = constants(connection)
    assert found.torque_per_dc * found.speed_per_dc == pytest.approx(1, rel=1e-12)
    mixed = found.torque_per_peak_line * found.speed_per_line_peak
    assert mixed == pytest.approx(math.sqrt(3) / 2, rel=1e-12)
    assert mixed / SPEED == pytest.approx(8.2699, rel=1e-5)
    effective = found.torque_per_rms_phase * found.speed_per_line_rms
    if connection == "star":  # T ω = √3 U I with RMS values
        assert effective == pytest.approx(math.sqrt(3), rel=1e-12)
    else:  # three branches between the lines
        assert effective == pytest.approx(3, rel=1e-12)


def test_delta_turns_root_3_faster_and_pulls_root_3_less_per_line_ampere() -> None:
    star, delta = constants("star"), constants("delta")
    for name in ("speed_per_line_peak", "speed_per_line_rms", "speed_per_dc"):
        assert getattr(delta, name) == pytest.approx(math.sqrt(3) * getattr(star, name), rel=1e-12)
    for name in ("torque_per_peak_line", "torque_per_dc"):
        assert getattr(delta, name) == pytest.approx(getattr(star, name) / math.sqrt(3), rel=1e-12)
    for name in ("torque_per_peak_phase", "torque_per_rms_phase", "motor_constant"):
        assert getattr(delta, name) == getattr(star, name)


def test_motor_constant_is_torque_over_the_root_of_the_copper_loss() -> None:
    # Loss 3/2 R I²; any current gives the same.
    current = 4.3
    loss = 1.5 * OHM * current**2
    torque = constants().torque_per_peak_phase * current
    assert constants().motor_constant == pytest.approx(torque / math.sqrt(loss), rel=1e-12)


def test_same_copper_in_other_turns_keeps_the_motor_constant() -> None:
    # Twice the turns of half the area: twice the linkage, four times the resistance.
    other = machine_constants(
        flux_linkage=2 * PSI, pole_pairs=P, connection="star", resistance=4 * OHM
    )
    assert other.motor_constant == pytest.approx(constants().motor_constant, rel=1e-12)


def test_a_trapezoid_is_taken_by_its_fundamental_half_a_percent_off() -> None:
    # Flat top of 120°, height E: T = 2 E I exactly in six-step. Its fundamental is
    # (4/π) sin 30°/(π/6) E = 12/π² E, so the sine formula gives 36√3/π³ E I = 2.0110 E I.
    angle = 2 * math.pi * (np.arange(SAMPLES) + 0.5) / SAMPLES
    trapezoid = np.clip(np.arcsin(np.sin(angle)) / (math.pi / 6), -1, 1)
    fundamental = 2 * np.mean(trapezoid * np.sin(angle))
    assert fundamental == pytest.approx(12 / math.pi**2, rel=1e-6)
    found = machine_constants(
        flux_linkage=fundamental / P, pole_pairs=P, connection="star", resistance=OHM
    )
    assert found.torque_per_dc == pytest.approx(36 * math.sqrt(3) / math.pi**3, rel=1e-6)
    assert found.torque_per_dc == pytest.approx(2.0, rel=6e-3)
