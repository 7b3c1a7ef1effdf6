"""One at a time, among all windows and commands of this user: who writes a file, who compiles."""

import hashlib
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.model.storage.user_state import user_state

PATIENCE_S = 10.0
"""A file is locked while it is read and written, which takes a second at most."""
_POLL_S = 0.02


class Locked(OSError):
    """Somebody else holds the file, for longer than writing it takes."""


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold all others off a file, waiting for them first. Raises Locked.

    The lock itself lies in the user's own folder, so that nothing appears beside the file; it falls when its
    process ends, however that ends. Where there is no such folder, nobody is held off. Files may share a
    lock: whoever holds one must not ask for another.
    """
    real = os.path.join(os.path.realpath(path.parent), path.name)  # noqa: PTH118
    name = hashlib.sha256(os.fsencode(os.path.normcase(real))).hexdigest()[:2]
    busy = f"{path.name} is being written by another Anglebook. Try again when it is done."
    with one_at_a_time(name, busy, PATIENCE_S):
        yield


@contextmanager
def one_at_a_time(name: str, busy: str, patience_s: float) -> Iterator[None]:
    """Hold a lock of this user, waited for at most so many seconds. Raises Locked with the sentence given."""
    folder = user_state() / "locks"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(folder / f"{name}.lock", os.O_RDWR | os.O_CREAT, 0o600)
    except OSError:
        yield
        return
    try:
        _wait(handle, busy, patience_s)
        yield
    finally:
        os.close(handle)


def _wait(handle: int, busy: str, patience_s: float) -> None:
    until = time.monotonic() + patience_s
    while not _taken(handle):
        if time.monotonic() > until:
            raise Locked(busy)
        time.sleep(_POLL_S)


if sys.platform == "win32":
    import msvcrt

    def _taken(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _taken(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:
            return True  # a disk without locks
        return True
