"""What long work is given to be stopped by and to report to, and what stands in where nobody cares."""

from collections.abc import Callable


def never() -> bool:
    """Never ask to stop."""
    return False


def no_progress(fraction: float) -> None:
    """Ignore a progress report (0 to 1)."""


def part_of(progress: Callable[[float], None], begin: float, share: float) -> Callable[[float], None]:
    """Progress of a part of the work that begins at ``begin`` and is ``share`` of the whole (both 0 to 1).

    >>> part_of(print, 0.5, 0.2)(0.5)
    0.6
    """
    return lambda fraction: progress(begin + share * fraction)
