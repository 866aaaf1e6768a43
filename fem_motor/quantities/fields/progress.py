"""Progress as a callable."""

from collections.abc import Callable

OnStep = Callable[[int, int], None]


def ignore(done: int, of: int) -> None:
    """Take no notice of progress."""
