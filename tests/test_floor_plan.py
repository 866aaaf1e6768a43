"""The plan of the house: who may import whom, touch what, and how long things get.

The storeys are data; everything else is read from the source text, nothing is imported.
"""

import ast
from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "fem_motor"

STOREYS = (
    ("errors", "findings", "units", "arrays", "progress"),
    ("numbers",),
    ("plain", "toml_file", "beside"),
    ("materials",),
    ("design",),
    ("section", "winding", "ends"),
    ("mesh",),
    ("field",),
    ("quantities",),
    ("losses", "loading"),
    ("drive", "heat", "mechanics"),
    ("powered",),
    ("throttle",),
    ("performance",),
    ("batch", "bench"),
    ("comparison", "study", "calibration"),
    ("charts", "export"),
    ("report",),
    ("cli",),
    ("__main__",),
)
STOREY = {room: level for level, rooms in enumerate(STOREYS) for room in rooms}
STOREY["__init__"] = len(STOREYS)  # the public door stands above all: nobody imports it

FENCED = {
    "gmsh": "mesh",
    "skfem": "field",
    "matplotlib": "charts",
    "meshio": "export",
    "ezdxf": "export",
    "pandas": "bench",
    "dask": "study",
    "distributed": "study",
}

ROOMS_THAT_TOUCH_FILES = {
    "materials",
    "toml_file",
    "beside",
    "design",
    "batch",
    "study",
    "bench",
    "calibration",
    "report",
    "export",
    "cli",
}
FILE_METHODS = {
    "read_bytes", "read_text", "write_bytes", "write_text", "mkdir", "rmdir", "unlink", "touch",
    "hardlink_to", "symlink_to", "makedirs", "rmtree", "copyfile", "copytree",
    "savetxt", "loadtxt", "genfromtxt", "savez", "savez_compressed", "fromfile", "tofile",
    "NamedTemporaryFile", "TemporaryDirectory", "mkstemp", "mkdtemp",
}  # fmt: skip
SHELL_ONLY = {"sys.argv", "sys.exit", "sys.stdout", "sys.stderr", "logging.basicConfig"}

LONGEST_MODULE = 400
LONGEST_FUNCTION = 60
MOST_NAMES_ON_A_DOOR = 10
MOST_IN_A_FOLDER = 10

MODULES = sorted(PACKAGE.rglob("*.py"))
DOORS = sorted(PACKAGE.glob("*/__init__.py"))
FOLDERS = sorted({path.parent for path in MODULES} - {PACKAGE})
CHAMBERS = [folder for folder in FOLDERS if folder.parent != PACKAGE]


def label(path: Path) -> str:
    return str(path.relative_to(PACKAGE))


def room_of(path: Path) -> str:
    """Return the room a module is in; a module right under the package is a room of its own."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imported_names(tree: ast.Module) -> Iterator[str]:
    """Yield each imported name in full, also where the import stands inside a function."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            dots = "." * node.level
            yield from (f"{dots}{node.module or ''}.{alias.name}" for alias in node.names)


def names_on_door(path: Path) -> list[str]:
    """Return the literal `__all__` of a module; fails where there is none."""
    for node in tree_of(path).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            return [str(name) for name in ast.literal_eval(node.value)]
    pytest.fail(f"{label(path)} has no literal __all__")


def import_problems(here: str, tree: ast.Module) -> Iterator[str]:
    """Say what is wrong with the imports of a module in the room `here`."""
    for name in imported_names(tree):
        if name.startswith("."):
            yield f"{name} is relative and could walk around the plan"
            continue
        package, *inside = name.split(".")
        if FENCED.get(package, here) != here:
            yield f"only {FENCED[package]} may import {package}"
        if package != "fem_motor":
            continue
        room = inside[0] if inside and inside[0] in STOREY else "__init__"
        if room == here:
            continue
        if STOREY[room] >= STOREY[here]:
            yield f"{here} must not import {name}: it is not below"
        elif not stands_on_door(room, inside[1:]):
            yield f"{name} reaches past the door of {room}"


