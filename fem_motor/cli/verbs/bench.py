"""Say what a test-stand log measured: rows, segments, doubts, points, constants of the motor."""

import argparse
from pathlib import Path

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, print_json, progress, say, status_style

HELP = "what a test-stand log measured, what it says of the model, and what may be wrong"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    parser.add_argument("log", metavar="LOG", type=Path, help="the log of the test stand (CSV)")
    parser.add_argument("file", metavar="DESIGN", type=Path, help="the design file (TOML)")
    parser.add_argument(
        "--columns",
        metavar="F",
        type=Path,
        help="the column map (TOML): headings, units, facts about the stand",
    )
    parser.add_argument(
        "--checks",
        metavar="F",
        type=Path,
        help="measurements without the stand (TOML): resistance, drill, inductance, coast-down",
    )
    parser.add_argument(
        "--freeze",
        metavar="F",
        type=Path,
        help="a prediction (JSON): not there yet, it is made for the planned test and no log is "
        "read; there already, the log is scored against it",
    )
    shared.add_output(
        parser,
        "write points.csv, answers.txt, calibrated.toml and result.json into this folder "
        "(default: nothing is written)",
    )
    shared.add_quality(parser)
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status: 1 where the audit says stop."""
    from fem_motor import bench, calibration, performance, report
    from fem_motor.design import load_design

    if options.freeze is not None and not options.freeze.exists():
        return _freeze(options)
    frozen = None if options.freeze is None else calibration.read_prediction(options.freeze)
    design = load_design(options.file)
    checks = () if options.checks is None else calibration.read_checks(options.checks)
    if options.output is not None:
        report.ready_folder(options.output)
    with progress(quiet=options.quiet) as on_step:
        on_step(0, 1, "reading the log")
        log = bench.read_log(options.log, columns=options.columns)
        segments = bench.steady_segments(log)
        solved = performance.solve_powered(design, quality=options.quality, on_step=on_step)
        audit = bench.audit(
            log, segments, motor=design.motor, speed_constant=solved.constants.speed_per_dc
        )
        found = bench.BenchResult(
            title=design.title,
            log=log,
            segments=segments,
            audit=audit,
            measured=bench.measured(log, segments, motor=design.motor, doubts=audit),
        )
        on_step(0, 1, "calibration")
        result = calibration.CalibratedBench(
            bench=found,
            calibration=calibration.calibrate(
                design,
                solved.powered,
                calibration.evidence_of(
                    log,
                    found.measured.points,
                    segments=segments,
                    checks=checks,
                    ambient_C=design.motor.cooling.ambient_C,
                ),
                ends=solved.end_factor,
                text=options.file.read_text(encoding="utf-8-sig"),
                source=", ".join(one.name for one in (options.log, options.checks) if one),
                doubts=audit,
                on_step=on_step,
            ),
            prediction=None
            if frozen is None
            else frozen.scored(found.measured.points, design=design.to_dict()),
        )
    if options.output is not None:
        report.write_report(result, options.output)
    if options.json:
        print_json(report.result_to_json(result))
    else:
        answer(report.summary_text(result, status_style=status_style()))
    if options.output is not None and not options.quiet:
        say(f"points: {options.output / 'points.csv'}")
    return 1 if any(finding.status == "stop" for finding in audit) else 0


def _freeze(options: argparse.Namespace) -> int:
    """Store what a planned test should read, and print the plan."""
    import datetime as dt
    from importlib.metadata import version

    from fem_motor import calibration, performance, report
    from fem_motor.design import load_design

    design = load_design(options.file)
    with progress(quiet=options.quiet) as on_step:
        solved = performance.solve_powered(design, quality=options.quality, on_step=on_step)
        on_step(0, 1, "prediction")
        found = calibration.freeze_prediction(
            options.freeze,
            design,
            powered=solved.powered,
            ends=solved.end_factor,
            date=dt.datetime.now(tz=dt.UTC).date().isoformat(),
            log=options.log,
            version=version("fem_motor"),
        )
    if options.json:
        print_json(report.result_to_json(found))
    else:
        answer(report.summary_text(found, status_style=status_style()))
    if not options.quiet:
        say(f"prediction: {options.freeze}")
    return 0
