"""Motors that between them use every option of the section."""

import math
from functools import cache
from pathlib import Path

from fem_motor.design import Motor, load_design
from fem_motor.mesh import MotorMesh, mesh_motor

GEOMETRIES = Path(__file__).resolve().parents[2] / "geometries"
FILES = sorted(path.stem for path in GEOMETRIES.glob("*.toml"))

TOUCHING = 2 * 28.8 * math.tan(math.pi / 16)
"""Width in mm at which 16 blocks around a circle of radius 28.8 mm touch: tangent polygon."""

NO_RING = {"rotor__ring_material": "none", "rotor__ring_thickness_mm": 0.0}
SKIN = {"rotor__pocket_skin_mm": 0.4}
ONE_TURN = {"winding__turns_per_tooth": 1, "winding__strands": 1}


def halbach(segments: int, **more: object) -> dict[str, object]:
    return {"rotor__magnet_layout": "halbach", "rotor__segments_per_pole": segments, **more}


CHANGES: dict[str, tuple[str, dict[str, object]]] = {
    **{name: (name, {}) for name in FILES},
    "arcs, no ring": ("steel_12s14p", NO_RING),
    "arcs, skin": ("steel_12s14p", SKIN),
    "arcs, skin, no ring": ("steel_12s14p", SKIN | NO_RING),
    "arcs, radial": ("steel_12s14p", {"rotor__magnetisation": "radial"}),
    "arcs that touch": ("steel_12s14p", {"rotor__magnet_arc_fraction": 1.0}),
    "arcs that touch, skin, no ring": (
        "steel_12s14p",
        {"rotor__magnet_arc_fraction": 1.0} | SKIN | NO_RING,
    ),
    "blocks, skin": ("printed_18s16p", SKIN),
    "blocks, skin, ring": ("printed_18s16p_ring", SKIN),
    "blocks that touch": ("printed_18s16p", {"rotor__magnet_width_mm": TOUCHING}),
    "blocks that touch in a ring": ("printed_18s16p_ring", {"rotor__magnet_width_mm": TOUCHING}),
    "blocks that nearly touch": ("printed_18s16p", {"rotor__magnet_width_mm": 0.999 * TOUCHING}),
    "Halbach arcs, 2": ("steel_12s14p", halbach(2)),
    "Halbach arcs, 3": ("steel_12s14p", halbach(3)),
    "Halbach arcs, 4, no ring": ("steel_12s14p", halbach(4) | NO_RING),
    "Halbach blocks, 3": ("halbach_18s16p", halbach(3, rotor__magnet_width_mm=3.5)),
    "Halbach blocks, 4": ("halbach_18s16p", halbach(4, rotor__magnet_width_mm=2.6)),
    "Halbach blocks, 4, ring": (
        "printed_18s16p_ring",
        halbach(4, rotor__magnet_width_mm=2.6),
    ),
    "Halbach, strong outside": ("halbach_18s16p", {"rotor__strong_side": "outside"}),
    "concentric tips": ("printed_18s16p", {"stator__tip_taper_deg": 0.0}),
    "steep tips": ("steel_12s14p", {"stator__tip_taper_deg": 60.0}),
    "no liner": ("printed_18s16p", {"stator__slot_liner_mm": 0.0}),
    "no liner, concentric tips": (
        "steel_12s14p",
        {"stator__slot_liner_mm": 0.0, "stator__tip_taper_deg": 0.0},
    ),
    "thin liner": ("printed_18s16p", {"stator__slot_liner_mm": 0.05}),
    "hair-thin liner": ("printed_18s16p", {"stator__slot_liner_mm": 0.02}),
    "narrow opening behind steep tips": (
        "printed_18s16p",
        {"stator__slot_opening_mm": 0.3, "stator__tip_taper_deg": 60.0} | ONE_TURN,
    ),
    "hardly any tip": (
        "printed_18s16p",
        {"stator__slot_opening_mm": 5.61, "stator__tip_taper_deg": 0.0},
    ),
    "solid core": (
        "printed_18s16p",
        {"stator__inner_diameter_mm": 0.0, "stator__yoke_thickness_mm": 15.0},
    ),
    "three slots, two poles": (
        "steel_12s14p",
        {
            "machine__slots": 3,
            "machine__poles": 2,
            "stator__tooth_width_mm": 10.0,
            "stator__tip_taper_deg": 0.0,
        }
        | ONE_TURN,
    ),
    "many slots and poles": (
        "steel_12s14p",
        {
            "machine__slots": 90,
            "machine__poles": 80,
            "stator__tooth_width_mm": 0.5,
            "stator__slot_opening_mm": 0.5,
            "stator__slot_liner_mm": 0.05,
        }
        | ONE_TURN,
    ),
}


def motor_of(name: str) -> Motor:
    file, changes = CHANGES[name]
    return load_design(GEOMETRIES / f"{file}.toml").replace(**changes).motor


@cache
def mesh_of(name: str) -> MotorMesh:
    """Return the coarse mesh of a design, made once for all tests of a process."""
    return mesh_motor(motor_of(name), quality="draft")
