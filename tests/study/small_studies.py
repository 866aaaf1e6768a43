"""Study files of the tests of this folder."""

from pathlib import Path

GEOMETRIES = Path(__file__).parents[2] / "geometries"

RING = f"""
title = "Ring"
question = "How thick?"
base = "{GEOMETRIES / "printed_18s16p.toml"}"
quality = "draft"
record = ["motor_constant_Nm_per_sqrtW", "loaded.rated.mean_torque_Nm"]

[[axis]]
key = "rotor.magnet_thickness_mm"
values = [2.5, 3.0, 3.5]

[verdict]
of = "motor_constant_Nm_per_sqrtW"
"""


def study_file(folder: Path, text: str = RING) -> Path:
    """Write a study file and return its path."""
    path = folder / "study.toml"
    path.write_text(text, encoding="utf-8")
    return path
