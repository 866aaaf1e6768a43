"""Materials of the user's own: what is taken over, and what is said of mistakes."""

import math
from typing import Any

import pytest

from fem_motor.design import MotorDesign, starter_design
from fem_motor.errors import DesignError, MaterialError
from fem_motor.materials import (
    Conductor,
    Core,
    Magnet,
    Structure,
    load_library,
    material_from_table,
)

MU_0 = 4e-7 * math.pi
LIBRARY = load_library()
KNEE = [[0, 0], [100, 0.8], [1000, 1.4]]


def core(**table: Any) -> Core:  # noqa: ANN401  (whatever stands in a file)
    found = material_from_table("mine", {"kind": "core"} | table)
    assert isinstance(found, Core)
    return found


def complaint(**table: Any) -> MaterialError:  # noqa: ANN401  (whatever stands in a file)
    with pytest.raises(MaterialError) as caught:
        material_from_table("mine", table)
    return caught.value


# -- what is read ------------------------------------------------------------------------------


def test_values_arrive_in_si() -> None:
    magnet = material_from_table(
        "mine",
        {
            "kind": "magnet",
            "remanence_T": 1.2,
            "recoil_permeability": 1.05,
            "intrinsic_coercivity_kA_per_m": 955,
            "strength_MPa": 80,
            "density_kg_per_m3": 7500,
        },
    )
    assert isinstance(magnet, Magnet)
    assert magnet.intrinsic_coercivity == 955e3
    assert magnet.strength == 80e6
    assert magnet.density == 7500
    assert magnet.source == "stated in the file"


def test_coefficients_that_nobody_gives_are_zero() -> None:
    magnet = material_from_table(
        "mine", {"kind": "magnet", "remanence_T": 1.2, "recoil_permeability": 1.05}
    )
    assert isinstance(magnet, Magnet)
    assert magnet.remanence_at(120) == 1.2
    wire = material_from_table("mine", {"kind": "conductor", "resistivity_ohm_m": 2e-8})
    assert isinstance(wire, Conductor)
    assert wire.resistivity_at(120) == 2e-8


def test_like_takes_over_what_is_not_said() -> None:
    parent, child = (
        LIBRARY["ndfeb-n42h"],
        material_from_table("mine", {"like": "ndfeb-n42h", "remanence_T": 1.25}),
    )
    assert isinstance(parent, Magnet)
    assert isinstance(child, Magnet)
    assert (child.name, child.remanence) == ("mine", 1.25)
    assert child.intrinsic_coercivity == parent.intrinsic_coercivity
    assert child.remanence_per_K == parent.remanence_per_K
    assert child.maximum_temperature_C == parent.maximum_temperature_C


def test_a_law_of_its_own_replaces_the_whole_law_of_the_parent() -> None:
    child = core(like="iron-filled-pla-10vol", relative_permeability=1.6)
    assert child.curve.is_linear
    assert child.curve.initial_permeability == pytest.approx(1.6, rel=1e-12)
    assert child.relative_permeability_range is None
    assert child.density == 1903


def test_the_source_of_a_changed_material_says_that_it_was_changed() -> None:
    parent = LIBRARY["pla"]
    changed = material_from_table("mine", {"like": "pla", "density_kg_per_m3": 1300})
    renamed = material_from_table("mine", {"like": "pla", "summary": "blue"})
    measured = material_from_table(
        "mine", {"like": "pla", "density_kg_per_m3": 1300, "source": "weighed"}
    )
    assert changed.source == f"stated in the file; else as pla: {parent.source}"
    assert renamed.source == parent.source
    assert measured.source == "weighed"


def test_a_share_of_iron_may_come_with_its_measured_permeability() -> None:
    found = core(iron_volume_fraction=0.2, relative_permeability=1.9)
    assert found.curve.initial_permeability == pytest.approx(1.9, rel=1e-9)
    assert not found.curve.is_linear


def test_a_table_that_ends_a_millionth_below_vacuum_is_taken() -> None:
    # Tables are printed with few digits; a slope of μ₀ may come out a little less.
    rise = MU_0 * 1e6
    found = core(bh_table=[[0, 0], [1000, 1.5], [1_001_000, 1.5 + rise * (1 - 5e-7)]])
    assert found.curve.field_strength(found.curve.points).max() >= 1_001_000 * (1 - 1e-12)


# -- what is said of mistakes ------------------------------------------------------------------

