"""A player for tests: a device that tells what it was given, and a clock that goes when a test says so."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import Signal

from app.model.document.angle import Angle
from app.model.document.media_ref import MediaRef
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.window.playing.sound_out import RATE, DeviceOut
from tests.audio.media_files import Recipe, low_noise, make

SONG_S = 8.0
LATE_S = 1.25
"""How much of the clip runs before the song begins."""


class MadeUpDevice(DeviceOut):
    """Takes frames when a test lets time go by."""

    lost = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.there = True
        self.blocks: list[NDArray[np.float32]] = []
        self.starts = 0
        self._take: Callable[[int], NDArray[np.float32]] | None = None
        self._frames = 0

    def start(self, read: Callable[[int], NDArray[np.float32]]) -> bool:
        if not self.there:
            self.trouble = "There is no sound device: connect one."
            return False
        self.trouble = ""
        self._take, self._frames = read, 0
        self.blocks = []
        self.starts += 1
        return True

    def hush(self) -> None:
        pass

    def stop(self) -> None:
        self._take = None

    def heard(self) -> float | None:
        return None if self._take is None else float(self._frames)

    def go(self, seconds: float) -> None:
        """Let so much be heard."""
        if self._take is not None:
            self.blocks.append(self._take(round(seconds * RATE)))
            self._frames += round(seconds * RATE)

    @property
    def sound(self) -> NDArray[np.float32]:
        """All that came out since the last start, shape (n, 2)."""
        return np.concatenate(self.blocks)


def noise_shoot(folder: Path) -> tuple[SongView, NDArray[np.float32]]:
    """A song of noise in four bars, a clip that hears it a little late, one without sound, one that is gone;
    and the song's samples."""
    sound = low_noise(SONG_S, RATE, level=0.1)
    song = make(folder / "song.wav", Recipe(tracks=[sound], picture_s=0.0))
    before = low_noise(LATE_S, RATE, seed=7, level=0.1)
    clip = make(folder / "clip.mov", Recipe(tracks=[np.concatenate([before, sound])], picture_s=9.25))
    mute = make(folder / "mute.mov", Recipe(picture_s=9.0))

    def one(number: int, path: Path) -> Clip:
        take = Take(f"t{number}", LATE_S, LATE_S + SONG_S, 0.0)
        media = MediaRef(str(path), 1000 + number, str(number))
        return Clip(f"c{number}", media, "a1", 9.25, verdict=Verdict.PLACED, takes=(take,))

    bars = (0.0, 2.0, 4.0, 6.0)
    sections = (Section("A", "Verse", 0.0, 4.0), Section("B", "Chorus", 4.0, SONG_S))
    song_map = SongMap(30.0, tuple(bar + 0.5 * n for bar in bars for n in range(4)), bars, sections)
    clips = tuple(one(n, path) for n, path in enumerate((clip, mute, folder / "gone.mov")))
    return SongView(
        "Noise",
        Song(MediaRef(str(song), 1, "song"), SONG_S, song_map),
        (Angle("a1", "Wide"),),
        clips,
    ), sound
