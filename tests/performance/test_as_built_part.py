"""Consequences of what was built otherwise than designed."""

import functools
import math

import numpy as np
import pytest

import fem_motor as fm
from fem_motor.mesh import mesh_motor
from fem_motor.performance.answers.as_built_records import AsBuiltFigures
from fem_motor.quantities import motor_model

PRINTED = "geometries/printed_18s16p.toml"


@functools.cache
def sheet_of(*changes: tuple[str, object]) -> fm.PerformanceSheet:
    design = fm.load_design(PRINTED)
    for key, value in changes:
        plain = [dict(one) for one in value] if isinstance(value, tuple) else value
        design = design.replace(key, plain)
    return fm.run(design, quality="draft")


def figures(*changes: tuple[str, object]) -> AsBuiltFigures:
    found = sheet_of(*changes).as_built
    assert found is not None
    return found


REVERSED = ("as_built.coils", ((("tooth", 4), ("reversed", True)),))
FLIPPED = ("as_built.magnets", ((("index", 3), ("remanence_factor", -1.0)),))


def test_a_design_as_designed_has_no_such_part() -> None:
    assert sheet_of().as_built is None


def test_a_reversed_coil_takes_two_of_its_phase_by_their_phasors() -> None:
    # Six coils in V (teeth 3 to 5 and opposite), phasors 20° apart in threes: 2 (1 + 2 cos 20°);
    # that of tooth 4 stands in the middle of its three.
    found = figures(REVERSED)
    whole = 2 * (1 + 2 * math.cos(math.radians(20)))
    share = found.back_emf_V_per_rad_per_s[1] / found.back_emf_V_per_rad_per_s[0]
    assert share == pytest.approx((whole - 2) / whole, rel=1e-4)
    names = {check.name for check in sheet_of(REVERSED).checks if check.status == "watch"}
    assert "as built: back-EMF of the phases, largest less smallest over the mean" in names


def test_a_flipped_magnet_is_named_by_the_field_outside_and_shakes_every_slot() -> None:
    found = figures(FLIPPED)
    assert found.odd_magnets == (3,)
    # Every one of 18 equal teeth sees the odd magnet once a turn: orders are multiples of 18.
    assert np.all(found.torque_order % 18 == 0)
    assert found.pull_N > 0
    assert found.pressure_order[0] == found.shear_order[0] == 1
    # The pull turns with the magnet: over a turn nothing of it stands still.
    assert found.pull_mean_N < 1e-6 * found.pull_N


def test_stress_around_the_gap_adds_up_to_the_pull_and_to_no_torque_in_balance() -> None:
    # Maxwell's stress on a circle in air: force Σ (σ r̂ + τ θ̂) over the surface, on the rotor with
    # the normal inward. The pull is read off the energy's harmonics, another way.
    design = fm.load_design(PRINTED).replace(
        as_built__magnets=[{"index": 3, "remanence_factor": -1.0}]
    )
    motor = design.motor
    model = motor_model(motor, fm.wind(motor), mesh_motor(motor, quality="draft"))
    assert model.turn is not None
    wave = np.exp(1j * model.gap_angle)
    B_r, B_t = model.gap_flux_density, model.gap_tangential_density
    stress = ((B_r**2 - B_t**2) / 2 + 1j * B_r * B_t) / (4e-7 * math.pi)
    radius = motor.stator.outer_radius + motor.air_gap / 2
    force = -motor.stack_length * radius * 2 * math.pi * np.mean(stress * wave)
    pull = complex(*model.turn.pull[:, 0])
    assert force == pytest.approx(pull, abs=1e-3 * abs(pull))
    # B_r² alone, as some texts have it, is off by far more.
    plain = -motor.stack_length * radius * math.pi * np.mean(B_r**2 * wave) / (4e-7 * math.pi)
    assert abs(plain - pull) > 0.1 * abs(pull)
    torque = -motor.stack_length * radius**2 * 2 * math.pi * np.mean(stress.imag)
    assert torque == pytest.approx(model.turn.torque[0], abs=1e-3 * np.ptp(model.turn.torque))


def test_an_offset_rotor_is_pulled_one_way() -> None:
    found = figures(("as_built.rotor_offset_mm", 0.2))
    assert found.pull_mean_N > 0.9 * found.pull_N
    assert found.back_emf_spread_fraction < 0.02


def test_one_flipped_magnet_and_one_reversed_coil_superpose_to_rounding() -> None:
    # A linear machine: the linkage is a sum over magnets, so flipping one takes off twice what it
    # gives alone, and a reversed coil takes its own linkage off twice. Three other sweeps say so.
    base = fm.load_design(PRINTED)
    angles = np.array([0.0, 3.1, 11.7, 200.3])
    others = [{"index": k, "remanence_factor": 0.0} for k in range(1, 17) if k != 3]

    def linkage(**built: object) -> np.ndarray:
        design = base.replace(**{f"as_built__{name}": value for name, value in built.items()})
        sweep = fm.rotor_sweep(design, angles_deg=angles, quality="draft", extent="whole")
        assert sweep.method == "linear"
        return np.asarray(sweep.flux_linkage_Wb)

    flipped = [{"index": 3, "remanence_factor": -1.0}]
    turned = [{"tooth": 4, "reversed": True}]
    both = linkage(magnets=flipped, coils=turned)
    sound_coil = linkage() - 2 * linkage(magnets=others)
    assert linkage(magnets=flipped) == pytest.approx(sound_coil, abs=1e-9 * np.abs(both).max())
    # The same of the machine with the reversed coil.
    expected = linkage(coils=turned) - 2 * linkage(magnets=others, coils=turned)
    assert both == pytest.approx(expected, abs=1e-9 * np.abs(both).max())


def test_a_delta_with_unequal_branches_carries_the_current_of_its_loop() -> None:
    # e around the loop over 3 R + jω ΣL of the branches, at the electrical fundamental.
    delta = ("winding.connection", "delta")
    sheet = sheet_of(delta, REVERSED)
    found = sheet.as_built
    assert found is not None
    point = next(one for one in sheet.operating_points if one.name == "load")
    assert point.speed_rpm is not None
    rate = point.speed_rpm * math.pi / 30
    wave = np.fft.rfft(sheet.no_load.back_emf_V_per_rad_per_s.sum(axis=0))
    emf = rate * 2 / sheet.no_load.angle_deg.size * abs(wave[1])
    inductance = sheet.inductance.self_H.sum(axis=0).mean()
    inductance += 2 * sheet.inductance.mutual_H.sum(axis=0).mean()
    impedance = abs(3 * sheet.winding.resistance_phase_ohm + 1j * 8 * rate * inductance)
    assert found.circulating_current_A["delta"] == pytest.approx(
        emf / impedance / math.sqrt(2), rel=1e-2
    )
