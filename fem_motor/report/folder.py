"""Report folders that appear whole or not at all."""

import errno
import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from fem_motor.beside import clear_leftovers, hidden_beside, written_to_the_end
from fem_motor.design import MotorDesign
from fem_motor.errors import FemMotorError, InputError

MARKER = "result.json"
DESIGN = "design.toml"
"""The design of a report: to run again, and to change; a changed one is the user's."""
_OUR_FORMATS = "fem_motor."
_WRITTEN = frozenset(
    (
        MARKER,
        "report.html",
        "report.pdf",
        "sweep.csv",
        "points.csv",
        "table.csv",
        "answers.txt",
        "calibrated.toml",
    )
)
_WRITTEN_KINDS = frozenset((".png", ".svg"))


def ready_folder(folder: Path | str) -> Path:
    """Return the full path of `folder` after making sure that a report can be written there.

    Call it before a long computation, so that a bad target is known at once. Nothing stays on
    the disk.

    Raises
    ------
    InputError
        The folder cannot be written, or holds what this program did not write.
    """
    with _trial(folder) as (target, _):
        return target


@contextmanager
def whole_folder(folder: Path | str) -> Iterator[Path]:
    """Hand out an empty folder that takes the place of `folder` when the block ends well.

    It is built beside its target and moved there in one step; on an error or Ctrl-C it is removed
    and what stood there before stays as it was.

    Raises
    ------
    InputError
        As in `ready_folder`.
    FemMotorError
        The disk is full, or may no longer be written.
    """
    with _trial(folder) as (target, temporary):
        with written_to_the_end(target):
            yield temporary
            _take_place(temporary, target)
        clear_leftovers(target)


@contextmanager
def _trial(folder: Path | str) -> Iterator[tuple[Path, Path]]:
    """Hand out the full target path and a new empty folder beside it, which is then removed."""
    target = Path(folder).expanduser().absolute()
    made: list[Path] = []
    try:
        target = target.resolve()
        _refuse_what_is_not_ours(target)
        made = _make_parents(target.parent)
        temporary = _make_beside(target)
    except OSError as error:
        _remove_empty(made)
        raise _unwritable(target, error) from error
    try:
        yield target, temporary
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
        _remove_empty(made)


def _make_parents(parent: Path) -> list[Path]:
    """Make missing parents and return them, the innermost first."""
    missing = [place for place in (parent, *parent.parents) if not place.exists()]
    if parent.exists() and not parent.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
    parent.mkdir(parents=True, exist_ok=True)
    return missing


def _remove_empty(folders: list[Path]) -> None:
    for folder in folders:
        with suppress(OSError):  # not empty: the report stands in it
            folder.rmdir()


def _make_beside(target: Path) -> Path:
    """Make a hidden folder beside `target`, with the rights that the user's new folders have."""
    for count in range(1000):
        temporary = hidden_beside(target, count)
        with suppress(FileExistsError):
            temporary.mkdir()
            return temporary
    raise FileExistsError(f"no free name beside {target}")


def _take_place(temporary: Path, target: Path) -> None:
    """Move `temporary` to `target`; an older report there is put back if that fails."""
    if not target.exists():
        temporary.rename(target)
        return
    aside = _make_beside(target)
    try:
        target.rename(aside)
        temporary.rename(target)
    except BaseException:
        if not target.exists():
            aside.rename(target)
        raise
    finally:
        if target.exists():
            shutil.rmtree(aside, ignore_errors=True)


def _refuse_what_is_not_ours(target: Path) -> None:
    if not target.exists():
        return
    if not target.is_dir():
        raise InputError(
            "cannot become a report folder.",
            why="a file of that name is there.",
            do="choose another folder with -o, or move the file away.",
            place=str(target),
        )
    if Path.cwd().is_relative_to(target):
        raise InputError(
            "is left as it is.",
            why="it is the working directory or holds it, and the report would take its place.",
            do="name a folder of its own, for example -o report.",
            place=str(target),
        )
    inside = sorted(entry.name for entry in target.iterdir())
    if not inside:
        return
    if not _is_ours(target / MARKER):
        raise InputError(
            "is left as it is.",
            why=f"it holds {_some(inside)}, and no {MARKER} that says this program made it.",
            do="choose another folder with -o, or move this one away.",
            place=str(target),
        )
    foreign = [name for name in inside if not _is_written_here(target / name)]
    if foreign:
        raise InputError(
            "is left as it is.",
            why=f"beside an older report it holds {_some(foreign)}, "
            "which this program did not write and would delete.",
            do="move that away, or choose another folder with -o.",
            place=str(target),
        )


def _is_ours(marker: Path) -> bool:
    try:
        content = json.loads(marker.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(content, dict) and str(content.get("format", "")).startswith(_OUR_FORMATS)


def _is_written_here(path: Path) -> bool:
    if not path.is_file():
        return False
    if path.name == DESIGN:
        return _is_design_of(path, path.parent / MARKER)
    return path.name in _WRITTEN or path.suffix in _WRITTEN_KINDS


def _is_design_of(path: Path, marker: Path) -> bool:
    """Return whether a design file is as it was written beside its result."""
    try:
        told = json.loads(marker.read_text(encoding="utf-8"))["design"]
        written = MotorDesign.from_dict(told).to_toml()
        return path.read_text(encoding="utf-8") == written
    except (OSError, ValueError, KeyError, TypeError, FemMotorError):
        return False


def _some(names: list[str]) -> str:
    shown = ", ".join(names[:3])
    return shown if len(names) <= 3 else f"{shown} and {len(names) - 3} more"  # noqa: PLR2004  (three names are enough to recognise a folder)


def _unwritable(target: Path, error: OSError) -> InputError:
    return InputError(
        "cannot be written.",
        why=f"{error.strerror or error}.",
        do="choose a folder that you may write to with -o DIR.",
        place=str(target),
    )
