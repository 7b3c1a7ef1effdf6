"""The engine's steps, each timed by itself."""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import numpy as np
import scipy.fft

from app.engine.tasks import MAP_RATE
from audio.files.media import Sound, read_song, read_sound
from audio.placement.align import place
from audio.placement.alignments import find_alignments
from audio.placement.search import SongIndex
from audio.progress import never, no_progress
from audio.rate import ENGINE_RATE as RATE
from audio.signals import Samples
from audio.song.beats import find_beats
from audio.song.sections import find_sections
from audio.whitening import whiten
from tests.bench.spent import Spent

BEST_OF = 3
"""Runs of the textbook way of which the quickest counts."""

Given, Made = TypeVar("Given"), TypeVar("Made")


def timed(work: Callable[[Given], Made], many: Sequence[Given]) -> tuple[list[Made], tuple[float, ...]]:
    """Do some work on each; what it made, and the seconds for each."""
    made, seconds = [], []
    for one in many:
        begun = time.perf_counter()
        made.append(work(one))
        seconds.append(time.perf_counter() - begun)
    return made, tuple(seconds)


def whole_take_phase(song: Samples, clip: Samples) -> int:
    """The textbook way: one phase correlation of a whole clip with the whole song; the best lag in samples.

    Both padded to their common length, the cross-spectrum divided by its magnitude (Knapp and Carter, IEEE
    Trans. ASSP 24(4), 1976).
    """
    length = scipy.fft.next_fast_len(len(song) + len(clip) - 1, real=True)
    cross = scipy.fft.rfft(song, length) * np.conj(scipy.fft.rfft(clip, length))
    cross /= np.abs(cross) + 1e-12
    return int(np.argmax(scipy.fft.irfft(cross, length)))


def growth(folder: Path, minutes: Sequence[float]) -> list[Spent]:
    """Time placing on clips of several lengths: the first clip, and noise of a camera's own after it."""
    path = min((folder / "clips").iterdir())
    index = SongIndex.build(read_song(folder / "song.wav", RATE), RATE)
    first = read_sound(path, RATE).samples[0]
    chance = np.random.default_rng(1)
    rows = []
    for number, length in enumerate(minutes):
        room = 0.3 * np.std(first) * chance.standard_normal(round(length * 60 * RATE))
        room[: len(first)] += first[: len(room)]
        sound = Sound(room.astype(np.float32)[None], RATE, 0.0, ("track 1, channel 1",))
        _, spent = timed(lambda one: place(one, index), [sound])
        rows.append(
            Spent(f"placing, for each minute of {length:g}", (spent[0] / length,), "min", number == 0)
        )
    return rows


def steps(folder: Path, most: int) -> list[Spent]:
    """Time every step on the first clips of a folder."""
    paths = sorted((folder / "clips").iterdir())[:most]
    song_path = folder / "song.wav"
    place(read_sound(paths[0], RATE), SongIndex.build(read_song(song_path, RATE), RATE))  # plans and caches
    (song,), song_s = timed(lambda path: read_song(path, RATE), [song_path])
    (index,), index_s = timed(lambda samples: SongIndex.build(samples, RATE), [song])
    sounds, read_s = timed(lambda path: read_sound(path, RATE), paths)
    runs = [timed(lambda sound: whole_take_phase(song, sound.samples[0]), sounds)[1] for _ in range(BEST_OF)]
    textbook_s = tuple(map(min, zip(*runs, strict=True)))
    chance = np.random.default_rng(1)
    others = [
        replace(sound, samples=0.1 * chance.standard_normal((1, sound.samples.shape[1])).astype(np.float32))
        for sound in sounds
    ]
    whitened, whiten_s = timed(lambda sound: whiten(sound.samples[0], RATE), sounds)
    _, search_s = timed(lambda sound: find_alignments(sound, index, never, no_progress), whitened)
    _, place_s = timed(lambda sound: place(sound, index), sounds)
    _, other_s = timed(lambda sound: place(sound, index), others)
    mapped = read_song(song_path, MAP_RATE)
    find_beats(mapped[: 20 * MAP_RATE], MAP_RATE)  # compiles what the signal library compiles
    (beats,), beats_s = timed(lambda samples: find_beats(samples, MAP_RATE), [mapped])
    _, sections_s = timed(lambda samples: find_sections(samples, MAP_RATE, beats), [mapped])
    return [
        Spent("textbook phase correlation, whole clip", textbook_s, baseline=True),
        Spent("reading the sound (audio.files.media)", read_s),
        Spent("whitening (audio.whitening)", whiten_s),
        Spent("search (audio.placement.search)", search_s),
        Spent("placing, whitening and search included", place_s),
        Spent("a clip without the song, all speeds tried", other_s),
        Spent("reading the song", song_s, "song"),
        Spent("index of the song, one a worker", index_s, "song"),
        Spent("beats and bars", beats_s, "song"),
        Spent("sections", sections_s, "song"),
    ]
