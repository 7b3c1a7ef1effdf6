"""How much of the disk the cache takes, and emptying it. Only what this program put there is ever removed."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

FOLDERS = ("answers", "looks", "matches", "pictures", "proxies", "compiled")
"""Folders of the cache, each written by one part of the program."""
PROBE_BYTES = 64_000
"""Written to see whether there is room: what is kept of a few clips."""


def size_bytes(cache: Path) -> int:
    """Bytes of all files in the cache's own folders."""
    return sum(size for _, size in _files(cache))


def empty(cache: Path, *, stop: Callable[[], bool] = lambda: False) -> int:
    """Clear the cache; gives how many bytes that freed.

    A file that is in use, and cannot be removed on some systems, stays.
    """
    freed = 0
    for path, size in _files(cache):
        if stop():
            break
        try:
            path.unlink()
        except OSError:
            continue
        freed += size
    return freed


def keep_to(cache: Path, most_bytes: int) -> int:
    """Throw out what was longest unused until no more is left; gives how many bytes that freed."""
    entries = []
    for path, size in _files(cache):
        try:
            entries.append((path.lstat().st_mtime_ns, size, path))
        except OSError:
            continue
    left = sum(size for _, size, _ in entries)
    freed = 0
    for _, size, path in sorted(entries):
        if left - freed <= most_bytes:
            break
        try:
            path.unlink()
        except OSError:
            continue  # in use
        freed += size
    return freed


def trouble(cache: Path) -> str:
    """Why nothing can be kept in the cache; empty where it can."""
    try:
        cache.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=cache) as file:
            file.write(bytes(PROBE_BYTES))
    except OSError as error:
        return f"Results cannot be kept in {cache}: {error.strerror}. Everything is read again next time."
    return ""


def _files(cache: Path) -> list[tuple[Path, int]]:
    found = []
    for name in FOLDERS:
        for folder, _, names in os.walk(cache / name):
            for one in names:
                path = Path(folder, one)
                try:
                    found.append((path, path.lstat().st_size))
                except OSError:
                    continue
    return found
