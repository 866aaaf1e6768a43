"""What cannot be built is refused with the reason in the maker's words, and just within it is not.

Lengths of the starter, mm: 18 slots, tips at a radius of 28, slots between 15 (yoke) and 27
(tips), teeth 4 wide, openings 1.8, liner 0.3; 16 blocks around a bore of 57.6.
"""

import math
from typing import Any

import pytest

from fem_motor.design import MotorDesign, check_design, coil_side_area, starter_design
from fem_motor.errors import DesignError
from fem_motor.units import MM
from fem_motor.winding import wind

STARTER = MotorDesign.from_toml(starter_design())


def refusal(**changes: Any) -> str:  # noqa: ANN401  (any value of any key)
    """Return the text with which the changed starter is refused."""
    with pytest.raises(DesignError) as caught:
        STARTER.replace(**changes)
    return str(caught.value)


def build(**changes: Any) -> None:  # noqa: ANN401  (any value of any key)
    """Let the changed starter be built: it is not refused."""
    STARTER.replace(**changes)


def test_teeth_that_meet_at_the_yoke_are_refused() -> None:
    # A chord of the yoke's circle over one slot pitch: 2 · 15 · sin 10° = 5.2094.
    bare: dict[str, Any] = {"stator__slot_liner_mm": 0.0, "winding__turns_per_tooth": 1}
    assert refusal(stator__tooth_width_mm=5.21, **bare) == (
        "design: stator.tooth_width_mm = 5.21 makes the teeth meet at the yoke.\n"
        "  why: 18 teeth around a yoke of radius 15 mm touch at a width of 5.209 mm.\n"
        "  do:  narrow the teeth, use fewer slots, or a larger yoke radius."
    )
    build(stator__tooth_width_mm=5.209, **bare)


def test_a_yoke_that_leaves_no_slot_is_refused() -> None:
    assert refusal(stator__yoke_thickness_mm=16.0) == (
        "design: stator.yoke_thickness_mm = 16 leaves no slot.\n"
        "  why: the yoke ends at a radius of 27 mm, the tips begin at 27 mm.\n"
        "  do:  make the yoke or the tips thinner, or the hub seat smaller."
    )


def test_a_hub_seat_as_wide_as_the_stator_is_refused() -> None:
    assert refusal(stator__inner_diameter_mm=56.0) == (
        "design: stator.inner_diameter_mm = 56 does not fit the rest.\n"
        "  why: the outer diameter is 56 mm.\n"
        "  do:  give a smaller one."
    )


def test_an_opening_wider_than_the_slot_pitch_is_refused() -> None:
    # The tip circle over 18 slots: 2π · 28 / 18 = 9.7738.
    assert refusal(stator__slot_opening_mm=9.78) == (
        "design: stator.slot_opening_mm = 9.78 is wider than the slot pitch.\n"
        "  why: 18 slots share 9.774 mm each of the tooth-tip circle.\n"
        "  do:  narrow the opening."
    )


def test_an_opening_wider_than_the_slot_behind_it_is_refused() -> None:
    # Its sides are radial and meet the teeth at a radius of 27:
    # 2 · 28 · (10° − asin(2/27)) = 56 · (0.174533 − 0.074142) = 5.6219.
    assert refusal(stator__slot_opening_mm=5.63) == (
        "design: stator.slot_opening_mm = 5.63 cuts into the teeth.\n"
        "  why: the opening is wider than the slot behind it; it fits up to 5.622 mm.\n"
        "  do:  narrow the opening or the teeth."
    )
    build(stator__slot_opening_mm=5.62)


def test_a_tip_that_reaches_the_slot_bottom_is_refused() -> None:
    # Corner at a radius of 27 and 10° − 0.9/28 rad = 8.158°: (26.727, 3.832). Its underside falls
    # by 75° against the circumference, so it runs at 8.158° − 165° = −156.842° and meets the
    # tooth's side, 2 above its axis, after 1.832 / sin 23.158° = 4.658: at (22.445, 2), so 22.53.
    shallow: dict[str, Any] = {"stator__tip_taper_deg": 75.0, "winding__turns_per_tooth": 1}
    assert refusal(stator__yoke_thickness_mm=12.0, **shallow) == (
        "design: stator.tip_taper_deg = 75 runs into the slot bottom.\n"
        "  why: the underside of the tip meets the tooth at a radius of 22.53 mm; yoke and "
        "liner end at 23.6 mm.\n"
        "  do:  use a smaller taper or a deeper slot."
    )
    # Yoke and twice the liner at 11 + 10.9 + 0.6 = 22.5: just below.
    build(stator__yoke_thickness_mm=10.9, **shallow)