NOT_A_TABLE = (
    "materials.mine.bh_table is not a B-H table.\n"
    "  why: rows [H in A/m, B in T].\n"
    "  do:  give rows like [[0, 0], [100, 0.8], [1000, 1.4]]."
)
TOO_SHORT = (
    "materials.mine.bh_table is not a B-H table.\n"
    "  why: it needs two rows or more, each with H in A/m and B in T.\n"
    "  do:  give rows like [[0, 0], [100, 0.8], [1000, 1.4]]."
)
NOT_FINITE = (
    "materials.mine.bh_table holds entries that are not finite numbers.\n"
    "  why: every row is H in A/m and B in T.\n"
    "  do:  mend or leave out these rows."
)
NO_START = (
    "materials.mine.bh_table does not begin at (0, 0).\n"
    "  why: its first row is (100 A/m, 0.8 T).\n"
    "  do:  begin with the row [0, 0]."
)
FALLING = (
    "materials.mine.bh_table does not rise from row {} to row {}.\n"
    "  why: ({} A/m, {} T) is followed by ({} A/m, {} T).\n"
    "  do:  sort the rows; take an anhysteretic or normal magnetisation curve."
)
GAUSS = (
    "materials.mine.bh_table goes beyond what any material carries in row 2.\n"
    "  why: B = 8000 T at 100 A/m; the best alloys saturate at 2.4 T.\n"
    "  do:  check the units: B in T, not mT or gauss (10 000 gauss are 1 T); H in A/m."
)
BELOW_VACUUM = (
    "materials.mine.bh_table rises less than vacuum from row 2 to row 3.\n"
    "  why: B grows by 1 T, in vacuum by 1.25664 T.\n"
    "  do:  check whether the table gives J instead of B (B = J + μ₀ H), and its units."
)


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        ([], NOT_A_TABLE),
        (5, NOT_A_TABLE),
        ("0 0", NOT_A_TABLE),
        ([0, 100], NOT_A_TABLE),
        ([[0, 0], [100, 0.8, 3]], NOT_A_TABLE),
        ([[0, 0], ["100", 0.8]], NOT_A_TABLE),
        ([[0, 0], [True, 0.8]], NOT_A_TABLE),
        ([[0, 0], [10**400, 0.8]], NOT_A_TABLE),
        ([[0, 0]], TOO_SHORT),
        ([[0, 0], [100, math.nan], [math.inf, 1.4]], NOT_FINITE),
        ([[100, 0.8], [1000, 1.4]], NO_START),
        ([[0, 0], [100, 0.8], [90, 1.4]], FALLING.format(2, 3, 100, 0.8, 90, 1.4)),
        ([[0, 0], [100, 0.8], [200, 0.8]], FALLING.format(2, 3, 100, 0.8, 200, 0.8)),
        ([[0, 0], [100, -0.8]], FALLING.format(1, 2, 0, 0, 100, -0.8)),
        ([[0, 0], [-100, 0.8]], FALLING.format(1, 2, 0, 0, -100, 0.8)),
        ([[0, 0], [100, 0.8], [1_000_100, 1.8]], BELOW_VACUUM),
        ([[0, 0], [100, 8000], [1000, 14000]], GAUSS),
    ],
    ids=lambda value: repr(value)[:40] if not isinstance(value, str) else "",
)
def test_a_wrong_table_gets_one_full_complaint(rows: object, text: str) -> None:
    assert str(complaint(kind="core", bh_table=rows)) == text


def test_no_more_than_three_rows_of_one_kind_are_complained_of() -> None:
    falling = [[0, 0]] + [[100 - n, 0.5 + n / 10] for n in range(9)]
    steep = [[1000 * n, 1e-4 * n] for n in range(12)]
    assert len(complaint(kind="core", bh_table=falling).problems) == 3
    assert len(complaint(kind="core", bh_table=steep).problems) == 3


def test_each_kind_of_fault_of_a_table_is_told() -> None:
    rows = [[1, 0.1], [100, 0.8], [90, 0.9], [80, 1.0], [70, 1.1], [60, 1.2], [10**6, 1.3]]
    told = [problem.what for problem in complaint(kind="core", bh_table=rows).problems]
    assert told == [
        "does not begin at (0, 0).",
        "does not rise from row 2 to row 3.",
        "does not rise from row 3 to row 4.",
        "does not rise from row 4 to row 5.",
        "rises less than vacuum from row 6 to row 7.",
    ]


def test_a_misspelt_key_is_answered_with_the_near_one() -> None:
    (problem,) = complaint(kind="core", bh_tabel=KNEE).problems
    assert problem.place == "materials.mine.bh_tabel"
    assert problem.what == "is not known."
    assert problem.why.startswith("a core has the keys kind, like, summary, source, ")
    assert problem.do == 'did you mean "bh_table"?'


def test_an_unknown_key_without_neighbours_is_to_be_left_out() -> None:
    (problem,) = complaint(like="pla", zzz=1).problems
    assert problem.what == "is not known."
    assert problem.do == "leave it out."


def test_a_key_of_another_kind_is_refused() -> None:
    (problem,) = complaint(like="pla", remanence_T=1.2).problems
    assert problem.what == "does not belong to a structure."


