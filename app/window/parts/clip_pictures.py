"""Pictures of clips: fetched in the background, kept in memory and in the user's cache folder.

The cache is keyed by what the file holds (size and fingerprint), the moment and the height, so a clip may be
moved or renamed. It can be thrown away at any time. Nothing is ever written beside the clips.
"""

import hashlib
import os
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage, QImageWriter

from app.model.on_song import Clip
from app.window.jobs import Jobs, Tasks, Ticket

SLOT = "pictures"
IN_MEMORY = 1500
"""Pictures kept in memory; at the height of a stave this is some tens of megabytes."""
ON_DISK_BYTES = 300_000_000
"""Pictures kept in the cache folder; the oldest go when a window begins to fetch pictures."""
WAITING = 400
"""Wishes kept; older ones were scrolled away."""
BATCH = 12
"""Pictures of one clip fetched at once, for which its file is opened once."""


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

    @property
    def moment(self) -> tuple[str, int]:
        """What the picture shows, whatever its size."""
        return self.content, self.clip_ms


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
        self._sizes: dict[tuple[str, int], Wish] = {}
        """For a moment of a clip, the size that came last."""
        self._wishes: OrderedDict[Wish, None] = OrderedDict()
        self._pruned = False

    def get(self, clip: Clip, clip_s: float, height: float, ratio: float = 1.0) -> QImage | None:
        """The picture of a moment, ``height`` logical pixels high; None as long as it is not at hand."""
        return self._at(_wish(clip, clip_s, round(height * ratio)), ratio)

    def frame(self, clip: Clip, number: int, height: float, ratio: float = 1.0) -> QImage | None:
        """The picture of a frame, counted from 0, to the frame; otherwise as `get`."""
        if clip.frame_rate is None:
            return None
        # The middle of a frame, to the millisecond, lies inside it up to 500 frames a second.
        middle_s = float((max(0, number) + Fraction(1, 2)) / clip.frame_rate)
        return self._at(_wish_exact(clip, middle_s, round(height * ratio)), ratio)

    def _at(self, wish: Wish | None, ratio: float) -> QImage | None:
        if wish is None:
            return None
        if wish in self._images:
            self._images.move_to_end(wish)
            image = self._images[wish]
            if image is not None and image.devicePixelRatio() != ratio:
                image.setDevicePixelRatio(ratio)
            return image
        self._want(wish)
        return None

    def near(self, clip: Clip, clip_s: float, height: int) -> tuple[QImage | None, bool]:
        """The picture of a moment so many device pixels high, and whether it has that size.

        As long as it is not at hand, another size of the same moment stands in.
        """
        wish = _wish(clip, clip_s, height)
        if wish is None:
            return None, True
        if wish in self._images:
            self._images.move_to_end(wish)
            return self._images[wish], True
        self._want(wish)
        other = self._sizes.get(wish.moment)
        return (self._images.get(other) if other is not None else None), False

    def _want(self, wish: Wish) -> None:
        # The newest wish is met first: it is what is on screen now.
        self._wishes[wish] = None
        self._wishes.move_to_end(wish)
        while len(self._wishes) > WAITING:
            self._wishes.popitem(last=False)
        self._fetch()

    def _fetch(self) -> None:
        if self._jobs.busy(SLOT) or not self._wishes:
            return
        newest = next(reversed(self._wishes))
        alike = [w for w in reversed(self._wishes) if (w.path, w.height) == (newest.path, newest.height)]
        batch = sorted(alike[:BATCH], key=lambda wish: wish.clip_ms)
        for wish in batch:
            del self._wishes[wish]
        tasks, folder, prune = self._tasks, self._folder, not self._pruned
        self._pruned = True

        def work(ticket: Ticket) -> None:
            if prune:
                prune_folder(folder, ON_DISK_BYTES)
            for answer in _pictures(tasks, folder, batch, ticket.stop):
                ticket.report(answer)

        self._jobs.start(SLOT, work, self._next, lambda error: self._next(None), report=self._keep)

    def _keep(self, answer: _Answer) -> None:
        self._images[answer.wish] = answer.image
        if answer.image is not None:
            self._sizes[answer.wish.moment] = answer.wish
        self._wishes.pop(answer.wish, None)
        while len(self._images) > IN_MEMORY:
            old, _ = self._images.popitem(last=False)
            if self._sizes.get(old.moment) == old:
                del self._sizes[old.moment]
        self.arrived.emit()

    def _next(self, _: object) -> None:
        self._fetch()


def prune_folder(folder: Path, most_bytes: int) -> None:
    """Remove the oldest pictures until no more than so many bytes are left."""
    try:
        files = [(path.stat(), path) for path in folder.glob("*.jpg")]
        files.sort(key=lambda entry: entry[0].st_mtime, reverse=True)
        total = 0
        for stat, path in files:
            total += stat.st_size
            if total > most_bytes:
                path.unlink(missing_ok=True)
    except OSError:
        return  # the folder is not there yet, or another window is pruning


def _wish(clip: Clip, clip_s: float, height: int) -> Wish | None:
    """What to fetch for a moment of a clip, in device pixels; None for a clip without pictures."""
    if clip.frame_rate is None:
        return None
    # A tenth of a second is as near as a thumbnail needs; it lets neighbouring layouts share pictures.
    # (Not by the fraction itself, for some hundred pictures are asked for in one go.)
    frame_s = clip.frame_rate.denominator / clip.frame_rate.numerator
    last_s = max(0.0, clip.duration_s - frame_s)
    moment = round(min(max(clip_s, 0.0), last_s), 1)
    return _wish_exact(clip, min(moment, last_s), height)


def _wish_exact(clip: Clip, clip_s: float, height: int) -> Wish:
    """The same, of this very moment."""
    content = f"{clip.media.size_bytes}-{clip.media.digest}"
    return Wish(clip.media.path, content, round(clip_s * 1000), height)


def _pictures(
    tasks: Tasks, folder: Path, batch: Sequence[Wish], stop: Callable[[], bool]
) -> Iterator[_Answer]:
    """Take pictures of one clip and one height from the cache folder or from the clip; None where one cannot
    be had."""
    missing = []
    for wish in batch:
        image = _ready(QImage(str(folder / wish.file_name)))
        if image.isNull():
            missing.append(wish)
        else:
            yield _Answer(wish, image)
    if not missing or stop():
        return
    try:
        times = [wish.clip_ms / 1000 for wish in missing]
        found = tasks.pictures(Path(missing[0].path), times, missing[0].height)
    except Exception:
        # A picture is a help for the eye: what is wrong with the file is told where the clip is placed.
        yield from (_Answer(wish, None) for wish in missing)
        return
    for wish, pixels in zip(missing, found, strict=True):
        height, width, _ = pixels.shape
        image = _ready(QImage(pixels.tobytes(), width, height, 3 * width, QImage.Format.Format_RGB888))
        _write(folder / wish.file_name, image)
        yield _Answer(wish, image)


def _ready(image: QImage) -> QImage:
    """The image in the screen's own format, so that it is painted without being converted each time."""
    return image if image.isNull() else image.convertToFormat(QImage.Format.Format_RGB32)


def _write(path: Path, image: QImage) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_suffix(f".{os.getpid()}.part")
        writer = QImageWriter(str(part), b"jpeg")
        writer.setQuality(88)
        if writer.write(image):
            part.replace(path)
    except OSError:
        pass  # a full or read-only cache folder costs time, nothing else
