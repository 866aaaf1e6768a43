"""Rank changes to a design: what to change first, with gain, range, cost and reason."""

import argparse
from pathlib import Path

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import progress
from fem_motor.cli.verbs import compare as same

HELP = "what to change first, with gain, cost and certainty"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    shared.add_design(parser)
    same.add_goal(parser)
    parser.add_argument(
        "--keep",
        metavar="KEY,KEY",
        type=lambda text: [part.strip() for part in text.split(",") if part.strip()],
        default=[],
        help="keys or sections that must stay as they are: stator.core,machine",
    )
    parser.add_argument(
        "--prices",
        metavar="FILE",
        type=Path,
        help="prices of materials (TOML: [per_kg], [per_piece], [per_m]) for the cost in money",
    )
    same.add_store(parser)
    shared.add_output(parser, "write the picture, answers.txt and result.json into this folder")
    shared.add_quality(parser)
    shared.add_workers(parser)
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    from fem_motor import batch, comparison, report
    from fem_motor.design import load_design
    from fem_motor.toml_file import read_text

    prices = None
    if options.prices is not None:
        text = read_text(options.prices, kind="list of prices")
        prices = comparison.Prices.from_toml(text, name=str(options.prices))
    design = load_design(options.file)
    if options.output is not None:
        report.ready_folder(options.output)
    with progress(quiet=options.quiet) as on_step:
        found = comparison.rank(
            design,
            goal=options.goal,
            hold=options.hold,
            quality=options.quality,
            prices=prices,
            keep=options.keep,
            workers=options.workers,
            store=None if options.store is None else batch.ResultStore(options.store),
            on_step=on_step,
        )
    return same.told(found, options, word="ranking")
