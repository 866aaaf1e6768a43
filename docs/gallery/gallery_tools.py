"""What the pictures of the gallery share: style, machines in the open, harmonics of a field."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from scipy.interpolate import CloughTocher2DInterpolator

import fem_motor as fm
from fem_motor.charts.canvas import house_style, new_figure
from fem_motor.field import FieldMap

GEOMETRIES = Path(__file__).resolve().parents[2] / "geometries"
AROUND = 720
NEAR = 1.2e-3  # m; points further from a circle do not matter on it

OPEN_CORE = {"kind": "core", "relative_permeability": 1.0, "source": "vacuum"}
IDEAL_MAGNET = {
    "kind": "magnet",
    "remanence_T": 1.2,
    "recoil_permeability": 1.0,
    "source": "ideal",
}
PERFECT_STEEL = {"kind": "core", "relative_permeability": 1e5, "source": "ideal"}


def design(name: str, **tables: dict[str, Any]) -> fm.MotorDesign:
    """Return a shipped design with keys changed, all at once, table by table."""
    plain = fm.load_design(GEOMETRIES / f"{name}.toml").to_dict()
    for table, keys in tables.items():
        plain[table] = {
            key: value for key, value in (plain.get(table, {}) | keys).items() if value is not None
        }
    return fm.MotorDesign.from_dict(plain)


def magnets_in_the_open(poles: int = 16, **rotor: object) -> fm.MotorDesign:
    """Return arcs of ideal magnets that touch, 57.6 mm inside, around nothing but vacuum."""
    arcs = {
        "magnet_shape": "arc",
        "magnet_arc_fraction": 1.0,
        "magnet_width_mm": None,
        "magnet_thickness_mm": 5.0,
        "magnet": "ideal-magnet",
    }
    return design(
        "printed_18s16p",
        machine={"poles": poles},
        stator={"core": "open-core"},
        rotor=arcs | rotor,
        materials={
            "open-core": OPEN_CORE,
            "ideal-magnet": IDEAL_MAGNET,
            "perfect-steel": PERFECT_STEEL,
        },
    )


def radial_field(field: FieldMap, radius: float, order: int) -> float:
    """Return the amplitude of a harmonic of B_r at a radius, T: p A_p/r."""
    theta = 2 * np.pi / AROUND * np.arange(AROUND)
    near = np.flatnonzero(np.abs(np.hypot(*field.points) - radius) < NEAR)
    # Neighbouring pieces of the map have points of their own where they meet.
    _, once = np.unique(np.round(field.points[:, near], 7), axis=1, return_index=True)
    kept = near[once]
    at = CloughTocher2DInterpolator(field.points[:, kept].T, field.vector_potential[kept])
    potential = np.asarray(at(radius * np.cos(theta), radius * np.sin(theta)))
    amplitude = 2 / AROUND * abs(np.sum(potential * np.exp(-1j * order * theta)))
    return float(order * amplitude / radius)


def styled(draw: Callable[[], Figure]) -> Callable[[], Figure]:
    """Return a picture that is drawn in the house style."""

    def picture() -> Figure:
        with house_style():
            return draw()

    picture.__doc__ = draw.__doc__
    return picture


def show(picture: Callable[[], Figure], file: str) -> None:
    """Save a picture under the name on the command line, or beside its script."""
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(file).with_suffix(".png")
    figure = picture()
    with house_style():
        figure.savefig(target, dpi=130)


__all__ = [
    "design",
    "magnets_in_the_open",
    "new_figure",
    "radial_field",
    "show",
    "styled",
]
