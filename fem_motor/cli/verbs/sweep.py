"""Compute torque and flux linkage over rotor angle, with or without current."""

import argparse

from fem_motor.cli import options as shared
from fem_motor.cli.terminal import answer, print_json, progress, say
from fem_motor.errors import InputError

HELP = "raw curves over rotor angle, with or without current"
# Each point is a field solution: more is a slip of the finger, and would end without memory.
_MOST_POINTS = 100_000
_DECIMALS = 12
_HEADS = (
    "angle/°", "torque/N·m", "U/Wb", "V/Wb", "W/Wb", "i_U/A", "i_V/A", "i_W/A",
)  # fmt: skip


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add this verb's options."""
    shared.add_design(parser)
    angles = parser.add_argument_group(
        "rotor angles", "mechanical degrees, counter-clockwise; at 0 pole 1 faces tooth 1"
    )
    angles.add_argument(
        "--from", dest="first", metavar="A", type=shared.number, required=True, help="first angle"
    )
    angles.add_argument(
        "--to",
        dest="last",
        metavar="B",
        type=shared.number,
        required=True,
        help="last angle, included",
    )
    angles.add_argument(
        "--points",
        metavar="N",
        type=_count,
        required=True,
        help="number of angles; one where A = B",
    )
    shared.add_currents(
        parser, turning_help="; mean, ripple and parts of the torque are then told too"
    )
    parser.add_argument(
        "--whole", action="store_true", help="solve the whole circle, whatever the symmetry"
    )
    shared.add_output(parser, "write curves, sweep.csv and result.json into this folder")
    shared.add_quality(parser)
    shared.add_json(parser)
    shared.add_quiet(parser)


def main(options: argparse.Namespace) -> int:
    """Run the verb and return the exit status."""
    currents = shared.currents_of(options)
    _check_angles(options)

    import numpy as np

    from fem_motor import performance, report
    from fem_motor.design import load_design

    design = load_design(options.file)
    if options.output is not None:
        report.ready_folder(options.output)
    count = 1 if options.first == options.last else options.points
    with progress(quiet=options.quiet) as on_step:
        sweep = performance.rotor_sweep(
            design,
            angles_deg=np.linspace(options.first, options.last, count),
            quality=options.quality,
            extent="whole" if options.whole else "sector",
            on_step=on_step,
            **currents,
        )
    if options.output is not None:
        report.write_report(
            sweep,
            options.output,
            design=design,
            quality=options.quality,
            current_angle_deg=currents.get("current_angle_deg"),
        )
    if options.json:
        print_json(report.result_to_json(sweep, design=design, quality=options.quality))
    else:
        columns = [sweep.angle_deg, sweep.torque_Nm, *sweep.flux_linkage_Wb, *sweep.currents_A]
        rows = [_HEADS, *np.stack(columns, axis=1).tolist()]
        table = "\n".join("".join(f"{_cell(cell):>14}" for cell in row) for row in rows)
        told = report.summary_text(sweep, design=design)
        answer(f"{table}\n\n{told}" if told else table)
    if options.output is not None and not options.quiet:
        say(f"curves: {options.output}")
    return 0


def _cell(value: float | str) -> str:
    # Currents that are nothing but rounding (1e-14 A) are nothing.
    return value if isinstance(value, str) else f"{round(value, _DECIMALS):.7g}"


def _check_angles(options: argparse.Namespace) -> None:
    if options.points == 1 and options.first != options.last:
        raise InputError(
            "= 1 cannot hold both ends.",
            why=f"the sweep goes from {options.first:g} to {options.last:g}°, both included.",
            do="give at least 2 points, or the same angle for --from and --to.",
            place="--points",
        )


def _count(text: str) -> int:
    try:
        value = int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number") from None
    if value < 1:
        raise argparse.ArgumentTypeError(f"{value} is less than one point")
    if value > _MOST_POINTS:
        raise argparse.ArgumentTypeError(f"{value} is more than {_MOST_POINTS} points")
    return value
