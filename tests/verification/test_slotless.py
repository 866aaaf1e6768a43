"""A core of permeability 1 has slots for the coils and none for the field: it is solved exactly.

The design is a file like any other; the reference is the closed form of concentric layers (Zhu,
Howe, Bolte and Ackermann, IEEE Trans. Magn. 29 (1993) 124; Xia, Li and Shi, IEEE Trans. Magn. 40
(2004) 1864 for Halbach layouts; both from memory), recomputed here by an independent closed form.
"""

import functools
import math
from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
import pytest
from exact.annulus import Annulus, Layer, Segment, alternating, halbach, segment_harmonics
from exact.blocks import block_ring, potentials
from exact.bore import Bore, CoilSide

import fem_motor as fm

FILE = """
title = "Slotless, for verification"
[machine]
slots = 12
poles = 10
stack_length_mm = 20.0
air_gap_mm = 0.5
[stator]
outer_diameter_mm = 40.0
inner_diameter_mm = 16.0
yoke_thickness_mm = 4.0
tooth_width_mm = 4.0
slot_opening_mm = 2.0
tip_thickness_mm = 1.0
slot_liner_mm = 0.3
core = "as-air"
[rotor]
magnet_shape = "arc"
magnet_arc_fraction = 1.0
magnet_thickness_mm = 3.0
magnet = "recoil-1.05"
[winding]
turns_per_tooth = 10
wire_diameter_mm = 0.9
coils = ["U+", "U-", "V-", "V+", "W+", "W-", "U-", "U+", "V+", "V-", "W-", "W+"]
[materials.as-air]
kind = "core"
relative_permeability = 1.0
[materials.iron]
kind = "core"
relative_permeability = 1e6
[materials."recoil-1.05"]
kind = "magnet"
remanence_T = 1.2
recoil_permeability = 1.05
[materials."recoil-1"]
kind = "magnet"
remanence_T = 1.2
recoil_permeability = 1.0
"""
DESIGN = fm.MotorDesign.from_toml(FILE)

P, BR = 5, 1.2
COILS = "U+ U- V- V+ W+ W- U- U+ V+ V- W- W+".split()
SURFACE, MIDDLE, RI, RO = 0.020, 0.02025, 0.0205, 0.0235
ORDERS = [P * k for k in range(1, 40, 2)]
UP_TO_NINTH = [P * k for k in (1, 3, 5, 7, 9)]
SIDE = CoilSide(
    # The slot from 12 to 19 mm beside a tooth 4 mm wide, less the liner.
    inner_radius=0.0123,
    outer_radius=0.0187,
    height=0.0023,
    half_pitch=math.pi / 12,
)


class Case(NamedTuple):
    """A design and the machine that it means."""

    design: fm.MotorDesign
    bore: Bore


def in_bore(potential: Mapping[int, complex]) -> Bore:
    return Bore(
        potential=potential, radius=SURFACE, side=SIDE, coils=COILS, turns=10, stack_length=0.020
    )


def behind_arcs(segments: list[Segment], *, recoil: float, iron: bool) -> Bore:
    """Return the exact machine; the reference has its first magnet outward, the design inward."""
    outward = segment_harmonics(segments, P, ORDERS)
    inward = {n: (-J_r, -J_theta) for n, (J_r, J_theta) in outward.items()}
    layers = [
        Layer(inner_radius=RI, outer_radius=RO, relative_permeability=recoil, remanence=inward)
    ]
    if iron:
        layers.append(Layer(inner_radius=RO, outer_radius=0.0295, relative_permeability=1e6))
    machine = Annulus(layers=layers)
    return in_bore({n: machine.at(n, SURFACE).A for n in ORDERS})


MAGNETS: dict[str, tuple[dict[str, Any], list[Segment]]] = {
    "radial": (
        {"rotor__magnetisation": "radial"},
        alternating(P, remanence=BR, cover=1, magnetisation="radial"),
    ),
    "parallel": ({}, alternating(P, remanence=BR, cover=1, magnetisation="parallel")),
} | {
    f"halbach {k}": (
        {"rotor__magnet_layout": "halbach", "rotor__segments_per_pole": k},
        halbach(P, remanence=BR, segments_per_pole=k),
    )
    for k in (2, 3, 4)
}
IRON = {"rotor__ring_material": "iron", "rotor__ring_thickness_mm": 6.0}
APART = {"rotor__magnet": "recoil-1", "rotor__magnet_arc_fraction": 0.85}


def touching(magnets: str, back: str) -> Case:
    changes, segments = MAGNETS[magnets]
    iron = back == "iron"
    design = DESIGN.replace(**changes, **(IRON if iron else {}))
    return Case(design, behind_arcs(segments, recoil=1.05, iron=iron))


def apart(magnets: str) -> Case:
    segments = (
        halbach(P, remanence=BR, segments_per_pole=2, cover=0.85)
        if magnets == "halbach 2"
        else alternating(P, remanence=BR, cover=0.85, magnetisation=magnets)  # type: ignore[arg-type]
    )
    design = DESIGN.replace(**MAGNETS[magnets][0], **APART)
    return Case(design, behind_arcs(segments, recoil=1.0, iron=False))


