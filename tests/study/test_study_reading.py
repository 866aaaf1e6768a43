"""A study file is a study, or one error that says all that is wrong with it."""

from pathlib import Path

import pytest
from small_studies import GEOMETRIES, RING, study_file

from fem_motor.errors import InputError
from fem_motor.study import load_study
from fem_motor.study.study_file.keys import study_key_reference

STUDIES = Path(__file__).parents[2] / "studies"


def complaints(folder: Path, text: str) -> list[str]:
    """Return what is wrong with a study, each without the name of its file."""
    path = study_file(folder, text)
    with pytest.raises(InputError) as caught:
        load_study(path)
    assert caught.value.exit_code == 2
    for problem in caught.value.problems:
        assert problem.do
    return [f"{one.place} {one.what}".removeprefix(str(path)) for one in caught.value.problems]


@pytest.mark.parametrize("path", sorted(STUDIES.glob("*.toml")), ids=lambda path: path.stem)
def test_the_shipped_studies_can_be_read(path: Path) -> None:
    study = load_study(path)
    assert study.question.endswith("?")
    assert study.verdict is not None
    assert 2 <= study.designs <= 200


def test_a_study_says_what_it_varies(tmp_path: Path) -> None:
    study = load_study(study_file(tmp_path))
    assert study.designs == 3
    (axis,) = study.axes
    assert axis.name == "rotor.magnet_thickness_mm"
    assert [step.label for step in axis.steps] == ["2.5", "3", "3.5"]
    assert [dict(step.changes) for step in axis.steps] == [
        {"rotor.magnet_thickness_mm": value} for value in (2.5, 3.0, 3.5)
    ]


def test_ranges_with_points_reach_both_ends(tmp_path: Path) -> None:
    text = RING.replace("values = [2.5, 3.0, 3.5]", "from = 2.0\nto = 4.0\npoints = 5")
    (axis,) = load_study(study_file(tmp_path, text)).axes
    assert [step.changes["rotor.magnet_thickness_mm"] for step in axis.steps] == [2, 2.5, 3, 3.5, 4]


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('title = "Ring"', "", ": title is missing."),
        ('title = "Ring"', 'title = ""', ', line 2: title = "" is wrong.'),
        ('title = "Ring"', 'titel = "Ring"', ", line 2: titel is not known."),
        ('quality = "draft"', 'quality = "best"', ', line 5: quality = "best" is wrong.'),
        ("record = [", "record = [4, ", None),
        ("motor_constant_Nm_per_sqrtW", "motor_constant", None),
        ('key = "rotor.', 'key = "rotr.', None),
        ("values = [2.5, 3.0, 3.5]", "values = []", ", line 10: axis 1.values = [] is wrong."),
        ("values = [2.5, 3.0, 3.5]", "", None),
        ("values = [2.5, 3.0, 3.5]", "from = 3.0\nto = 2.0", None),
        ("values = [2.5, 3.0, 3.5]", "from = 2.0\nto = 3.0", None),
        ("values = [2.5, 3.0, 3.5]", "from = nan\nto = 3.0", None),
        ("[verdict]", "[verdict]\nagainst = 4", None),
        ("[verdict]", '[sample]\nmethod = "magic"\nnumber = 3\n[verdict]', None),
        ("[verdict]", '[[figure]]\nkind = "curves"\nof = "smell"\n[verdict]', None),
        ("[verdict]", '[[figure]]\nkind = "values"\nof = "title"\n[verdict]', None),
        ("[verdict]", '[[limit]]\nof = "motor_constant_Nm_per_sqrtW"\n[verdict]', None),
        ("printed_18s16p", "printed_19s16p", None),
    ],
)
def test_each_fault_is_told(before: str, after: str, said: str | None, tmp_path: Path) -> None:
    found = complaints(tmp_path, RING.replace(before, after, 1))
    assert found
    if said is not None:
        assert said in found


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    text = RING.replace("title", "titel").replace("draft", "best").replace("3.0,", "{},")
    assert len(complaints(tmp_path, text)) >= 4


def test_too_many_designs_are_refused(tmp_path: Path) -> None:
    axis = '[[axis]]\nname = "{}"\nkey = "machine.air_gap_mm"\nfrom = 0.5\nto = 1.0\npoints = 101\n'
    text = RING.replace("[verdict]", axis.format("a") + axis.format("b") + "[verdict]")
    assert complaints(tmp_path, text) == [": axis makes 30603 designs."]


def test_a_design_is_no_study() -> None:
    with pytest.raises(InputError) as caught:
        load_study(GEOMETRIES / "printed_18s16p.toml")
    assert str(caught.value) == (
        f"{GEOMETRIES / 'printed_18s16p.toml'} is a design, not a study.\n"
        "  do:  name it as base in a study file; docs/user/studies.md shows one."
    )


def test_the_page_has_every_key() -> None:
    page = (STUDIES.parent / "docs" / "user" / "studies.md").read_text(encoding="utf-8")
    assert page.endswith(study_key_reference()), "write its end anew from study_key_reference()"
