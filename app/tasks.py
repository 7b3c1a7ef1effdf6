"""What the commands and the window ask of the engine: files and values in, frozen values out."""

import os
from collections.abc import Callable, Collection, Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.hearing import RATE, look
from app.model.identity import media_ref
from app.model.shoot import Clip, Section, Song, SongMap
from app.workers import hear_all
from audio.beats import find_beats
from audio.companions import is_companion
from audio.errors import BadSignal, Stopped, Unreadable
from audio.media import never, read_song, unheard
from audio.pictures import picture_at
from audio.recordings import continues
from audio.sections import find_sections

MAP_RATE = 22050
"""Samples a second at which the song is mapped."""


def find_clips(paths: Sequence[Path], *, leave_out: Collection[Path] = ()) -> list[Path]:
    """List the clips among files and in folders and all below them, in the order of their names.

    Files named themselves are taken whatever they are; in folders, hidden companions and files that are no
    media are passed over. Paths come back absolute, each once; ``leave_out`` (the song, known clips) not
    at all.

    Raises
    ------
    Unreadable
        A path is not there, or a folder cannot be read.
    """
    out: dict[Path, None] = {}
    skip = {_absolute(path) for path in leave_out}
    for path in paths:
        if path.is_dir():
            found = sorted(_media_in(path))
        elif os.path.lexists(path):
            found = [path]
        else:
            raise Unreadable(f"{path} is not there. Check the name, or whether the disk is connected.")
        out.update(dict.fromkeys(_absolute(one) for one in found))
    return [path for path in out if path not in skip]


def song_from_file(
    path: Path, *, stop: Callable[[], bool] = never, progress: Callable[[float], None] = unheard
) -> Song:
    """Read a song and map it: tempo, beats, bars, sections.

    Raises
    ------
    AudioError
        Unreadable, NoSound, BadSignal (silence) or Stopped; the text is a sentence.
    """
    samples = read_song(path, MAP_RATE, stop=stop, progress=lambda f: progress(0.1 * f))
    beats = find_beats(samples, MAP_RATE, stop=stop, progress=lambda f: progress(0.1 + 0.6 * f))
    spans = find_sections(samples, MAP_RATE, beats, stop=stop, progress=lambda f: progress(0.7 + 0.3 * f))
    song_map = SongMap(
        tempo_bpm=beats.tempo_bpm,
        beats_s=tuple(float(time) for time in beats.beats_s),
        bars_s=tuple(float(time) for time in beats.bars_s),
        sections=tuple(Section(span.letter, span.name, span.start_s, span.end_s) for span in spans),
    )
    return Song(media_ref(path), len(samples) / MAP_RATE, song_map)


def place_clips(
    song: Song,
    paths: Sequence[Path],
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[Path, float], None] = lambda path, fraction: None,
    answered: Callable[[Clip], None],
    workers: int | None = None,
) -> None:
    """Place clips on a song; ``answered`` gets each clip as it is done, on the calling thread.

    Files that continue one another are placed as the one recording they are. Trouble with a file is that
    clip's verdict and reason; it never stops the others.

    Raises
    ------
    AudioError
        The song itself cannot be read, or Stopped.
    """
    samples = read_song(Path(song.media.path), RATE, stop=stop)
    if not np.any(samples):
        raise BadSignal("The song is silent: choose another file.")
    looked = []
    for path in paths:
        if stop():
            raise Stopped("Stopped.")
        looked.append(look(_absolute(path)))
        progress(path, 0.0)
    readable = [file for file in looked if file.info is not None]
    groups = [
        [readable[i] for i in group]
        for group in continues([file.info for file in readable if file.info is not None])
    ]
    groups += [[file] for file in looked if file.info is None]

    def all_answered(clips: list[Clip]) -> None:
        for clip in clips:
            answered(clip)

    hear_all(samples, RATE, groups, workers=workers, stop=stop, progress=progress, answered=all_answered)


def picture(path: Path, clip_s: float, height: int) -> NDArray[np.uint8]:
    """The picture a clip shows at a moment: RGB, shape (height, width, 3). Raises Unreadable."""
    return picture_at(path, clip_s, height)


def song_peaks(path: Path, count: int) -> NDArray[np.float32]:
    """Lowest and highest value of ``count`` equal stretches of the song, shape (count, 2). Raises
    AudioError."""
    samples = read_song(path, RATE)
    edges = np.linspace(0, len(samples), count + 1).astype(int)
    peaks = np.zeros((count, 2), np.float32)
    for number, (low, high) in enumerate(pairwise(edges)):
        if high > low:
            peaks[number] = samples[low:high].min(), samples[low:high].max()
    return peaks


def _media_in(folder: Path) -> list[Path]:
    def refuse(error: OSError) -> None:
        raise Unreadable(f"The folder {error.filename} cannot be read: {error.strerror}.")

    found = []
    for base, folders, files in os.walk(folder, onerror=refuse):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        found += [Path(base, name) for name in files if not is_companion(Path(base, name))]
    return found


def _absolute(path: Path) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100  (links are not followed)
