"""Songs for the long board of the map: composed from a seed in one of the genres, with everything known.

Beside steady songs: a tempo that drifts, changes or slows down, a half-time bridge, a free introduction, a
count-in, an upbeat, another metre for a section, a bar cut short, and sections that set in ahead of the bar
line.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from tests.audio.map_songs import RATE, MapSong
from tests.quality.instruments import Wave, bowed, fade, hertz, mix, oscillator, piano, pluck, voice, vowel
from tests.quality.kit import Kit
from tests.quality.map_genres import GENRES, Genre

TWISTS = (
    "steady",
    "count-in",
    "upbeat",
    "free intro",
    "slowing end",
    "half-time bridge",
    "tempo change",
    "metre change",
    "short bar",
    "ahead of the bar",
)
"""What is out of the ordinary; every song has one, and one song in three two."""
APART = 1000
"""Songs from this number on are for judging, never for tuning."""
_SCALES = ((0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10), (0, 2, 3, 5, 7, 9, 10))
_FORMS = (
    ("intro", "verse", "chorus", "verse", "chorus", "bridge", "chorus"),
    ("intro", "verse", "verse", "chorus", "solo", "verse", "chorus", "outro"),
    ("verse", "chorus", "verse", "chorus", "break", "chorus", "outro"),
    ("intro", "verse", "chorus", "verse", "chorus", "solo", "bridge", "chorus", "chorus"),
    ("intro", "chorus", "verse", "chorus", "verse", "bridge", "chorus", "outro"),
)
_LENGTHS = {
    "intro": (4, 8),
    "verse": (8, 12, 16),
    "chorus": (8,),
    "bridge": (8,),
    "solo": (8, 16),
    "break": (4, 8),
    "outro": (4,),
}
_SONG_S = 110.0
_SUNG = ("verse", "chorus", "bridge")


@dataclass
class Section:
    """One section as it is composed; its bars may be unlike the song's."""

    label: str
    bars: int
    genre: Genre
    pace: float = 1.0
    """Tempo as a share of the song's."""
    slows_to: float = 1.0
    half_time: bool = False
    last_bar_beats: int = 0
    """Beats of its last bar; 0: as all."""
    ahead_beats: float = 0.0


@dataclass(frozen=True, eq=False)
class Made:
    """A song of the board: what every made song has, and who sings where."""

    song: MapSong
    genre: str
    twists: tuple[str, ...]
    sung: tuple[bool, ...]
    """By section; the last chord is none's."""


