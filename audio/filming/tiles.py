"""Several angles in one picture: the place of each tile, and what it shows at song times.

A tile is a line with the names of the angle and of the file, and below it the whole picture on a dark ground.
Where there is no picture the tile says so, and continues as soon as there is one again.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, sqrt
from pathlib import Path

import av
import numpy as np

from audio.errors import AudioError
from audio.filming.burnt_in import Colour, Picture, fitting, lay_over, lettering
from audio.play.frame_source import FrameSource, ShownFrame

GROUND: Colour = (18, 19, 21)
"""Background; like the other colours RGB, 0 to 255, chosen by hand."""
PLATE: Colour = (32, 33, 36)
"""Behind text where there is no picture."""
INK: Colour = (226, 225, 220)
"""Text."""
FAINT: Colour = (160, 160, 156)
"""Text that is less important."""
STILL_S = 1.0
"""Seconds; a frame shown for longer means that the file has no more pictures there. Chosen by hand."""
_INTO_S = 1e-6
"""Seconds added to a clip time, so that the start of a frame lies inside it whatever the rounding."""
_GAP = 2
"""Pixels between tiles."""
_LEAST_LETTERS = 13
"""Smallest font size in pixels that is legible in compressed video; chosen by hand."""


@dataclass(frozen=True, slots=True)
class Showing:
    """A stretch of the song in which a tile shows one take; all times in seconds."""

    song_start_s: float
    song_end_s: float
    path: Path | None
    """None where the take has sound only."""
    name: str
    """Shown next to the name of the angle; usually that of the file."""
    clip_start_s: float
    """Clip time at ``song_start_s``."""
    speed: float = 1.0
    """Seconds of song per second of clip."""

    def clip_s(self, song_s: float) -> float:
        """Clip time at a song time, both in seconds."""
        return self.clip_start_s + (song_s - self.song_start_s) / self.speed


@dataclass(frozen=True, slots=True)
class TilePlan:
    """What one tile shows: an angle."""

    name: str
    showings: tuple[Showing, ...]
    """In the order of the song, without overlap."""


@dataclass(frozen=True, slots=True)
class Box:
    """A tile's place in the picture, in pixels from the upper left corner."""

    x: int
    y: int
    width: int
    height: int