def test_all_mistakes_come_at_once() -> None:
    error = complaint(
        kind="magnet", remanence_T=12, recoil_permeability="1.05", density=7500, summary=""
    )
    assert [(problem.place, problem.what) for problem in error.problems] == [
        ("materials.mine.remanence_T", "= 12 is out of range."),
        ("materials.mine.recoil_permeability", '= "1.05" is not a number.'),
        ("materials.mine.density", "is not known."),
        ("materials.mine.summary", '= "" is not a text.'),
    ]
    assert error.problems[2].do == 'did you mean "density_kg_per_m3"?'


@pytest.mark.parametrize(
    ("value", "shown"),  # as TOML writes it
    [
        (math.nan, "nan"),
        (math.inf, "inf"),
        (True, "true"),
        ("4", '"4"'),
        (None, "None"),
        ([4], "[4]"),
    ],
)
def test_what_is_no_number_is_not_taken_for_one(value: object, shown: str) -> None:
    (problem,) = complaint(kind="core", relative_permeability=value).problems
    assert problem.what == f"= {shown} is not a number."
    assert problem.do == "give a number from 1 to 1e+06."


def test_a_number_too_long_for_a_computer_is_out_of_range() -> None:
    (problem,) = complaint(kind="core", relative_permeability=10**400).problems
    assert problem.what == "= a number of more than 300 digits is out of range."


@pytest.mark.parametrize("span", [[2.0], [3.0, 2.0], [0.5, 2.0], 2, ["a", "b"]])
def test_a_range_goes_from_low_to_high(span: object) -> None:
    (problem,) = complaint(
        kind="core", relative_permeability=2.0, relative_permeability_range=span
    ).problems
    assert problem.what == f"= {span} is not a range."


def test_a_missing_kind_is_asked_for() -> None:
    assert str(complaint(density_kg_per_m3=1000)) == (
        "materials.mine.kind is missing.\n"
        "  why: the kind says which keys a material has.\n"
        "  do:  set it to one of core, magnet, conductor, structure, or use like."
    )


def test_an_unknown_parent_is_one_mistake_and_has_a_near_name() -> None:
    assert str(complaint(like="ndfeb-n42g")) == (
        'materials.mine.like = "ndfeb-n42g" is not in the library.\n'
        "  why: like takes over what is not said from a library material.\n"
        '  do:  did you mean "ndfeb-n42"? fem-motor materials lists all names.'
    )


@pytest.mark.parametrize(
    "laws",
    [
        {"bh_table": KNEE, "relative_permeability": 400},
        {"bh_table": KNEE, "iron_volume_fraction": 0.1},
        {"like": "pla", "kind": "core", "relative_permeability": 2, "iron_volume_fraction": 0.1},
    ],
)
def test_a_core_has_one_law(laws: dict[str, Any]) -> None:
    (problem,) = complaint(**({"kind": "core"} | laws)).problems
    assert problem.what.startswith("cannot stand beside ")
    assert problem.why == "a core has one law."


def test_a_core_without_a_law_is_asked_for_one() -> None:
    assert str(complaint(kind="core", density_kg_per_m3=7800)) == (
        "materials.mine has no law.\n"
        "  why: a core needs one of relative_permeability, bh_table, iron_volume_fraction.\n"
        "  do:  give one of them, or use like."
    )


def test_a_magnet_is_asked_for_all_that_it_lacks() -> None:
    error = complaint(kind="magnet")
    assert [problem.place for problem in error.problems] == [
        "materials.mine.remanence_T",
        "materials.mine.recoil_permeability",
    ]
    assert str(complaint(kind="conductor")).startswith("materials.mine.resistivity_ohm_m is miss")


def test_a_structure_needs_nothing_but_its_kind() -> None:
    assert isinstance(material_from_table("mine", {"kind": "structure"}), Structure)


# -- in a design file --------------------------------------------------------------------------


def test_a_design_file_says_the_line_of_a_mistake_in_a_material() -> None:
    text = starter_design() + '\n[materials.mine]\nkind = "core"\nbh_table = [[0, 0], [100, nan]]\n'
    line = text.splitlines().index("bh_table = [[0, 0], [100, nan]]") + 1
    with pytest.raises(DesignError) as caught:
        MotorDesign.from_toml(text, name="mine.toml")
    assert str(caught.value) == (
        f"mine.toml, line {line}: materials.mine.bh_table holds entries that are not finite "
        "numbers.\n"
        "  why: every row is H in A/m and B in T.\n"
        "  do:  mend or leave out these rows."
    )


def test_a_design_file_tells_the_mistakes_of_all_its_materials() -> None:
    text = starter_design() + (
        '\n[materials.first]\nkind = "core"\nrelative_permeabilty = 4\n'
        '[materials.second]\nkind = "structure"\nremanence_T = 1.2\n'
    )
    with pytest.raises(DesignError) as caught:
        MotorDesign.from_toml(text)
    assert [problem.what for problem in caught.value.problems] == [
        "is not known.",
        "does not belong to a structure.",
    ]
    assert caught.value.problems[0].do == 'did you mean "relative_permeability"?'
