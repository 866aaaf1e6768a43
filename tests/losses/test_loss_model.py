"""The losses of whole machines: closed forms where they exist, energy balance, temperatures."""

import functools
import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Literal, cast

import numpy as np
import pytest
from verification.exact.annulus import Annulus, Layer, alternating, segment_harmonics

import fem_motor as fm
from fem_motor.design import Connection, Motor, coil_side_area
from fem_motor.drive import Bridge, ElectricalMachine, operating_points
from fem_motor.losses import DRAG, KINDS, Losses, LossModel, loss_findings, loss_model
from fem_motor.losses.copper import coil_mean_square_rate
from fem_motor.losses.core import core_loss
from fem_motor.losses.drag import Windage
from fem_motor.losses.rotor import (
    length_factor,
    magnet_eddy_coefficient,
    magnet_width,
    ring_loss,
    variance_over_magnets,
)
from fem_motor.materials import Core, load_library
from fem_motor.mesh import mesh_motor
from fem_motor.quantities import MotorModel, motor_model
from fem_motor.winding import Winding, wind

GEOMETRIES = Path(__file__).parents[2] / "geometries"
Controller = Literal["six-step", "sine"]
SLOTLESS: dict[str, dict[str, Any]] = {
    # A core of permeability 1 has slots for the coils and none for the field.
    "machine": {"slots": 12, "poles": 10, "stack_length_mm": 20.0, "air_gap_mm": 0.5},
    "stator": {
        "outer_diameter_mm": 40.0,
        "inner_diameter_mm": 16.0,
        "yoke_thickness_mm": 4.0,
        "tooth_width_mm": 4.0,
        "slot_opening_mm": 2.0,
        "tip_thickness_mm": 1.0,
        "core": "smooth",
    },
    "rotor": {
        "magnet_shape": "arc",
        "magnet_arc_fraction": 1.0,
        "magnet_thickness_mm": 3.0,
        "magnetisation": "radial",
        "magnet": "strong",
        "ring_material": "iron",
        "ring_thickness_mm": 6.0,
    },
    "winding": {"turns_per_tooth": 10, "wire_diameter_mm": 0.9},
    "materials": {
        "smooth": {"kind": "core", "relative_permeability": 1.0},
        "iron": {"kind": "core", "relative_permeability": 1e5, "resistivity_ohm_m": 1.5e-7},
        "strong": {
            "kind": "magnet",
            "remanence_T": 1.2,
            "recoil_permeability": 1.05,
            "remanence_per_K": -0.001,
            "resistivity_ohm_m": 1.5e-6,
        },
    },
}


@functools.cache
def solved(name: str) -> tuple[Motor, Winding, MotorModel]:
    return solve_design(
        fm.MotorDesign.from_dict({"title": "Slotless", **SLOTLESS})
        if name == "slotless"
        else fm.load_design(GEOMETRIES / f"{name}.toml")
    )


def solve_design(design: fm.MotorDesign) -> tuple[Motor, Winding, MotorModel]:
    motor = design.motor
    winding = wind(motor)
    return motor, winding, motor_model(motor, winding, mesh_motor(motor, quality="draft"))


@functools.cache
def losses_of(name: str) -> LossModel:
    return loss_model(*solved(name))


def exact_slotless() -> Annulus:
    """Return the closed form of the slotless machine, orders 5 to 35."""
    magnets = segment_harmonics(
        alternating(5, remanence=1.2, cover=1, magnetisation="radial"), 5, [5, 15, 25, 35]
    )
    return Annulus(
        layers=[
            Layer(
                inner_radius=0.0205,
                outer_radius=0.0235,
                relative_permeability=1.05,
                remanence=magnets,
            ),
            Layer(inner_radius=0.0235, outer_radius=0.0295, relative_permeability=1e5),
        ]
    )


def test_strand_loss_of_the_slotless_machine_is_that_of_the_closed_form() -> None:
    # Zhu, Howe, Bolte and Ackermann, IEEE Trans. Magn. 29 (1993) 124, from memory: harmonics of
    # B_r and B_θ at the elements' centres, each with its frequency.
    motor, winding, model = solved("slotless")
    waves, exact = model.element_waves("stator", ("coil",)), exact_slotless()
    by_radius = [
        sum(
            (n / 5) ** 2 * (abs(exact.at(n, r).B_r) ** 2 + abs(exact.at(n, r).B_theta) ** 2) / 2
            for n in (5, 15, 25, 35)
        )
        for r in waves.radius
    ]
    expected = np.average(by_radius, weights=waves.area)
    assert coil_mean_square_rate(motor, model) == pytest.approx(expected, rel=0.02)
    # ω² d² S/(16 ρ) of the copper in the stack: two sides a turn, 10 turns on 12 teeth.
    volume = 2 * 0.020 * 120 * math.pi / 4 * 0.9e-3**2
    per_square = 0.9e-3**2 * expected / (16 * 1.7241e-8) * volume
    assert loss_model(motor, winding, model).strand_eddy == pytest.approx(per_square, rel=0.02)