def stands_on_door(room: str, inside: list[str]) -> bool:
    if not inside:
        return True
    if (PACKAGE / f"{room}.py").exists():
        return len(inside) == 1
    door = PACKAGE / room / "__init__.py"
    return len(inside) == 1 and door.exists() and inside[0] in names_on_door(door)


def parts_in(folder: Path) -> list[str]:
    """Return the names of the modules and chambers in a folder, without its `__init__`."""
    modules = (path.stem for path in folder.glob("*.py") if path.stem != "__init__")
    chambers = (path.parent.name for path in folder.glob("*/__init__.py"))
    return sorted((*modules, *chambers))


def trees_by_part(room: Path) -> dict[str, list[ast.Module]]:
    """Return the text of a room by its parts: chambers, modules of its own, and its door."""
    trees: dict[str, list[ast.Module]] = {}
    for path in sorted(room.rglob("*.py")):
        part = path.relative_to(room).parts[0].removesuffix(".py")
        trees.setdefault(part, []).append(tree_of(path))
    return trees


def imports_between_parts(
    room: str, parts: Mapping[str, Iterable[ast.Module]]
) -> dict[str, set[str]]:
    """Return which other parts of its room each part imports, also inside functions."""
    found: dict[str, set[str]] = {part: set() for part in parts}
    for here, trees in parts.items():
        for name in (name for tree in trees for name in imported_names(tree)):
            package, *inside = name.split(".")
            if package != "fem_motor" or inside[:1] != [room]:
                continue
            # What is no part of the room is a name on its door.
            there = inside[1] if len(inside) > 1 and inside[1] in parts else "__init__"
            if there != here:
                found[here].add(there)
    return found