def of_blocks(segments_per_pole: int, width_mm: float) -> Case:
    changes: dict[str, Any] = {
        "rotor__magnet_shape": "block",
        "rotor__magnet_arc_fraction": None,
        "rotor__magnet_width_mm": width_mm,
        "rotor__magnet": "recoil-1",
    }
    if segments_per_pole > 1:
        changes |= {
            "rotor__magnet_layout": "halbach",
            "rotor__segments_per_pole": segments_per_pole,
        }
    blocks = block_ring(
        2 * P,
        segments_per_pole=segments_per_pole,
        inner=RI,
        thickness=0.003,
        width=width_mm * 1e-3,
        remanence=BR,
    )
    return Case(DESIGN.replace(**changes), in_bore(potentials(blocks, ORDERS, SURFACE)))


CASES = (
    {
        f"{magnets}, {back} behind": functools.partial(touching, magnets, back)
        for magnets in MAGNETS
        for back in ("air", "iron")
    }
    | {
        f"{name}, apart": functools.partial(apart, name)
        for name in ("radial", "parallel", "halbach 2")
    }
    | {
        "blocks": functools.partial(of_blocks, 1, 11.0),
        "blocks, halbach 2": functools.partial(of_blocks, 2, 6.0),
    }
)


@functools.cache
def solved(name: str) -> tuple[Bore, fm.PerformanceSheet]:
    case = CASES[name]()
    return case.bore, fm.run(case.design)


@pytest.mark.parametrize("name", CASES)
def test_flux_linkage_is_that_of_the_closed_form_within_0_02_percent(name: str) -> None:
    # Mean of the exact A over the drawn coil sides; every angle, so that the signs count too.
    bore, sheet = solved(name)
    fundamental = bore.fundamental("U")
    found = sheet.no_load.flux_linkage_fundamental_Wb
    assert found == pytest.approx(fundamental, rel=2e-4)
    angle = np.radians(sheet.no_load.angle_deg)
    for phase, linkage in zip("UVW", sheet.no_load.flux_linkage_Wb, strict=True):
        assert np.abs(linkage - bore.linkage(phase, angle)).max() < 2e-4 * fundamental


@pytest.mark.parametrize("name", CASES)
def test_gap_field_is_that_of_the_closed_form_within_0_1_percent(name: str) -> None:
    # Electrical harmonics 1, 3, 5, 7, 9 of B_r in the middle of the gap, over the fundamental.
    bore, sheet = solved(name)
    density = sheet.no_load.gap_flux_density_T
    spectrum = 2 / density.size * np.fft.rfft(density)
    largest = abs(bore.radial(P, MIDDLE))
    for n in UP_TO_NINTH:
        assert abs(spectrum[n] - bore.radial(n, MIDDLE)) < 1e-3 * largest, n


@pytest.mark.parametrize("name", ["parallel, air behind", "halbach 3, iron behind", "blocks"])
def test_torque_is_current_times_slope_of_linkage_within_0_02_percent(name: str) -> None:
    # Virtual work without reluctance torque: T = Σ i dψ/dθ, ψ from the closed form.
    case = CASES[name]()
    angles = np.array([0.0, 3.1, 7.7, 16.4, 25.0])
    currents = (9.0, -2.0, -7.0)
    sweep = fm.rotor_sweep(case.design, angles_deg=angles, currents_A=currents)
    slopes = [case.bore.linkage_slope(phase, np.radians(angles)) for phase in "UVW"]
    expected = np.array(currents) @ np.array(slopes)
    assert np.abs(sweep.torque_Nm - expected).max() < 2e-4 * np.abs(expected).max()


def test_sine_currents_give_3_2_p_times_linkage_times_current() -> None:
    # Power balance: 3/2 E I = T ω with E = pωψ; a mean over an electrical sixth.
    case = CASES["radial, iron behind"]()
    angles = 360 / P / 6 * np.arange(12) / 12
    sweep = fm.rotor_sweep(case.design, angles_deg=angles, current_peak_A=8.0)
    expected = 1.5 * P * case.bore.fundamental("U") * 8.0
    assert np.mean(sweep.torque_Nm) == pytest.approx(expected, rel=2e-4)
    advanced = fm.rotor_sweep(
        case.design, angles_deg=angles, current_peak_A=8.0, current_angle_deg=60.0
    )
    assert np.mean(advanced.torque_Nm) == pytest.approx(expected / 2, rel=4e-4)


PROMISED = {"draft": 1e-3, "standard": 2e-4, "fine": 2e-5}
"""Torque that the mesh may leave over that at 4 A/mm² (RMS): 2 % of it is taken as the cogging
peak, of which the qualities promise 5 %, 1 % and 0.1 %."""


@pytest.mark.parametrize(
    ("name", "quality"),
    [
        ("radial, iron behind", "draft"),
        ("radial, iron behind", "standard"),
        ("radial, iron behind", "fine"),
        ("parallel, air behind", "draft"),
        ("parallel, air behind", "standard"),
        ("parallel, air behind", "fine"),
        ("blocks", "draft"),
        ("blocks", "standard"),
        ("blocks", "fine"),
    ],
)
def test_without_current_there_is_no_torque(name: str, quality: str) -> None:
    # A rotor around nothing but air cannot cog.
    design = CASES[name]().design
    angles = 360 / 60 * np.arange(1, 6) / 10  # up to the half period, 60 = lcm(slots, poles)
    rated = 4 * math.sqrt(2) * math.pi / 4 * 0.9**2
    cogging = fm.rotor_sweep(design, angles_deg=angles, quality=quality).torque_Nm
    loaded = fm.rotor_sweep(design, angles_deg=angles, current_peak_A=rated, quality=quality)
    assert np.abs(cogging).max() < PROMISED[quality] * loaded.torque_Nm.mean()