def test_a_tip_that_is_too_flat_and_thin_is_refused() -> None:
    # From the corner at 27.98 and 8.158° a tangent reaches the tooth's side after
    # (3.971 − 2) / cos 8.158° = 1.991, at a radius of √(27.98² + 1.991²) = 28.05: outside the tip.
    flat = refusal(stator__tip_thickness_mm=0.02, stator__tip_taper_deg=0.01)
    assert flat.splitlines()[0] == (
        "design: stator.tip_taper_deg = 0.01 lets the tip vanish at the tooth."
    )
    build(stator__tip_thickness_mm=0.02, stator__tip_taper_deg=0.0)
    # With 0.1 of thickness: √(27.9² + 1.98²) = 27.97.
    build(stator__tip_thickness_mm=0.1, stator__tip_taper_deg=0.01)


def test_copper_that_does_not_fit_the_slot_is_refused() -> None:
    # American wire gauge 24: 0.127 mm · 92^(12/39) = 0.5106 mm (ASTM B258, from memory), so one
    # turn of two strands has 0.40950 mm²; round wires fill at most π/√12 = 0.9069.
    turn = 2 * math.pi / 4 * (0.127 * 92 ** (12 / 39)) ** 2
    side = coil_side_area(STARTER.motor.stator) / MM**2
    most = int(math.pi / math.sqrt(12) * side / turn)
    build(winding__turns_per_tooth=most)
    assert refusal(winding__turns_per_tooth=most + 1) == (
        f"design: winding.turns_per_tooth = {most + 1} does not fit the slot.\n"
        f"  why: a coil side holds {side:.4g} mm² inside the liner, the bare copper of "
        f"{most + 1} turns of 2 × 0.511 mm takes {(most + 1) * turn:.4g} mm²; round wire fills at "
        "most 91 %.\n"
        "  do:  use fewer turns or strands, a thinner wire, or a larger slot; by hand 30 to 45 % "
        "can be reached (common practice, no source)."
    )


def test_one_layer_leaves_a_coil_the_whole_slot() -> None:
    turn = 2 * math.pi / 4 * (0.127 * 92 ** (12 / 39)) ** 2
    slot = 2 * coil_side_area(STARTER.motor.stator) / MM**2
    most = int(math.pi / math.sqrt(12) * slot / turn)
    build(winding__turns_per_tooth=most, winding__layers=1)
    assert "does not fit the slot" in refusal(winding__turns_per_tooth=most + 1, winding__layers=1)


def test_a_liner_that_closes_the_slot_is_refused() -> None:
    # At the bottom the liners of tooth and slot axis touch where sin 10° = (2 + l)/(15 + l):
    # l = (15 sin 10° − 2)/(1 − sin 10°) = 0.7324.
    thin: dict[str, Any] = {"winding__turns_per_tooth": 1}
    assert refusal(stator__slot_liner_mm=0.74, **thin) == (
        "design: stator.slot_liner_mm = 0.74 leaves no room for copper.\n"
        "  why: the slot is 12 mm deep between yoke and tips, and the liner covers both sides.\n"
        "  do:  use a thinner liner, narrower teeth or a deeper slot."
    )
    build(stator__slot_liner_mm=0.73, **thin)


def test_blocks_that_overlap_are_refused() -> None:
    # Inner faces touch the bore at their middle and one another at their corners:
    # 57.6 · tan(180°/16) = 57.6 · 0.198912 = 11.4573.
    assert refusal(rotor__magnet_width_mm=11.46) == (
        "design: rotor.magnet_width_mm = 11.46 does not fit.\n"
        "  why: 16 blocks around a bore of 57.6 mm touch at a width of 11.46 mm.\n"
        '  do:  narrow the magnet, use fewer poles, or set magnet_shape = "arc".'
    )
    build(rotor__magnet_width_mm=11.457)


