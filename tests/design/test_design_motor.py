"""What the file says in millimetres, degrees and rpm reaches the motor in SI, key by key."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from fem_motor.design import MotorDesign, starter_design
from fem_motor.design.keys import KEYS
from fem_motor.design.motor import Propeller, TorqueCurve

STARTER = MotorDesign.from_toml(starter_design())

MM, MILLI = 1e-3, 1e-3
DEG = math.pi / 180
RPM = math.pi / 30

ARCS = {"rotor__magnet_shape": "arc", "rotor__magnet_width_mm": None}
CURVE = {"load": {"kind": "torque-curve", "speed_rpm": [0, 1], "torque_Nm": [0.1, 0.2]}}
HALBACH = {
    "rotor__magnet_layout": "halbach",
    "rotor__segments_per_pole": 3,
    "rotor__magnet_width_mm": 3.0,
}
RING = {"rotor__ring_material": "steel-dc01", "rotor__ring_thickness_mm": 1.5}
ARC = {**ARCS, "rotor__magnet_arc_fraction": 0.8}
MORE_SLOTS = {"stator__tooth_width_mm": 2.5, "winding__turns_per_tooth": 5}
BARE = {"winding__wire_awg": None}
COILS = ("U+", "V+", "W+") * 6

Read = Callable[[Any], Any]  # from a motor whose kind of load the row knows

# Key, a value that is not the starter's, where it stands in the motor, its size there, and what
# else has to change with it.
ROWS: tuple[tuple[str, Any, Read, Any, dict[str, Any]], ...] = (
    ("title", "Reed boat", lambda m: m.title, "Reed boat", {}),
    ("machine.slots", 24, lambda m: m.stator.slots, 24, MORE_SLOTS),
    ("machine.poles", 14, lambda m: m.rotor.poles, 14, {}),
    ("machine.stack_length_mm", 25, lambda m: m.stack_length, 25 * MM, {}),
    ("machine.air_gap_mm", 0.7, lambda m: m.air_gap, 0.7 * MM, {}),
    ("stator.outer_diameter_mm", 58, lambda m: m.stator.outer_radius, 29 * MM, {}),
    ("stator.inner_diameter_mm", 20, lambda m: m.stator.inner_radius, 10 * MM, {}),
    ("stator.yoke_thickness_mm", 5, lambda m: m.stator.yoke_thickness, 5 * MM, {}),
    ("stator.tooth_width_mm", 3, lambda m: m.stator.tooth_width, 3 * MM, {}),
    ("stator.slot_opening_mm", 2, lambda m: m.stator.slot_opening, 2 * MM, {}),
    ("stator.tip_thickness_mm", 1.2, lambda m: m.stator.tip_thickness, 1.2 * MM, {}),
    ("stator.tip_taper_deg", 30, lambda m: m.stator.tip_taper, 30 * DEG, {}),
    ("stator.slot_liner_mm", 0.2, lambda m: m.stator.slot_liner, 0.2 * MM, {}),
    ("stator.core", "m400-50a", lambda m: m.stator.core.name, "m400-50a", {}),
    ("stator.core_fraction", 0.9, lambda m: m.stator.core_fraction, 0.9, {}),
    ("rotor.magnet_layout", "halbach", lambda m: m.rotor.magnet_layout, "halbach", HALBACH),
    ("rotor.segments_per_pole", 3, lambda m: m.rotor.segments, 48, HALBACH),
    ("rotor.strong_side", "outside", lambda m: m.rotor.strong_side, "outside", {}),
    ("rotor.magnet_shape", "arc", lambda m: m.rotor.magnet_shape, "arc", ARC),
    ("rotor.magnet_arc_fraction", 0.8, lambda m: m.rotor.magnet_arc_fraction, 0.8, ARCS),
    ("rotor.magnet_width_mm", 7, lambda m: m.rotor.magnet_width, 7 * MM, {}),
    ("rotor.magnet_thickness_mm", 4, lambda m: m.rotor.magnet_thickness, 4 * MM, {}),
    ("rotor.magnetisation", "radial", lambda m: m.rotor.magnetisation, "radial", ARC),
    ("rotor.magnet", "ndfeb-n45h", lambda m: m.rotor.magnet.name, "ndfeb-n45h", {}),
    ("rotor.pocket_skin_mm", 0.4, lambda m: m.rotor.pocket_skin, 0.4 * MM, {}),
    ("rotor.ring_material", "m400-50a", lambda m: m.rotor.ring.name, "m400-50a", RING),
    ("rotor.ring_thickness_mm", 1.5, lambda m: m.rotor.ring_thickness, 1.5 * MM, RING),
    ("rotor.housing_material", "petg", lambda m: m.rotor.housing.name, "petg", {}),
    ("rotor.housing_thickness_mm", 2, lambda m: m.rotor.housing_thickness, 2 * MM, {}),
    ("winding.turns_per_tooth", 12, lambda m: m.winding.turns_per_tooth, 12, {}),
    ("winding.strands", 1, lambda m: m.winding.strands, 1, {}),
    # American wire gauge: 0.127 mm · 92^((36 − n)/39), ASTM B258, from memory.
    ("winding.wire_awg", 36, lambda m: m.winding.wire_diameter, 0.127 * MM, {}),
    ("winding.wire_diameter_mm", 0.4, lambda m: m.winding.wire_diameter, 0.4 * MM, BARE),
    ("winding.layers", 1, lambda m: m.winding.layers, 1, {}),
    ("winding.connection", "delta", lambda m: m.winding.connection, "delta", {}),
    ("winding.parallel_circuits", 2, lambda m: m.winding.parallel_circuits, 2, {}),
    ("winding.coils", list(COILS), lambda m: m.winding.coils, COILS, {}),
    ("winding.lead_length_mm", 250, lambda m: m.winding.lead_length, 250 * MM, {}),
    ("drive.supply_voltage_V", 14.8, lambda m: m.drive.supply_voltage, 14.8, {}),
    ("drive.supply_resistance_mohm", 30, lambda m: m.drive.supply_resistance, 30 * MILLI, {}),
    ("drive.controller", "sine", lambda m: m.drive.controller, "sine", {}),
    ("drive.controller_resistance_mohm", 6, lambda m: m.drive.controller_resistance, 6 * MILLI, {}),
    ("drive.current_limit_A", 40, lambda m: m.drive.current_limit, 40, {}),
    ("drive.rated_current_A", 8, lambda m: m.drive.rated_current, 8, {}),
    ("drive.timing_advance_deg", 18, lambda m: m.drive.timing_advance, 18 * DEG, {}),
    (
        "drive.max_electrical_rpm", 60_000, lambda m: m.drive.maximum_electrical_speed,
        60_000 * RPM, {},
    ),
    ("load.kind", "none", lambda m: m.load, None, {"load": {"kind": "none"}}),
    ("load.diameter_mm", 300, lambda m: m.load.diameter, 300 * MM, {}),
    ("load.pitch_mm", 150, lambda m: m.load.pitch, 150 * MM, {}),
    ("load.thrust_coefficient", 0.1, lambda m: m.load.thrust_coefficient, 0.1, {}),
    ("load.power_coefficient", 0.04, lambda m: m.load.power_coefficient, 0.04, {}),
    (
        "load.table", [[0, 0.12, 0.05], [9000, 0.11, 0.04]], lambda m: m.load.table,
        ((0.0, 0.12, 0.05), (9000 * RPM, 0.11, 0.04)),
        {"load__thrust_coefficient": None, "load__power_coefficient": None},
    ),
    ("load.medium", "water", lambda m: m.load_medium, "water", {}),
    ("load.speed_rpm", [0, 5000], lambda m: m.load.speed, (0.0, 5000 * RPM), CURVE),
    ("load.torque_Nm", [0.1, 0.3], lambda m: m.load.torques, (0.1, 0.3), CURVE),
    ("cooling.medium", "water", lambda m: m.cooling.medium, "water", {}),
    ("cooling.ambient_C", 15, lambda m: m.cooling.ambient_C, 15, {}),
    ("cooling.airflow_m_per_s", 3, lambda m: m.cooling.airflow, 3, {}),
    ("cooling.air_density_kg_per_m3", 1.1, lambda m: m.cooling.air_density, 1.1, {}),
    ("as_built.magnets", [{"index": 3}], lambda m: m.as_built.magnets[0].index, 3, {}),
    ("as_built.coils", [{"tooth": 4}], lambda m: m.as_built.coils[0].tooth, 4, {}),
    ("as_built.rotor_offset_mm", 0.1, lambda m: m.as_built.rotor_offset, 0.1 * MM, {}),
)  # fmt: skip


def test_every_key_has_its_row_here() -> None:
    rows, keys = [row[0] for row in ROWS], [key.path for key in KEYS]
    missing = [key for key in keys if key not in rows]
    assert rows == keys, f"give ROWS a row for {missing}, all in the order of design/keys.py"


@pytest.mark.parametrize(
    ("path", "value", "read", "expected", "others"), ROWS, ids=[row[0] for row in ROWS]
)
def test_a_key_reaches_its_place_in_the_motor_in_si(
    path: str, value: object, read: Read, expected: object, others: dict[str, Any]
) -> None:
    motor = STARTER.replace(path, value, **others).motor
    found = read(motor)
    if isinstance(expected, float):
        assert found == pytest.approx(expected, rel=1e-14)
    else:
        assert found == expected


def test_a_constant_torque_is_a_curve_of_one_point() -> None:
    load = STARTER.replace("load", {"kind": "constant-torque", "torque_Nm": 0.25}).motor.load
    assert load == TorqueCurve(speed=(0.0,), torques=(0.25,))


def test_the_magnets_lie_outside_tips_gap_and_skin() -> None:
    rotor = STARTER.replace("rotor.pocket_skin_mm", 0.4).motor.rotor
    assert rotor.magnet_inner_radius == pytest.approx((28 + 0.8 + 0.4) * MM, rel=1e-14)


def test_what_was_built_otherwise_reaches_the_motor_in_si() -> None:
    built = STARTER.replace(
        as_built__magnets=[{"index": 3.0, "remanence_factor": -1, "tilt_deg": 90}, {"index": 4}],
        as_built__coils=[{"tooth": 2, "reversed": True, "turns": 13, "phase": "W"}, {"tooth": 5}],
        as_built__rotor_offset_mm=0.1,
    ).motor.as_built
    first, second = built.magnets
    assert (first.index, first.remanence_factor) == (3, -1)
    assert isinstance(first.index, int)
    assert first.tilt == pytest.approx(math.pi / 2, rel=1e-15)
    assert (second.remanence_factor, second.tilt) == (1.0, 0.0)
    coil, plain = built.coils
    assert (coil.tooth, coil.is_reversed, coil.turns, coil.phase) == (2, True, 13, "W")
    assert (plain.is_reversed, plain.turns, plain.phase) == (False, None, None)
    assert built.rotor_offset == pytest.approx(1e-4, rel=1e-15)


def test_a_published_propeller_gives_its_thrust_and_torque() -> None:
    # Ten by 4.7 inches at 6528 rpm, density 1.225: Brandt and Selig, AIAA 2011-1255. The digits
    # follow from CT 0.1299 and CP 0.0531 by hand: T 7.840 N, P 88.57 W, Q 0.12956 N m.
    propeller = Propeller(
        medium="air",
        diameter=0.254, pitch=0.11938, thrust_coefficient=0.1299, power_coefficient=0.0531,
        table=None,
    )  # fmt: skip
    speed = 6528 * math.pi / 30
    assert propeller.thrust(speed, 1.225) == pytest.approx(7.840, abs=5e-4)
    assert propeller.torque(speed, 1.225) == pytest.approx(0.12956, abs=5e-6)
    assert propeller.torque(speed, 1.225) * speed == pytest.approx(88.57, abs=5e-3)


@pytest.mark.parametrize(
    ("around", "said", "density"),
    [("air", None, 1.2), ("water", None, 998), ("air", "water", 998), ("water", "air", 1.2)],
)
def test_a_propeller_turns_in_what_the_motor_stands_in_unless_told_otherwise(
    around: str, said: str | None, density: float
) -> None:
    # Fresh water at 20 °C: 998 kg/m³ (IAPWS, from memory).
    motor = STARTER.replace(cooling__medium=around, load__medium=said).motor
    assert motor.load_density == pytest.approx(density, rel=1e-3)


def test_a_propeller_table_is_read_between_its_rows_and_a_curve_between_its_points() -> None:
    table = ((100.0, 0.10, 0.04), (200.0, 0.12, 0.05))
    propeller = Propeller(
        medium="air",
        diameter=0.2,
        pitch=0.1,
        thrust_coefficient=None,
        power_coefficient=None,
        table=table,
    )
    turns = 150 / (2 * math.pi)
    assert propeller.thrust(150.0, 1.2) == pytest.approx(0.11 * 1.2 * turns**2 * 0.2**4)
    curve = TorqueCurve(speed=(0.0, 100.0), torques=(0.0, 0.4))
    assert curve.torque(25.0, 1.2) == pytest.approx(0.1)
    assert curve.thrust(25.0, 1.2) is None
