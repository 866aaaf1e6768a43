"""Solve the designs of a study file: table, figures, and a verdict in plain words.

What is finished is kept in a store; a study that was interrupted goes on where it stopped.
"""

import argparse
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, print_json, progress, say
from fem_motor.progress import OnStep

HELP = "many designs: vary, record, draw, resume"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    parser.add_argument("file", metavar="FILE", type=Path, help="the study file (TOML)")
    parser.add_argument(
        "--store",
        metavar="F",
        type=Path,
        help="where finished designs are kept (default: NAME.sqlite in the working directory; with "
        "--json and without this option nothing is kept)",
    )
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="let the workers of a dask.distributed scheduler do the work: tcp://HOST:PORT",
    )
    shared.add_output(
        parser, "write table, figures and answers.txt into this folder (default: none)"
    )
    shared.add_workers(parser)
    parser.add_argument(
        "--quality",
        choices=("draft", "standard", "fine"),
        help="mesh quality (default: that of the study)",
    )
    parser.add_argument(
        "--export", metavar="F", type=Path, help="write the table here: .csv or .parquet by suffix"
    )
    parser.add_argument(
        "--check", action="store_true", help="only read the file and say how many designs it makes"
    )
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    from fem_motor import batch, report, study

    if options.export is not None:
        study.refuse_bad_table(options.export)  # before the long work
    plan = study.load_study(options.file)
    if options.check:
        return _checked(options, plan.designs)
    if options.output is not None:
        report.ready_folder(options.output)
    store = _store(options)
    here = study.cluster(options.cluster) if options.cluster else nullcontext()
    with _watched(options, store) as on_step, here as executor:
        result = study.run_study(
            plan,
            quality=options.quality,
            workers=options.workers,
            store=None if store is None else batch.ResultStore(store),
            executor=executor,
            on_step=on_step,
        )
    if options.export is not None:
        study.write_table(result, options.export)
    if options.output is not None:
        report.write_report(result, options.output)
    if options.json:
        print_json(result.to_dict())
    else:
        answer(report.summary_text(result))
    if store is not None and not options.quiet:
        say(f"kept in {store}")
    return 0 if result.solved else 1


@contextmanager
def _watched(options: argparse.Namespace, store: Path | None) -> Iterator[OnStep]:
    """Show progress, and say after Ctrl-C what is not lost."""
    told = (0, 0)

    def on_step(done: int, of: int) -> None:
        nonlocal told
        told = done, of
        shown(done, of, "designs")

    try:
        with progress(quiet=options.quiet) as shown:
            yield on_step
    except KeyboardInterrupt:
        done, of = told
        if store is not None and not options.quiet:
            say(f"{done} of {of} designs are kept in {store}; the same command goes on from there.")
        raise


def _checked(options: argparse.Namespace, number: int) -> int:
    if options.json:
        print_json({"file": str(options.file), "designs": number})
    else:
        answer(f"{options.file}: {number} designs")
    return 0


def _store(options: argparse.Namespace) -> Path | None:
    """Return where finished designs are kept, None for nowhere."""
    if options.store is not None:
        return Path(options.store)
    return None if options.json else Path(f"{options.file.stem}.sqlite")