def test_two_magnets_a_pole_have_half_the_room() -> None:
    # 57.6 · tan(180°/32) = 57.6 · 0.098491 = 5.6731.
    halbach: dict[str, Any] = {"rotor__magnet_layout": "halbach", "rotor__segments_per_pole": 2}
    assert "32 blocks around a bore of 57.6 mm touch at a width of 5.67 mm." in refusal(
        rotor__magnet_width_mm=5.68, **halbach
    )
    build(rotor__magnet_width_mm=5.673, **halbach)


def test_a_skin_over_the_magnets_widens_the_bore() -> None:
    # (57.6 + 2 · 0.5) · tan 11.25° = 11.6563.
    build(rotor__magnet_width_mm=11.656, rotor__pocket_skin_mm=0.5)
    assert "a bore of 58.6 mm touch at a width of 11.66 mm" in refusal(
        rotor__magnet_width_mm=11.657, rotor__pocket_skin_mm=0.5
    )


def test_arcs_may_touch_but_not_overlap() -> None:
    arcs: dict[str, Any] = {"rotor__magnet_shape": "arc", "rotor__magnet_width_mm": None}
    build(rotor__magnet_arc_fraction=1.0, **arcs)
    assert "= 1.01 is out of range" in refusal(rotor__magnet_arc_fraction=1.01, **arcs)


def test_the_corners_of_a_block_do_not_cut_the_ring() -> None:
    # The outer corners of a block 8 wide and 3 thick on a radius of 28.8 lie at √(31.8² + 4²).
    rotor = STARTER.replace(
        rotor__ring_material="steel-dc01", rotor__ring_thickness_mm=1.5
    ).motor.rotor
    assert rotor.magnet_outer_radius == pytest.approx(32.05058501e-3, rel=1e-9)
    assert rotor.ring_outer_radius == pytest.approx(33.55058501e-3, rel=1e-9)
    assert rotor.housing_outer_radius == pytest.approx(36.55058501e-3, rel=1e-9)


def test_a_pair_of_slots_and_poles_without_a_winding_is_told_the_nearest_ones() -> None:
    # Three equal groups need 18 / gcd(18, pole pairs) to be a multiple of three: 18 for 8 and 9
    # for 10 pairs, but 2 for 9. For 9 pairs: 27 / gcd(27, 9) = 3, and for no smaller number.
    motor = STARTER.replace(machine__poles=18, rotor__magnet_width_mm=8.0).motor
    with pytest.raises(DesignError) as caught:
        wind(motor)
    assert "has no balanced three-phase winding." in str(caught.value)
    assert caught.value.problems[0].do == (
        "use machine.poles = 16 or 20 with 18 slots, or machine.slots = 27 with 18 poles."
    )


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        (
            {"as_built__magnets": [{"index": 3}, {"index": 4}, {"index": 3.0, "tilt_deg": 2}]},
            (
                "design: as_built.magnets names index 3 in 2 entries.\n"
                "  why: two entries for one part would contradict each other.\n"
                "  do:  say all about index 3 in one entry."
            ),
        ),
        (
            {"as_built__coils": [{"tooth": 5, "turns": 13}, {"tooth": 5, "reversed": True}]},
            (
                "design: as_built.coils names tooth 5 in 2 entries.\n"
                "  why: two entries for one part would contradict each other.\n"
                "  do:  say all about tooth 5 in one entry."
            ),
        ),
        (
            {"as_built__coils": [{"tooth": 4}], "winding__layers": 1},
            (
                "design: as_built.coils names tooth 4, which has no coil.\n"
                "  why: with one layer only teeth 1, 3, 5 … have coils.\n"
                "  do:  name a tooth with a coil, or put the coil into winding.coils."
            ),
        ),
        (
            {"as_built__coils": [{"tooth": 3}], "winding__coils": ["U+", "V+", ""] * 6},
            (
                "design: as_built.coils names tooth 3, which has no coil.\n"
                "  why: winding.coils leaves this tooth without a coil.\n"
                "  do:  name a tooth with a coil, or put the coil into winding.coils."
            ),
        ),
    ],
    ids=["magnet twice", "coil twice", "one layer", "empty tooth"],
)
def test_parts_that_are_not_as_designed_are_named_once_and_exist(
    changes: dict[str, Any], expected: str
) -> None:
    assert refusal(**changes) == expected