def test_coil_elements_fill_the_coil_side() -> None:
    motor, _, model = solved("printed_18s16p")
    waves = model.element_waves("stator", ("coil",))
    assert waves.area.sum() == pytest.approx(coil_side_area(motor.stator), rel=1e-3)
    assert waves.share == 36


def test_magnets_without_teeth_before_them_see_a_steady_field() -> None:
    motor, _, model = solved("slotless")
    toothed_motor, _, toothed = solved("steel_12s14p")
    smooth = magnet_eddy_coefficient(motor, model)
    through_teeth = magnet_eddy_coefficient(toothed_motor, toothed)
    assert smooth is not None
    assert through_teeth is not None
    assert smooth < 1e-4 * through_teeth


def test_block_in_a_uniform_field_loses_what_the_formula_says() -> None:
    # A = B x cos ωt across a block: Ȧ less its mean, squared, is ω² B² w²/24 on the average; the
    # halves on either side of the axis are cut into narrow strips.
    width, strips, samples = 8e-3, 2000, 12
    x = width / 2 * (np.arange(strips) + 0.5) / strips
    omega, B, rho = 1e4, 0.05, 1.5e-6
    wave = B * omega * np.sin(math.tau / samples * np.arange(samples))
    # The second field is uniform in A: no net current may flow in a magnet, so it loses nothing.
    halves = np.stack([-x[:, None] * wave, x[:, None] * wave]) + 0.3 * wave
    area = np.full(strips, width / 2 / strips * 3e-3)
    found = variance_over_magnets(halves, area) / rho / (width * 3e-3)
    assert found == pytest.approx(omega**2 * B**2 * width**2 / (24 * rho), rel=1e-4)


def test_short_blocks_lose_less_and_either_way_round_the_same() -> None:
    # As long as wide: half. Much shorter than wide, the length takes the place of the width.
    assert length_factor(8e-3, 1e3) == pytest.approx(1.0, rel=1e-6)
    assert length_factor(8e-3, 8e-3) == pytest.approx(0.5, rel=1e-6)
    assert length_factor(8e-3, 0.1e-3) == pytest.approx(1 / 80**2, rel=1e-3)


def test_an_arc_is_as_wide_as_its_area_over_its_thickness() -> None:
    # A whole arc of 36° between 20.5 and 23.5 mm: the section of the annulus over ten and 3 mm.
    rotor = solved("slotless")[0].rotor
    section = math.pi * (23.5e-3**2 - 20.5e-3**2) / 10
    assert magnet_width(rotor) == pytest.approx(section / 3e-3)


def test_a_core_in_one_even_field_loses_what_its_kilograms_of_the_grade_do() -> None:
    # 1 T, 400 Hz: 35.4 W/kg of M400-50A by its three terms (Bertotti 1988); 7700 kg/m³ by EN 10106,
    # from memory. The wave is told to be everywhere: what is tried is the mass.
    motor = fm.load_design(GEOMETRIES / "steel_12s14p.toml").motor
    grade = load_library()["m400-50a"]
    stator = replace(motor.stator, core=cast("Core", grade), core_fraction=1.0)
    motor = replace(motor, stator=stator)
    samples, share = 96, 12.0
    area = np.array([2e-6, 3e-6, 5e-6])
    wave = np.cos(math.tau / samples * np.arange(samples))
    waves = SimpleNamespace(
        flux_density=np.broadcast_to(
            np.array([wave, 0 * wave])[None, :, None, :], (1, 2, 3, samples)
        ),
        area=area,
        share=share,
        radius=np.array([1.0, 0.0, 1.0]),
        step=math.tau / samples / motor.rotor.pole_pairs,
        is_closed=True,
    )
    fake = cast("MotorModel", SimpleNamespace(element_waves=lambda *_: waves))
    parts = core_loss(motor, fake)
    assert parts is not None
    mass = 7700 * motor.stack_length * share * np.array([area[0] + area[2], area[1]])
    found = [part.power(400.0) for part in parts]
    assert found == pytest.approx(35.4 * mass, rel=5e-3)


