"""Random designs that can be built, for property tests of any room.

    from strategies import designs

    @given(design=designs())
    def test_…(design: MotorDesign) -> None: ...

Every drawn size is a share of the room that the sizes before it leave, so that hardly any draw
is thrown away; numbers are rounded to what a maker would type, so that a failing example reads
like a design file.
"""

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st

from fem_motor.design import MotorDesign, coil_side_area
from fem_motor.errors import DesignError
from fem_motor.materials import load_library
from fem_motor.units import MM
from fem_motor.winding import is_feasible

Tables = dict[str, Any]

ALL_COMBINATIONS = tuple(
    (slots, poles)
    for slots in range(3, 49)
    for poles in range(2, 65, 2)
    if is_feasible(slots, poles) and 0.5 <= slots / poles <= 3
)
"""Slots and poles with a balanced winding of tooth coils."""


def same_motor(one: object, other: object) -> bool:
    """Return whether two records hold the same numbers; laws and arrays compare by content."""
    if dataclasses.is_dataclass(one) and not isinstance(one, type):
        return type(one) is type(other) and all(
            same_motor(getattr(one, field.name), getattr(other, field.name))
            for field in dataclasses.fields(one)
        )
    if isinstance(one, np.ndarray) or isinstance(other, np.ndarray):
        return np.array_equal(np.asarray(one), np.asarray(other))
    return bool(one == other)


def share(low: float, high: float) -> st.SearchStrategy[float]:
    """Draw a number from `low` to `high` with three decimals."""
    scale = 1000
    return st.integers(round(low * scale), round(high * scale)).map(lambda n: n / scale)


def names_of(kind: str) -> st.SearchStrategy[str]:
    """Draw a library material of a kind."""
    found = sorted(name for name, material in load_library().items() if material.kind == kind)
    return st.sampled_from(found)


@st.composite
def design_tables(draw: st.DrawFn, *, largest_slots: int = 48) -> Tables:
    """Draw the tables of a design that can be built, as they stand in a file.

    Parameters
    ----------
    draw : callable
    largest_slots : int
        Fewer make smaller meshes.
    """
    slots, poles = draw(st.sampled_from([n for n in ALL_COMBINATIONS if n[0] <= largest_slots]))
    stator = draw(_stators(slots))
    gap = draw(share(0.2, 2.0))
    tables: Tables = {
        "title": draw(st.text("abcdefgh äöü-", min_size=1, max_size=20).map(lambda t: f"A{t}")),
        "machine": {
            "slots": slots,
            "poles": poles,
            "stack_length_mm": draw(share(2.0, 60.0)),
            "air_gap_mm": gap,
        },
        "stator": stator,
        "rotor": draw(_rotors(poles, bore_radius=stator["outer_diameter_mm"] / 2 + gap)),
        "winding": {"turns_per_tooth": 1, "wire_diameter_mm": 0.02},
        "drive": draw(_drives()),
        "load": draw(_loads()),
    }
    layers = draw(st.sampled_from([n for n in (1, 2) if is_feasible(slots, poles, n)]))
    tables["winding"] = draw(_windings(_coil_side_mm2(tables) * (3 - layers), slots, layers))
    tables |= draw(_extras(tables))
    if draw(st.booleans()):
        stator["core"] = "my-filament"
        tables["materials"] = {
            "my-filament": {
                "like": "iron-filled-pla-10vol",
                "relative_permeability": draw(share(1.1, 5.0)),
            }
        }
    return tables


@st.composite
def designs(draw: st.DrawFn, *, largest_slots: int = 48) -> MotorDesign:
    """Draw a design that can be built; as wound, or with the best balanced winding."""
    return MotorDesign.from_dict(draw(design_tables(largest_slots=largest_slots)), name="drawn")


@st.composite
def narrow_openings(draw: st.DrawFn) -> MotorDesign:
    """Draw a design with a liner and a slot opening about as narrow as twice liner · tan(taper/2).

    Below that width the undersides of two tips, less the liner, meet on the slot's axis.
    """
    tables = draw(design_tables())
    stator = tables["stator"]
    taper, liner = draw(share(5.0, 60.0)), draw(share(0.1, 0.8))
    limit = 2 * liner * math.tan(math.radians(taper / 2))
    stator["tip_taper_deg"], stator["slot_liner_mm"] = taper, liner
    stator["slot_opening_mm"] = max(0.01, round(limit * draw(share(0.1, 2.0)), 4))
    tables["winding"] |= {"turns_per_tooth": 1, "strands": 1, "wire_diameter_mm": 0.02}
    _coil_side_mm2(tables)
    return MotorDesign.from_dict(tables, name="drawn")


