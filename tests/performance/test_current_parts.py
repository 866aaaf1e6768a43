"""Inductances and waveforms of the sheet: against power balance, circuits and Park."""

import functools
import math

import numpy as np
import pytest

import fem_motor as fm
from fem_motor.quantities.readings.inductance import PhaseInductances
from fem_motor.report.wording.current_words import conventions


@functools.cache
def sheet_of(name: str) -> fm.PerformanceSheet:
    return fm.run(fm.load_design(f"geometries/{name}.toml"), quality="draft")


def salient(d: float, q: float) -> PhaseInductances:
    """Return the phase inductances of a machine whose L_d and L_q are known (Park, backwards)."""
    electrical = 2 * math.pi / 72 * np.arange(72)
    phase = electrical - 2 * math.pi / 3 * np.arange(3)[:, None]
    along = (d * np.einsum("an,bn->abn", np.cos(phase), np.cos(phase))
             + q * np.einsum("an,bn->abn", np.sin(phase), np.sin(phase)))  # fmt: skip
    zero = np.full((3, 3, 72), 4e-6 / 3)
    return PhaseInductances(angle=electrical / 7, matrix=2 / 3 * along + zero,
                            electrical=electrical)  # fmt: skip


def test_a_meter_between_two_leads_of_a_star_reads_twice_l_d_to_twice_l_q() -> None:
    # Common bench practice (IEEE Std 1812, from memory): turned by hand, the least reading is
    # twice L_d and the largest twice L_q; the zero sequence does not show.
    found = salient(4e-5, 6e-5)
    assert (found.d, found.q) == pytest.approx((4e-5, 6e-5))
    line = found.line_line("star")
    assert (line.min(), line.max()) == pytest.approx((8e-5, 12e-5))
    # An end turn's own inductance comes twice, once for each branch in the path.
    assert found.line_line("star", end_turns=1e-6) == pytest.approx(line + 2e-6)


def test_a_delta_has_two_thirds_of_a_branch_between_its_leads() -> None:
    # Branch beside two in series, no saliency and no coupling: L (2 L)/(L + 2 L).
    alone = PhaseInductances(
        angle=np.zeros(1), matrix=3e-5 * np.eye(3)[:, :, None], electrical=np.zeros(1)
    )
    assert alone.line_line("delta") == pytest.approx(np.full((3, 1), 2e-5))
    # Balanced star and delta are each other's third, whatever the coupling (Kennelly).
    found = salient(5e-5, 5e-5)
    assert found.line_line("delta") == pytest.approx(found.line_line("star") / 3)


@pytest.mark.parametrize("name", ["printed_18s16p", "steel_9s12p"])
def test_power_at_the_leads_is_copper_loss_and_power_on_the_rotor(name: str) -> None:
    # Two wattmeters (A. Blondel, 1893): u_UW i_U + u_VW i_V; star and delta. The samples are
    # degrees apart, and a commutation is about as short: half a per cent.
    sheet = sheet_of(name)
    waves = sheet.waveforms
    assert waves is not None
    point = next(one for one in sheet.operating_points if one.name == waves.name)
    u_UV, u_VW, u_WU = waves.line_voltage_V
    assert u_UV + u_VW + u_WU == pytest.approx(np.zeros(360), abs=1e-9)
    i_U, i_V, i_W = waves.line_current_A
    assert i_U + i_V + i_W == pytest.approx(np.zeros(360), abs=1e-9)
    electrical = np.mean(-u_WU * i_U + u_VW * i_V)
    assert point.speed_rpm is not None
    on_rotor = waves.mean_torque_Nm * point.speed_rpm * math.pi / 30
    assert electrical == pytest.approx(on_rotor + point.losses_W["copper"], rel=5e-3)


@pytest.mark.parametrize("name", ["printed_18s16p", "steel_9s12p"])
def test_incremental_and_apparent_inductance_agree_where_nothing_saturates(name: str) -> None:
    found = sheet_of(name).inductance
    ratio = found.apparent_q_H / found.incremental_q_H
    if name == "printed_18s16p":
        assert ratio == pytest.approx(1, rel=1e-4)
        assert found.slot_leakage_H is None
    else:
        assert ratio == pytest.approx(1, abs=0.1)
        assert found.slot_leakage_H is not None
        assert 0 < found.slot_leakage_H < found.self_H.mean()
    assert found.incremental_d_H == pytest.approx(sheet_of(name).winding.inductance_d_H)


def test_the_demagnetisation_margin_is_the_least_of_all_magnets() -> None:
    loaded = sheet_of("steel_9s12p").loaded
    assert loaded.demagnetisation_margin_T is not None
    assert loaded.demagnetisation_by_magnet_T is not None
    for name, margin in loaded.demagnetisation_margin_T.items():
        assert loaded.demagnetisation_by_magnet_T[name].min() == pytest.approx(margin, abs=2e-3)


def test_constants_of_all_conventions_are_one_motor() -> None:
    # Ratios of the conventions for a sine back-EMF in star; power balance of the DC pair.
    constants = sheet_of("printed_18s16p").constants
    speed, torque = constants.speed_constant_rpm_per_V, constants.torque_constant_Nm_per_A
    assert speed.line_line_rms / speed.line_line_peak == pytest.approx(math.sqrt(2))
    assert speed.dc_six_step / speed.line_line_peak == pytest.approx(math.pi / 3)
    assert torque.per_dc_ampere_six_step * speed.dc_six_step == pytest.approx(30 / math.pi)
    assert torque.per_rms_phase_ampere / torque.per_peak_phase_ampere == pytest.approx(math.sqrt(2))
    words = conventions(sheet_of("printed_18s16p"))
    assert f"{speed.dc_six_step:.0f} by the battery" in words
