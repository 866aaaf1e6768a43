"""Write a commented starter design; never over a file that is there."""

import argparse
import os
import shlex
from pathlib import Path

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, print_json, say
from fem_motor.errors import InputError

HELP = "write a commented starter design"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    parser.add_argument("file", metavar="FILE", type=_file, help="the file to write (TOML)")
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    from fem_motor.design import starter_design

    file = options.file
    try:
        # x: the system itself refuses to overwrite, also when two commands race.
        with file.open("x", encoding="utf-8", newline="\n") as stream:
            stream.write(starter_design())
    except FileExistsError as error:
        raise InputError(
            "is left as it is.",
            why=f"a {'folder' if file.is_dir() else 'file'} of that name is there.",
            do="choose another name, or move it away.",
            place=str(file),
        ) from error
    except OSError as error:
        raise InputError(
            "cannot be written.",
            why=f"{error.strerror or error}.",
            do="choose a folder that is there and that you may write to.",
            place=str(file),
        ) from error
    if options.json:
        print_json({"file": str(file)})
    else:
        answer(str(file))
    if not options.quiet:
        say(f"next: fem-motor check {shlex.quote(str(file))}")
    return 0


def _file(text: str) -> Path:
    if not text or text.endswith(os.sep):
        raise argparse.ArgumentTypeError(f"{text!r} does not name a file")
    return Path(text)
