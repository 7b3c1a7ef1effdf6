"""The desk songs are composed at: a grid of bars that may drift, buses to add notes to, a mix at the end."""

from dataclasses import dataclass, field

import numpy as np
from scipy import signal

from tests.quality.instruments import Wave, hertz, mix, pluck, voice, vowel

MAJOR, MINOR = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 10)
ROUGH, NO_VOICE, MORE_GUITAR = "rough", "no voice", "more guitar"
"""Other mixes of one recording: other levels, dry, not pressed; without the tune; with one more player."""
LEADS = ("voice", "reed", "lead", "solo")
LOOPS = ((0, 4, 5, 3), (0, 5, 3, 4), (5, 3, 0, 4), (0, 3, 0, 4), (0, 2, 3, 4), (3, 0, 4, 5))
"""Common four-chord loops, as steps of the scale."""


@dataclass(frozen=True, slots=True)
class Note:
    """One note of the tune."""

    start_s: float
    seconds: float
    midi: float


@dataclass(frozen=True, slots=True)
class Twin:
    """Two stretches of a song that are the same to the sample."""

    first_s: float
    second_s: float
    seconds: float


@dataclass
class Studio:
    """One song in the making.

    ``rng`` decides what is composed, ``hand`` how it is played: two songs of one seed and two performances
    have the same notes at nearly the same times and no sample in common. Songs of one ``theme`` share key and
    tempo.
    """

    seed: int
    performance: int
    short: bool
    theme: int
    rate: int = 44100
    mix: str = ""
    """Which mix leaves the desk: the master, or one of ROUGH, NO_VOICE, MORE_GUITAR."""
    key: int = 45
    scale: tuple[int, ...] = MAJOR
    per_bar: int = 4
    beats_s: Wave = field(default_factory=lambda: np.zeros(0))
    has_beat: bool = True
    form: list[tuple[str, int]] = field(default_factory=list)
    seconds: float = 0.0
    tune: list[Note] = field(default_factory=list)
    twins: list[Twin] = field(default_factory=list)
    buses: dict[str, Wave] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)
        self.hand = np.random.default_rng((self.seed, self.performance, 77))
        shared = np.random.default_rng((self.theme, 3))
        self.key = int(shared.integers(40, 52))
        self.scale = MAJOR if shared.uniform() < 0.6 else MINOR
        self._pace = float(shared.uniform())

    def tempo(self, slowest: float, fastest: float) -> float:
        """Whole beats a minute between two bounds, the same for all songs of the theme."""
        return float(round(slowest + (fastest - slowest) * self._pace))

    def lay_out(
        self,
        form: list[tuple[str, int]],
        bpm: float,
        per_bar: int = 4,
        wander: float = 0.0,
        lead_in: float = 0.3,
    ) -> None:
        """Set form, tempo and the grid; ``wander`` is how far the tempo strays (0.01 = one per cent)."""
        self.form, self.per_bar = form, per_bar
        beats = sum(bars for _, bars in form) * per_bar + 1
        stray = np.cumsum(self.hand.standard_normal(beats)) * wander / 4
        stray -= np.linspace(stray[0], stray[-1], beats)
        stray += wander * np.sin(np.linspace(0, self.rng.uniform(6, 20), beats))
        steps = 60 / bpm * (1 + stray)
        self.beats_s = lead_in + np.concatenate([[0.0], np.cumsum(steps[:-1])])
        self.seconds = float(self.beats_s[-1]) + 2.5

    def at(self, bar: float, beat: float = 0.0) -> float:
        """Seconds of a place in the score."""
        place = bar * self.per_bar + beat
        return float(np.interp(place, np.arange(len(self.beats_s)), self.beats_s))

    def human(self, scatter_s: float = 0.007) -> float:
        """How far a player is off, in seconds."""
        return float(self.hand.normal(0, scatter_s))

    def add(self, bus: str, start_s: float, wave: Wave, gain: float = 1.0) -> None:
        """Play a wave on a bus."""
        if bus not in self.buses:
            self.buses[bus] = np.zeros(int(self.seconds * self.rate))
        mix(self.buses[bus], start_s, self.rate, gain * wave)

    def bars(self) -> list[tuple[int, str, int]]:
        """Every bar of the form: its number from 0, the label of its section, its number in the section."""
        labels = [(label, k) for label, count in self.form for k in range(count)]
        return [(number, label, k) for number, (label, k) in enumerate(labels)]

    def degree(self, step: int, octave: int = 0) -> int:
        """MIDI number of a step of the scale."""
        return self.key + 12 * (octave + step // 7) + self.scale[step % 7]

    def chord(self, label: str, bar_in_section: int) -> tuple[int, int, int]:
        """Steps of the triad in force; each label has a loop of its own."""
        loop = LOOPS[(self.seed * 7 + sum(map(ord, label))) % len(LOOPS)]
        root = loop[bar_in_section % 4]
        return root, root + 2, root + 4

    def write_tune(
        self, labels: tuple[str, ...], low: int = 7, high: int = 18, busy: float = 0.7
    ) -> list[Note]:
        """Write a tune over sections: every return of a label has the same notes, sung anew."""
        notes = []
        for number, label, k in self.bars():
            if label not in labels:
                continue
            chance = np.random.default_rng((self.seed, sum(map(ord, label)), k % 8))
            step = int(chance.integers(low + 2, high - 2))
            place = 0.0
            while place < self.per_bar - 0.25:
                length = float(chance.choice([0.5, 0.5, 1.0, 1.0, 1.5, 2.0]))
                step = int(np.clip(step + chance.integers(-2, 3), low, high))
                if chance.uniform() < busy:
                    start = self.at(number, place) + self.human(0.012)
                    end = self.at(number, min(self.per_bar, place + length))
                    notes.append(Note(start, max(0.12, end - start), self.degree(step)))
                place += length
        self.tune = notes
        return notes

    def sing(self, notes: list[Note], bus: str = "voice", gain: float = 1.0, shift: float = 0.0) -> None:
        """Sing a tune: sliding into each note, never twice alike."""
        for note in notes:
            n = int(note.seconds * self.rate)
            slide = note.midi + shift + self.human(0.08) - 0.5 * np.exp(-np.arange(n) / (0.04 * self.rate))
            frequency = 440.0 * 2 ** ((slide - 69) / 12)
            wave = voice(frequency, note.seconds, self.rate, self.hand, vowel(self.hand))
            self.add(bus, note.start_s, wave, gain * self.hand.uniform(0.7, 1.0))

    def mixed(
        self, levels: dict[str, float], room_s: float = 0.0, wet: float = 0.0, drive: float = 1.0
    ) -> Wave:
        """Sum the buses at RMS levels (dB, over the sounding part of each), add a hall, press it loud."""
        levels = self._balanced(levels)
        if self.mix == ROUGH:
            wet, drive = 0.0, 0.6
        out = np.zeros(int(self.seconds * self.rate))
        for bus, level in levels.items():
            if bus in self.buses:
                wave = self.buses[bus]
                loud = wave[np.abs(wave) > 1e-4]
                out += (
                    wave
                    * 10 ** (level / 20)
                    / max(1e-9, float(np.sqrt(np.mean(loud**2))) if len(loud) else 1.0)
                )
        if wet:
            tail = np.random.default_rng(self.seed + 5).standard_normal(int(room_s * self.rate))
            tail *= np.exp(-6.9 * np.arange(len(tail)) / len(tail))
            tail = signal.lfilter([0.35], [1, -0.65], tail)
            out += wet * signal.fftconvolve(out, tail / np.sqrt(np.sum(tail**2)))[: len(out)]
        out = np.tanh(drive * out)
        return np.asarray(0.89 * out / max(1e-9, float(np.max(np.abs(out)))))

    def _balanced(self, levels: dict[str, float]) -> dict[str, float]:
        """The levels of the mix that is wanted."""
        if self.mix == NO_VOICE:
            return {bus: level for bus, level in levels.items() if bus not in LEADS}
        if self.mix == ROUGH:
            chance = np.random.default_rng((self.seed, 8))
            return {bus: level + float(chance.uniform(-6, 6)) for bus, level in levels.items()}
        if self.mix == MORE_GUITAR:
            self.buses["more"] = self.one_more_guitar()
            return {**levels, "more": max(levels.values()) - 2}
        return levels

    def one_more_guitar(self) -> Wave:
        """A guitar that was recorded later: fifths in eighths, through an overdriven amplifier."""
        hand = np.random.default_rng((self.seed, self.performance, 78))
        out = np.zeros(int(self.seconds * self.rate))
        strings: dict[int, Wave] = {}
        for number, label, k in self.bars():
            root = self.degree(self.chord(label, k)[0])
            for eighth in range(2 * self.per_bar):
                at = self.at(number, eighth / 2) + float(hand.normal(0, 0.007))
                for midi in (root, root + 7):
                    if midi not in strings:
                        strings[midi] = pluck(hertz(midi), 0.5, self.rate, hand, 0.7)
                    mix(out, at, self.rate, float(hand.uniform(0.6, 1.0)) * strings[midi])
        return np.asarray(np.tanh(3 * out / max(1e-9, float(np.max(np.abs(out))))))