def make(number: int) -> Made:
    """Compose and play song ``number``: its genre and its twist follow from it."""
    rng = np.random.default_rng((number, 5))
    genre = GENRES[number % len(GENRES)]
    twist = [TWISTS[(number // len(GENRES) + 3 * number) % len(TWISTS)]]
    if rng.random() < 0.33:
        twist.append(str(rng.choice(TWISTS[1:])))
    bpm = float(rng.uniform(*genre.bpm))
    sections = _form(genre, bpm, twist, rng)
    return _Player(number, genre, bpm, sections, tuple(dict.fromkeys(twist)), rng).play()


def songs(numbers: range) -> Iterator[Made]:
    """Songs one after the other."""
    for number in numbers:
        yield make(number)


def _form(genre: Genre, bpm: float, twist: list[str], rng: np.random.Generator) -> list[Section]:
    form = list(_FORMS[int(rng.integers(len(_FORMS)))])
    if "half-time bridge" in twist and "bridge" not in form:
        form.insert(-1, "bridge")
    lengths = {label: int(rng.choice(choice)) for label, choice in _LENGTHS.items()}
    bar_s = genre.beats_per_bar * 60.0 / bpm
    if bar_s < 1.3:  # short bars come in more
        lengths = {label: 2 * bars for label, bars in lengths.items()}
    while len(form) > 5 and sum(lengths[label] for label in form) * bar_s > _SONG_S:
        loose = [i for i, label in enumerate(form[:-1]) if i and label != "bridge"]
        form.pop(int(rng.choice(loose)))
    sections = [Section(label, lengths[label], genre) for label in form]
    middle = sections[len(sections) // 2 :]
    for one in twist:
        if one == "half-time bridge":
            for section in sections:
                section.half_time = section.label == "bridge"
        elif one == "tempo change":
            pace = float(rng.choice([0.72, 0.85, 1.2, 1.4]))
            for section in middle:
                section.pace = pace
        elif one == "metre change":
            other = [
                g for g in GENRES if g.beats_per_bar in (3, 4) and g.beats_per_bar != genre.beats_per_bar
            ]
            found = min(other, key=lambda g: abs(np.log(np.mean(g.bpm) / bpm)))
            middle[0].genre = replace(found, sound=genre.sound)
            middle[0].label = "bridge"
        elif one == "short bar":
            for section in sections[1:-1]:
                if section.label in ("verse", "chorus") and genre.beats_per_bar > 2:
                    section.last_bar_beats = genre.beats_per_bar - 2
                    if rng.random() < 0.5:
                        break
        elif one == "slowing end":
            sections[-1].slows_to = float(rng.uniform(0.6, 0.75))
        elif one == "ahead of the bar":
            for section in sections[1:]:
                if rng.random() < 0.5:
                    section.ahead_beats = float(rng.choice([0.5, 1.0, 1.0, 2.0]))
    return sections


class _Player:
    """Plays a form once."""

    def __init__(
        self,
        number: int,
        genre: Genre,
        bpm: float,
        sections: list[Section],
        twists: tuple[str, ...],
        rng: np.random.Generator,
    ) -> None:
        self.number, self.genre, self.bpm, self.sections, self.twists, self.rng = (
            number,
            genre,
            bpm,
            sections,
            twists,
            rng,
        )
        self.kit = Kit(RATE, number, machine=genre.human_s == 0.0)
        self.key = int(rng.integers(40, 52))
        self.scale = _SCALES[int(rng.integers(len(_SCALES)))]
        self.instrumental = bool(rng.random() < 0.25)
        self.chord_bars = float(rng.choice(genre.chord_bars))
        self.loops = {
            label: [int(step) for step in rng.choice([0, 1, 2, 3, 4, 5], 4, replace=False)]
            for label in _LENGTHS
        }
        self.strings: dict[tuple[str, int, int], Wave] = {}
        self.levels = {label: float(rng.uniform(0.55, 0.8)) for label in _LENGTHS} | {"chorus": 1.0}

    def play(self) -> Made:
        self._lay_out()
        out = {bus: np.zeros(int((self.beats[-1] + 1.0) * RATE)) for bus in ("drums", "bass", "comp", "lead")}
        self.out = out
        self._before()
        sung = []
        for place, section in enumerate(self.sections):
            sings = not self.instrumental and section.label in _SUNG
            sung.append(sings)
            self._play(place, section, sings)
        root = self._degree(0)
        for octave in (0, 1):
            for step in (0, 2, 4):
                self._note(
                    "comp",
                    float(self.beats[-2 - self._last_beats + 1]),
                    root + 12 * octave + (0, 0, 3, 0, 7)[step],
                    3.0,
                    1.0,
                )
        mixed = sum(
            self._levelled(bus, level)
            for bus, level in (("drums", 0.10), ("bass", 0.07), ("comp", 0.06), ("lead", 0.075))
        )
        mixed = self._in_a_room(np.asarray(mixed))
        song = MapSong(
            name=f"{self.number}: {self.genre.name}, {', '.join(self.twists)}, {self.bpm:.0f}",
            samples=(0.8 * mixed / np.abs(mixed).max()).astype(np.float32),
            bpm=self.bpm,
            beats_s=self.beats[self.first_true : -1],
            bars_s=self.beats[self.bar_starts],
            beats_per_bar=self.genre.beats_per_bar,
            turns_s=tuple(float(turn) for turn in self.turns_s),
            labels=(*(section.label for section in self.sections), "ending"),
            end_s=float(self.beats[-1]),
        )
        return Made(song, self.genre.name, self.twists, (*sung, False))

    def _lay_out(self) -> None:
        """Set the times of beats, bars and turns."""
        rng, genre = self.rng, self.genre
        self.counted = (
            genre.beats_per_bar * (2 if genre.beats_per_bar == 2 else 1) if "count-in" in self.twists else 0
        )
        self.early = (
            int(rng.integers(1, genre.beats_per_bar)) if "upbeat" in self.twists and not self.counted else 0
        )
        beat = self.counted + self.early
        paces = [1.0] * beat
        self.bar_starts: list[int] = []
        self.bars: list[list[tuple[int, int]]] = []
        turns: list[float] = []
        for section in self.sections:
            turns.append(beat - section.ahead_beats)
            bars = []
            for bar in range(section.bars):
                beats = section.genre.beats_per_bar
                if bar == section.bars - 1 and section.last_bar_beats:
                    beats = section.last_bar_beats
                bars.append((beat, beats))
                self.bar_starts.append(beat)
                slow = (
                    np.linspace(1.0, section.slows_to, 2 * beats)
                    if bar >= section.bars - 2
                    else np.ones(2 * beats)
                )
                half = slow[:beats] if bar == section.bars - 2 else slow[beats:]
                paces += list(section.pace * half)
                beat += beats
            self.bars.append(bars)
        self._last_beats = genre.beats_per_bar
        self.bar_starts.append(beat)
        turns.append(float(beat))
        last = self.sections[-1].pace * self.sections[-1].slows_to
        paces += [last] * genre.beats_per_bar
        steps = len(paces)
        stray = np.cumsum(rng.standard_normal(steps)) / np.sqrt(steps)
        stray += np.sin(np.arange(steps) * 2 * np.pi / rng.uniform(40, 90) + rng.uniform(0, 6.28))
        stray *= genre.wander / np.abs(stray).max()
        self.lead_in_s = float(rng.uniform(0.0, 0.8))
        self.free_s = float(rng.uniform(8, 14)) if "free intro" in self.twists else 0.0
        self.beats = (
            self.lead_in_s
            + self.free_s
            + np.concatenate([[0.0], np.cumsum(60.0 / self.bpm / np.array(paces) * (1 + stray))])
        )
        self.first_true = 0
        self.turn_beats = [*turns, float(beat + genre.beats_per_bar)]
        self.turns_s = np.interp(turns, np.arange(len(self.beats)), self.beats)
        if self.free_s:
            self.turns_s = np.concatenate([[self.lead_in_s], self.turns_s])
            self.sections = [Section("intro", 0, genre), *self.sections]
            self.bars = [[], *self.bars]
            self.turn_beats = [-1e9, *self.turn_beats]

    def _before(self) -> None:
        """Count-in, upbeat or free introduction."""
        for beat in range(self.counted):
            self._drum("stick", self._at(beat), 0.7)
        for half in range(2 * self.early):
            self._note("lead", self._at(self.counted + half / 2), self._degree(4 + half) + 12, 0.4, 0.8)
        at = self.lead_in_s
        while at < self.lead_in_s + self.free_s - 1.0:
            for _ in range(int(self.rng.integers(1, 4))):
                self._note(
                    "comp",
                    at,
                    self._degree(int(self.rng.integers(0, 9))) + 12,
                    2.0,
                    float(self.rng.uniform(0.5, 1.0)),
                )
            at += float(self.rng.choice([0.3, 0.55, 0.9, 1.7])) * float(self.rng.uniform(0.8, 1.3))

    def _at(self, beat: float) -> float:
        exact = float(np.interp(beat, np.arange(len(self.beats)), self.beats))
        return exact + float(self.rng.normal(0, self.genre.human_s)) if self.genre.human_s else exact

    def _degree(self, step: int) -> int:
        return self.key + 12 * (step // 7) + self.scale[step % 7]

    def _play(self, place: int, section: Section, sings: bool) -> None:
        low, high = self.turn_beats[place], self.turn_beats[place + 1]
        genre = section.genre
        full = section.label in ("chorus", "solo", "bridge")
        drums = genre.full if full else genre.light
        if section.label == "break" or (section.label == "intro" and self.number % 3 == 0):
            drums = {}
        level = self.levels[section.label]
        loop = self.loops[section.label]
        bars = list(enumerate(self.bars[place]))
        if section.ahead_beats and bars:
            beats = genre.beats_per_bar
            bars = [(-1, (self.bars[place][0][0] - beats, beats)), *bars]
        for number, (first, beats) in bars:
            whole = genre.beats_per_bar
            for drum, pattern in drums.items():
                if section.half_time:
                    pattern = _halved(pattern, number)
                for at, loud in _struck(pattern):
                    if at * whole < beats and low <= first + at * whole < high:
                        self._drum(drum, self._at(first + at * whole), loud * level)
            if number % 8 == 7 and drums and section.bars > 4 and whole > 2:
                for k in range(4):
                    if low <= first + beats - 1 + k / 4 < high:
                        self._drum(
                            ("snare", "tom", "floor tom")[k % 3],
                            self._at(first + beats - 1 + k / 4),
                            0.7 * level,
                        )
            for kind, patterns in (("bass", genre.bass), ("comp", genre.comp)):
                pattern = patterns[int(full)]
                if kind == "bass" and section.label == "intro" and self.number % 2:
                    continue
                for at, loud in _struck(pattern):
                    beat = first + at * whole
                    if at * whole >= beats or not low <= beat < high:
                        continue
                    chord = loop[int((max(number, 0) + at + 1e-6) / self.chord_bars) % 4]
                    if kind == "bass":
                        self._note(
                            "bass", self._at(beat), self._degree(chord) - 12, 0.5, loud * level, "bass"
                        )
                        continue
                    if at == 0.0 and self.rng.random() < genre.push and beat - 0.5 > low:
                        beat -= 0.5
                    moment = self._at(beat)
                    for step in (0, 2, 4):
                        self._note(
                            "comp",
                            moment,
                            self._degree(chord + step) + 12,
                            0.6 if genre.sound != "strings" else 1.5,
                            loud * level,
                        )
            if sings or section.label == "solo" or (self.instrumental and section.label in _SUNG):
                self._tune(section, number, first, beats, sings, (low, high))

    def _tune(
        self, section: Section, bar: int, first: int, beats: int, sings: bool, span: tuple[float, float]
    ) -> None:
        chance = np.random.default_rng((self.number, sum(map(ord, section.label)), bar % 4))
        at = float(chance.choice([0.0, 0.5, 1.0])) - (0.5 if chance.random() < 0.3 else 0.0)
        step = int(chance.integers(7, 12))
        while at < beats - 0.25:
            length = float(chance.choice([0.5, 0.5, 1.0, 1.0, 2.0]))
            step = int(np.clip(step + chance.integers(-2, 3), 6, 14))
            beat = first + at
            at += length
            if chance.random() < 0.25 or not span[0] <= beat < span[1]:
                continue
            seconds = float(np.clip(length * 60.0 / self.bpm * 0.95, 0.1, 1.6))
            self._note(
                "lead", self._at(beat), self._degree(step) + 12, seconds, 0.9, "voice" if sings else "reed"
            )

    def _drum(self, drum: str, at_s: float, loud: float) -> None:
        mix(self.out["drums"], at_s, RATE, self.kit.hit(drum, float(loud * self.rng.uniform(0.85, 1.1))))

    def _note(self, bus: str, at_s: float, midi: int, seconds: float, loud: float, sound: str = "") -> None:
        sound = sound or self.genre.sound
        length = int(np.ceil(seconds * 10))
        variant = int(self.rng.integers(3))
        key = (f"{sound}{variant}", midi, length)
        if key not in self.strings:
            self.strings[key] = _sound(
                sound, midi, length / 10, np.random.default_rng((self.number, midi, variant))
            )
        mix(self.out[bus], at_s, RATE, float(loud * self.rng.uniform(0.85, 1.1)) * self.strings[key])

    def _levelled(self, bus: str, level: float) -> Wave:
        wave = self.out[bus]
        if bus == "comp" and self.genre.sound == "crunch":
            wave = np.tanh(2.5 * wave / max(1e-9, float(np.abs(wave).max())))
        loud = wave[np.abs(wave) > 1e-4]
        return (
            wave
            * level
            * float(self.rng.uniform(0.7, 1.4))
            / (float(np.sqrt(np.mean(loud**2))) if loud.size else 1.0)
        )

    def _in_a_room(self, wave: Wave) -> Wave:
        from scipy.signal import fftconvolve

        seconds = float(self.rng.uniform(0.3, 1.6))
        tail = self.rng.standard_normal(int(seconds * RATE)) * np.exp(
            -6.9 * np.linspace(0, 1, int(seconds * RATE))
        )
        wet = float(self.rng.uniform(0.05, 0.3))
        wave = wave + wet * fftconvolve(wave, tail / np.sqrt(np.sum(tail**2)))[: len(wave)]
        pressed = np.tanh(float(self.rng.uniform(0.8, 2.5)) * wave)
        return np.asarray(pressed + 1e-4 * self.rng.standard_normal(len(wave)))


@lru_cache(maxsize=256)
def _struck(pattern: str) -> tuple[tuple[float, float], ...]:
    loud = {"X": 1.0, "x": 0.7, "o": 0.4}
    return tuple((i / len(pattern), loud[mark]) for i, mark in enumerate(pattern) if mark in loud)


def _halved(pattern: str, bar: int) -> str:
    """One half of a bar's pattern, drawn out to the whole bar."""
    half = len(pattern) // 2
    part = pattern[:half] if bar % 2 == 0 else pattern[half:]
    return "".join(mark + "." for mark in part)


def _sound(kind: str, midi: int, seconds: float, rng: np.random.Generator) -> Wave:
    if kind in ("guitar", "crunch", "bass"):
        return pluck(
            hertz(midi), max(seconds, 0.4), RATE, rng, {"guitar": 0.5, "crunch": 0.7, "bass": 0.15}[kind]
        )
    if kind == "piano":
        return piano(midi, max(seconds, 0.8), RATE, float(rng.uniform(0.5, 0.9)))
    if kind == "organ":
        return fade(oscillator(hertz(midi), seconds * 0.8, RATE, "square"), RATE, 0.005, 0.05)
    if kind == "voice":
        slide = 1 - 0.03 * np.exp(-np.arange(int(seconds * RATE)) / (0.04 * RATE))
        return voice(hertz(midi) * slide, seconds, RATE, rng, vowel(rng))
    if kind == "reed":
        bend = 1 + 0.004 * np.sin(2 * np.pi * 5 * np.arange(int(seconds * RATE)) / RATE + rng.uniform(0, 6))
        return fade(oscillator(hertz(midi) * bend, seconds, RATE, "reed", rng.uniform()), RATE, 0.03, 0.06)
    if kind == "reeds":
        return fade(oscillator(hertz(midi), seconds * 0.7, RATE, "reed"), RATE, 0.01, 0.04)
    return bowed(midi, seconds, RATE, rng)
