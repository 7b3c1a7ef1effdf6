"""Copying a file with a few bytes changed, and checking that nothing else differs."""

import errno
import os
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import BinaryIO

from audio.errors import CannotStamp, Stopped

_STEP = 1 << 23
"""Bytes copied at a time; ``stop`` is asked in between."""
_COMPARED = 1 << 20
"""Bytes compared at a time: few enough for the processor's cache."""
_COPIED = 0.6
"""Share of the progress that is the copy; the rest is the comparison. Chosen by hand."""
_UNSUPPORTED = {errno.EXDEV, errno.ENOSYS, errno.EINVAL, errno.EOPNOTSUPP, errno.EPERM, errno.EBADF}


@dataclass(frozen=True, slots=True)
class Changes:
    """How a copy differs from its source."""

    patches: tuple[tuple[int, bytes], ...]
    """Byte offset, rising, and the bytes that replace those of the source."""
    tail: bytes
    """Bytes appended at the end."""
    note: str = ""
    """A sentence that a person should read about the copy, or nothing."""


def copy_changed(
    source: Path,
    target: Path,
    changes: Changes,
    *,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> None:
    """Copy a file with its changes, then compare both. Raises CannotStamp, Stopped, OSError.

    The target must not exist; the caller removes it when this fails. It gets the modification time of the
    source, so that copies sort like the clips.
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
    """Copy the next bytes, in the kernel where that is supported; gives how many."""
    if hasattr(os, "copy_file_range"):
        try:
            moved = os.copy_file_range(old.fileno(), new.fileno(), most)
            if moved:
                return moved
        except OSError as error:
            if error.errno not in _UNSUPPORTED:
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
    """Check that every byte is the source's or the intended change. Raises CannotStamp, Stopped."""
    wrong = CannotStamp("The copy differs from the clip, so it was not kept: check the disk.")
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
