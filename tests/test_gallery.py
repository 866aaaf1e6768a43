"""The gallery: every script draws its picture, and the number that it asserts holds."""

import importlib
import io
import re
import sys
from pathlib import Path

import pytest

GALLERY = Path(__file__).resolve().parent.parent / "docs" / "gallery"
SCRIPTS = sorted(GALLERY.glob("[0-9][0-9]_*.py"))
EVERY = pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.stem)


@pytest.fixture(autouse=True)
def _scripts_find_their_tools(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(GALLERY))


@pytest.mark.slow
@EVERY
def test_a_script_draws_its_picture_and_its_number_holds(script: Path) -> None:
    figure = importlib.import_module(script.stem).picture()
    stream = io.BytesIO()
    figure.savefig(stream, format="png")
    assert stream.getvalue().startswith(b"\x89PNG")
    sys.modules.pop(script.stem)


@EVERY
def test_a_script_asserts_one_number(script: Path) -> None:
    text = script.read_text(encoding="utf-8")
    assert len(re.findall(r"^ +assert ", text, re.MULTILINE)) == 1


@EVERY
def test_a_script_is_on_the_page_of_the_gallery(script: Path) -> None:
    assert f"({script.name})" in (GALLERY / "README.md").read_text(encoding="utf-8")


def test_scripts_are_numbered_without_gaps() -> None:
    numbers = [int(script.name[:2]) for script in SCRIPTS]
    assert numbers == list(range(1, len(SCRIPTS) + 1))
