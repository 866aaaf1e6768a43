"""A study of rotors without iron gives the verdict of the closed form."""

import math
import re
from pathlib import Path

import pytest
from small_studies import GEOMETRIES, study_file

from fem_motor.study import load_study, run_study

PAIRS, SEGMENTS = 8, 2  # as the file below has them

TEXT = f"""
title = "Rotors without iron"
question = "Halbach or alternating?"
base = "{GEOMETRIES / "printed_18s16p.toml"}"
quality = "draft"
unset = ["rotor.magnet_width_mm"]
record = ["motor_constant_Nm_per_sqrtW"]

[set]
machine.stack_length_mm = 2000.0
stator.core = "nothing"
rotor.magnet = "straight"
rotor.magnet_shape = "arc"
rotor.magnet_arc_fraction = 1.0
rotor.magnet_thickness_mm = 1.0
materials.straight = {{ like = "ndfeb-n42h", recoil_permeability = 1.0 }}

[set.materials.nothing]
like = "iron-filled-pla-10vol"
relative_permeability = 1.0
relative_permeability_range = [1.0, 1.0]

[[axis]]
name = "layout"
steps = [
  {{ label = "alternating", set = {{ rotor.magnetisation = "radial" }} }},
  {{ label = "Halbach", set.rotor = {{ magnet_layout = "halbach", segments_per_pole = 2 }} }},
]

[verdict]
of = "motor_constant_Nm_per_sqrtW"
against = "alternating"
doubts = "shared"
"""


@pytest.mark.slow
def test_halbach_wins_without_iron_by_the_closed_form(tmp_path: Path) -> None:
    # The field of a magnetisation in the bore goes with M_r + M_θ. A Halbach array has both parts
    # (K. Halbach, NIM 169 (1980) 1; sectors: sin x/x), radial magnets the first, 4/π times
    # as strong.
    x = (PAIRS + 1) * math.pi / (2 * PAIRS * SEGMENTS)
    ratio = 2 * (math.sin(x) / x) / (4 / math.pi)
    found = run_study(load_study(study_file(tmp_path, TEXT)))
    assert found.verdict[0].startswith("Best: Halbach; ")
    said = re.search(r"([\d.]+) times alternating \(([\d.]+) to ([\d.]+)\): worth it",
                     found.verdict[0])  # fmt: skip
    assert said is not None
    # Flux on a draft mesh is right to 0.5 %, and the verdict has two decimals.
    assert float(said[1]) == pytest.approx(ratio, rel=1e-2)