def _coil_side_mm2(tables: Mapping[str, Any]) -> float:
    """Return the room for copper; throws the draw away where there is none."""
    try:
        motor = MotorDesign.from_dict(tables).motor
    except DesignError:
        assume(False)  # noqa: FBT003  (its only argument)
        raise
    return coil_side_area(motor.stator) / MM**2


@st.composite
def _stators(draw: st.DrawFn, slots: int) -> Tables:
    pitch = math.pi / slots
    outer = draw(share(10.0, 80.0))
    yoke = outer * draw(share(0.4, 0.65))
    depth = outer - yoke
    tip = depth * draw(share(0.05, 0.2))
    tooth = 2 * yoke * math.sin(pitch) * draw(share(0.3, 0.65))
    corner = outer - tip
    # Where the opening is widest its sides meet the teeth, at the inner corners of the tips.
    widest = 2 * outer * (pitch - math.asin(tooth / 2 / corner))
    bottom = 2 * yoke * math.sin(pitch) - tooth
    hub = yoke * draw(st.one_of(st.just(0.0), share(0.2, 0.8)))
    table: Tables = {
        "outer_diameter_mm": round(2 * outer, 3),
        "inner_diameter_mm": round(2 * hub, 3),
        "yoke_thickness_mm": round(yoke - hub, 3),
        "tooth_width_mm": round(tooth, 3),
        "slot_opening_mm": round(widest * draw(share(0.1, 0.95)), 3),
        "tip_thickness_mm": round(tip, 3),
        "slot_liner_mm": round(min(bottom, depth, 10.0) * draw(share(0.0, 0.08)), 3),
        "core": draw(names_of("core")),
        "core_fraction": draw(share(0.5, 1.0)),
    }
    # A steep underside of a wide tip would leave no slot.
    wide, high = (widest - table["slot_opening_mm"]) / 2, 0.4 * (depth - tip)
    steepest = min(45.0, math.degrees(math.atan2(high, wide)))
    if draw(st.booleans()) and steepest > 10.0:
        table["tip_taper_deg"] = round(10.0 + (steepest - 10.0) * draw(share(0.0, 1.0)), 1)
    return table


@st.composite
def _rotors(draw: st.DrawFn, poles: int, *, bore_radius: float) -> Tables:
    layout = draw(st.sampled_from(["alternating", "halbach"]))
    shape = draw(st.sampled_from(["arc", "block"]))
    segments = draw(st.integers(2, 4)) if layout == "halbach" else 1
    skin = draw(st.one_of(st.just(0.0), share(0.1, 0.8)))
    table: Tables = {
        "magnet_layout": layout,
        "segments_per_pole": segments,
        "strong_side": draw(st.sampled_from(["stator", "outside"])),
        "magnet_shape": shape,
        "magnet_thickness_mm": round(bore_radius * draw(share(0.04, 0.2)), 3),
        "magnet": draw(names_of("magnet")),
        "pocket_skin_mm": skin,
        "housing_material": draw(names_of("structure")),
        "housing_thickness_mm": draw(share(0.0, 5.0)),
    }
    if shape == "arc":
        table["magnet_arc_fraction"] = draw(share(0.4, 1.0))
        if layout == "alternating":
            table["magnetisation"] = draw(st.sampled_from(["radial", "parallel"]))
    else:
        # Blocks of one pole a side could be as wide as one likes: no wider than the bore.
        half_pitch = min(math.pi / (poles * segments), math.pi / 4)
        touching = 2 * (bore_radius + skin) * math.tan(half_pitch)
        table["magnet_width_mm"] = max(0.1, round(touching * draw(share(0.4, 0.98)), 3))
    if draw(st.booleans()):
        table["ring_material"] = draw(names_of("core"))
        table["ring_thickness_mm"] = draw(share(0.3, 4.0))
    return table


