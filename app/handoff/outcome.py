"""What a hand-off tells when it is done, and what it raises when it cannot be."""

from dataclasses import dataclass
from pathlib import Path


class HandoffError(Exception):
    """A hand-off was not written, or reads back different; ``str(error)`` is a sentence for the person."""


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


def plain(text: str) -> str:
    """Text that any reader takes: bytes of a file name that are no text become question marks."""
    return text.encode("utf-8", errors="replace").decode("utf-8")
