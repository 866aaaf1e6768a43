"""From complete values to the motor in SI."""

from collections.abc import Mapping
from typing import Any, TypeVar

from fem_motor.design.motor import (
    AsBuilt,
    BuiltCoil,
    BuiltMagnet,
    Cooling,
    Drive,
    Medium,
    Motor,
    Propeller,
    Rotor,
    Stator,
    TorqueCurve,
    WindingSpecification,
)
from fem_motor.materials import Core, Magnet, Material, Structure, wire_diameter_from_awg
from fem_motor.units import DEG, MM, RPM

MILLI = 1e-3
M = TypeVar("M", bound=Material)


def build_motor(values: Mapping[str, Any], materials: Mapping[str, Material]) -> Motor:
    """Return the motor of complete values; `materials` has the right kind for every part."""
    machine = values["machine"]
    gap = machine["air_gap_mm"] * MM
    return Motor(
        title=values["title"],
        stack_length=machine["stack_length_mm"] * MM,
        air_gap=gap,
        stator=_stator(values, materials),
        rotor=_rotor(values, materials, gap),
        winding=_winding(values["winding"]),
        drive=_drive(values["drive"]),
        load=_load(values["load"], around=values["cooling"]["medium"]),
        cooling=_cooling(values["cooling"]),
        as_built=_as_built(values["as_built"]),
    )


def _of(kind: type[M], name: str, materials: Mapping[str, Material]) -> M:
    material = materials[name]
    if not isinstance(material, kind):  # pragma: no cover  (checked before)
        msg = f"{name} is no {kind.__name__.lower()}"
        raise TypeError(msg)
    return material


def _stator(values: Mapping[str, Any], materials: Mapping[str, Material]) -> Stator:
    stator = values["stator"]
    return Stator(
        slots=values["machine"]["slots"],
        outer_radius=stator["outer_diameter_mm"] * MM / 2,
        inner_radius=stator["inner_diameter_mm"] * MM / 2,
        yoke_thickness=stator["yoke_thickness_mm"] * MM,
        tooth_width=stator["tooth_width_mm"] * MM,
        slot_opening=stator["slot_opening_mm"] * MM,
        tip_thickness=stator["tip_thickness_mm"] * MM,
        tip_taper=stator["tip_taper_deg"] * DEG,
        slot_liner=stator["slot_liner_mm"] * MM,
        core=_of(Core, stator["core"], materials),
        core_fraction=stator["core_fraction"],
    )


def _rotor(values: Mapping[str, Any], materials: Mapping[str, Material], gap: float) -> Rotor:
    rotor = values["rotor"]
    skin = rotor["pocket_skin_mm"] * MM
    width = rotor["magnet_width_mm"]
    ring = rotor["ring_material"]
    return Rotor(
        poles=values["machine"]["poles"],
        magnet_layout=rotor["magnet_layout"],
        segments_per_pole=rotor["segments_per_pole"],
        strong_side=rotor["strong_side"],
        magnet_shape=rotor["magnet_shape"],
        magnet_arc_fraction=rotor["magnet_arc_fraction"],
        magnet_width=None if width is None else width * MM,
        magnet_thickness=rotor["magnet_thickness_mm"] * MM,
        magnetisation=rotor["magnetisation"],
        magnet=_of(Magnet, rotor["magnet"], materials),
        magnet_inner_radius=values["stator"]["outer_diameter_mm"] * MM / 2 + gap + skin,
        pocket_skin=skin,
        ring=None if ring == "none" else _of(Core, ring, materials),
        ring_thickness=rotor["ring_thickness_mm"] * MM,
        housing=_of(Structure, rotor["housing_material"], materials),
        housing_thickness=rotor["housing_thickness_mm"] * MM,
    )


def _winding(winding: Mapping[str, Any]) -> WindingSpecification:
    gauge, bare = winding["wire_awg"], winding["wire_diameter_mm"]
    coils = winding["coils"]
    return WindingSpecification(
        turns_per_tooth=winding["turns_per_tooth"],
        strands=winding["strands"],
        wire_diameter=wire_diameter_from_awg(gauge) if bare is None else bare * MM,
        layers=winding["layers"],
        connection=winding["connection"],
        parallel_circuits=winding["parallel_circuits"],
        coils=None if coils is None else tuple(coils),
        lead_length=winding["lead_length_mm"] * MM,
    )


def _drive(drive: Mapping[str, Any]) -> Drive:
    fastest = drive["max_electrical_rpm"]
    return Drive(
        supply_voltage=drive["supply_voltage_V"],
        supply_resistance=drive["supply_resistance_mohm"] * MILLI,
        controller=drive["controller"],
        controller_resistance=drive["controller_resistance_mohm"] * MILLI,
        current_limit=drive["current_limit_A"],
        rated_current=drive["rated_current_A"],
        timing_advance=drive["timing_advance_deg"] * DEG,
        maximum_electrical_speed=None if fastest is None else fastest * RPM,
    )


def _load(load: Mapping[str, Any], *, around: Medium) -> Propeller | TorqueCurve | None:
    if load["kind"] == "propeller":
        table = load["table"]
        return Propeller(
            diameter=load["diameter_mm"] * MM,
            pitch=load["pitch_mm"] * MM,
            thrust_coefficient=load["thrust_coefficient"],
            power_coefficient=load["power_coefficient"],
            table=table and tuple((speed * RPM, thrust, power) for speed, thrust, power in table),
            medium=load["medium"] or around,
        )
    if load["kind"] == "torque-curve":
        return TorqueCurve(
            speed=tuple(speed * RPM for speed in load["speed_rpm"]),
            torques=tuple(float(torque) for torque in load["torque_Nm"]),
        )
    if load["kind"] == "constant-torque":
        return TorqueCurve(speed=(0.0,), torques=(float(load["torque_Nm"]),))
    return None


def _cooling(cooling: Mapping[str, Any]) -> Cooling:
    return Cooling(
        medium=cooling["medium"],
        ambient_C=cooling["ambient_C"],
        airflow=cooling["airflow_m_per_s"],
        air_density=cooling["air_density_kg_per_m3"],
    )


def _as_built(built: Mapping[str, Any]) -> AsBuilt:
    return AsBuilt(
        magnets=tuple(
            BuiltMagnet(
                index=int(entry["index"]),
                remanence_factor=entry.get("remanence_factor", 1.0),
                tilt=entry.get("tilt_deg", 0.0) * DEG,
            )
            for entry in built["magnets"] or ()
        ),
        coils=tuple(
            BuiltCoil(
                tooth=int(entry["tooth"]),
                is_reversed=entry.get("reversed", False),
                turns=None if entry.get("turns") is None else int(entry["turns"]),
                phase=entry.get("phase"),
            )
            for entry in built["coils"] or ()
        ),
        rotor_offset=built["rotor_offset_mm"] * MM,
    )
