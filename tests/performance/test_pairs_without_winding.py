"""A design whose slots and poles cannot be wound: the file is named, and nothing is printed."""

import json
import pickle
from pathlib import Path
from typing import Any

import pytest

import fem_motor as fm
from fem_motor.cli import main
from fem_motor.design import starter_design
from fem_motor.errors import DesignError, FemMotorError, MeshError, Problem

EXPECTED = (
    "{file}: machine.slots, machine.poles = 18, 18 has no balanced three-phase winding.\n"
    "  why: around 9 pole pairs the voltages of 18 coils have 2 directions, which do not fall "
    "into three equal groups 120° apart.\n"
    "  do:  use machine.poles = 16 or 20 with 18 slots, or machine.slots = 27 with 18 poles."
)
"""18 / gcd(18, 9) = 2 directions, no multiple of three; 18 for 8 and 9 for 10 pole pairs, and
27 / gcd(27, 9) = 3. J. Cros and P. Viarouge, IEEE Trans. Energy Convers. 17 (2002) 248, from
memory."""

COILS = f"coils = {json.dumps(['U+', 'V+', 'W+'] * 6)}"


@pytest.fixture(params=["best layout", "as wound"])
def bad_file(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: Any) -> str:  # noqa: ANN401  (pytest's own)
    """Return the name of a file with 18 slots and 18 poles, with and without a list of coils."""
    monkeypatch.chdir(tmp_path)
    text = starter_design().replace("poles = 16", "poles = 18")
    if request.param == "as wound":
        text = text.replace("[winding]", f"[winding]\n{COILS}")
    Path("bad.toml").write_text(text, encoding="utf-8")
    return "bad.toml"


@pytest.mark.parametrize(
    "verb", [["check"], ["run"], ["run", "--json"], ["sweep", "--from=0", "--to=1", "--points=2"]]
)
def test_a_pair_without_a_winding_is_bad_input_with_the_name_of_its_file(
    bad_file: str, verb: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([verb[0], bad_file, *verb[1:]]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == EXPECTED.format(file=bad_file) + "\n"
    assert [path.name for path in Path.cwd().iterdir()] == [bad_file]


@pytest.mark.parametrize("function", [fm.check, fm.run, fm.solve_field])
def test_functions_name_the_file_as_well(bad_file: str, function: Any) -> None:  # noqa: ANN401  (three of them)
    with pytest.raises(DesignError) as caught:
        function(fm.load_design(bad_file))
    assert str(caught.value) == EXPECTED.format(file=bad_file)


def test_an_error_placed_in_a_file_keeps_kind_and_problems_and_goes_to_a_worker() -> None:
    error = MeshError.from_problems([Problem(what="a.", place="p", do="d."), Problem(what="b.")])
    placed: FemMotorError = error.placed_in("boat.toml")
    assert type(placed) is MeshError
    assert str(placed) == "boat.toml: p a.\n  do:  d.\nboat.toml b."
    assert str(error) == "p a.\n  do:  d.\nb."
    assert str(pickle.loads(pickle.dumps(placed))) == str(placed)  # noqa: S301  (our own bytes)
