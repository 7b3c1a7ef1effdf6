"""The engine's steps, each timed by itself."""

import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

import numpy as np
import scipy.signal

from app.hearing import RATE
from app.tasks import MAP_RATE
from audio.align import place
from audio.beats import find_beats
from audio.lines import find_lines
from audio.media import never, read_song, read_sound, unheard
from audio.search import SongIndex
from audio.sections import find_sections
from audio.signals import flatten
from tests.bench.spent import Spent

Given, Made = TypeVar("Given"), TypeVar("Made")


def timed(work: Callable[[Given], Made], many: Sequence[Given]) -> tuple[list[Made], tuple[float, ...]]:
    """Do some work on each; what it made, and the seconds for each."""
    made, seconds = [], []
    for one in many:
        begun = time.perf_counter()
        made.append(work(one))
        seconds.append(time.perf_counter() - begun)
    return made, tuple(seconds)


def steps(folder: Path, most: int) -> list[Spent]:
    """Time every step on the first clips of a folder."""
    paths = sorted((folder / "clips").iterdir())[:most]
    song_path = folder / "song.wav"
    place(read_sound(paths[0], RATE), SongIndex.build(read_song(song_path, RATE), RATE))  # plans and caches
    (song,), song_s = timed(lambda path: read_song(path, RATE), [song_path])
    (index,), index_s = timed(lambda samples: SongIndex.build(samples, RATE), [song])
    sounds, read_s = timed(lambda path: read_sound(path, RATE), paths)
    _, textbook_s = timed(
        lambda sound: int(np.argmax(scipy.signal.correlate(song, sound.samples[0], method="fft"))), sounds
    )
    flats, flatten_s = timed(lambda sound: flatten(sound.samples[0], RATE), sounds)
    _, search_s = timed(lambda flat: find_lines(flat, index, never, unheard), flats)
    _, place_s = timed(lambda sound: place(sound, index), sounds)
    mapped = read_song(song_path, MAP_RATE)
    find_beats(mapped[: 20 * MAP_RATE], MAP_RATE)  # compiles what the signal library compiles
    (beats,), beats_s = timed(lambda samples: find_beats(samples, MAP_RATE), [mapped])
    _, sections_s = timed(lambda samples: find_sections(samples, MAP_RATE, beats), [mapped])
    return [
        Spent("textbook correlation, whole clip", textbook_s, baseline=True),
        Spent("reading the sound (audio.media)", read_s),
        Spent("flattening (audio.signals)", flatten_s),
        Spent("search (audio.search)", search_s),
        Spent("placing, flattening and search included", place_s),
        Spent("reading the song", song_s, "song"),
        Spent("index of the song, one a worker", index_s, "song"),
        Spent("beats and bars", beats_s, "song"),
        Spent("sections", sections_s, "song"),
    ]
