"""Hidden names beside a target while it is written, and those that a killed process left."""

import os
import platform
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from fem_motor.errors import FemMotorError

# Letters kept of a name: four bytes each in UTF-8, and a name of a file has at most 255 bytes.
_OF_TARGET, _OF_MACHINE = 40, 30


def hidden_beside(target: Path, count: int = 0) -> Path:
    """Return a hidden name beside `target`, of this process alone: it ends in its number.

    It also names the machine, for a folder may be shared with one that has other processes.
    """
    return target.with_name(f"{_prefix(target)}{os.getpid()}.{count}")


@contextmanager
def file_beside(target: Path, content: bytes) -> Iterator[Path]:
    """Hand out a hidden file beside `target` that holds the content; removed if it stays.

    Raises
    ------
    FemMotorError
        As in `written_to_the_end`.
    """
    temporary = hidden_beside(target)
    try:
        with written_to_the_end(target):
            temporary.write_bytes(content)
        yield temporary
    finally:
        with suppress(OSError):
            temporary.unlink()


@contextmanager
def written_to_the_end(target: Path) -> Iterator[None]:
    """Say what to do where the system breaks off writing; what stood there is as it was.

    Raises
    ------
    FemMotorError
        The disk is full, or may no longer be written.
    """
    try:
        yield
    except OSError as error:
        raise FemMotorError(
            "could not be written to the end.",
            why=f"{error.strerror or error}.",
            do="make room on the disk, or choose another folder.",
            place=str(target),
        ) from error


def clear_leftovers(target: Path) -> None:
    """Remove what processes of this machine that are gone left hidden beside `target`.

    Call it when `target` is whole: a process that was killed while an older report was out of the
    way leaves that one hidden.
    """
    if os.name != "posix":  # elsewhere asking for a process would end it
        return
    pattern = re.compile(rf"{re.escape(_prefix(target))}(\d+)\.\d+")
    with suppress(OSError):
        for path in list(target.parent.iterdir()):
            named = pattern.fullmatch(path.name)
            if named and not _is_alive(int(named[1])):
                _remove(path)


def _prefix(target: Path) -> str:
    machine = re.sub(r"\W", "-", platform.node())[:_OF_MACHINE] or "here"
    return f".{target.name[:_OF_TARGET]}.{machine}."


def _is_alive(process: int) -> bool:
    try:
        os.kill(process, 0)  # asks only
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:  # of another user
        return True
    return True


def _remove(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
        return
    with suppress(OSError):
        path.unlink()