@st.composite
def _windings(draw: st.DrawFn, room_mm2: float, slots: int, layers: int) -> Tables:
    turns = draw(st.integers(1, 60))
    strands = draw(st.integers(1, 8))
    fill = draw(share(0.1, 0.6))
    diameter = math.sqrt(4 / math.pi * fill * room_mm2 / (turns * strands))
    assume(diameter >= 0.03)
    table: Tables = {
        "turns_per_tooth": turns,
        "strands": strands,
        "layers": layers,
        "wire_diameter_mm": round(min(diameter, 5.0), 4),
        "connection": draw(st.sampled_from(["star", "delta"])),
        "lead_length_mm": draw(share(0.0, 500.0)),
    }
    if draw(st.booleans()):
        # As wound, and not always well: what stands here need not be balanced.
        number = slots * layers // 2
        coils = st.sampled_from(["U+", "U-", "V+", "V-", "W+", "W-"])
        wound = ["U+", "V+", "W+", *draw(st.lists(coils, min_size=number - 3, max_size=number - 3))]
        table["coils"] = wound if layers == 2 else [name for coil in wound for name in (coil, "")]
    return table


@st.composite
def _drives(draw: st.DrawFn) -> Tables:
    table: Tables = {
        "supply_voltage_V": draw(share(3.0, 60.0)),
        "controller": draw(st.sampled_from(["six-step", "sine"])),
        "current_limit_A": draw(share(1.0, 100.0)),
        "timing_advance_deg": draw(share(-20.0, 30.0)),
    }
    if draw(st.booleans()):
        table["rated_current_A"] = draw(share(0.5, 50.0))
    if draw(st.booleans()):
        table["max_electrical_rpm"] = draw(share(10_000.0, 300_000.0))
    return table


@st.composite
def _loads(draw: st.DrawFn) -> Tables:
    kind = draw(st.sampled_from(["none", "propeller", "table", "torque-curve", "constant-torque"]))
    if kind == "none":
        return {"kind": kind}
    if kind == "constant-torque":
        return {"kind": kind, "torque_Nm": draw(share(0.0, 5.0))}
    speeds = sorted(draw(st.sets(st.integers(0, 20_000), min_size=1, max_size=5)))
    numbers = st.lists(share(0.01, 0.2), min_size=len(speeds), max_size=len(speeds))
    if kind == "torque-curve":
        return {"kind": kind, "speed_rpm": speeds, "torque_Nm": draw(numbers)}
    table: Tables = {
        "kind": "propeller",
        "diameter_mm": draw(share(50.0, 600.0)),
        "pitch_mm": draw(share(20.0, 400.0)),
    }
    if draw(st.booleans()):
        table["medium"] = draw(st.sampled_from(["air", "water"]))
    if kind == "table":
        rows = zip(speeds, draw(numbers), draw(numbers), strict=True)
        return {**table, "table": [list(row) for row in rows]}
    return {
        **table,
        "thrust_coefficient": draw(share(0.02, 0.3)),
        "power_coefficient": draw(share(0.01, 0.2)),
    }


@st.composite
def _extras(draw: st.DrawFn, tables: Mapping[str, Any]) -> Tables:
    """Draw the sections that most designs leave out."""
    extras: Tables = {}
    if draw(st.booleans()):
        extras["cooling"] = {
            "medium": draw(st.sampled_from(["air", "water"])),
            "ambient_C": draw(share(-20.0, 60.0)),
        }
    if draw(st.booleans()):
        machine = tables["machine"]
        magnets = machine["poles"] * tables["rotor"]["segments_per_pole"]
        tooth = draw(st.integers(1, machine["slots"]))
        if tables["winding"]["layers"] == 1:
            tooth -= (tooth + 1) % 2  # the others have no coil
        extras["as_built"] = {
            "magnets": [
                {"index": draw(st.integers(1, magnets)), "remanence_factor": draw(share(-1.0, 1.1))}
            ],
            "coils": [{"tooth": tooth, "reversed": draw(st.booleans())}],
            "rotor_offset_mm": round(machine["air_gap_mm"] * draw(share(0.0, 0.5)), 4),
        }
    return extras
