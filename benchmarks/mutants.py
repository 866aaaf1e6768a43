"""Spoil one formula at a time and see which test notices.

    python -m benchmarks.mutants [ROOM …] [--each 2] [--first 0] [--tests tests/losses …] [--slow]

In every module of the physics rooms a sign is turned, a number doubled or an index shifted, in a
copy of the tree; the tests of the room, then those of the rooms that use it, run until one fails.
A mutant that no test notices is printed with its line: a gap, or a line that does not matter (a
guess to start from, a limit of common practice). What cannot matter is not tried: the words of an
error, tolerances, guards against zero. Mutant n of one text is the same on every desk.
"""

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parent.parent
ROOMS: dict[str, tuple[str, ...]] = {
    "materials": ("tests/materials",),
    "section": ("tests/section", "tests/mesh"),
    "winding": ("tests/winding", "tests/powered"),
    "ends": ("tests/ends",),
    "field": ("tests/field", "tests/quantities", "tests/verification", "tests/loading"),
    "quantities": ("tests/quantities", "tests/verification", "tests/performance"),
    "losses": ("tests/losses", "tests/powered", "tests/performance"),
    "loading": ("tests/loading",),
    "drive": ("tests/drive", "tests/powered"),
    "heat": ("tests/heat",),
    "mechanics": ("tests/mechanics",),
    "powered": ("tests/powered", "tests/performance"),
    "throttle": ("tests/throttle",),
    "bench": ("tests/bench",),
    "calibration": ("tests/calibration",),
    "comparison": ("tests/comparison",),
    "batch": ("tests/batch",),
    "study": ("tests/study",),
}
"""A room, and where its tests stand: in its own folder, and in those of the rooms that use it."""

PATIENCE_S = 600

WORDS = frozenset({"what", "why", "do", "because", "place"})
"""Arguments that hold the text of an error or a finding."""

SLACK = re.compile(r"tol$|tolerance|precision|guess|slack|patience|margin_of_error", re.IGNORECASE)
"""Names of what only says when to stop or where to start."""

FOLDERS = re.compile(r"folder|path|directory|root|files\(", re.IGNORECASE)
"""Names whose / joins a path."""

TINY = 1e-5
"""A literal up to this size is a tolerance or guards against zero."""


class Mutant(NamedTuple):
    """One change: where, what it was and what it is."""

    path: Path
    line: int
    before: str
    after: str
    text: str


def candidates(path: Path) -> list[Mutant]:
    """Return every change that a module offers, in the order of the text."""
    source = path.read_text(encoding="utf-8")
    starts = [0]
    for line in source.encode().splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found = []
    for start, end, new in _changes(ast.parse(source), source.encode(), starts):
        raw = source.encode()
        text = (raw[:start] + new + raw[end:]).decode()
        number = raw[:start].count(b"\n")
        before = source.splitlines()[number].strip()
        after = text.splitlines()[number].strip()
        if before != after:
            found.append(Mutant(path, number + 1, before, after, text))
    return found


def _changes(tree: ast.AST, raw: bytes, starts: list[int]) -> Iterator[tuple[int, int, bytes]]:
    """Yield (start, end, new bytes) of each change inside functions."""
    inside = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    seen: set[tuple[int, int]] = set()
    for function in inside:
        for statement in function.body:
            for node in _that_matter(statement):
                for start, end, new in _of_node(node, raw, starts):
                    if (start, end) not in seen:
                        seen.add((start, end))
                        yield start, end, new


