"""Compute the fields of a design and answer what the motor will do; write a report folder."""

import argparse
from pathlib import Path

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, print_json, progress, say, status_style

HELP = "the main job: from a design file to answers and a report folder"
_LONGEST_NAME = 120

SLOW = (
    "odd magnets or an offset rotor in a steel core: the whole circle is solved, some ten times "
    "the work of the machine as designed (one to four minutes on a usual desk)."
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    shared.add_design(parser)
    shared.add_output(
        parser,
        "the report folder (default: TITLE-report in the working directory; with --json and "
        "without -o nothing is written)",
    )
    shared.add_quality(parser)
    parser.add_argument(
        "--profile",
        metavar="F",
        type=Path,
        help="throttle over time, flown from cold: CSV with the columns time_s, throttle (0 to 1), "
        "or TOML with both as lists",
    )
    parser.add_argument(
        "--map",
        dest="speed_map",
        action="store_const",
        const="grid",
        default="none",
        help="also the efficiency over speed and torque, and where it holds for good",
    )
    parser.add_argument(
        "--no-pictures",
        dest="pictures",
        action="store_const",
        const="without",
        default="with",
        help="words and tables only in the report: for scripts and old machines",
    )
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    from fem_motor import performance, report
    from fem_motor.cli.run.profile import read_profile
    from fem_motor.design import load_design

    design = load_design(options.file)
    profile = None if options.profile is None else read_profile(options.profile)
    target = _target(options, design.title)
    if target is not None:
        report.ready_folder(target)  # before the long work, so that a bad target is known at once
    built, core = design.motor.as_built, design.motor.stator.core
    if not core.curve.is_nearly_air and (built.magnets or built.rotor_offset) and not options.quiet:
        say(SLOW)
    with progress(quiet=options.quiet) as on_step:
        sheet = performance.run(
            design,
            quality=options.quality,
            profile=profile,
            speed_map=options.speed_map,
            on_step=on_step,
        )
        if target is not None:
            on_step(0, 1, "report")
            report.write_report(sheet, target, pictures=options.pictures)
    if options.json:
        print_json(report.result_to_json(sheet))
    else:
        answer(report.summary_text(sheet, status_style=status_style()))
    if target is not None and not options.quiet:
        say(f"report: {target / 'report.html'}")
    return 0


def _target(options: argparse.Namespace, title: str) -> Path | None:
    """Return the report folder, None where nothing is to be written."""
    if options.output is not None:
        return Path(options.output)
    return None if options.json else Path(f"{folder_name(title)}-report")


def folder_name(title: str) -> str:
    """Return a title as the name of a folder: no slashes, no control characters, not too long.

    >>> folder_name("Drive 3/4")
    'Drive 3-4'
    """
    plain = "".join("-" if letter in "/\\:" else letter for letter in title if letter.isprintable())
    # Names are limited in bytes (255 on common file systems), letters may take four.
    short = plain.strip(" .").encode()[:_LONGEST_NAME].decode(errors="ignore")
    return short.strip() or "motor"
