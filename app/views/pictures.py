"""Pictures of clips: fetched in the background, kept in memory and in the user's cache folder.

The cache is keyed by what the file holds (size and fingerprint), the moment and the height, so a clip may be
moved or renamed. It can be thrown away at any time. Nothing is ever written beside the clips.
"""

import hashlib
import os
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage, QImageWriter

from app.jobs import Jobs, Tasks, Ticket
from app.model.shoot import Clip

SLOT = "pictures"
IN_MEMORY = 1500
"""Pictures kept in memory; at the height of a stave this is some tens of megabytes."""
ON_DISK_BYTES = 300_000_000
"""Pictures kept in the cache folder; the oldest go when a window begins to fetch pictures."""
WAITING = 400
"""Wishes kept; older ones were scrolled away."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One picture wanted: a clip's file, a moment in it (milliseconds) and a height in device pixels."""

    path: str
    content: str
    clip_ms: int
    height: int

    @property
    def file_name(self) -> str:
        """Name in the cache folder."""
        key = f"{self.content}|{self.clip_ms}|{self.height}"
        return hashlib.sha256(key.encode()).hexdigest()[:32] + ".jpg"


@dataclass(frozen=True, slots=True)
class _Answer:
    wish: Wish
    image: QImage | None


class Pictures(QObject):
    """Gives pictures at once where they are at hand, and fetches the others."""

    arrived = Signal()
    """Pictures wished for are at hand now (or turned out not to be had)."""

    def __init__(self, tasks: Tasks, jobs: Jobs, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._tasks, self._jobs = tasks, jobs
        self._folder = folder
        self._images: OrderedDict[Wish, QImage | None] = OrderedDict()
        self._wishes: OrderedDict[Wish, None] = OrderedDict()
        self._pruned = False

    def get(self, clip: Clip, clip_s: float, height: float, ratio: float = 1.0) -> QImage | None:
        """The picture of a moment, ``height`` logical pixels high; None as long as it is not at hand."""
        if clip.frame_rate is None:
            return None
        # A tenth of a second is as near as a thumbnail needs; it lets neighbouring layouts share pictures.
        last_s = max(0.0, clip.duration_s - float(1 / clip.frame_rate))
        moment = round(min(max(clip_s, 0.0), last_s), 1)
        wish = Wish(
            clip.media.path,
            f"{clip.media.size_bytes}-{clip.media.digest}",
            round(min(moment, last_s) * 1000),
            round(height * ratio),
        )
        if wish in self._images:
            self._images.move_to_end(wish)
            image = self._images[wish]
            if image is not None and image.devicePixelRatio() != ratio:
                image.setDevicePixelRatio(ratio)
            return image
        # The newest wish is met first: it is what is on screen now.
        self._wishes[wish] = None
        self._wishes.move_to_end(wish)
        while len(self._wishes) > WAITING:
            self._wishes.popitem(last=False)
        self._fetch()
        return None

    def _fetch(self) -> None:
        if self._jobs.busy(SLOT) or not self._wishes:
            return
        batch = [self._wishes.popitem()[0] for _ in range(min(8, len(self._wishes)))]
        tasks, folder, prune = self._tasks, self._folder, not self._pruned
        self._pruned = True

        def work(ticket: Ticket) -> None:
            if prune:
                prune_folder(folder, ON_DISK_BYTES)
            for wish in batch:
                if ticket.stop():
                    return
                ticket.report(_Answer(wish, _picture(tasks, folder, wish)))

        self._jobs.start(SLOT, work, self._next, lambda error: self._next(None), report=self._keep)

    def _keep(self, answer: _Answer) -> None:
        self._images[answer.wish] = answer.image
        self._wishes.pop(answer.wish, None)
        while len(self._images) > IN_MEMORY:
            self._images.popitem(last=False)
        self.arrived.emit()

    def _next(self, _: object) -> None:
        self._fetch()


def prune_folder(folder: Path, most_bytes: int) -> None:
    """Remove the oldest pictures until no more than so many bytes are left."""
    try:
        files = [(path.stat(), path) for path in folder.glob("*.jpg")]
        files.sort(key=lambda entry: entry[0].st_mtime, reverse=True)
        kept = 0
        for stat, path in files:
            kept += stat.st_size
            if kept > most_bytes:
                path.unlink(missing_ok=True)
    except OSError:
        return  # the folder is not there yet, or another window is pruning


def _picture(tasks: Tasks, folder: Path, wish: Wish) -> QImage | None:
    """Take a picture from the cache folder or from the clip; None where it cannot be had."""
    kept = folder / wish.file_name
    image = QImage(str(kept))
    if not image.isNull():
        return image
    try:
        pixels = tasks.picture(Path(wish.path), wish.clip_ms / 1000, wish.height)
    except Exception:
        # A picture is a help for the eye: what is wrong with the file is told where the clip is placed.
        return None
    height, width, _ = pixels.shape
    image = QImage(pixels.tobytes(), width, height, 3 * width, QImage.Format.Format_RGB888).copy()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        part = kept.with_suffix(f".{os.getpid()}.part")
        writer = QImageWriter(str(part), b"jpeg")
        writer.setQuality(88)
        if writer.write(image):
            part.replace(kept)
    except OSError:
        pass  # a full or read-only cache folder costs time, nothing else
    return image
