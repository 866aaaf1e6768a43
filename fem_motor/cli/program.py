"""From arguments to an exit status: the parser, and what happens to every error."""

import argparse
import difflib
import errno
import io
import os
import re
import sys
import traceback
from collections.abc import Sequence
from typing import Any, NoReturn

from fem_motor.cli.doctor import doctor
from fem_motor.cli.run import run
from fem_motor.cli.terminal import answer, close_stdout, say
from fem_motor.cli.verbs import bench, check, compare, export, materials, new, rank, study, sweep
from fem_motor.errors import FemMotorError

_VERBS = {
    "new": new,
    "check": check,
    "run": run,
    "sweep": sweep,
    "compare": compare,
    "rank": rank,
    "study": study,
    "bench": bench,
    "export": export,
    "materials": materials,
    "doctor": doctor,
}
_DONE, _FAILED = 0, 1
_NO_ROOM = frozenset((errno.ENOSPC, errno.EFBIG, errno.EDQUOT, errno.EROFS))
_EPILOG = (
    "The answer goes to stdout; progress and advice go to stderr.\n"
    "Exit status: 0 done; 1 failed while working, or check found a reason to stop;\n"
    "2 bad input, also a design that cannot be built; 130 interrupted.\n"
    "fem-motor VERB --help explains a verb."
)


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are in the house grammar: what, why, do."""

    def error(self, message: str) -> NoReturn:
        what, do = _usage_problem(message)
        say(f"{self.prog}: {what}\n  do:  {do or f'see {self.prog} --help.'}")
        raise SystemExit(2)

    def refuse_unknown(self, arguments: Sequence[str]) -> NoReturn:
        """End with what is not known, and the nearest option there is."""
        options = re.findall(r"--[a-z][a-z-]*", self.format_help())
        name = arguments[0].partition("=")[0]
        near = difflib.get_close_matches(name, options, n=1) if name.startswith("-") else []
        hint = f"did you mean {near[0]}? " if near else ""
        say(
            f"{self.prog}: {' '.join(arguments)} is not known here.\n"
            f"  do:  {hint}{self.prog} --help names all that is."
        )
        raise SystemExit(2)

    def _print_message(self, message: str, file: Any = None) -> None:  # noqa: ANN401  (argparse: whatever can be written to)
        # argparse itself would keep silent about a disk that is full.
        if file is sys.stdout:
            answer(message.removesuffix("\n"))
        else:
            super()._print_message(message, file)


def run_command(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status, as `fem_motor.cli.main` says."""
    _open_missing_streams()
    _print_what_the_terminal_can()
    try:
        return _checked(sys.argv[1:] if argv is None else argv)
    except SystemExit as stop:  # argparse: help, version and usage errors
        return stop.code if isinstance(stop.code, int) else _DONE
    except BrokenPipeError:
        close_stdout()
        return _FAILED
    except Exception as error:  # noqa: BLE001  (the last line of defence: a bug must not look like an answer)
        return _told(error)


def _told(error: Exception) -> int:
    """Say what went wrong and return the exit status."""
    if isinstance(error, FemMotorError):
        say(str(error))
        return error.exit_code
    if isinstance(error, MemoryError):
        say("out of memory.\n  do:  use a lower --quality, or close other programs.")
    elif isinstance(error, OSError) and error.errno in _NO_ROOM:
        say(
            f"something could not be written: {error.strerror}.\n"
            "  do:  make room on the disk and in the folder of temporary files (TMPDIR,\n"
            "       otherwise /tmp)."
        )
    elif isinstance(error, ModuleNotFoundError):
        say(
            f"a part of the installation is missing: {error}.\n"
            "  do:  run fem-motor doctor, which names it, or install fem_motor again."
        )
    else:
        _report_bug(error)
    return _FAILED


def _checked(arguments: Sequence[str]) -> int:
    options, unknown = _parser().parse_known_args(_numbers_kept(arguments))
    if unknown:
        options.parser.refuse_unknown(unknown)
    _quieten_libraries()
    status: int = _VERBS[options.verb].main(options)
    return status


def _quieten_libraries() -> None:
    """Keep libraries from telling a home that is read-only where their caches are not.

    Errors are left.
    """
    import logging

    for name in ("matplotlib", "ezdxf"):
        logging.getLogger(name).setLevel(logging.ERROR)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="fem-motor",
        description="What will this outrunner motor do, and what should change first?",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="print the version and exit")
    verbs = parser.add_subparsers(dest="verb", metavar="VERB", required=True, parser_class=_Parser)
    for name, module in _VERBS.items():
        # No short forms of options: a script that uses one breaks when another option comes.
        part = verbs.add_parser(
            name, help=module.HELP, description=module.__doc__, allow_abbrev=False
        )
        part.set_defaults(parser=part)
        module.add_options(part)
    return parser


class _Version(argparse.Action):
    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from fem_motor.cli.doctor.installation import version_of

        answer(f"fem_motor {version_of('fem_motor') or '(run from its source, not installed)'}")
        parser.exit()


def _numbers_kept(arguments: Sequence[str]) -> list[str]:
    """Return the arguments with ``--currents -1,2,-1`` joined by =.

    argparse takes a value that begins with a minus for an option unless it is a plain number.
    """
    kept: list[str] = []
    for argument in arguments:
        is_value = re.fullmatch(r"-[\d.][-+\d.,eE]*", argument) is not None
        if is_value and kept and re.fullmatch(r"--[a-z-]+", kept[-1]):
            kept[-1] += f"={argument}"
        else:
            kept.append(argument)
    return kept


def _usage_problem(message: str) -> tuple[str, str]:
    """Return what is wrong, and what to do (may be empty), from argparse's message."""
    unknown = re.match(r"argument VERB: invalid choice: '(.*?)'", message)
    if unknown:
        near = difflib.get_close_matches(unknown[1], _VERBS, n=1)
        hint = f"did you mean {near[0]}? " if near else ""
        return f"there is no verb {unknown[1]!r}.", f"{hint}The verbs are {', '.join(_VERBS)}."
    if message.startswith("the following arguments are required: VERB"):
        return "a verb is missing.", f"say one of {', '.join(_VERBS)}."
    return message.rstrip(".") + ".", ""


def _open_missing_streams() -> None:
    """Give a process that was started with stdout or stderr closed one that swallows all.

    Without it errors would go to stdout, which `print` takes where it is handed None.
    """
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: PTH123, SIM115  (stays open as long as the process)


def _print_what_the_terminal_can() -> None:
    """Show characters that the terminal has no code for as escapes, rather than fail on them."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _report_bug(error: Exception) -> None:
    say(
        f"this is a bug in fem_motor: {type(error).__name__}: {error}\n"
        "  do:  report it with the command, the design file and the output of fem-motor doctor;\n"
        "       FEM_MOTOR_TRACEBACK=1 in the environment shows where it happened."
    )
    if os.environ.get("FEM_MOTOR_TRACEBACK"):
        traceback.print_exception(error)
