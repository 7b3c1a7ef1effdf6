"""Scoreboard of the song map: beats, first beats of bars and sections against known truth.

``python -m tests.quality.map_board [--music DIR] [--apart NAME ...] [--composed N]
[--first N]``: the songs made by rule
of tests/audio/map_songs.py, N songs in the genres of map_music.py and as many kept apart, and every
``NAME.ogg`` + ``NAME.json`` in DIR (JSON: ``beats``, ``downbeats`` in seconds, ``sections`` as a list of
``start``, ``end``, ``label`` or null). Songs named by ``--apart`` are told apart from the rest: those that
no constant was chosen on. The baseline is librosa's tracker as it comes, with every fourth beat as the first
of a bar, and its agglomerative clustering told the right number of sections.
"""

import argparse
import json
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import librosa
import mir_eval
import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from audio.song.beats import find_beats
from audio.song.sections import find_sections
from tests.audio import map_songs
from tests.quality import map_music

Times = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Truth:
    """A song with what is known of it."""

    name: str
    samples: NDArray[np.float32]
    beats_s: Times
    bars_s: Times
    turns_s: Times
    """Section starts and the last end; empty where nobody knows."""
    kinds: tuple[str, ...] = ()
    """What tables by style it belongs to."""


@dataclass(frozen=True)
class Score:
    """How near an answer comes, each from 0 to 1; NaN where there is no truth."""

    beat_f: float
    cmlt: float
    amlt: float
    bar_f: float
    turn_half_s: float
    turn_3_s: float


def beat_scores(truth_s: Times, found_s: Times) -> tuple[float, float, float]:
    """F within 70 ms, CMLt and AMLt, as mir_eval has them: beats of the first 5 s left out."""
    truth_s, found_s = mir_eval.beat.trim_beats(truth_s), mir_eval.beat.trim_beats(found_s)
    if truth_s.size < 2 or found_s.size < 2:
        return 0.0, 0.0, 0.0
    _, cmlt, _, amlt = mir_eval.beat.continuity(truth_s, found_s)
    return float(mir_eval.beat.f_measure(truth_s, found_s)), float(cmlt), float(amlt)


def turn_score(truth_s: Times, found_s: Times, window_s: float) -> float:
    """Hit rate F of section edges, the song's two ends left out (they would be free points)."""
    if truth_s.size < 3 or found_s.size < 3:
        return float("nan") if truth_s.size < 3 else 0.0
    spans = [np.stack([edges[:-1], edges[1:]], axis=1) for edges in (truth_s, found_s)]
    return float(mir_eval.segment.detection(*spans, window=window_s, trim=True)[2])


def score(truth: Truth, beats_s: Times, bars_s: Times, turns_s: Times) -> Score:
    """Hold an answer against the truth."""
    return Score(
        *beat_scores(truth.beats_s, beats_s),
        beat_scores(truth.bars_s, bars_s)[0],
        turn_score(truth.turns_s, turns_s, 0.5),
        turn_score(truth.turns_s, turns_s, 3.0),
    )


def ours(truth: Truth) -> Score:
    """The project's answer."""
    beats = find_beats(truth.samples, map_songs.RATE)
    spans = find_sections(truth.samples, map_songs.RATE, beats)
    edges = np.array([spans[0].start_s, *(span.end_s for span in spans)])
    return score(truth, beats.beats_s, beats.bars_s, edges)


def plain(truth: Truth) -> Score:
    """What librosa gives as it comes."""
    rate = map_songs.RATE
    _, beats_s = librosa.beat.beat_track(y=truth.samples, sr=rate, units="time")
    edges = np.zeros(0)
    if truth.turns_s.size > 2:
        chroma = librosa.feature.chroma_stft(y=truth.samples, sr=rate)
        mfcc = librosa.feature.mfcc(y=truth.samples, sr=rate, n_mfcc=13)
        frames = librosa.time_to_frames(beats_s, sr=rate)
        rows = [librosa.util.sync(values / values.std(), frames) for values in (chroma, mfcc)]
        cuts = librosa.segment.agglomerative(np.concatenate(rows), truth.turns_s.size - 1)
        lines = np.concatenate([[0.0], beats_s, [truth.samples.size / rate]])
        edges = np.append(lines[cuts], truth.samples.size / rate)
    return score(truth, beats_s, beats_s[::4], edges)


def made_songs() -> Iterator[Truth]:
    """The songs made by rule."""
    for style in map_songs.STYLES:
        song = map_songs.make(style)
        turns = np.array([*song.turns_s, song.end_s])
        yield Truth(song.name, song.samples, song.beats_s, song.bars_s, turns)


