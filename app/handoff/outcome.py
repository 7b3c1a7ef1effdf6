"""What a hand-off tells before it is written and when it is done, and what it raises when it cannot be."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

Stop = Callable[[], bool]
"""Tells whether the work should end now."""
Progress = Callable[[float], None]
"""Is told how far the work is, from 0 to 1."""


class HandoffError(Exception):
    """A hand-off was not written, or reads back different; ``str(error)`` is a sentence for the person."""


class HandoffStopped(HandoffError):
    """The person stopped it; nothing half-written is left."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A file, or a folder with what is in it, that would be written."""

    name: str
    """Its name in the hand-off's folder."""
    size_bytes: int
    lines: tuple[str, ...]
    """What the person should know before, a sentence each: what the format cannot say above all."""


@dataclass(frozen=True, slots=True)
class HandoffReport:
    """A file that was written, read back and found to say what the shoot says."""

    path: Path
    lines: tuple[str, ...]
    """What the person should know, a sentence each."""
    takes: int
    """Takes in the file, doubtful ones among them."""
    worst_remainder_s: float
    """Largest distance, seconds, between a take's place and the whole frame it was laid on."""
    left: tuple[str, ...] = ()
    """Names of files of its kind that lie beside it from an earlier hand-off, and are not of this one."""


def plain(text: str) -> str:
    """Text that any reader takes: bytes of a file name that are no text become question marks."""
    return text.encode("utf-8", errors="replace").decode("utf-8")


def count(number: int, noun: str) -> str:
    """A number with its noun.

    >>> count(1, "take"), count(2, "take")
    ('1 take', '2 takes')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def never() -> bool:
    """Tell that nobody wants to stop."""
    return False


def untold(fraction: float) -> None:
    """Tell nobody how far the work is."""
