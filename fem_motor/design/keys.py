"""Every key of the design file: one table that loader, defaults, documentation and starter share."""

from dataclasses import dataclass
from typing import Any, Literal

Type = Literal["integer", "number", "text", "choice", "coils", "table", "numbers", "objects"]

TABLE_COLUMNS = {"speed_rpm": 1e6, "CT": 10.0, "CP": 10.0}
"""Columns of a propeller's table and their largest values, those of the single keys."""

REQUIRED = "required"
"""Stands for the default of a key that must be given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of one section.

    Attributes
    ----------
    section, name : str
    meaning : str
        In the maker's words.
    type : str
    default : object
        `REQUIRED`, a value, or None where absence means something by itself.
    low, high : float
        Allowed range of numbers.
    choices : tuple of str
    note : str
        What None or the default means, or when the key applies.
    """

    section: str
    name: str
    meaning: str
    type: Type = "number"
    default: Any = REQUIRED
    low: float = float("-inf")
    high: float = float("inf")
    choices: tuple[str, ...] = ()
    note: str = ""

    @property
    def path(self) -> str:
        """The key with its section."""
        return f"{self.section}.{self.name}" if self.section else self.name

    @property
    def allowed(self) -> str:
        """What the key may be, in words."""
        if self.choices:
            return " or ".join(f'"{choice}"' for choice in self.choices)
        if self.type in ("integer", "number"):
            kind = "a whole number" if self.type == "integer" else "a number"
            return f"{kind} from {self.low:g} to {self.high:g}"
        return {
            "text": "a text in quotation marks",
            "coils": 'a list with one entry per tooth: "U+", "W-" … or "" for none',
            "table": "rows [speed_rpm, CT, CP], "
            + ", ".join(f"{name} from 0 to {high:g}" for name, high in TABLE_COLUMNS.items()),
            "numbers": f"a number, or a list of numbers, from {self.low:g} to {self.high:g}",
            "objects": "a list of tables",
        }[self.type]


def _length(section: str, name: str, meaning: str, low: float, high: float, **more: Any) -> Key:
    return Key(section=section, name=name, meaning=meaning, low=low, high=high, **more)


def _choice(
    section: str, name: str, meaning: str, *choices: str, default: Any, note: str = ""
) -> Key:
    return Key(
        section=section, name=name, meaning=meaning, type="choice", choices=choices,
        default=default, note=note,
    )  # fmt: skip


def _whole(section: str, name: str, meaning: str, low: int, high: int, **more: Any) -> Key:
    return Key(
        section=section, name=name, meaning=meaning, type="integer", low=low, high=high, **more
    )


def _text(section: str, name: str, meaning: str, **more: Any) -> Key:
    return Key(section=section, name=name, meaning=meaning, type="text", **more)


