"""Place clips on a song and map the song, from a script: files and arrays in, numbers out.

`read_song` reads a song file, `place_clip` finds where a clip runs in it, `map_song` finds its beats, bars
and sections. Nothing here needs the window or a shoot document, and nothing heavy is imported before it is
used.

A song of 40 s with a plucked note every half second and a drum twice as often, and a clip that starts 12.5 s
into it and records 20 s of it with a noisy microphone:

>>> import numpy as np
>>> rng = np.random.default_rng(4)
>>> time_s = np.arange(11025) / 22050
>>> pitches_hz = 110.0 * 2.0 ** (rng.integers(0, 36, size=80) / 12)
>>> notes = [np.sin(2 * np.pi * pitch * time_s) * np.exp(-8.0 * time_s) for pitch in pitches_hz]
>>> drums = rng.standard_normal((80, 11025)) * np.exp(-30.0 * (time_s % 0.25))
>>> song = 0.2 * (np.array(notes) + drums).ravel().astype(np.float32)
>>> clip = song[275625:716625] + 0.02 * rng.standard_normal(441000).astype(np.float32)

Where does the clip run?

>>> placement = place_clip(clip, song, rate=22050)
>>> [take] = placement.takes
>>> print(placement.verdict, f"{take.song_start_s - take.clip_start_s:.3f}", f"{take.speed:.4f}")
placed 12.500 1.0000

The same from files; the clip may be any video or sound file. The song is read once for many clips:

>>> import tempfile, soundfile
>>> from pathlib import Path
>>> with tempfile.TemporaryDirectory() as folder:
...     soundfile.write(Path(folder, "song.wav"), song, 22050)
...     soundfile.write(Path(folder, "clip.wav"), clip, 22050)
...     again = place_clip(Path(folder, "clip.wav"), read_song(Path(folder, "song.wav")))
>>> print(again.verdict, f"{again.takes[0].song_start_s - again.takes[0].clip_start_s:.3f}")
placed 12.500

How is the song built?

>>> found = map_song(song)
>>> print(round(found.beats.tempo_bpm), f"{found.sections[-1].end_s:.1f}")
120 40.0

All trouble with a file or a signal is an `audio.errors.AudioError`, whose text is a sentence for a person.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from audio.progress import never, no_progress

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from audio.files.media import Sound
    from audio.placement.answer import Placement
    from audio.song.beats import Beats, Hints
    from audio.song.sections import Span

__all__ = ["SONG_RATE", "SongMap", "map_song", "place_clip", "read_song"]

SONG_RATE = 22_050
"""Samples a second at which songs are mapped without resampling; the default of all functions here."""
_PLACE_RATE = 8_000
"""Samples a second at which clips are placed."""


@dataclass(frozen=True, slots=True, eq=False)
class SongMap:
    """How a song is built."""

    beats: "Beats"
    """Tempo, beats and bars."""
    sections: "tuple[Span, ...]"
    """From 0 to the end of the song, without gaps."""


def read_song(
    path: Path | str,
    rate: int = SONG_RATE,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> "NDArray[np.float32]":
    """Read a song as mono at ``rate`` samples a second, shape (n,), full scale 1.0.

    Song time 0 is its first decoded sample. Raises Unreadable, NoSound, Stopped.
    """
    from audio.files import media

    return media.read_song(Path(path), rate, stop=stop, progress=progress)


def place_clip(
    clip: "Path | str | NDArray[np.float32]",
    song: "Path | str | NDArray[np.float32]",
    *,
    rate: int = SONG_RATE,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> "Placement":
    """Find every take of a song in a clip.

    Parameters
    ----------
    clip : path, or float32 array of shape (n,) or (channels, n)
        A file's times count from its first picture frame, an array's from its first sample.
    song : path, or float32 array of shape (n,)
        From `read_song`, if it is used more than once.
    rate : int
        Samples a second of whatever is an array.

    Returns
    -------
    Placement
        A verdict, and for each take the line ``song_start_s + speed * (clip time - clip_start_s)`` with its
        uncertainty and its rivals; times in seconds.

    Raises
    ------
    Unreadable, NoSound
        A file cannot be read, or has no usable sound.
    BadSignal
        An array is empty, silent, not finite or of the wrong shape.
    Stopped
        ``stop()`` returned True.
    """
    from audio.files.media import read_sound
    from audio.placement.align import place
    from audio.placement.search import SongIndex

    if isinstance(song, Path | str):
        master = read_song(song, _PLACE_RATE, stop=stop)
    else:
        master = _resampled(song, rate, "The song")
    if isinstance(clip, Path | str):
        sound = read_sound(Path(clip), _PLACE_RATE, stop=stop)
    else:
        sound = _sound(clip, rate)
    progress(0.2)
    index = SongIndex.build(master, _PLACE_RATE)
    return place(sound, index, stop=stop, progress=lambda done: progress(0.2 + 0.8 * done))


def map_song(
    song: "Path | str | NDArray[np.float32]",
    *,
    rate: int = SONG_RATE,
    hints: "Hints | None" = None,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> SongMap:
    """Find tempo, beats, bars and sections of a song.

    ``song`` is a path or a float32 array of shape (n,) at ``rate`` samples a second; ``hints`` are taken as
    true. Raises Unreadable, NoSound, BadSignal, Stopped.
    """
    from audio.song.beats import Hints, find_beats
    from audio.song.sections import find_sections

    if isinstance(song, Path | str):
        samples, rate = read_song(song, SONG_RATE, stop=stop), SONG_RATE
    else:
        samples = song
    known = Hints() if hints is None else hints
    beats = find_beats(samples, rate, hints=known, stop=stop, progress=lambda done: progress(0.65 * done))
    sections = find_sections(
        samples, rate, beats, stop=stop, progress=lambda done: progress(0.65 + 0.35 * done)
    )
    return SongMap(beats, sections)


def _sound(samples: "NDArray[np.float32]", rate: int) -> "Sound":
    """The sound of a clip that is an array, at the rate of placing."""
    import numpy as np

    from audio.files.media import Sound

    rows = [_resampled(row, rate, "The clip") for row in np.atleast_2d(samples)]
    labels = tuple(f"channel {number}" for number in range(1, len(rows) + 1))
    return Sound(np.stack(rows), _PLACE_RATE, 0.0, labels)


def _resampled(samples: "NDArray[np.float32]", rate: int, what: str) -> "NDArray[np.float32]":
    """Samples at the rate of placing, shape (n,). Raises BadSignal where nothing can be made of them."""
    import numpy as np

    from audio.errors import BadSignal

    if samples.ndim != 1 or samples.size == 0 or rate <= 0:
        raise BadSignal(f"{what} is not a row of samples at {rate} Hz.")
    if not np.isfinite(samples).all():
        raise BadSignal(f"{what} holds values that are not finite: export it again.")
    if not samples.any():
        raise BadSignal(f"{what} is silent from start to end: choose another file.")
    if rate == _PLACE_RATE:
        return samples.astype(np.float32, copy=False)
    import soxr

    resampled: NDArray[np.float32] = soxr.resample(samples.astype(np.float32), rate, _PLACE_RATE)
    return resampled
