"""How much of the disk the cache takes, and emptying it. Only what this program put there is ever removed."""

import os
from collections.abc import Callable
from pathlib import Path

FOLDERS = ("answers", "looks", "matches", "pictures", "proxies")
"""Folders of the cache, each written by one part of the program."""


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
