"""Progress as a callable: what is called as work goes on, and what takes no notice."""

from collections.abc import Callable

OnStep = Callable[[int, int], None]
"""Called with (done, of)."""

OnStage = Callable[[int, int, str], None]
"""Called with (done, of, stage)."""


def ignore(done: int, of: int, stage: str = "") -> None:
    """Take no notice of progress."""