def _that_matter(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the nodes below this one, without errors, words and tolerances."""
    if isinstance(node, ast.Raise | ast.JoinedStr | ast.Assert):
        return
    if isinstance(node, ast.keyword) and (node.arg in WORDS or SLACK.search(node.arg or "")):
        return
    if isinstance(node, ast.BinOp) and any(map(_is_slack, (node.left, node.right))):
        return
    yield node
    for child in ast.iter_child_nodes(node):
        yield from _that_matter(child)


def _is_slack(node: ast.expr) -> bool:
    if isinstance(node, ast.Constant):
        return type(node.value) is float and abs(node.value) <= TINY
    return isinstance(node, ast.Name | ast.Attribute) and bool(SLACK.search(ast.unparse(node)))


def _of_node(node: ast.AST, raw: bytes, starts: list[int]) -> Iterator[tuple[int, int, bytes]]:
    if isinstance(node, ast.BinOp):
        yield from _other_operator(node, raw, starts)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        at = _place(node.lineno, node.col_offset, starts)
        if not isinstance(node.operand, ast.Constant):
            yield at, at + 1, b" "
    elif isinstance(node, ast.Constant) and type(node.value) is float and node.value > TINY:
        yield (*_span(node, starts), repr(2 * node.value).encode())
    elif (
        isinstance(node, ast.Subscript)
        and isinstance(node.slice, ast.Constant)
        and type(node.slice.value) is int
    ):
        yield (*_span(node.slice, starts), str(node.slice.value + 1).encode())


def _other_operator(
    node: ast.BinOp, raw: bytes, starts: list[int]
) -> Iterator[tuple[int, int, bytes]]:
    swap = {ast.Add: (b"+", b"-"), ast.Sub: (b"-", b"+"), ast.Mult: (b"*", b"*2*"),
            ast.Div: (b"/", b"/2/")}  # fmt: skip
    pair = swap.get(type(node.op))
    if pair is None or isinstance(node.left, ast.List | ast.Tuple) or _is_text(node):
        return
    if isinstance(node.op, ast.Div) and FOLDERS.search(ast.unparse(node.left)):
        return
    start, end = _span(node.left, starts)[1], _span(node.right, starts)[0]
    at = raw.find(pair[0], start, end)
    if at >= 0 and b"#" not in raw[start:at]:
        yield at, at + len(pair[0]), pair[1]


def _is_text(node: ast.BinOp) -> bool:
    """Return whether some text stands anywhere in the sum."""
    return any(
        isinstance(one, ast.JoinedStr) or (isinstance(one, ast.Constant) and type(one.value) is str)
        for one in ast.walk(node)
    )


def _place(line: int, column: int, starts: list[int]) -> int:
    return starts[line - 1] + column


def _span(node: ast.expr, starts: list[int]) -> tuple[int, int]:
    assert node.end_lineno is not None  # noqa: S101  (parsed from text: it has an end)
    assert node.end_col_offset is not None  # noqa: S101
    return (
        _place(node.lineno, node.col_offset, starts),
        _place(node.end_lineno, node.end_col_offset, starts),
    )


def noticed_by(mutant: Mutant, copy: Path, tests: tuple[str, ...], *, marks: str) -> str:
    """Return the first test that fails, or nothing."""
    target = copy / mutant.path.relative_to(ROOT)
    target.write_text(mutant.text, encoding="utf-8")
    there = [name for name in tests if (copy / name).exists()]
    try:
        finished = subprocess.run(  # noqa: S603
            [sys.executable, "-m", "pytest", "-x", "-q", "--no-header", "-p", "no:cacheprovider",
             "-m", marks, *there],
            cwd=copy,
            env={**os.environ, "PYTHONPATH": str(copy), "OMP_NUM_THREADS": "1"},
            check=False, capture_output=True, text=True, timeout=PATIENCE_S,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return f"no end within {PATIENCE_S} s"
    finally:
        target.write_text(mutant.path.read_text(encoding="utf-8"), encoding="utf-8")
    if finished.returncode == 0:
        return ""
    failed = [line for line in finished.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return failed[0].split(" - ")[0] if failed else "does not start"


def main() -> None:
    """Make mutants, run tests, print what was not noticed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("rooms", nargs="*", help=f"of {', '.join(ROOMS)}; all by default")
    parser.add_argument("--each", type=int, default=2, help="mutants a module")
    parser.add_argument("--first", type=int, default=0, help="number of the first")
    parser.add_argument("--tests", nargs="*", help="instead of the room's own")
    parser.add_argument("--slow", action="store_true", help="slow tests too")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "tree"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", "*cache*", ".venv"))
        for room in options.rooms or ROOMS:
            tests = tuple(options.tests or ROOMS[room])
            count = _try_room(room, copy, tests, options)
            words = ", ".join(f"{number} {word}" for word, number in sorted(count.items()))
            print(f"{room}: {words or 'nothing to spoil'}", flush=True)


def _try_room(
    room: str, copy: Path, tests: tuple[str, ...], options: argparse.Namespace
) -> Counter[str]:
    """Print what each mutant of a room meets, and return how many were noticed."""
    count: Counter[str] = Counter()
    for path in sorted((ROOT / "fem_motor" / room).rglob("[!_]*.py")):
        every = candidates(path)
        random.Random(path.name).shuffle(every)  # noqa: S311  (repeatable)
        for mutant in every[options.first : options.first + options.each]:
            found = noticed_by(mutant, copy, tests, marks="" if options.slow else "not slow")
            count["noticed" if found else "not noticed"] += 1
            where = f"{path.relative_to(ROOT)}:{mutant.line}"
            print(f"{where}: {mutant.before}  →  {mutant.after}", flush=True)
            print(f"    {found or 'NOT NOTICED'}", flush=True)
    return count


if __name__ == "__main__":
    main()
