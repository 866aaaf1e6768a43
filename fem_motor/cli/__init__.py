"""The command line: parses, calls, prints; never computes."""

from collections.abc import Sequence

__all__ = ["main"]


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; arguments are those of the process by default.

    0 done; 1 failed while working, or a check found a reason to stop; 2 bad input; 130 interrupted.
    """
    own_process = argv is None
    try:
        try:
            # Inside, so that Ctrl-C while the program still loads ends it like any other.
            from fem_motor.cli.program import run_command

            return run_command(argv)
        finally:
            _finish_undisturbed(own_process=own_process)
    except KeyboardInterrupt:
        _finish_undisturbed(own_process=own_process)
        from fem_motor.cli.terminal import say

        say("interrupted.")
        return 130


def _finish_undisturbed(*, own_process: bool) -> None:
    """Let Ctrl-C do nothing from here to the end of the process: the answer is out.

    A process pool can pass on the interrupt of a worker before this process meets its own, so
    one Ctrl-C can arrive twice. A caller that goes on after `main` keeps its handler.
    """
    if own_process:
        import signal

        signal.signal(signal.SIGINT, signal.SIG_IGN)