KEYS: tuple[Key, ...] = (
    _text("", "title", "name of the motor, for reports"),
    _whole("machine", "slots", "number of slots, and of teeth", 3, 360),
    _whole("machine", "poles", "number of magnet poles, even", 2, 360),
    _length("machine", "stack_length_mm", "length of the core along the shaft", 0.1, 10_000),
    _length("machine", "air_gap_mm", "clearance between tooth tips and the innermost rotor surface", 0.02, 50),
    _length("stator", "outer_diameter_mm", "across the tooth tips", 2, 5000),
    _length("stator", "inner_diameter_mm", "inside of the yoke, where the hub sits; 0: solid", 0, 5000),
    _length("stator", "yoke_thickness_mm", "radial thickness of the yoke", 0.05, 2500),
    _length("stator", "tooth_width_mm", "between the two parallel sides of a tooth", 0.05, 2500),
    _length("stator", "slot_opening_mm", "opening between two tips, along the tooth-tip circle", 0.01, 2500),
    _length("stator", "tip_thickness_mm", "radial thickness of the tip at the opening", 0.01, 2500),
    _length("stator", "tip_taper_deg", "slope of the underside of the tip; 0: a concentric arc", 0, 75, default=0.0),
    _length("stator", "slot_liner_mm", "insulation between core and copper", 0, 5, default=0.3),
    _text("stator", "core", "material of the core"),
    _length("stator", "core_fraction", "iron share of the stack length (stacking, infill)", 0.01, 1, default=1.0),
    _choice("rotor", "magnet_layout", "how the magnets are magnetised around the rotor", "alternating", "halbach", default="alternating"),
    _whole("rotor", "segments_per_pole", "magnets in one pole; 1 for alternating, 2 to 12 for halbach", 1, 12, default=None, note="1; 2 for halbach"),
    _choice("rotor", "strong_side", "halbach: the side of the strong field", "stator", "outside", default="stator"),
    _choice("rotor", "magnet_shape", "shape of one magnet", "arc", "block", default=REQUIRED),
    _length("rotor", "magnet_arc_fraction", "arc: share of its pole (or segment) pitch; 1 lets neighbours touch", 0.05, 1, default=None, note="required for arc, refused for block"),
    _length("rotor", "magnet_width_mm", "block: width", 0.1, 2500, default=None, note="required for block, refused for arc"),
    _length("rotor", "magnet_thickness_mm", "radial thickness", 0.1, 1000),
    _choice("rotor", "magnetisation", "direction inside one magnet; radial only for alternating arcs", "radial", "parallel", default="parallel"),
    _text("rotor", "magnet", "material of the magnets"),
    _length("rotor", "pocket_skin_mm", "plastic between magnet face and air gap", 0, 50, default=0.0),
    _text("rotor", "ring_material", 'core material of a ring behind the magnets, or "none"', default="none"),
    _length("rotor", "ring_thickness_mm", "radial thickness of the ring", 0, 500, default=0.0),
    _text("rotor", "housing_material", "material of the housing; non-magnetic", default="pla"),
    _length("rotor", "housing_thickness_mm", "radial thickness of the housing outside magnets or ring", 0, 500, default=3.0),
    _whole("winding", "turns_per_tooth", "turns of one coil", 1, 10_000),
    _whole("winding", "strands", "wires wound side by side", 1, 500, default=1),
    _length("winding", "wire_awg", "wire by American wire gauge", 0, 50, default=None, note="this or wire_diameter_mm"),
    _length("winding", "wire_diameter_mm", "bare diameter of one wire", 0.02, 5, default=None, note="this or wire_awg"),
    _whole("winding", "layers", "2: a coil on every tooth; 1: on every other tooth", 1, 2, default=2),
    _choice("winding", "connection", "of the three phases", "star", "delta", default="star"),
    _whole("winding", "parallel_circuits", "equal circuits per phase", 1, 360, default=1),
    Key(section="winding", name="coils", meaning="as wound, tooth by tooth from tooth 1", type="coils", default=None, note="the best balanced layout"),
    _length("winding", "lead_length_mm", "length of each of the three leads", 0, 100_000, default=300.0),
    _length("drive", "supply_voltage_V", "open-circuit voltage of the supply", 0.1, 2000, default=12.0),
    _length("drive", "supply_resistance_mohm", "battery and wires up to the controller", 0, 1e6, default=20.0),
    _choice("drive", "controller", "kind of controller", "six-step", "sine", default="six-step"),
    _length("drive", "controller_resistance_mohm", "whole conducting path, both switches", 0, 1e6, default=5.0),
    _length("drive", "current_limit_A", "peak line current of the controller", 0.01, 1e5, default=30.0),
    _length("drive", "rated_current_A", "peak line current for rated figures", 0.001, 1e5, default=None, note="the one that gives 4 A/mm² RMS in the copper"),
    _length("drive", "timing_advance_deg", "electrical, positive leading", -90, 90, default=0.0),
    _length("drive", "max_electrical_rpm", "limit of the controller", 1, 1e8, default=None, note="none"),
    _choice("load", "kind", "what the motor turns", "propeller", "torque-curve", "constant-torque", "none", default="none"),
    _length("load", "diameter_mm", "propeller: diameter", 1, 50_000, default=None, note="required for a propeller"),
    _length("load", "pitch_mm", "propeller: pitch", 0, 50_000, default=None, note="required for a propeller"),
    _length("load", "thrust_coefficient", "propeller: CT in T = CT ρ n² D⁴, n in rev/s", 0, 10, default=None, note="this and power_coefficient, or table"),
    _length("load", "power_coefficient", "propeller: CP in P = CP ρ n³ D⁵", 1e-6, 10, default=None, note="this and thrust_coefficient, or table"),
    Key(section="load", name="table", meaning="propeller: coefficients over speed", type="table", default=None, note="instead of the two coefficients"),
    _choice("load", "medium", "propeller: what it turns in", "air", "water", default=None, note="cooling.medium"),
    Key(section="load", name="speed_rpm", meaning="torque-curve: speeds, rising", type="numbers", low=0, high=1e6, default=None, note="required for a torque-curve"),
    Key(section="load", name="torque_Nm", meaning="torque-curve: torques at these speeds; constant-torque: one number", type="numbers", low=0, high=1e6, default=None, note="required for a torque-curve or constant-torque"),
    _choice("cooling", "medium", "what the motor stands in", "air", "water", default="air"),
    _length("cooling", "ambient_C", "temperature of the surroundings", -60, 200, default=25.0),
    _length("cooling", "airflow_m_per_s", "flow over the motor from outside; its own rotation always counts", 0, 200, default=0.0),
    _length("cooling", "air_density_kg_per_m3", "density of the air", 0.01, 10, default=1.2),
    Key(section="as_built", name="magnets", meaning="magnets that are not as drawn: { index, remanence_factor = 1, tilt_deg = 0 }", type="objects", default=None, note="none"),
    Key(section="as_built", name="coils", meaning="coils that are not as designed: { tooth, reversed = false, turns, phase }", type="objects", default=None, note="none"),
    _length("as_built", "rotor_offset_mm", "rotor axis moved along +x, static", 0, 50, default=0.0),
)  # fmt: skip
"""All keys but those of [materials.NAME], in the order of the documentation."""

BY_PATH = {key.path: key for key in KEYS}
SECTIONS = tuple(dict.fromkeys(key.section for key in KEYS if key.section))

MAGNET_KEYS = {
    "index": ("integer", 1, 4320, REQUIRED),
    "remanence_factor": ("number", -2, 2, 1.0),
    "tilt_deg": ("number", -180, 180, 0.0),
}
COIL_KEYS = {
    "tooth": ("integer", 1, 360, REQUIRED),
    "reversed": ("boolean", 0, 1, False),
    "turns": ("integer", 0, 10_000, None),
    "phase": ("phase", 0, 0, None),
}
"""Keys of the entries of as_built.magnets and as_built.coils: type, low, high, default."""
