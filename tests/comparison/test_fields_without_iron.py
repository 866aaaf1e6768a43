"""Halbach against alternating, ring against none, where closed forms give the ratio of the fields.

Nothing leads flux (core and magnets of permeability 1), and the stack is so long that its ends do
not count. The flux that a magnetisation M_r cos pθ, M_θ sin pθ between the radii R_i and R_o sends
into the bore goes with ∫ (M_r + M_θ) ρ^−p dρ (expansion of the logarithmic potential). A Halbach
array has both parts (K. Halbach, NIM 169 (1980) 1; sectors: times sin x/x, x = (p + 1)π/M), radial
magnets have the first, 4/π times as strong. A ring of endless permeability at R_o adds the image
R_o^−2p ∫ ρ^p dρ (form of Z. Zhu and D. Howe, IEEE Trans. Magn. 29 (1993) 124).
"""

import math

import pytest

import fem_motor as fm
from fem_motor.design import MotorDesign

PAIRS, SEGMENTS = 8, 2
GAP_MM, THICK_MM = 0.8, 1.0
BORE_MM = 56 / 2 + GAP_MM


@pytest.fixture(scope="module")
def alternating() -> MotorDesign:
    tables = fm.load_design("geometries/printed_18s16p.toml").to_dict()
    tables["machine"] |= {"stack_length_mm": 2000.0}
    tables["stator"] |= {"core": "nothing"}
    tables["rotor"] |= {
        "magnet": "straight",
        "magnet_shape": "arc",
        "magnet_arc_fraction": 1.0,
        "magnet_width_mm": None,
        "magnet_thickness_mm": THICK_MM,
        "magnetisation": "radial",
    }
    tables["materials"] = {
        "nothing": {"like": "iron-filled-pla-10vol", "relative_permeability": 1.0},
        "straight": {"like": "ndfeb-n42h", "recoil_permeability": 1.0},
        "endless": {"like": "steel-1008", "relative_permeability": 1e5},
    }
    for name in ("iron_volume_fraction", "bh_table", "relative_permeability_range"):
        tables["materials"]["nothing"].pop(name, None)
    return MotorDesign.from_dict(tables, name="alternating.toml")


@pytest.mark.slow
def test_a_halbach_rotor_beats_an_alternating_one_by_the_closed_form(
    alternating: MotorDesign,
) -> None:
    halbach = alternating.replace(
        rotor__magnet_layout="halbach",
        rotor__segments_per_pole=SEGMENTS,
        rotor__magnetisation="parallel",
    )
    x = (PAIRS + 1) * math.pi / (2 * PAIRS * SEGMENTS)
    ratio = (math.sin(x) / x) / (2 / math.pi)
    assert ratio == pytest.approx(1.3744, abs=1e-3)
    found = fm.compare([alternating, halbach], goal="motor-constant", quality="draft")
    constants = [one.answers["motor_constant_Nm_per_sqrtW"].value for one in found.candidates]
    assert None not in constants
    # Flux on a draft mesh is right to 0.5 %.
    assert (constants[1] or 0.0) / (constants[0] or 1.0) == pytest.approx(ratio, rel=1e-2)
    (versus,) = found.differences
    assert found.order == ("alternating.toml (2)", "alternating.toml")
    assert versus.gain_fraction == pytest.approx(1 / ratio - 1, abs=1e-2)
    assert versus.verdict == "loss"


@pytest.mark.slow
def test_a_ring_behind_thin_magnets_nearly_doubles_the_field(alternating: MotorDesign) -> None:
    ringed = alternating.replace(rotor__ring_material="endless", rotor__ring_thickness_mm=4.0)
    inner, outer, p = BORE_MM, BORE_MM + THICK_MM, PAIRS
    direct = (inner ** (1 - p) - outer ** (1 - p)) / (p - 1)
    image = outer ** (-2 * p) * (outer ** (p + 1) - inner ** (p + 1)) / (p + 1)
    ratio = 1 + image / direct
    assert 1.7 < ratio < 2
    found = fm.compare([alternating, ringed], goal="motor-constant", quality="draft")
    (versus,) = found.differences
    assert versus.gain_fraction == pytest.approx(1 / ratio - 1, abs=1e-2)
    assert versus.verdict == "loss"
