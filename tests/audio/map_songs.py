"""Songs made by rule, with beats, bars and sections that are known because they were written down first.

Plain synthesis in numpy: drums from sines and noise, notes from a few decaying partials. Everything follows
from the style and a seed, so a song is the same on every machine of the same numpy.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

RATE = 22050
Wave = NDArray[np.float64]

# Patterns: one character a step, the bar divided evenly by the length; X loud, x plain, o soft.
GROOVES: dict[str, dict[str, str]] = {
    "none": {},
    "rock": {"kick": "X.......x.x.....", "snare": "....X.......X...", "hat": "x.o.x.o.x.o.x.o."},
    "ride": {"kick": "X.....x.x.......", "snare": "....X.......X...", "bell": "X.x.x.x.x.x.x.x."},
    "floor": {"kick": "X...X...X...X...", "snare": "....x.......x...", "hat": "..X...X...X...X."},
    "half": {"kick": "X.....x.........", "snare": "........X.......", "hat": "x.o.x.o.x.o.x.o."},
    "one drop": {"kick": "........X.......", "snare": "........x.......", "hat": "x.x.x.x.x.x.x.x."},
    "busy": {"kick": "X..x..x...x..x..", "snare": "....X..o.o..X..o", "hat": "xoxoxoxoxoxoxoxo"},
    "blast": {"kick": "X.X.X.X.X.X.X.X.", "snare": ".X.X.X.X.X.X.X.X", "hat": "x.x.x.x.x.x.x.x."},
    "gallop": {"kick": "X.xxX.xxX.xxX.xx", "snare": "....X.......X...", "bell": "x...x...x...x..."},
    "brush": {"kick": "o.......", "snare": "..o...o.", "hat": "o.o.o.o."},
    "swing": {"bell": "x..x.xx..x.x", "hat": "...X.....X..", "kick": "o..o..o..o.."},
    "shout": {"bell": "X..x.xX..x.x", "snare": "...X.....X.x", "kick": "X.....X....."},
    "waltz": {"kick": "X.....", "snare": "..x.x.", "hat": "x.x.x."},
    "waltz ride": {"kick": "X....o", "snare": "..X.X.", "bell": "X.x.x."},
}

# Chord roots as semitones over A (110 Hz); minor chords in MINOR keep a lowered third.
Chords = tuple[int, ...]
MINOR = frozenset({0, 5, 2, 7})


@dataclass(frozen=True)
class Part:
    """One section as it is composed."""

    label: str
    bars: int
    chords: Chords
    """One root a bar, repeated."""
    groove: str
    comp: str = "........"
    """Chords struck, by the pattern characters above."""
    bass: str = "X...x..."
    lead: float = 0.0
    """Notes a beat of a melody, 0 for none."""
    bright: float = 0.5
    level: float = 1.0


@dataclass(frozen=True)
class Style:
    """A song before it is played. It ends on one bar of a held chord, a section of its own."""

    name: str
    bpm: float
    parts: tuple[Part, ...]
    beats_per_bar: int = 4
    count_in: bool = False
    upbeat_beats: int = 0
    """Beats of melody alone before bar 1."""
    wander: float = 0.0
    """How far the tempo strays, as a share."""
    human_s: float = 0.0
    """Spread of each note around its time."""
    lead_in_s: float = 0.0


@dataclass(frozen=True, eq=False)
class MapSong:
    """A song and its truth."""

    name: str
    samples: NDArray[np.float32]
    """Shape (n,), full scale 1.0, at RATE."""
    bpm: float
    beats_s: NDArray[np.float64]
    """Every beat from the count-in or the upbeat on."""
    bars_s: NDArray[np.float64]
    """Bar starts; a count-in or an upbeat is not a bar."""
    beats_per_bar: int
    turns_s: tuple[float, ...]
    """Section starts; the last section is the held chord."""
    labels: tuple[str, ...]
    end_s: float
    """End of the last bar."""


def _tone(semitone: float, seconds: float, bright: float, fade: float) -> Wave:
    time = np.arange(int(seconds * RATE)) / RATE
    pitch = 110.0 * 2.0 ** (semitone / 12)
    wave = np.zeros_like(time)
    for partial in range(1, 9):
        if pitch * partial < RATE / 2.2:
            wave += bright ** (partial - 1) * np.sin(2 * np.pi * pitch * partial * time) / partial**0.5
    attack = np.minimum(1.0, time / 0.004)
    release = np.minimum(1.0, (seconds - time) / 0.02)
    return wave * attack * release * np.exp(-time / fade)


@cache
def _drum(voice: str) -> Wave:
    rng = np.random.default_rng(7)
    time = np.arange(int(0.35 * RATE)) / RATE
    noise = rng.standard_normal(time.size)
    air = np.diff(noise, prepend=0.0)
    if voice == "kick":
        sweep = 2 * np.pi * np.cumsum(50 + 90 * np.exp(-time / 0.03)) / RATE
        return 1.1 * np.sin(sweep) * np.exp(-time / 0.09) + 0.2 * noise * np.exp(-time / 0.004)
    if voice == "snare":
        return (0.35 * noise + 0.4 * np.sin(2 * np.pi * 190 * time)) * np.exp(-time / 0.07)
    if voice == "hat":
        return 0.18 * np.diff(air, prepend=0.0) * np.exp(-time / 0.025)
    bell = np.sin(2 * np.pi * 3150 * time) + np.sin(2 * np.pi * 4870 * time)
    return (0.12 * air + 0.05 * bell) * np.exp(-time / 0.12)


def _add(song: Wave, at_s: float, wave: Wave) -> None:
    start = max(0, round(at_s * RATE))
    piece = wave[: max(0, song.size - start)]
    song[start : start + piece.size] += piece


def _steps(pattern: str) -> list[tuple[float, float]]:
    """Place in the bar (0 to 1) and loudness of each struck step."""
    loud = {"X": 1.0, "x": 0.7, "o": 0.4}
    return [(i / len(pattern), loud[mark]) for i, mark in enumerate(pattern) if mark in loud]


def _play_bar(
    song: Wave, part: Part, root: int, when: Callable[[float], float], bar_s: float, rng: np.random.Generator
) -> None:
    """Play one bar; ``when`` gives the moment of a place in the bar."""
    for voice, pattern in GROOVES[part.groove].items():
        for place, loud in _steps(pattern):
            _add(song, when(place), part.level * loud * _drum(voice))
    for place, loud in _steps(part.bass):
        _add(song, when(place), part.level * loud * 0.45 * _tone(root - 12, bar_s * 0.24, 0.35, 0.4))
    third = 3 if root in MINOR else 4
    for place, loud in _steps(part.comp):
        at = when(place)
        for step in (0, third, 7, 12):
            _add(song, at, part.level * loud * 0.13 * _tone(root + 12 + step, bar_s * 0.45, part.bright, 0.6))
    if part.lead > 0:
        count = round(part.lead)
        scale = (0, third, 7, 12, 12 + third, 9)
        for i in range(count):
            if rng.random() < 0.8:
                note = root + 24 + int(rng.choice(scale))
                _add(song, when(i / count), part.level * 0.22 * _tone(note, bar_s * 0.9 / count, 0.6, 0.8))


def make(style: Style, seed: int = 1) -> MapSong:
    """Play a style."""
    rng = np.random.default_rng(seed)
    per_bar = style.beats_per_bar
    early = (per_bar if style.count_in else 0) + style.upbeat_beats
    bars = sum(part.bars for part in style.parts)
    count = early + (bars + 1) * per_bar + 1
    phase = rng.random() * 6.28
    stray = 1.0 + style.wander * np.sin(phase + np.arange(count - 1) * 2 * np.pi / 61.0)
    beats = style.lead_in_s + np.concatenate([[0.0], np.cumsum(60.0 / style.bpm * stray)])
    song = np.zeros(int((beats[-1] + 0.5) * RATE))
    grid = np.arange(count)

    def moment(beat: float) -> float:
        return float(np.interp(beat, grid, beats) + style.human_s * rng.standard_normal())

    if style.count_in:
        for beat in range(per_bar):
            _add(song, moment(beat), _drum("hat"))
    for half in range(2 * style.upbeat_beats):
        note = style.parts[0].chords[0] + 19 + half
        _add(song, moment(early - style.upbeat_beats + half / 2), 0.25 * _tone(note, 0.3, 0.6, 0.8))
    beat, turns = early, []
    for part in style.parts:
        turns.append(float(beats[beat]))
        for bar in range(part.bars):
            bar_s = float(beats[beat + per_bar] - beats[beat])
            first = beat
            _play_bar(
                song,
                part,
                part.chords[bar % len(part.chords)],
                lambda place, first=first: moment(first + place * per_bar),
                bar_s,
                rng,
            )
            beat += per_bar
    held_s = float(beats[-1] - beats[beat])
    for step in (-12, 0, 7, 12):
        _add(song, moment(beat), 0.3 * _tone(style.parts[0].chords[0] + step, held_s, 0.5, 1.0))
    turns.append(float(beats[beat]))
    song += 1e-4 * rng.standard_normal(song.size)
    return MapSong(
        name=style.name,
        samples=(0.8 * song / np.abs(song).max()).astype(np.float32),
        bpm=style.bpm,
        beats_s=beats[:-1],
        bars_s=beats[early:-1:per_bar],
        beats_per_bar=per_bar,
        turns_s=tuple(turns),
        labels=(*(part.label for part in style.parts), "ending"),
        end_s=float(beats[-1]),
    )


_INTRO = Part("intro", 4, (0, 0, 8, 8), "none", comp="X...x...", bass="X.......")
_VERSE = Part("verse", 8, (0, 8, 3, 10), "rock", comp="x...x.x.", lead=4)
_CHORUS = Part("chorus", 8, (5, 0, 10, 3), "ride", comp="X.x.X.x.", bass="X.x.x.x.", lead=8, bright=0.75)
_BRIDGE = Part("bridge", 8, (1, 6, 1, 6), "half", comp="X.......", bass="X.......", bright=0.3)

ROCK = Style("rock 120", 120.0, (_INTRO, _VERSE, _CHORUS, _VERSE, _CHORUS, _BRIDGE, _CHORUS))
STYLES: tuple[Style, ...] = (
    ROCK,
    replace(ROCK, name="rock 176 with count-in", bpm=176.0, count_in=True, human_s=0.004),
    replace(ROCK, name="rock 97 that wanders", bpm=97.0, wander=0.04, human_s=0.006, lead_in_s=0.4),
    Style(
        "waltz 150",
        150.0,
        (
            Part("intro", 8, (0, 7), "none", comp="X.....", bass="X....."),
            Part("verse", 16, (0, 0, 7, 7), "waltz", comp="..x.x.", bass="X.....", lead=3),
            Part("chorus", 16, (5, 0, 7, 0), "waltz ride", comp="X.x.x.", bass="X...x.", lead=6, bright=0.75),
            Part("verse", 16, (0, 0, 7, 7), "waltz", comp="..x.x.", bass="X.....", lead=3),
            Part("chorus", 16, (5, 0, 7, 0), "waltz ride", comp="X.x.x.", bass="X...x.", lead=6, bright=0.75),
        ),
        beats_per_bar=3,
        wander=0.02,
        human_s=0.004,
    ),
    Style(
        "ballad 66 with a quiet intro",
        66.0,
        (
            replace(_INTRO, comp="x.o.x.o.", level=0.25, bright=0.3),
            Part("verse", 8, (0, 8, 3, 10), "brush", comp="x.x.x.x.", lead=4, level=0.5, bright=0.35),
            Part("chorus", 8, (5, 0, 10, 3), "rock", comp="X.x.X.x.", lead=4, bright=0.6),
            Part("verse", 8, (0, 8, 3, 10), "brush", comp="x.x.x.x.", lead=4, level=0.5, bright=0.35),
            Part("chorus", 8, (5, 0, 10, 3), "rock", comp="X.x.X.x.", lead=4, bright=0.6),
        ),
        wander=0.015,
        human_s=0.005,
    ),
    Style(
        "swing 140",
        140.0,
        (
            Part("head", 8, (0, 5, 10, 3), "swing", comp="...x........", bass="x..x..x..x..", lead=4),
            Part("solo", 16, (1, 6, 11, 4), "shout", comp="X....x......", bass="X..x..x..x..", bright=0.75),
            Part("head", 8, (0, 5, 10, 3), "swing", comp="...x........", bass="x..x..x..x..", lead=4),
        ),
        human_s=0.005,
        upbeat_beats=1,
    ),
    Style(
        "floor 124",
        124.0,
        (
            Part("intro", 8, (0, 0), "floor", bass="........"),
            Part("verse", 16, (0, 10, 8, 10), "floor", comp="..x...x.", bass="x.x.x.x.", lead=4),
            Part("chorus", 16, (5, 0, 3, 10), "floor", comp="X.x.X.x.", bass="x.x.x.x.", lead=8, bright=0.8),
            Part("break", 8, (8, 10), "none", comp="X.......", bass="X.......", bright=0.4),
            Part("chorus", 16, (5, 0, 3, 10), "floor", comp="X.x.X.x.", bass="x.x.x.x.", lead=8, bright=0.8),
        ),
    ),
    Style(
        "off-beat chords 76",
        76.0,
        3
        * (
            Part("verse", 8, (0, 8, 3, 10), "one drop", comp="..x...x.", bass="x..x.x.x", lead=4),
            Part(
                "chorus", 8, (5, 0, 10, 3), "one drop", comp="..X...X.", bass="X.xx.xx.", lead=4, bright=0.7
            ),
        ),
        human_s=0.005,
    ),
    Style(
        "sixteenths 104",
        104.0,
        3
        * (
            Part("verse", 8, (0, 0, 5, 5), "busy", comp="..x.x..x", bass="X..x..xx"),
            Part("chorus", 8, (5, 0, 10, 3), "busy", comp="x.x.x.x.", bass="X.x.x.x.", lead=8, bright=0.8),
        ),
        wander=0.01,
        human_s=0.006,
    ),
    Style(
        "guitar alone 92",
        92.0,
        3
        * (
            Part("verse", 8, (0, 8, 3, 10), "none", comp="X.xxx.xx", bass="X.......", lead=2),
            Part("chorus", 8, (5, 0, 10, 3), "none", comp="X.xxXxxx", bass="X...x...", lead=4, bright=0.7),
        ),
        wander=0.03,
        human_s=0.01,
    ),
    Style(
        "swing 210",
        210.0,
        2
        * (
            Part("head", 16, (0, 5, 10, 3), "swing", comp="...x........", bass="x..x..x..x..", lead=4),
            Part("solo", 16, (1, 6, 11, 4), "shout", comp="X....x......", bass="X..x..x..x.."),
        ),
        human_s=0.004,
    ),
    Style("rock 150 with a half-time bridge", 150.0, (_VERSE, _CHORUS, _BRIDGE, _CHORUS)),
    Style(
        "blast 135",
        135.0,
        3
        * (
            Part("verse", 16, (0, 8, 3, 10), "blast", comp="xxxxxxxx", bass="xxxxxxxx", bright=0.8),
            Part("chorus", 8, (5, 0, 10, 3), "gallop", comp="X.xxX.xx", bass="xxxxxxxx", lead=4, bright=0.85),
        ),
        human_s=0.004,
    ),
    Style(
        "half-time 80",
        80.0,
        (_INTRO, replace(_BRIDGE, label="verse", chords=(0, 8, 3, 10)), _CHORUS, _BRIDGE),
    ),
)
