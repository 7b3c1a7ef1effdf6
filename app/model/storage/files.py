"""Writing a file so that a reader finds the old one or the new one, never half of it.

Whoever writes says what is guarded: `app.model.storage.guard` decides whether the target may be written to.
"""

import os
import secrets
import stat
from collections.abc import Callable
from pathlib import Path

from app.model.storage.guard import Guard


def write_whole(
    path: Path,
    data: bytes,
    guard: Guard,
    check: Callable[[Path], None] | None = None,
    *,
    own: bool = False,
) -> None:
    """Write to a neighbour, force it to disk, and swap it in.

    Raises OSError, MayNotWrite among them where the guard is against it; ``own`` as in `Guard.check`.

    ``check`` is given the neighbour, as it lies on disk, before the swap. When anything goes wrong, an
    error of ``check`` too, the neighbour is removed and what was there before stays.
    """
    make_whole(path, lambda neighbour: _write(neighbour, data), guard, check, own=own)


def make_whole(
    path: Path,
    make: Callable[[Path], None],
    guard: Guard,
    check: Callable[[Path], None] | None = None,
    *,
    own: bool = False,
) -> None:
    """The same for what is written bit by bit: ``make`` is given the neighbour's name and writes it."""
    guard.check(path, own=own)
    neighbour = path.with_name(f".anglebook-{secrets.token_hex(6)}.part")
    try:
        make(neighbour)
        with neighbour.open("rb+") as file:
            os.fsync(file.fileno())
        if check is not None:
            check(neighbour)
        if path.exists():
            neighbour.chmod(stat.S_IMODE(path.stat().st_mode))
        neighbour.replace(path)
    except BaseException:
        neighbour.unlink(missing_ok=True)
        raise
    _settle_folder(path.parent)


def _write(neighbour: Path, data: bytes) -> None:
    with neighbour.open("xb") as file:
        file.write(data)


def _settle_folder(folder: Path) -> None:
    """Force the folder's entry to disk too, where the system lets a folder be opened."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
