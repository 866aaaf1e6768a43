"""The command line: parses, calls, prints; never computes."""

from collections.abc import Sequence

__all__ = ["main"]


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; arguments are those of the process by default.

    0 done; 1 failed while working, or a check found a reason to stop; 2 bad input; 130 interrupted.
    """
    try:
        # Inside, so that Ctrl-C while the program still loads ends it like any other.
        from fem_motor.cli.program import run_command

        return run_command(argv)
    except KeyboardInterrupt:
        from fem_motor.cli.terminal import say

        say("interrupted.")
        return 130
    finally:
        _finish_undisturbed()


def _finish_undisturbed() -> None:
    """Let Ctrl-C do nothing while Python clears up: the answer is out, the status is known."""
    import atexit
    import signal

    atexit.register(signal.signal, signal.SIGINT, signal.SIG_IGN)
