"""What the window asks of the engine to let a person look: films, and proxies in the user's cache folder.

Nothing here knows of the window; nothing is loaded before somebody looks. Proxies are named by what the
clip holds (size and fingerprint), so a clip may be moved or renamed; the longest unused are thrown out.
"""

import hashlib
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from app.model.document.media_ref import MediaRef
from app.model.on_song import Clip
from app.model.storage.cache import user_cache

if TYPE_CHECKING:
    from audio.play.frame_prefetch import FramePrefetcher as FramePrefetcher
    from audio.play.frame_prefetch import FrameRequest as FrameRequest

MOST_BYTES = 20_000_000_000
"""A proxy of UHD takes about 1 MB a second: five hours."""
SHARE_OF_DISK = 0.25
"""Of what is free on the disk (and what proxies take there already) no more is used."""
DIRECT_PIXELS = 1280 * 720 * 30
"""Pixels a second up to which a clip is watched as it is."""
SUFFIX = ".mov"


def watcher() -> "FramePrefetcher":
    """Threads that decode what is watched."""
    from audio.play.frame_prefetch import FramePrefetcher

    return FramePrefetcher()


def wish(key: str, path: Path, clip_s: float, height: int, *, running: bool) -> "FrameRequest":
    """What is watched of one take; ``key`` tells it from others."""
    from audio.play.frame_prefetch import FrameRequest

    return FrameRequest(key, path, max(0.0, clip_s), height, running)


def needs_proxy(clip: Clip) -> bool:
    """Whether a clip has more pixels a second than can be watched as it is."""
    return clip.frame_rate is not None and clip.width * clip.height * clip.frame_rate > DIRECT_PIXELS


class Proxies:
    """The folder of proxies."""

    def __init__(self, folder: Path | None = None, most_bytes: int = MOST_BYTES) -> None:
        self.folder = user_cache() / "proxies" if folder is None else folder
        self._most_bytes = most_bytes

    def find(self, media: MediaRef) -> Path | None:
        """The proxy of a file, if it was made; it counts as used just now."""
        path = self._path(media)
        try:
            os.utime(path)
        except OSError:
            return None
        return path

    def make(self, clip: Clip, *, stop: Callable[[], bool], progress: Callable[[float], None]) -> Path:
        """Make a clip's proxy, and room for it. Raises AudioError, OSError."""
        from audio.files.proxies import make_proxy

        target = self._path(clip.media)
        self.folder.mkdir(parents=True, exist_ok=True)
        make_proxy(Path(clip.media.path), target, stop=stop, progress=progress)
        self.tidy(keep=target)
        return target

    def tidy(self, keep: Path | None = None) -> None:
        """Throw out the longest unused proxies, and what a process that died left behind, if it is much."""
        entries = []
        try:
            free = shutil.disk_usage(self.folder).free
            with os.scandir(self.folder) as found:
                for entry in found:
                    if entry.name.endswith((SUFFIX, ".part")):
                        facts = entry.stat(follow_symlinks=False)
                        entries.append((facts.st_mtime_ns, facts.st_size, Path(entry.path)))
        except OSError:
            return
        total = sum(size for _, size, _ in entries)
        most = min(self._most_bytes, SHARE_OF_DISK * (free + total))
        for _, size, path in sorted(entries):
            if total <= most:
                return
            if path != keep:
                try:
                    path.unlink()
                except OSError:
                    continue  # another process was quicker, or somebody watches it
                total -= size

    def _path(self, media: MediaRef) -> Path:
        key = hashlib.sha256(f"{media.size_bytes}-{media.digest}".encode()).hexdigest()[:32]
        return self.folder / f"{key}{SUFFIX}"
