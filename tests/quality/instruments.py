"""The sounds the songs of the scoreboard are made of: single notes and hits, each an array at a given rate.

Everything here gives float64 mono arrays of shape (n,), peak about 1, and takes its chance from the generator
it is handed, so that a song is the same from the same seed.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import signal

Wave = NDArray[np.floating]


@lru_cache(maxsize=256)
def sections(order: int, edges_hz: float | tuple[float, float], kind: str, rate: int) -> Wave:
    """Butterworth second-order sections; to design one costs more than to filter a note with it."""
    return np.asarray(signal.butter(order, edges_hz, kind, fs=rate, output="sos"))


@lru_cache(maxsize=256)
def _peak(resonance_hz: float, q: float, rate: int) -> tuple[Wave, Wave]:
    b, a = signal.iirpeak(resonance_hz, q, rate)
    return b, a


def hertz(midi: float) -> float:
    """Frequency of a MIDI note number, A4 = note 69 = 440 Hz.

    >>> hertz(69), round(hertz(60), 2)
    (440.0, 261.63)
    """
    return float(440.0 * 2.0 ** ((midi - 69) / 12))


def fade(wave: Wave, rate: int, attack_s: float = 0.002, release_s: float = 0.01) -> Wave:
    """Ramp both ends so that a cut note does not click; the array is changed in place."""
    first, last = (min(len(wave) // 2, max(1, int(seconds * rate))) for seconds in (attack_s, release_s))
    wave[:first] *= np.linspace(0, 1, first, endpoint=False)
    wave[len(wave) - last :] *= np.linspace(1, 0, last)
    return wave


@lru_cache(maxsize=64)
def _table(shape: str, harmonics: int) -> Wave:
    turn = np.linspace(0, 2 * np.pi, 4096, endpoint=False)
    wave = np.zeros(4096)
    for k in range(1, harmonics + 1):
        if shape == "saw":
            wave += np.sin(k * turn) / k
        elif shape == "square":
            wave += np.sin(k * turn) / k * (k % 2)
        elif shape == "reed":
            wave += np.sin(k * turn + k * k) / k**0.8
        else:  # the pulse of a voice's source: about 12 dB an octave down
            wave += np.cos(k * turn) / k**1.6
    return np.asarray(wave / np.max(np.abs(wave)))


def oscillator(
    frequency: Wave | float, seconds: float, rate: int, shape: str = "saw", phase: float = 0.0
) -> Wave:
    """Read a band-limited waveform at a frequency that may move (one value, or one for each sample)."""
    n = int(seconds * rate)
    each = np.broadcast_to(np.asarray(frequency, dtype=np.float64), (n,))
    harmonics = 1 << int(np.log2(max(1.0, 0.45 * rate / max(20.0, float(each.max(initial=20.0))))))
    table = _table(shape, min(harmonics, 128))
    place = (phase + np.cumsum(each) / rate) % 1.0 * 4096
    return np.asarray(table[place.astype(np.int64) % 4096])


def pluck(frequency: float, seconds: float, rate: int, rng: np.random.Generator, bright: float = 0.6) -> Wave:
    """A plucked string: noise going round a loop that dulls it (Karplus and Strong 1983, from memory)."""
    period = max(8, int(rate / frequency))
    turns = int(seconds * rate / period) + 1
    spectrum = np.fft.rfft(rng.uniform(-1, 1, period))
    turn = np.linspace(0, np.pi, len(spectrum))
    spectrum *= 1 / (1 + (turn / (np.pi * bright)) ** 2)
    loss = np.exp(-3.0 / (frequency * (0.4 + 300 / frequency)))
    loop = loss * (0.5 + 0.5 * np.exp(-1j * turn)) ** 0.5
    wave = np.fft.irfft(spectrum * loop ** np.arange(turns)[:, None], period, axis=1).ravel()[
        : int(seconds * rate)
    ]
    return fade(wave / max(1e-9, float(np.max(np.abs(wave)))), rate)


def piano(midi: int, seconds: float, rate: int, velocity: float) -> Wave:
    """A struck string: stretched partials, the high ones dying first, more of them when hit harder."""
    t = np.arange(int(seconds * rate)) / rate
    f = hertz(midi)
    wave = np.zeros(len(t))
    for k in range(1, 11):
        partial = k * f * np.sqrt(1 + 0.0004 * k * k)
        if partial > 0.45 * rate:
            break
        strength = velocity ** (0.3 * k) / k * abs(np.sin(np.pi * k / 7.3))
        wave += strength * np.exp(-t * (0.5 + 0.12 * k * f / 110)) * np.sin(2 * np.pi * partial * t + k)
    return fade(wave, rate, 0.003, 0.08)


def bowed(midi: float, seconds: float, rate: int, rng: np.random.Generator, players: int = 3) -> Wave:
    """A small section of strings: slow attack, every player a little out and with his own vibrato."""
    t = np.arange(int(seconds * rate)) / rate
    wave = np.zeros(len(t))
    for _ in range(players):
        bend = rng.normal(0, 0.06) + 0.15 * np.sin(2 * np.pi * (rng.uniform(4.5, 6.5) * t + rng.uniform()))
        wave += oscillator(hertz(midi) * 2 ** (bend / 12), seconds, rate, "saw", rng.uniform())
    wave = signal.sosfilt(sections(2, min(0.4 * rate, hertz(midi) * 6), "low", rate), wave)
    return fade(wave / players, rate, min(0.25, seconds / 3), min(0.3, seconds / 3))


_VOWELS = {
    "a": (730, 1090, 2440, 3400),
    "e": (530, 1840, 2480, 3500),
    "i": (270, 2290, 3010, 3700),
    "o": (570, 840, 2410, 3300),
    "u": (300, 870, 2240, 3200),
}
"""Resonances in Hz of five vowels (Peterson and Barney 1952, men; from memory, only the flavour matters)."""


def voice(
    frequency: Wave | float, seconds: float, rate: int, rng: np.random.Generator, vowel: str = "a"
) -> Wave:
    """A sung or spoken vowel: a pulsing source with breath, through four resonances, after a consonant."""
    n = int(seconds * rate)
    t = np.arange(n) / rate
    wobble = (
        1
        + 0.008 * np.sin(2 * np.pi * (5.3 * t + rng.uniform()))
        + 0.002 * rng.standard_normal(n).cumsum() / 60
    )
    source = oscillator(
        np.asarray(frequency) * np.clip(wobble, 0.9, 1.1), seconds, rate, "voice", rng.uniform()
    )
    source = np.diff(source, prepend=0.0) * 8 + 0.02 * rng.standard_normal(n)
    wave = np.zeros(n)
    for place, (resonance, strength) in enumerate(zip(_VOWELS[vowel], (1.0, 0.6, 0.35, 0.2), strict=True)):
        wave += strength * signal.lfilter(*_peak(resonance, resonance / (70 + 40 * place), rate), source)
    consonant = min(n, int(rng.uniform(0.02, 0.07) * rate))
    hiss = signal.lfilter([1, -0.95], [1], rng.standard_normal(consonant))
    wave /= max(1e-9, float(np.max(np.abs(wave))))
    wave[:consonant] = wave[:consonant] * 0.2 + 0.12 * hiss * np.hanning(consonant)
    return fade(wave, rate, 0.01, 0.05)


def vowel(rng: np.random.Generator) -> str:
    """One of the five vowels by chance."""
    return "aeiou"[int(rng.integers(5))]


def talk(seconds: float, rate: int, rng: np.random.Generator, pitch: float = 120.0) -> Wave:
    """Babble: words of one to four syllables in falling sentences, with pauses as people make them."""
    out = np.zeros(int(seconds * rate))
    t = 0.0
    while t < seconds:
        for word in range(int(rng.integers(2, 8))):
            for _ in range(int(rng.integers(1, 5))):
                length = rng.uniform(0.09, 0.24)
                tone = pitch * (1.15 - 0.04 * word) * rng.uniform(0.93, 1.07)
                bend = np.linspace(tone * 1.03, tone * 0.97, int(length * rate))
                mix(out, t, rate, rng.uniform(0.4, 1.0) * voice(bend, length, rate, rng, vowel(rng)))
                t += length * rng.uniform(0.9, 1.1)
            t += rng.uniform(0.02, 0.2)
        t += rng.uniform(0.3, 1.5)
    return out


def mix(out: Wave, start_s: float, rate: int, wave: Wave) -> None:
    """Add a wave into a longer one from a time on; what hangs over either end is cut."""
    start = round(start_s * rate)
    if start < 0:
        wave, start = wave[-start:], 0
    piece = wave[: max(0, len(out) - start)]
    out[start : start + len(piece)] += piece
