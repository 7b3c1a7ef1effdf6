"""Files too large for memory, and folders: written beside their place and swapped in when whole."""

import os
import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from app.handoff.outcome import HandoffError, HandoffStopped, Stop
from app.model.storage.guard import Guard

_PIECE_BYTES = 4 << 20


@contextmanager
def neighbour(path: Path, guard: Guard) -> Iterator[Path]:
    """A place beside ``path`` for a file or a folder; swapped in at the end, in the place of what was there.

    When anything goes wrong the neighbour is removed, and what was there before stays. Raises MayNotWrite
    where the guard is against it.
    """
    guard.check(path)
    beside = path.with_name(f".anglebook-{secrets.token_hex(6)}.part")
    before = path.with_name(f".anglebook-{secrets.token_hex(6)}.part")
    try:
        yield beside
        if path.is_dir() and not path.is_symlink():
            path.rename(before)  # a folder cannot be swapped in over one that holds something
            try:
                beside.rename(path)
            except OSError:
                before.rename(path)
                raise
        else:
            beside.replace(path)
    finally:
        for left in (beside, before):
            if left.is_dir():
                shutil.rmtree(left, ignore_errors=True)
            else:
                left.unlink(missing_ok=True)


def pieces(file: IO[bytes], stop: Stop, told: Callable[[int], None]) -> Iterator[bytes]:
    """All of a file, piece by piece; ``told`` receives the length of each.

    Raises HandoffStopped when asked to stop.
    """
    while piece := file.read(_PIECE_BYTES):
        if stop():
            raise HandoffStopped("The hand-off was stopped; unfinished files are removed.")
        yield piece
        told(len(piece))


def to_disk(file: IO[bytes]) -> None:
    """Force what was written to disk."""
    file.flush()
    os.fsync(file.fileno())


def need_room(path: Path, size_bytes: int) -> None:
    """Raises HandoffError where a file or folder of that size does not fit on its disk."""
    folder = path.parent
    free = shutil.disk_usage(folder).free
    if size_bytes > free:
        raise HandoffError(
            f"There is not enough space for {path.name} in {folder}: it needs "
            f"{size_words(size_bytes)}, and {size_words(free)} are free. Choose a folder on another disk."
        )


def size_words(size_bytes: int) -> str:
    """A size as people say it, in units of a thousand.

    >>> size_words(312), size_words(45_678), size_words(2_803_000_000)
    ('312 bytes', '45.7 kB', '2.8 GB')
    """
    if size_bytes < 1000:
        return f"{size_bytes} bytes"
    step = 1
    while size_bytes / 1000**step >= 999.95 and step < 4:
        step += 1
    return f"{size_bytes / 1000**step:.1f} {('kB', 'MB', 'GB', 'TB')[step - 1]}"
