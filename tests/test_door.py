"""The public door: what it hands out, that it is documented, and that opening it costs nothing."""

import ast
import importlib
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import fem_motor as fm

ROOT = Path(__file__).resolve().parent.parent
STUB = ast.parse((ROOT / "fem_motor" / "__init__.pyi").read_text(encoding="utf-8"))
PAGES = (ROOT / "README.md", *sorted((ROOT / "docs" / "user").glob("*.md")))
MOST_NAMES = 25
HEAVY = {"numpy", "scipy", "gmsh", "skfem", "matplotlib", "meshio", "cvxopt", "tomlkit"}

NAMES = [name for name in fm.__all__ if name != "__version__"]


def stub_names() -> list[str]:
    for node in STUB.body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            return [str(name) for name in ast.literal_eval(node.value)]
    return []


def stub_rooms() -> dict[str, str]:
    """Return the module from which the types of each name come."""
    return {
        alias.name: str(node.module)
        for node in STUB.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }


def page_examples() -> str:
    """Return the Python of all pages: lines that begin with a prompt, which the tests run."""
    lines = (line for page in PAGES for line in page.read_text(encoding="utf-8").splitlines())
    return "\n".join(line for line in lines if line.startswith((">>>", "...")))


def modules_after(statements: str) -> set[str]:
    """Return the top-level modules that a fresh interpreter holds after `statements`."""
    tell = "import sys; print(*sorted({name.partition('.')[0] for name in sys.modules}))"
    done = subprocess.run(  # noqa: S603  (this interpreter, on the lines of the tests below)
        (sys.executable, "-c", f"{statements}\n{tell}"),
        cwd=ROOT,
        capture_output=True,
        check=True,
        text=True,
    )
    return set(done.stdout.splitlines()[-1].split())


def test_public_names_are_few_sorted_and_the_same_for_types() -> None:
    assert fm.__all__ == sorted(set(fm.__all__))
    assert fm.__all__ == stub_names()
    assert len(fm.__all__) <= MOST_NAMES
    assert dir(fm) == fm.__all__


def test_no_public_name_is_also_a_room() -> None:
    # Importing a room sets its name on the package, and would hide the function behind it.
    parts = {path.stem for path in (ROOT / "fem_motor").iterdir()}
    assert not parts & set(fm.__all__)


@pytest.mark.parametrize("name", NAMES)
def test_a_public_name_is_what_its_types_say_and_stands_on_a_door(name: str) -> None:
    room = importlib.import_module(stub_rooms()[name])
    assert getattr(fm, name) is getattr(room, name)
    assert name in getattr(room, "__all__", [name])


@pytest.mark.parametrize("name", NAMES)
def test_a_public_name_has_a_docstring(name: str) -> None:
    assert getattr(fm, name).__doc__.strip()


@pytest.mark.parametrize("name", NAMES)
def test_a_public_name_has_an_example_that_runs(name: str) -> None:
    in_docstring = re.search(rf">>> .*\b{name}\b", getattr(fm, name).__doc__)
    in_pages = re.search(rf"\bfm\.{name}\b", page_examples())
    assert in_docstring or in_pages


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'rotor_sweeps'"):
        _ = fm.rotor_sweeps


def test_importing_the_package_imports_no_library() -> None:
    assert not modules_after("import fem_motor") & HEAVY


def test_the_help_page_imports_no_library() -> None:
    ask = (
        "import contextlib\n"
        "from fem_motor.cli import main\n"
        "with contextlib.suppress(SystemExit):\n"
        "    main(['--help'])\n"
    )
    assert not modules_after(ask) & HEAVY


def test_the_version_is_stated_once_for_package_and_citation() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    citation = (ROOT / "CITATION.cff").read_text(encoding="utf-8")
    assert project["version"] == fm.__version__
    assert f"\nversion: {fm.__version__}\n" in citation