def grid(count: int, width: int, height: int) -> list[Box]:
    """Places for up to nine tiles in a grid that is as square as possible, filled row by row.

    >>> [(box.x, box.y, box.width, box.height) for box in grid(2, 1280, 680)]
    [(0, 0, 639, 680), (641, 0, 639, 680)]
    """
    columns = ceil(sqrt(count))
    rows = ceil(count / columns)
    wide, high = (width - _GAP * (columns - 1)) // columns, (height - _GAP * (rows - 1)) // rows
    return [Box(n % columns * (wide + _GAP), n // columns * (high + _GAP), wide, high) for n in range(count)]


def letters(lines: int) -> int:
    """Font size in pixels of small text in a picture of so many lines."""
    return max(_LEAST_LETTERS, lines // 40)


def heading(size: int) -> int:
    """Height in pixels of the line of text above a tile's picture, by font size."""
    return int(lettering("", size).shape[0]) + size // 3


class Tile:
    """Draws the tile of one angle at rising song times. For one thread at a time."""

    def __init__(self, plan: TilePlan, box: Box, size: int) -> None:
        self.box = box
        self.troubles: dict[str, str] = {}
        """Why something could not be shown, by name of file."""
        self._plan = plan
        self._size = size
        self._head = min(box.height, heading(size))
        self._showing: Showing | None = None
        self._source: FrameSource | None = None
        self._shown: ShownFrame | None = None
        self._lines = 0
        self._blank = self._headed(None)

    def pictures(self, moments: Sequence[float]) -> Iterator[Picture]:
        """The tile at rising song times in seconds, RGB, shape (height, width, 3) each."""
        trouble = ""
        for song_s in moments:
            if self._turn_to(song_s):
                trouble = ""
            showing = self._showing
            if showing is None:
                yield self._said("no take here")
            elif showing.path is None:
                yield self._said("sound only")
            else:
                if not trouble:
                    trouble = self._look(showing, showing.path, song_s)
                yield self._said("no picture: it cannot be read") if trouble else self._seen(song_s)

    def close(self) -> None:
        """Close the file."""
        if self._source is not None:
            self._source.close()
        self._source = self._shown = None
        self._lines = 0

    def _turn_to(self, song_s: float) -> bool:
        """Change to the take at a song time; True if it is another than before."""
        showing = next((s for s in self._plan.showings if s.song_start_s <= song_s < s.song_end_s), None)
        if showing is self._showing:
            return False
        self.close()
        self._showing = showing
        self._blank = self._headed(showing)
        return True

    def _headed(self, showing: Showing | None) -> Picture:
        """The tile with its names and nothing below them."""
        blank = np.full((self.box.height, self.box.width, 3), GROUND, np.uint8)
        inset, room = self._size // 2, self.box.width - self._size
        name = lettering(fitting(self._plan.name, self._size, room), self._size)
        lay_over(blank, name, inset, self._size // 6, INK)
        if showing is not None:
            room -= name.shape[1] + self._size
            file = lettering(fitting(showing.name, self._size, room), self._size)
            lay_over(blank, file, self.box.width - inset - file.shape[1], self._size // 6, FAINT)
        return blank

    def _look(self, showing: Showing, path: Path, song_s: float) -> str:
        """Read the frame at a song time; gives what is wrong, or nothing."""
        clip_s = max(0.0, showing.clip_s(song_s)) + _INTO_S
        if self._shown is not None and self._shown.start_s <= clip_s < self._shown.end_s:
            return ""
        try:
            if self._source is None:
                self._source = FrameSource(path)
            self._shown = self._fitted(self._source, clip_s)
        # A damaged file can fail in many ways; the other tiles continue.
        except (AudioError, OSError, av.error.FFmpegError) as error:
            self.close()
            return self.troubles.setdefault(showing.name, str(error) or "it cannot be read")
        return ""

    def _fitted(self, source: FrameSource, clip_s: float) -> ShownFrame:
        """The frame at a clip time, as large as fits the tile."""
        wide, high = self.box.width, self.box.height - self._head
        shown = source.at(clip_s, self._lines or max(1, high))
        lines, width = shown.picture.shape[:2]
        if width > wide:
            shown = source.at(clip_s, max(1, lines * wide // width))
        self._lines = shown.picture.shape[0]
        return shown

    def _seen(self, song_s: float) -> Picture:
        """The tile with the picture in it."""
        assert self._showing is not None
        assert self._shown is not None
        out = self._blank.copy()
        picture = self._shown.picture[: self.box.height - self._head, : self.box.width]
        x = (self.box.width - picture.shape[1]) // 2
        out[self._head : self._head + picture.shape[0], x : x + picture.shape[1]] = picture
        if self._showing.clip_s(song_s) - self._shown.start_s > STILL_S:
            # The file has no more pictures, or they cannot be decoded: an old frame would prove nothing.
            self.troubles.setdefault(self._showing.name, "it has no picture in part of the take.")
            out[self._head :] //= 4
            self._write(out, "no picture in the file here")
        return out

    def _said(self, words: str) -> Picture:
        """The tile with text instead of a picture."""
        out = self._blank.copy()
        out[self._head :] = PLATE
        self._write(out, words)
        return out

    def _write(self, out: Picture, words: str) -> None:
        mask = lettering(fitting(words, self._size, self.box.width), self._size)
        middle = self._head + (self.box.height - self._head - mask.shape[0]) // 2
        lay_over(out, mask, (self.box.width - mask.shape[1]) // 2, middle, FAINT)