def test_the_can_is_as_long_as_the_stack_and_the_coils_that_stand_out_on_both_sides() -> None:
    # A coil is as thick as its area over its height, and lies on the liner.
    motor, winding, _ = solved("slotless")
    stator = motor.stator
    thickness = coil_side_area(stator) / (
        stator.tip_corner_radius - stator.yoke_radius - 2 * stator.slot_liner
    )
    found = Windage.of(motor, winding)
    assert found.length == pytest.approx(20e-3 + 2 * (thickness + stator.slot_liner))
    assert found.outer_radius == motor.rotor.housing_outer_radius
    assert (found.gap_radius, found.gap) == (20e-3, 0.5e-3)


def ring_with_one_wave(peak: float) -> tuple[Motor, MotorModel]:
    """Return a machine in whose ring A falls evenly from `peak` to 0, alternating once a slot."""
    motor = solved("slotless")[0]
    layers, samples = 400, 24
    inner, thickness = motor.rotor.magnet_outer_radius, motor.rotor.ring_thickness
    depth = thickness * (np.arange(layers) + 0.5) / layers
    wave = peak * np.cos(math.tau / samples * np.arange(samples))
    waves = SimpleNamespace(
        potential=((1 - depth / thickness)[:, None] * wave)[None],
        flux_density=np.zeros((1, 2, layers, samples)),
        # As of a flat ring, so that the closed form below holds exactly.
        area=np.full(layers, math.tau * inner * thickness / layers / 20),
        share=20.0,
    )
    fake = SimpleNamespace(element_waves=lambda *_: waves, is_as_designed=True)
    return motor, cast("MotorModel", fake)


def test_ring_at_low_speed_is_limited_by_resistance_and_at_high_speed_by_its_skin() -> None:
    # Per surface ω² A²/(2 ρ) ∫ (1 − x/t)² dx = ω² A² t/(6 ρ); and, from the surface impedance
    # (1 + j) ρ/δ under E = ω A, ω² A² δ/(4 ρ).
    peak, rho, mu = 1e-4, 1.5e-7, 4e-7 * math.pi * 1e5
    motor, model = ring_with_one_wave(peak)
    found = ring_loss(motor, model)
    assert found is not None
    surface = math.tau * motor.rotor.magnet_outer_radius * motor.stack_length
    slow, fast = 1e-5, 1e4
    omega = 12 * slow
    thick = omega**2 * peak**2 * motor.rotor.ring_thickness / (6 * rho) * surface
    assert found.power(slow) == pytest.approx(thick, rel=1e-4)
    omega = 12 * fast
    delta = math.sqrt(2 * rho / (omega * mu))
    skin = omega**2 * peak**2 * delta / (4 * rho) * surface
    assert found.power(fast) == pytest.approx(skin, rel=1e-4)


@pytest.mark.parametrize("connection", ["star", "delta"])
@pytest.mark.parametrize("controller", ["six-step", "sine"])
@pytest.mark.parametrize("name", ["printed_18s16p", "steel_12s14p"])
def test_supply_power_is_shaft_power_and_all_losses(
    name: str, controller: Controller, connection: Connection
) -> None:
    # Energy balance: the drive's currents into these losses, these losses as its drag.
    motor, winding, model = solved(name)
    found = losses_of(name)
    copper_C, magnet_C = 60.0, 45.0
    machine = ElectricalMachine(
        pole_pairs=motor.rotor.pole_pairs,
        back_emf=model.back_emf,
        resistance=found.branch_resistance_at(0.0, copper_C),
        inductance_d=model.inductance_d,
        inductance_q=model.inductance_q,
        connection=connection,
    )
    bridge = Bridge(
        supply_voltage=14.8,
        supply_resistance=motor.drive.supply_resistance,
        controller_resistance=motor.drive.controller_resistance,
        lead_resistance=winding.lead_resistance,
        current_limit=60.0,
        controller=controller,
    )
    points = operating_points(
        machine,
        bridge,
        load=lambda speed: 4e-7 * speed**2,
        drag=lambda speed: found.drag_torque(speed, copper_C=copper_C, magnet_C=magnet_C),
    )
    for point in points:
        state = point.state
        if state is None:
            continue
        losses = found.losses(
            state.speed,
            branch_current_rms=state.branch_current_rms,
            line_current_rms=state.line_current_rms,
            supply_current=state.supply_current,
            copper_C=copper_C,
            magnet_C=magnet_C,
        )
        shaft = state.rotor_power - losses.drag
        # The drive here has the resistance to direct current: what skin and proximity add is
        # on top of its copper loss.
        known = losses.total - losses.watts["copper_ac"]
        assert shaft + known == pytest.approx(state.supply_power, rel=1e-6)
        if state.speed > 0:
            assert point.shaft_power == pytest.approx(shaft, rel=1e-9)