def composed_songs(numbers: range) -> Iterator[Truth]:
    """Songs of all genres, each with a twist."""
    for made in map_music.songs(numbers):
        song = made.song
        turns = np.array([*song.turns_s, song.end_s])
        kinds = (made.genre, *made.twists)
        yield Truth(song.name, song.samples, song.beats_s, song.bars_s, turns, kinds)


def annotated_songs(folder: Path) -> Iterator[Truth]:
    """Recordings with truth beside them."""
    for path in sorted(folder.glob("*.json")):
        sound = path.with_suffix(".ogg")
        if not sound.exists():
            continue
        known = json.loads(path.read_text(encoding="utf-8"))
        parts = known["sections"] or []
        turns = [part["start"] for part in parts] + [part["end"] for part in parts[-1:]]
        read, rate = soundfile.read(sound, dtype="float32", always_2d=True)
        samples = soxr.resample(read.mean(axis=1), rate, map_songs.RATE)
        yield Truth(
            path.stem, samples, np.array(known["beats"]), np.array(known["downbeats"]), np.array(turns)
        )


def _line(name: str, scores: Sequence[float]) -> str:
    figures = "  ".join("  – " if np.isnan(value) else f"{value:.2f}" for value in scores)
    return f"{name[:45]:46}{figures}"


def _values(score: Score) -> tuple[float, ...]:
    return (score.beat_f, score.cmlt, score.amlt, score.bar_f, score.turn_half_s, score.turn_3_s)


_HEAD = f"{'':46}beat  CMLt  AMLt  bar   0.5s  3s"


def _means(name: str, known: Sequence[tuple[float, ...]]) -> str:
    """Mean of each figure over the songs of which it is known."""
    values = np.array(known)
    counted = ~np.isnan(values)
    means = np.where(counted, values, 0.0).sum(axis=0) / np.maximum(counted.sum(axis=0), 1)
    return _line(name, [float(m) if c else float("nan") for m, c in zip(means, counted.any(0), strict=True)])


def _table(title: str, songs: Iterator[Truth]) -> None:
    rows: list[tuple[Truth, tuple[float, ...], tuple[float, ...]]] = []
    print(f"\n{title}\n{_HEAD}")
    ours_s = theirs_s = 0.0
    for truth in songs:
        begin = time.perf_counter()
        mine = _values(ours(truth))
        middle = time.perf_counter()
        theirs = _values(plain(truth))
        ours_s, theirs_s = ours_s + middle - begin, theirs_s + time.perf_counter() - middle
        rows.append((replace(truth, samples=truth.samples[:0]), mine, theirs))
        seconds = truth.samples.size / map_songs.RATE
        print(f"{_line(truth.name, mine)}   {middle - begin:.1f} s for {seconds:.0f} s", flush=True)
        print(_line("  librosa as it comes", theirs), flush=True)
    if not rows:
        return
    for kind in dict.fromkeys(kind for truth, _, _ in rows for kind in truth.kinds):
        print(_means(kind, [mine for truth, mine, _ in rows if kind in truth.kinds]))
        print(_means("  librosa as it comes", [theirs for truth, _, theirs in rows if kind in truth.kinds]))
    print(_means("mean, ours", [mine for _, mine, _ in rows]))
    print(_means("mean, librosa as it comes", [theirs for _, _, theirs in rows]))
    print(f"time, ours to librosa as it comes: {ours_s / theirs_s:.2f}")


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the board."""
    parser = argparse.ArgumentParser(prog="python -m tests.quality.map_board", description=__doc__)
    parser.add_argument("--music", type=Path, help="folder with annotated songs, NAME.ogg and NAME.json")
    parser.add_argument("--apart", nargs="*", default=[], help="names of songs that nothing was chosen on")
    parser.add_argument("--composed", type=int, default=0, help="so many composed songs, and as many apart")
    parser.add_argument("--first", type=int, default=map_music.APART, help="number of the first one apart")
    choice = parser.parse_args(arguments)
    warm = map_songs.make(map_songs.Style("warm-up", 120.0, (map_songs.ROCK.parts[1],)))
    begin = time.perf_counter()
    find_sections(warm.samples, map_songs.RATE, find_beats(warm.samples, map_songs.RATE))
    print(f"first song of 18 s, loading and compiling included: {time.perf_counter() - begin:.1f} s")
    _table("Songs made by rule", made_songs())
    if choice.composed:
        _table("Songs in eighteen genres", composed_songs(range(choice.composed)))
        apart_songs = range(choice.first, choice.first + choice.composed)
        _table("Songs in eighteen genres, kept apart", composed_songs(apart_songs))
    if choice.music is not None and choice.music.is_dir():
        apart = set(choice.apart)
        songs = list(annotated_songs(choice.music))
        _table("Annotated songs", (song for song in songs if song.name not in apart))
        if apart:
            _table("Annotated songs kept apart", (song for song in songs if song.name in apart))
    return 0


if __name__ == "__main__":
    sys.exit(main())
