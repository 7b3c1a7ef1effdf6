"""Songs and takes for tests of the engine: exact in time, made with the tools of the scoreboard."""

from functools import cache
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from audio.files.media import Sound
from audio.placement.align import place
from audio.placement.answer import Placement, TakeFit
from audio.placement.search import SongIndex
from tests.audio.media_files import Recipe, make
from tests.quality import damage
from tests.quality.clock import play
from tests.quality.songs import ENGINE_RATE, WORK_RATE, Song, composed, to_rate

RATE = ENGINE_RATE
Samples = NDArray[np.float32]


@cache
def song(style: str = "rock") -> Song:
    """A song of about a minute; ``loops`` repeats itself to the sample, ``rock`` never does."""
    return composed(style, 1, short=True)


@cache
def index(style: str = "rock") -> SongIndex:
    """The song made ready."""
    return SongIndex.build(song(style).master, RATE)


def run(song_from_s: float, seconds: float, speed: float = 1.0, style: str = "rock") -> Samples:
    """What a perfect microphone hears: sample k is the song at ``song_from_s + speed * k / RATE``.

    Shape (n,); silence before and after the song.
    """
    feed = song(style).room_feed.astype(np.float64)
    heard = play(feed, song_from_s, speed, round(seconds * WORK_RATE))
    return to_rate(heard, WORK_RATE, RATE).astype(np.float32)


def song_file(path: Path, style: str = "rock") -> Path:
    """The song as a WAV file at WORK_RATE."""
    soundfile.write(path, song(style).room_feed, WORK_RATE, subtype="PCM_24")
    return path


def camera_file(path: Path, *stretches: tuple[float, float], style: str = "rock", **more: object) -> Path:
    """A small clip with 25 pictures a second and the song on its sound track, under some noise.

    ``stretches``: where the song is at the start of each, and how many seconds of clip it lasts; a stretch
    before the song or after it is quiet. ``more`` goes to ``Recipe``.
    """
    feed = song(style).room_feed.astype(np.float64)
    parts = [play(feed, begin, 1.0, round(seconds * WORK_RATE)) for begin, seconds in stretches]
    wave = np.concatenate(parts)
    noise = 0.005 * damage.pink(len(wave), np.random.default_rng(len(wave)))
    track = np.clip(0.6 * wave + noise, -0.99, 0.99).astype(np.float32)
    facts = {"tracks": [track], "sound_rate": WORK_RATE, "picture_s": len(track) / WORK_RATE, "key_every": 50}
    return make(path, Recipe(**(facts | more)))  # type: ignore[arg-type]


def hiss(seconds: float, level: float = 0.03, seed: int = 1) -> Samples:
    """Pink noise of a level (RMS), shape (n,)."""
    rng = np.random.default_rng(seed)
    return (level * damage.pink(round(seconds * RATE), rng)).astype(np.float32)


def noisy(clip: Samples, over_db: float, seed: int = 1) -> Samples:
    """The clip under pink noise ``over_db`` above it."""
    noise = damage.pink(len(clip), np.random.default_rng(seed))
    return (clip + damage.at_level(noise, damage.rms(clip), over_db)).astype(np.float32)


def sound(*rows: Samples, start_s: float = 0.0) -> Sound:
    """Channels, shape (n,) each, as read from a clip."""
    labels = tuple(f"track 1, channel {number}" for number in range(1, len(rows) + 1))
    return Sound(np.stack(rows).astype(np.float32), RATE, start_s, labels)


def placed(clip: Sound, style: str = "rock") -> Placement:
    """The engine's answer."""
    return place(clip, index(style))


def song_time(fit: TakeFit, clip_s: float) -> float:
    """Song time of a moment of the clip, by the take's line."""
    return fit.line.song_time(clip_s)


def errors_s(fit: TakeFit, song_at_zero_s: float, speed: float = 1.0) -> tuple[float, float]:
    """How far off the take's two ends lie, where the song runs at ``song_at_zero_s`` at clip time 0."""
    return (
        song_time(fit, fit.clip_start_s) - song_at_zero_s - speed * fit.clip_start_s,
        song_time(fit, fit.clip_end_s) - song_at_zero_s - speed * fit.clip_end_s,
    )


def worst_s(fit: TakeFit, song_at_zero_s: float, speed: float = 1.0) -> float:
    """The larger of the two errors, without sign."""
    return max(map(abs, errors_s(fit, song_at_zero_s, speed)))
