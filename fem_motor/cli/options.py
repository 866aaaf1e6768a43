"""Options that several verbs share."""

import argparse
import math
import os
from pathlib import Path
from typing import Any

from fem_motor.errors import InputError

_PHASES = 3
MOST_WORKERS = 8
"""By default: each takes up to half a gigabyte."""


def add_design(parser: argparse.ArgumentParser) -> None:
    """Add the design file."""
    parser.add_argument("file", metavar="FILE", type=Path, help="the design file (TOML)")


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add --json."""
    parser.add_argument(
        "--json", action="store_true", help="print the answer as JSON instead of text"
    )


def add_quiet(parser: argparse.ArgumentParser) -> None:
    """Add --quiet."""
    parser.add_argument("--quiet", action="store_true", help="no progress and no advice on stderr")


def add_quality(parser: argparse.ArgumentParser) -> None:
    """Add --quality."""
    parser.add_argument(
        "--quality",
        choices=("draft", "standard", "fine"),
        default="standard",
        help="mesh quality: by the mesh Kv and Kt are within 0.5 %%, 0.1 %% or 0.01 %%, cogging "
        "within ten times that, of its peak or, where that is more, of a fiftieth of the rated "
        "torque (default: standard)",
    )


def add_output(parser: argparse.ArgumentParser, help_text: str) -> None:
    """Add -o/--output."""
    parser.add_argument("-o", "--output", metavar="DIR", type=_folder, help=help_text)


def add_currents(parser: argparse.ArgumentParser, *, turning_help: str = "") -> None:
    """Add --currents, --current-peak, --current-angle and --waveform.

    `turning_help` says what else a current that turns with the rotor brings.
    """
    currents = parser.add_argument_group(
        "currents", "of the branches, A; without these options the motor is unpowered"
    )
    currents.add_argument(
        "--currents", metavar="U,V,W", type=_three_numbers, help="held while the rotor turns"
    )
    currents.add_argument(
        "--current-peak",
        metavar="A",
        type=number,
        help=f"peak of currents that turn with the rotor{turning_help}",
    )
    currents.add_argument(
        "--current-angle",
        metavar="DEG",
        type=number,
        help="electrical, ahead of the q axis where positive (default: 0)",
    )
    currents.add_argument(
        "--waveform",
        choices=("sine", "six-step"),
        help="of the currents that turn: sine, or ideal blocks of 120° in the lines "
        "(default: sine)",
    )


def currents_of(options: argparse.Namespace) -> dict[str, Any]:
    """Return the keywords that say which currents flow."""
    if options.current_peak is None:
        for name in ("current_angle", "waveform"):
            if getattr(options, name) is not None:
                place = f"--{name.replace('_', '-')}"
                raise InputError("needs a current.", do="add --current-peak A.", place=place)
        return {"currents_A": options.currents or (0.0, 0.0, 0.0)}
    if options.currents is not None:
        raise InputError(
            "exclude each other.",
            why="one holds the currents, the other turns them with the rotor.",
            do="leave one of them out.",
            place="--currents and --current-peak",
        )
    return {
        "current_peak_A": options.current_peak,
        "current_angle_deg": options.current_angle or 0.0,
        "waveform": options.waveform or "sine",
    }


def number(text: str) -> float:
    """Return a finite number for argparse."""
    try:
        value = float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number") from None
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f"{text!r} is not a finite number")
    return value


def _three_numbers(text: str) -> tuple[float, ...]:
    values = tuple(number(part) for part in text.split(","))
    if len(values) != _PHASES:
        raise argparse.ArgumentTypeError(f"{text!r} is not three numbers U,V,W")
    return values


def _folder(text: str) -> Path:
    if not text:
        raise argparse.ArgumentTypeError("the name of the folder is empty")
    try:
        return Path(text).expanduser()
    except RuntimeError as error:
        raise argparse.ArgumentTypeError(f"{text!r}: {error}") from None


def add_workers(parser: argparse.ArgumentParser) -> None:
    """Add --workers."""
    parser.add_argument(
        "--workers",
        metavar="N",
        type=_workers,
        default=min(os.cpu_count() or 1, MOST_WORKERS),
        help=f"processes at work (default: one for each processor, at most {MOST_WORKERS})",
    )


def _workers(text: str) -> int:
    try:
        value = int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number") from None
    if value < 1:
        raise argparse.ArgumentTypeError(f"{value} is less than one process")
    return value
