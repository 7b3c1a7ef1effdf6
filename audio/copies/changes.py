"""A plain copy of a file with a few bytes changed, and the proof that nothing else differs."""

import errno
import os
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import BinaryIO

from audio.errors import CannotStamp, Stopped

_STEP = 1 << 23
_COMPARED = 1 << 20
"""Bytes held against each other at once: few enough to stay near the processor."""
_COPIED = 0.6
"""Share of the work that is the copy; the rest is the comparison."""
_NOT_SO = {errno.EXDEV, errno.ENOSYS, errno.EINVAL, errno.EOPNOTSUPP, errno.EPERM, errno.EBADF}


@dataclass(frozen=True, slots=True)
class Changes:
    """How a copy differs from its source."""

    patches: tuple[tuple[int, bytes], ...]
    """Place in the file, rising, and the bytes that stand there instead."""
    tail: bytes
    """What follows at the end."""
    told: str = ""
    """What a person should know of it, a sentence."""


def copy_changed(
    source: Path,
    target: Path,
    changes: Changes,
    *,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> None:
    """Copy a file with its changes, then compare both. Raises CannotStamp, Stopped, OSError.

    The target must not be there yet; it is the caller's to remove when this fails. Its time of change becomes
    that of the source, so that copies sort like the clips.
    """
    facts = source.stat()
    size = facts.st_size
    with source.open("rb") as old, target.open("xb") as new:
        done = 0
        while done < size:
            if stop():
                raise Stopped("Copying was stopped.")
            moved = _copy(old, new, min(_STEP, size - done))
            if not moved:
                raise CannotStamp("The file became shorter while it was copied: copy it again from the card.")
            done += moved
            progress(_COPIED * done / size)
        for at, data in changes.patches:
            new.seek(at)
            new.write(data)
        new.seek(size)
        new.write(changes.tail)
    _compare(source, target, changes, size, stop, progress)
    os.utime(target, ns=(facts.st_atime_ns, facts.st_mtime_ns))
    progress(1.0)


def _copy(old: BinaryIO, new: BinaryIO, most: int) -> int:
    """Copy the next bytes, inside the system where it can do that."""
    if hasattr(os, "copy_file_range"):
        try:
            moved = os.copy_file_range(old.fileno(), new.fileno(), most)
            if moved:
                return moved
        except OSError as error:
            if error.errno not in _NOT_SO:
                raise
    data = os.read(old.fileno(), most)
    at = 0
    while at < len(data):
        at += os.write(new.fileno(), data[at:])
    return len(data)


def _compare(
    source: Path,
    target: Path,
    changes: Changes,
    size: int,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> None:
    """Every byte but the changed ones has to be the source's, and the changed ones what they should be."""
    wrong = CannotStamp("The copy does not hold what the clip holds, so it was not kept: check the disk.")
    marks = [0]
    for at, data in changes.patches:
        marks += [at, at + len(data)]
    marks.append(size)
    with source.open("rb", buffering=0) as old, target.open("rb", buffering=0) as new:
        one, two = bytearray(0), bytearray(0)
        for number, (start, end) in enumerate(pairwise(marks)):
            if number % 2:
                new.seek(start)
                if new.read(end - start) != changes.patches[number // 2][1]:
                    raise wrong
                continue
            old.seek(start)
            new.seek(start)
            while start < end:
                if stop():
                    raise Stopped("Copying was stopped.")
                most = min(_COMPARED, end - start)
                if len(one) != most:
                    one, two = bytearray(most), bytearray(most)
                got = old.readinto(one)
                if not got or new.readinto(two) != got or one != two:
                    raise wrong
                start += got
                progress(_COPIED + (1 - _COPIED) * start / size)
        new.seek(size)
        if new.read() != changes.tail:
            raise wrong
