"""What a hand-off reports before and after it is written, and the errors it raises."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

Stop = Callable[[], bool]
"""Asks whether the work should stop now."""
Progress = Callable[[float], None]
"""Receives the progress of the work, from 0 to 1."""


class HandoffError(Exception):
    """A hand-off was not written, or reads back differently; ``str(error)`` is a sentence for the person."""


class HandoffStopped(HandoffError):
    """The person stopped it; nothing half-written is left."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A file, or a folder with its contents, that would be written."""

    name: str
    """Its name within the folder of the hand-off."""
    size_bytes: int
    """0 where the size is not known before it is written."""
    lines: tuple[str, ...]
    """Notes for the person beforehand, one sentence each: above all what the format cannot carry."""
    inside: tuple[str, ...] = ()
    """Names of the files that are written into it, where it is a folder that may hold others as well."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoffReport:
    """A file that was written, read back and found to match the shoot."""

    path: Path
    lines: tuple[str, ...]
    """Notes for the person, one sentence each."""
    takes: int
    """Takes in the file, doubtful ones included."""
    worst_sub_frame_offset_s: float
    """Largest distance between a take's place and the whole frame it starts on; seconds."""


def why(error: Exception) -> str:
    """What an error says, without the system's numbers.

    >>> why(PermissionError(13, "Permission denied", "clip.mov"))
    'Permission denied'
    """
    return str(getattr(error, "strerror", None) or error)


def plain(text: str) -> str:
    """Text that can be encoded: bytes of a file name that are not valid text become question marks."""
    return text.encode("utf-8", errors="replace").decode("utf-8")


def count(number: int, noun: str) -> str:
    """A number with its noun.

    >>> count(1, "take"), count(2, "take")
    ('1 take', '2 takes')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def never() -> bool:
    """A `Stop` for work that nobody stops."""
    return False


def no_progress(fraction: float) -> None:
    """A `Progress` that nobody watches."""