def test_kinds_add_up() -> None:
    losses = losses_of("steel_12s14p").losses(600.0, branch_current_rms=8.0, line_current_rms=8.0)
    assert tuple(losses.watts) == KINDS, "losses in the order of losses/records.py"
    assert losses.total == pytest.approx(losses.electrical + losses.drag, rel=1e-12)
    assert losses.core == losses.watts["core_teeth"] + losses.watts["core_yoke"]
    assert losses.low < losses.total < losses.high
    assert min(losses.watts.values()) >= 0


def test_copper_loss_is_the_current_squared_times_the_hot_resistance() -> None:
    motor, winding, _ = solved("printed_18s16p")
    found = losses_of("printed_18s16p")
    cold = found.losses(0.0, branch_current_rms=10.0, line_current_rms=10.0, supply_current=12.0)
    hot = found.losses(0.0, branch_current_rms=10.0, copper_C=100.0)
    assert cold.watts["copper"] == pytest.approx(300 * winding.resistance_phase, rel=1e-12)
    assert hot.watts["copper"] / cold.watts["copper"] == pytest.approx(1 + 0.00393 * 80, rel=1e-12)
    assert cold.watts["copper_ac"] == 0
    # Six-step blocks of I have the RMS value I √⅔ in every line: R I² in the path of both switches.
    block = found.losses(0.0, line_current_rms=9.0 * math.sqrt(2 / 3))
    path = motor.drive.controller_resistance
    assert block.watts["controller"] == pytest.approx(path * 81, rel=1e-12)
    assert cold.watts["supply"] == pytest.approx(144 * motor.drive.supply_resistance, rel=1e-12)


def test_resistance_grows_with_speed_by_what_the_losses_say() -> None:
    found = losses_of("printed_18s16p")
    losses = found.losses(1500.0, branch_current_rms=5.0, copper_C=80.0)
    resistance = found.branch_resistance_at(1500.0, 80.0)
    assert losses.watts["copper_ac"] > 0
    assert losses.watts["copper"] + losses.watts["copper_ac"] == pytest.approx(
        75 * resistance, rel=1e-12
    )


def test_heat_weakens_what_the_field_drives() -> None:
    # N42H: −0.12 %/K. Strands go with B² and 1/ρ, filled plastic with B^1.75.
    found = losses_of("printed_18s16p")
    cold, hot = found.drag(500.0), found.drag(500.0, magnet_C=70.0, copper_C=70.0)
    weaker = 1 - 0.0012 * 50
    assert hot["strand_eddy"] / cold["strand_eddy"] == pytest.approx(
        weaker**2 / (1 + 0.00393 * 50), rel=1e-9
    )
    assert hot["core_teeth"] / cold["core_teeth"] == pytest.approx(weaker**1.75, rel=1e-9)
    assert hot["windage"] == cold["windage"]


def test_ends_scale_the_field_and_nothing_else() -> None:
    motor, winding, model = solved("printed_18s16p")
    whole = loss_model(motor, winding, model).drag(500.0)
    less = loss_model(motor, winding, model, flux_factor=0.9).drag(500.0)
    assert less["strand_eddy"] == pytest.approx(0.81 * whole["strand_eddy"], rel=1e-9)
    assert less["magnet_eddy"] == pytest.approx(0.81 * whole["magnet_eddy"], rel=1e-9)
    assert less["core_teeth"] == pytest.approx(0.9**1.75 * whole["core_teeth"], rel=1e-9)
    assert less["bearing"] == whole["bearing"]


def test_thinner_strands_of_the_same_copper_lose_by_the_diameter_squared() -> None:
    motor, winding, model = solved("printed_18s16p")
    thin = replace(
        motor,
        winding=replace(motor.winding, strands=8, wire_diameter=motor.winding.wire_diameter / 2),
    )
    whole = loss_model(motor, winding, model).strand_eddy
    assert loss_model(thin, wind(thin), model).strand_eddy == pytest.approx(whole / 4, rel=1e-9)