def test_one_entry_each_for_parts_that_exist_is_taken() -> None:
    build(
        as_built__magnets=[{"index": 3}, {"index": 4}],
        as_built__coils=[{"tooth": 3}, {"tooth": 5}],
        winding__layers=1,
    )


@pytest.mark.parametrize(
    ("changes", "place", "why", "do"),
    [
        (
            {"machine__poles": 15},
            "machine.poles",
            "north and south poles come in pairs.",
            "use an even number.",
        ),
        (
            {"winding__coils": ["U+", "V+", "W+"]},
            "winding.coils",
            "18 teeth need 18 entries.",
            'give one entry per tooth, "" for a tooth without a coil.',
        ),
        (
            {"machine__slots": 15, "winding__layers": 1},
            "winding.layers",
            "one layer puts a coil on every other tooth, which needs an even number of slots.",
            "use 2 layers or another number of slots.",
        ),
        (
            {"winding__coils": ["U+", "V+", "W+"] * 6, "winding__layers": 1},
            "winding.coils",
            "with one layer only teeth 1, 3, 5 … have coils.",
            'put "" on teeth 2, 4, 6 …, or use layers = 2.',
        ),
        (
            {"rotor__magnet_arc_fraction": 0.8},
            "rotor.magnet_arc_fraction",
            "it does not belong to block magnets.",
            "leave it out, or change magnet_shape; magnet_width_mm sets the width here.",
        ),
        (
            {"rotor__magnet_shape": "arc", "rotor__magnet_arc_fraction": 0.8},
            "rotor.magnet_width_mm",
            "it does not belong to arc magnets.",
            "leave it out, or change magnet_shape; magnet_arc_fraction sets the width here.",
        ),
        (
            {"rotor__magnet_layout": "halbach", "rotor__segments_per_pole": 1},
            "rotor.segments_per_pole",
            "a Halbach layout turns the magnetisation from segment to segment.",
            'use 2 to 12, or magnet_layout = "alternating".',
        ),
        (
            {"rotor__segments_per_pole": 2},
            "rotor.segments_per_pole",
            "alternating poles have one magnet each.",
            'use 1, or magnet_layout = "halbach".',
        ),
        (
            {"rotor__magnetisation": "radial"},
            "rotor.magnetisation",
            "only arcs of alternating poles can be magnetised radially.",
            'use "parallel".',
        ),
        (
            {"rotor__ring_material": "steel-dc01"},
            "rotor.ring_thickness_mm",
            "the ring of steel-dc01 has no thickness.",
            'give one, or ring_material = "none".',
        ),
        (
            {"rotor__ring_thickness_mm": 2.0},
            "rotor.ring_thickness_mm",
            'ring_material is "none".',
            "name a core material, or leave the thickness out.",
        ),
        (
            {"winding__wire_diameter_mm": 0.5},
            "winding.wire_diameter_mm",
            "the wire is given by its gauge or by its bare diameter, one of the two.",
            "give wire_awg or wire_diameter_mm.",
        ),
        (
            {"load__torque_Nm": 0.1},
            "load.torque_Nm",
            "it does not belong to this load of kind propeller.",
            "leave it out, or change load.kind.",
        ),
        (
            {"load__table": [[0, 0.1, 0.05]], "load__thrust_coefficient": None},
            "load.power_coefficient",
            "load.table has the coefficients over speed already.",
            "leave out the two coefficients, or the table.",
        ),
        (
            {"load": {"kind": "constant-torque", "torque_Nm": [0.1, 0.2]}},
            "load.torque_Nm",
            "a constant torque is one number.",
            "give one.",
        ),
        (
            {"load": {"kind": "torque-curve", "torque_Nm": [0.1, 0.2], "speed_rpm": [0.0]}},
            "load.torque_Nm",
            "every speed needs its torque.",
            "give two lists of one length.",
        ),
        (
            {"load": {"kind": "torque-curve", "torque_Nm": [0.1, 0.2], "speed_rpm": [9, 0]}},
            "load.speed_rpm",
            "the speeds must rise.",
            "sort the two lists.",
        ),
        (
            {"as_built__magnets": [{"index": 17}]},
            "as_built.magnets",
            "the motor has 16 magnets.",
            "give index from 1 to 16.",
        ),
        (
            {"as_built__coils": [{"tooth": 19}]},
            "as_built.coils",
            "the motor has 18 teeth.",
            "give tooth from 1 to 18.",
        ),
        (
            {"as_built__rotor_offset_mm": 0.8},
            "as_built.rotor_offset_mm",
            "the rotor touches the stator at 0.8 mm.",
            "give a smaller offset.",
        ),
        (
            {"rotor__magnet": "m400-50a"},
            "rotor.magnet",
            "the part needs a material of kind magnet.",
            "fem-motor materials lists the library; own ones stand in [materials.NAME].",
        ),
        (
            {"stator__core": "m400-50"},
            "stator.core",
            "the part needs a material of kind core.",
            (
                'did you mean "m400-50a"? fem-motor materials lists the library; '
                "own ones stand in [materials.NAME]."
            ),
        ),
        (
            {"rotor__magnet": "N42H"},
            "rotor.magnet",
            "the part needs a material of kind magnet.",
            (
                'did you mean "ndfeb-n42h"? fem-motor materials lists the library; '
                "own ones stand in [materials.NAME]."
            ),
        ),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else "",
)
def test_keys_that_do_not_go_together_are_refused(
    changes: dict[str, Any], place: str, why: str, do: str
) -> None:
    with pytest.raises(DesignError) as caught:
        STARTER.replace(**changes)
    (problem,) = caught.value.problems
    assert (problem.place, problem.why, problem.do) == (f"design: {place}", why, do)
    assert problem.what


@pytest.mark.parametrize(
    ("entry", "what"),
    [
        ({}, "entry 1: tooth is missing."),
        ({"tooth": 0}, "entry 1: tooth = 0 is wrong."),
        ({"tooth": 1.5}, "entry 1: tooth = 1.5 is wrong."),
        ({"tooth": 10**400}, "entry 1: tooth = a number of more than 300 digits is wrong."),
        ({"tooth": 1, "turn": 13}, "entry 1: turn is not known."),
        ({"tooth": 1, "turns": -1}, "entry 1: turns = -1 is wrong."),
        ({"tooth": 1, "phase": "A"}, 'entry 1: phase = "A" is wrong.'),
        ({"tooth": 1, "reversed": "yes"}, 'entry 1: reversed = "yes" is wrong.'),
        ({"tooth": 1, "reversed": math.nan}, "entry 1: reversed = nan is wrong."),
    ],
)
def test_a_coil_that_is_not_as_designed_is_checked_entry_by_entry(
    entry: dict[str, Any], what: str
) -> None:
    with pytest.raises(DesignError) as caught:
        STARTER.replace("as_built.coils", [entry])
    (problem,) = caught.value.problems
    assert (problem.place, problem.what) == ("design: as_built.coils", what)
    assert problem.do


def test_a_motor_to_be_wound_by_hand_is_watched_where_the_slot_is_full_or_the_gap_small() -> None:
    calm = check_design(STARTER)
    assert [finding.status for finding in calm] == ["ok", "ok", "ok"]
    turn = 2 * math.pi / 4 * (0.127 * 92 ** (12 / 39)) ** 2
    fill = 14 * turn / (coil_side_area(STARTER.motor.stator) / MM**2)
    assert calm[0].value == pytest.approx(fill, rel=1e-12)
    full = int(0.45 / fill * 14) + 1
    tight = STARTER.replace(
        winding__turns_per_tooth=full, machine__air_gap_mm=0.49, stator__slot_opening_mm=0.5
    )
    assert [finding.status for finding in check_design(tight)] == ["watch", "watch", "watch"]
    assert all(finding.why and finding.do for finding in check_design(tight))


def test_one_layer_of_the_same_coils_fills_half_as_much() -> None:
    one, two = check_design(STARTER.replace("winding.layers", 1))[0], check_design(STARTER)[0]
    assert one.value is not None
    assert two.value is not None
    assert one.value == pytest.approx(two.value / 2, rel=1e-12)
