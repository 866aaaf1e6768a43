"""Options that several verbs share."""

import argparse
from pathlib import Path


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
        help="mesh quality: cogging within 5 %%, 1 %% or 0.1 %% of its peak (default: standard)",
    )


def add_output(parser: argparse.ArgumentParser, help_text: str) -> None:
    """Add -o/--output."""
    parser.add_argument("-o", "--output", metavar="DIR", type=_folder, help=help_text)


def _folder(text: str) -> Path:
    if not text:
        raise argparse.ArgumentTypeError("the name of the folder is empty")
    try:
        return Path(text).expanduser()
    except RuntimeError as error:
        raise argparse.ArgumentTypeError(f"{text!r}: {error}") from None