def test_a_rotor_at_rest_is_held_by_friction_and_hysteresis() -> None:
    found = losses_of("steel_12s14p")
    assert found.core_teeth is not None
    assert found.core_yoke is not None
    hysteresis = (found.core_teeth.hysteresis + found.core_yoke.hysteresis) * 7 / math.tau
    expected = found.bearings.torque() + hysteresis
    assert found.drag_torque(0.0) == pytest.approx(expected, rel=0.02)


def test_drag_is_the_same_either_way_round() -> None:
    found = losses_of("steel_12s14p")
    assert found.drag_torque(-700.0) == found.drag_torque(700.0)
    power = sum(found.drag(700.0).values())
    assert found.drag_torque(700.0) * 700.0 == pytest.approx(power, rel=1e-12)


def test_a_machine_with_hardly_a_defect_loses_what_the_designed_one_does() -> None:
    # Second method: a whole electrical period solved in all teeth, derivatives between neighbours.
    design = fm.load_design(GEOMETRIES / "printed_18s16p.toml")
    built = design.replace(as_built__magnets=[{"index": 3, "remanence_factor": 1.0}])
    found, sound = loss_model(*solve_design(built)), losses_of("printed_18s16p")
    assert found.strand_eddy == pytest.approx(sound.strand_eddy, rel=5e-3)
    assert found.core_teeth is not None
    assert sound.core_teeth is not None
    assert found.core_teeth.hysteresis == pytest.approx(sound.core_teeth.hysteresis, rel=0.01)
    assert found.magnet_eddy == pytest.approx(sound.magnet_eddy, rel=0.05)


def test_a_weak_magnet_lowers_the_strand_loss_by_its_share() -> None:
    # One of sixteen magnets gone: B falls there, about a sixteenth of the square of B with it,
    # a little more as its neighbours lose their partner.
    design = fm.load_design(GEOMETRIES / "printed_18s16p.toml")
    missing = design.replace(as_built__magnets=[{"index": 3, "remanence_factor": 0.0}])
    found = loss_model(*solve_design(missing))
    share = 1 - found.strand_eddy / losses_of("printed_18s16p").strand_eddy
    assert 0.04 < share < 0.15


def test_what_is_not_known_is_missing_and_said() -> None:
    design = fm.load_design(GEOMETRIES / "printed_18s16p.toml")
    own = {
        "bare": {"kind": "core", "relative_permeability": 1.5},
        "pale": {"kind": "magnet", "remanence_T": 1.2, "recoil_permeability": 1.05},
    }
    changed = design.replace(materials=own, stator__core="bare", rotor__magnet="pale")
    found = loss_model(*solve_design(changed))
    losses = found.losses(500.0)
    assert not {"core_teeth", "core_yoke", "magnet_eddy"} & set(losses.watts)
    assert losses.core is None
    assert [finding.name for finding in found.findings] == [
        "core loss",
        "eddy loss of the magnets",
    ]
    assert losses_of("steel_12s14p").findings == ()


def test_findings_name_what_to_change() -> None:
    losses = losses_of("steel_12s14p").losses(600.0, branch_current_rms=1.0)
    strand, rotor = loss_findings(losses, shaft_power=20.0)
    assert strand.status == "watch"
    assert "thinner wire" in strand.do
    assert rotor.status == "watch"
    assert rotor.value == pytest.approx(
        (losses.watts["magnet_eddy"] + losses.watts["ring_eddy"]) / 20
    )
    assert loss_findings(losses_of("steel_12s14p").losses(600.0), shaft_power=0.0) == ()


def test_every_drag_kind_grows_with_speed() -> None:
    found = losses_of("steel_12s14p")
    slow, fast = found.drag(300.0), found.drag(600.0)
    assert tuple(slow) == DRAG, "drag in the order of losses/records.py"
    for kind in DRAG:
        assert 2 * slow[kind] * (1 - 1e-12) <= fast[kind] <= 8 * slow[kind], kind


def test_strands_are_watched_above_a_fifth_of_the_copper_loss() -> None:
    # Common practice, 0.1 to 0.2: the limit that the finding says.
    for strand_W, status in ((1.99, "ok"), (2.01, "watch")):
        watts = {"copper": 10.0, "strand_eddy": strand_W}
        first = loss_findings(Losses(speed=600.0, watts=watts, ranges={}), shaft_power=100.0)[0]
        assert (first.limit, first.status) == (0.2, status)
