"""Machines of the tests of this folder, each meshed (draft) and solved once."""

import functools
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import fem_motor as fm
from fem_motor.design import Motor
from fem_motor.field import FieldProblem
from fem_motor.mesh import MotorMesh, mesh_motor
from fem_motor.quantities.fields.machine import choose_problem, symmetry
from fem_motor.winding import Winding, wind

GEOMETRIES = Path(__file__).parents[2] / "geometries"

SINGLE_LAYER: dict[str, Any] = {
    # Twelve slots, fourteen poles and a coil on every other tooth; the core stays printed.
    "machine__slots": 12,
    "machine__poles": 14,
    "stator__tooth_width_mm": 6.0,
    "rotor__magnet_width_mm": 9.0,
    "winding__layers": 1,
}
THREE_TEETH: dict[str, Any] = {
    # A wide gap makes a coarse mesh; the thin ring saturates. As the magnets are, neither
    # turning by a pole pitch nor a mirror brings the rotor back.
    "machine__slots": 3,
    "machine__poles": 4,
    "machine__air_gap_mm": 2.5,
    "stator__tooth_width_mm": 8.0,
    "stator__yoke_thickness_mm": 4.0,
    "stator__slot_opening_mm": 8.0,
    "stator__tip_thickness_mm": 2.5,
    "rotor__magnet_shape": "arc",
    "rotor__magnet_width_mm": None,
    "rotor__magnet_arc_fraction": 0.8,
    "rotor__magnet_thickness_mm": 5.0,
    "rotor__ring_material": "steel-1008",
    "rotor__ring_thickness_mm": 2.5,
    "winding__turns_per_tooth": 40,
    "winding__connection": "star",
}
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
        "iron": {"kind": "core", "relative_permeability": 1e5},
        "strong": {"kind": "magnet", "remanence_T": 1.2, "recoil_permeability": 1.05},
    },
}
UNEVEN = [
    {"index": 1, "remanence_factor": 0.6, "tilt_deg": 12.0},
    {"index": 2, "remanence_factor": 0.9},
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Machine:
    """A design, wound and meshed, and its field problem without currents."""

    design: fm.MotorDesign
    motor: Motor
    winding: Winding
    mesh: MotorMesh
    problem: FieldProblem

    @property
    def cogging_period(self) -> float:
        """Return the shortest period of the torque as designed, rad."""
        return 2 * math.pi / math.lcm(self.motor.stator.slots, self.motor.rotor.poles)


def design_of(name: str) -> fm.MotorDesign:
    """Return a shipped design, or one of those above."""
    if name.startswith("slotless"):
        design = fm.MotorDesign.from_dict({"title": "Slotless", **SLOTLESS})
        open_outside = {"rotor__ring_material": "none", "rotor__ring_thickness_mm": 0.0}
        return design.replace(**open_outside) if "open" in name else design
    if name == "iron all round":
        # Narrow openings, so that the gap is nearly a plain one.
        return design_of("slotless").replace(
            stator__core="iron", stator__slot_opening_mm=0.5, stator__yoke_thickness_mm=4.0
        )
    if name == "single layer":
        return fm.load_design(GEOMETRIES / "printed_18s16p.toml").replace(**SINGLE_LAYER)
    if name.startswith("three teeth"):
        built = {"as_built__magnets": UNEVEN} if "uneven" in name else {}
        return fm.load_design(GEOMETRIES / "steel_9s12p.toml").replace(**THREE_TEETH, **built)
    return fm.load_design(GEOMETRIES / f"{name}.toml")


def machine_of(design: fm.MotorDesign) -> Machine:
    """Return a design made ready."""
    motor = design.motor
    mesh = mesh_motor(motor, quality="draft")
    return Machine(
        design=design,
        motor=motor,
        winding=wind(motor),
        mesh=mesh,
        problem=choose_problem(motor, mesh, sectors=symmetry(motor)),
    )


@functools.cache
def machine(name: str) -> Machine:
    """Return a machine by its name, made ready once."""
    return machine_of(design_of(name))
