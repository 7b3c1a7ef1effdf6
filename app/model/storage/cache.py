"""A folder of answers that can be worked out again at any time: small files, the oldest thrown out.

Nothing in it is needed. An entry that is damaged, half there or not to be read is simply not there, and one
that cannot be written is not kept.
"""

import hashlib
import json
import logging
import os
import sys
from collections.abc import Mapping
from pathlib import Path

from app.model.storage.files import write_whole
from app.model.storage.guard import NO_CLIPS
from app.model.storage.home import home_or_stand_in
from app.model.storage.json_node import Json

MOST_BYTES = 64_000_000
"""The folder's size; the answers for a clip take 2 to 20 KB."""
KEPT_SHARE = 0.8
"""When the folder is full, entries go until this much of it is left, so that it is not sorted every time."""
SUFFIX = ".answer"
CHOSEN = "ANGLEBOOK_CACHE"
"""Variable of the environment that names another folder than the system's; child processes see it too."""


def user_cache(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path:
    """The folder that the system sets aside for what this user's programs can make again.

    In the folder that ``ANGLEBOOK_CACHE`` names where it is set; else in
    ``XDG_CACHE_HOME`` where it is set (XDG Base Directory Specification 0.8: relative paths are passed over),
    else ``~/Library/Caches`` on macOS, ``%LOCALAPPDATA%`` on Windows, and ``~/.cache`` elsewhere.

    >>> user_cache({"XDG_CACHE_HOME": "/quick"}, "linux").as_posix()
    '/quick/anglebook'
    """
    chosen = Path(environment.get(CHOSEN, ""))
    told = Path(environment.get("XDG_CACHE_HOME", ""))
    local = Path(environment.get("LOCALAPPDATA", ""))
    if chosen.is_absolute():
        base = chosen
    elif told.is_absolute():
        base = told
    elif system == "darwin":
        base = home_or_stand_in() / "Library" / "Caches"
    elif system == "win32" and local.is_absolute():
        base = local
    else:
        base = home_or_stand_in() / ".cache"
    return base / "anglebook"


class Cache:
    """Answers under keys. Several processes may read and write one folder at a time."""

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES) -> None:
        self._folder = folder
        self._most_bytes = most_bytes

    def get(self, key: str) -> Json | None:
        """What was put under a key (letters and digits), or None."""
        content = self.get_bytes(key)
        try:
            value = None if content is None else json.loads(content)
        except (ValueError, RecursionError):
            return None
        return value if isinstance(value, dict) else None

    def put(self, key: str, value: Json) -> None:
        """Keep an answer; where that fails, it is not kept."""
        try:
            content = json.dumps(value, allow_nan=False).encode()
        except ValueError:
            return
        self.put_bytes(key, content)

    def get_bytes(self, key: str) -> bytes | None:
        """The same for an answer that is no JSON."""
        path = self._path(key)
        try:
            told, _, content = path.read_bytes().partition(b"\n")
            if told.decode() != _seal(key, content):
                return None
            os.utime(path)  # used just now: others go first
        except (OSError, ValueError):
            return None
        return content

    def put_bytes(self, key: str, content: bytes) -> None:
        """The same for an answer that is no JSON."""
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            write_whole(self._path(key), f"{_seal(key, content)}\n".encode() + content, NO_CLIPS)
        except OSError as error:
            logging.getLogger(__name__).warning("nothing is kept in %s: %s", self._folder, error.strerror)

    def tidy(self) -> None:
        """Throw the longest unused entries out, and what a process that died left behind, if it is much."""
        entries = []
        try:
            with os.scandir(self._folder) as found:
                for entry in found:
                    if entry.name.endswith((SUFFIX, ".part")):
                        facts = entry.stat(follow_symlinks=False)
                        entries.append((facts.st_mtime_ns, facts.st_size, entry.path))
        except OSError:
            return
        total = sum(size for _, size, _ in entries)
        if total <= self._most_bytes:
            return
        for _, size, path in sorted(entries):
            if total <= self._most_bytes * KEPT_SHARE:
                return
            try:
                Path(path).unlink()
            except OSError:
                continue  # another process was quicker
            total -= size

    def _path(self, key: str) -> Path:
        return self._folder / f"{key}{SUFFIX}"


def _seal(key: str, content: bytes) -> str:
    """Tells a whole entry from a damaged one, and one key's from another's."""
    return hashlib.sha256(key.encode() + b"\n" + content).hexdigest()