def effects(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Yield ("file" or "shell", the words) for each effect in the text of a module."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and ast.unparse(node) in SHELL_ONLY:
            yield "shell", ast.unparse(node)
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        last = called.rpartition(".")[2]
        if called in {"print", "input", "exit", "quit"}:
            yield "shell", f"{called}("
        if last == "open" or last in FILE_METHODS:
            yield "file", f"{called}("


def test_every_room_is_on_the_plan() -> None:
    assert {room_of(path) for path in MODULES} <= set(STOREY)


@pytest.mark.parametrize("path", MODULES, ids=label)
def test_a_room_imports_only_from_below_and_through_the_door(path: Path) -> None:
    assert list(import_problems(room_of(path), tree_of(path))) == []


@pytest.mark.parametrize(
    ("here", "line", "complaint"),
    [
        ("materials", "from fem_motor.design import Motor", "not below"),
        ("section", "import fem_motor.winding", "not below"),
        ("mesh", "from fem_motor.design.motor import Motor", "past the door"),
        ("mesh", "from fem_motor.design import motor", "past the door"),
        ("mesh", "import fem_motor.design.motor", "past the door"),
        ("quantities", "from fem_motor.field import gap", "past the door"),
        ("quantities", "from fem_motor.field.gap import harmonics", "past the door"),
        ("quantities", "from fem_motor.field.gap.harmonics import Gap", "past the door"),
        ("quantities", "import fem_motor.field.gap", "past the door"),
        ("mesh", "from .records import HalfCell", "relative"),
        ("mesh", "from fem_motor import load_design", "not below"),
        ("cli", "import fem_motor", "not below"),
        ("cli", "def late():\n    from matplotlib import pyplot", "only charts"),
        ("field", "import gmsh", "only mesh"),
        ("report", "import skfem.helpers", "only field"),
    ],
)
def test_a_walk_around_the_plan_is_noticed(here: str, line: str, complaint: str) -> None:
    problems = list(import_problems(here, ast.parse(line)))
    assert [complaint in problem for problem in problems] == [True]


@pytest.mark.parametrize("door", DOORS, ids=label)
def test_a_door_has_at_most_ten_names_and_they_are_sorted(door: Path) -> None:
    names = names_on_door(door)
    assert len(names) <= MOST_NAMES_ON_A_DOOR
    # CONSTANTS, Classes, functions, each by the alphabet: the order that the linter keeps.
    assert names == sorted(set(names), key=lambda name: (not name.isupper(), name))


@pytest.mark.parametrize("folder", FOLDERS, ids=label)
def test_every_room_and_chamber_says_what_it_holds(folder: Path) -> None:
    assert (folder / "__init__.py").exists()
    assert ast.get_docstring(tree_of(folder / "__init__.py"))


@pytest.mark.parametrize("folder", FOLDERS, ids=label)
def test_a_folder_holds_at_most_ten_modules_and_chambers(folder: Path) -> None:
    assert len(parts_in(folder)) <= MOST_IN_A_FOLDER


@pytest.mark.parametrize("chamber", CHAMBERS, ids=label)
def test_a_chamber_opens_nothing_by_itself_and_hides_no_name_on_the_door(chamber: Path) -> None:
    # Whoever opens one module of it opens that one alone; and the import of a chamber sets its
    # name on the room, where it would hide a function of that name.
    assert len(tree_of(chamber / "__init__.py").body) == 1
    assert chamber.name not in names_on_door(chamber.parent / "__init__.py")


@pytest.mark.parametrize("door", DOORS, ids=label)
def test_the_parts_of_a_room_are_stacked(door: Path) -> None:
    # A part is a chamber with all its modules, or one module of the room's own folder.
    room = door.parent
    imports = imports_between_parts(room.name, trees_by_part(room))
    TopologicalSorter(imports).prepare()  # or a CycleError that names the circle


@pytest.mark.parametrize(
    "upwards",
    [
        "from fem_motor.field.solving.problem import FieldProblem",
        "from fem_motor.field.solving import problem",
        "import fem_motor.field.solving.problem",
        "def late():\n    from fem_motor.field import solving",
        "from fem_motor.field import FieldProblem",
    ],
)
def test_two_parts_that_import_each_other_are_noticed(upwards: str) -> None:
    lines = {
        "gap": upwards,
        "solving": "from fem_motor.field.gap.harmonics import Gap",
        "__init__": "from fem_motor.field.solving.problem import FieldProblem",
    }
    parts = {part: [ast.parse(line)] for part, line in lines.items()}
    with pytest.raises(CycleError, match="cycle"):
        TopologicalSorter(imports_between_parts("field", parts)).prepare()


@pytest.mark.parametrize("path", MODULES, ids=label)
def test_only_the_rooms_at_the_edge_touch_files_and_only_the_shell_speaks(path: Path) -> None:
    here = room_of(path)
    if here in {"cli", "__main__"}:
        return
    for kind, words in effects(tree_of(path)):
        assert kind != "shell", f"only cli prints, reads arguments or exits, not {words}"
        assert here in ROOMS_THAT_TOUCH_FILES, f"{here} must not touch files: {words}"


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("print('done')", "shell"),
        ("sys.stderr.write('half')", "shell"),
        ("open('a.toml')", "file"),
        ("path.open('w')", "file"),
        ("Path('a').write_text('b')", "file"),
        ("np.savetxt('a', b)", "file"),
    ],
)
def test_an_effect_is_noticed(line: str, kind: str) -> None:
    assert {found for found, _ in effects(ast.parse(line))} == {kind}


@pytest.mark.parametrize("path", MODULES, ids=label)
def test_modules_and_functions_stay_short(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= LONGEST_MODULE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = (node.end_lineno or node.lineno) - node.lineno + 1
            assert lines <= LONGEST_FUNCTION, f"{node.name} has {lines} lines"


def test_no_two_files_of_tests_have_one_name() -> None:
    # pytest imports them by that name, and would run none of the second file.
    names = [path.name for path in Path(__file__).parent.rglob("test_*.py")]
    assert sorted(names) == sorted(set(names))
