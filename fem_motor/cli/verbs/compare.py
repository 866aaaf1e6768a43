"""Compare designs on the same job: same supply and load, each at the turns that suit it."""

import argparse
from pathlib import Path
from typing import Any

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, print_json, progress, say

HELP = "designs side by side on the same job, fairly"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    parser.add_argument(
        "files", metavar="FILE", type=Path, nargs="+", help="design files (TOML), two or more"
    )
    add_goal(parser)
    add_store(parser)
    shared.add_output(parser, "write the picture, answers.txt and result.json into this folder")
    shared.add_quality(parser)
    shared.add_workers(parser)
    shared.add_json(parser)
    shared.add_quiet(parser)


def add_goal(parser: argparse.ArgumentParser) -> None:
    """Add --goal and --hold."""
    parser.add_argument(
        "--goal",
        metavar="WORD",
        default="continuous-power",
        help="continuous-power (default), 60-s-power, continuous-torque, motor-constant or "
        "motor-constant-per-mass",
    )
    parser.add_argument(
        "--hold",
        choices=("supply-and-load", "as-drawn"),
        default="supply-and-load",
        help="supply-and-load: same supply and load, each design at the turns that suit it in its "
        "own copper (default); as-drawn: turns as the files say",
    )


def add_store(parser: argparse.ArgumentParser) -> None:
    """Add --store."""
    parser.add_argument(
        "--store",
        metavar="F",
        type=Path,
        help="keep what is computed in this file: the same command again goes on where it stopped",
    )


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    from fem_motor import batch, comparison, report
    from fem_motor.design import load_design
    from fem_motor.errors import DesignError, Problem

    designs, problems = [], list[Problem]()
    for file in options.files:
        try:
            designs.append(load_design(file))
        except DesignError as error:
            problems += error.problems
    if problems:
        raise DesignError.from_problems(problems)
    if options.output is not None:
        report.ready_folder(options.output)
    with progress(quiet=options.quiet) as on_step:
        found = comparison.compare(
            designs,
            goal=options.goal,
            hold=options.hold,
            quality=options.quality,
            workers=options.workers,
            store=None if options.store is None else batch.ResultStore(options.store),
            on_step=on_step,
        )
    return told(found, options, word="comparison")


def told(
    found: Any,  # noqa: ANN401  (a comparison or a ranking: their room is loaded when used)
    options: argparse.Namespace,
    *,
    word: str,
) -> int:
    """Write and print what was found, and return the exit status."""
    from fem_motor import comparison, report

    if options.output is not None:
        report.write_report(found, options.output)
    if options.json:
        print_json(found.to_dict())
    else:
        answer(comparison.decision_text(found))
    if options.output is not None and not options.quiet:
        say(f"{word}: {options.output}")
    return 0
