"""Which shoot files come from this installation, or were agreed to here: told by their content.

A shoot file names media anywhere on the disk, and whoever hands it over, bundles what it names. So one that
came from elsewhere is asked about first, and one that was saved here is not, however it was renamed or moved.
"""

import os
from pathlib import Path

from app.model.storage.user_state import user_state

MOST = 5000
"""Shoots kept in mind; the longest unused are forgotten, and asked about once more."""
KEPT_SHARE = 0.8


def remember(digest: str) -> None:
    """Keep a file's content in mind; where that fails it is asked about again."""
    folder = _folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / digest).touch(mode=0o600)
        _tidy(folder)
    except OSError:
        return


def is_known(digest: str) -> bool:
    """Whether a file of that content was saved or agreed to here; it counts as used just now."""
    try:
        os.utime(_folder() / digest)
    except OSError:
        return False
    return True


def _folder() -> Path:
    return user_state() / "shoots"


def _tidy(folder: Path) -> None:
    names = os.listdir(folder)  # noqa: PTH208  (called with every save; most often there is nothing to do)
    if len(names) <= MOST:
        return
    by_age = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime_ns)
    for path in by_age[: len(by_age) - round(MOST * KEPT_SHARE)]:
        path.unlink(missing_ok=True)
