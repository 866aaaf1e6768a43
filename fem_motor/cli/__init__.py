"""The command line: parses, calls, prints; never computes."""

from fem_motor.cli.program import main

__all__ = ["main"]
