"""Four instruments as sums of sines, wavetables and noise; each gives mono sound at ``RATE``."""

from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from making.playing import Sounded
from making.tunes import CYMBAL, DRUM, SWEEP

Wave = NDArray[np.float64]
RATE = 44_100
_TABLE = 4096


def _table(frequency: float, weight: Callable[[NDArray[np.float64]], NDArray[np.float64]]) -> Wave:
    """One period with the harmonics of ``weight(number)`` that stay under 15 kHz, peak 1."""
    count = max(1, min(60, int(15_000 / frequency)))
    number = np.arange(1, count + 1)
    spectrum = np.zeros(_TABLE // 2 + 1, complex)
    spectrum[1 : count + 1] = weight(number.astype(float)) * np.exp(1j * np.pi * number**2 / count)
    period = np.fft.irfft(spectrum)
    return np.asarray(period / np.abs(period).max())


def _read(table: Wave, frequency: Wave, phase: float) -> Wave:
    """Read a period at a frequency that may change from sample to sample."""
    turn = (np.cumsum(frequency) / RATE + phase) % 1.0 * _TABLE
    low = turn.astype(np.intp)
    share = turn - low
    wrapped = np.append(table, table[0])
    return np.asarray(wrapped[low] * (1 - share) + wrapped[low + 1] * share)


def _hertz(pitch: float) -> float:
    return 440.0 * 2 ** ((pitch - 69) / 12)


def _swell(count: int, attack_s: float, release_s: float) -> Wave:
    """Rise and fall as raised cosines."""
    envelope = np.ones(count)
    rise, fall = min(int(attack_s * RATE), count // 2), min(int(release_s * RATE), count // 2)
    envelope[:rise] = 0.5 - 0.5 * np.cos(np.pi * np.arange(rise) / max(rise, 1))
    envelope[count - fall :] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(fall) / max(fall, 1))
    return envelope


def _lay(out: Wave, sound: Wave, start_s: float) -> None:
    """Add a sound at its start to the nearest sample, cut at the end of ``out``."""
    first = round(start_s * RATE)
    room = len(out) - first
    if room > 0:
        out[first : first + len(sound)] += sound[:room]


def _band(low: float, high: float, order: int = 2) -> NDArray[np.float64]:
    return np.asarray(butter(order, (low, high), "bandpass", fs=RATE, output="sos"))


def _reed(base: float, dark: float, number: Wave) -> Wave:
    """Harmonics of a reed: weaker by the power ``dark``, favoured round 1.5 kHz by the reed block."""
    return np.asarray(number**-dark * (1 + 0.8 * np.exp(-(((number * base - 1500) / 900) ** 2))))


def accordion(
    notes: list[Sounded], length_s: float, rng: np.random.Generator, left_hand: bool = False
) -> Wave:
    """Two reeds a few cents apart and one an octave lower; bellows give every note a slight swell."""
    out = np.zeros(round(length_s * RATE))
    for note in notes:
        count = int((note.end_s - note.start_s + 0.07) * RATE)
        time = np.arange(count) / RATE
        base = _hertz(note.pitch)
        dark = 1.35 if left_hand else 0.95
        reed = _table(base, partial(_reed, base, dark))
        voices = ((-5.0, 1.0, 1.0), (6.0, 1.0, 0.9), (1.0, 0.5, 0.35))
        sound = np.zeros(count)
        for cents, octave, level in voices:
            pitch = base * octave * 2 ** ((cents + rng.normal(0, 1.0)) / 1200)
            sound += level * _read(reed, np.full(count, pitch), float(rng.uniform()))
        bellows = 1 + 0.10 * np.sin(2 * np.pi * 0.8 * time + rng.uniform(0, 6)) + 0.12 * np.exp(-time / 0.15)
        sound *= bellows * _swell(count, 0.018 if left_hand else 0.024, 0.07) * note.strength * 0.2
        _lay(out, sound, note.start_s)
    air = sosfilt(_band(900, 5000, 1), rng.normal(0, 1, len(out)))
    return np.asarray(out + 0.0012 * air * (0.6 + 0.4 * np.sin(2 * np.pi * np.arange(len(out)) / RATE / 2.5)))


def fiddle(notes: list[Sounded], length_s: float, rng: np.random.Generator) -> Wave:
    """A bowed string: sawtooth with a late vibrato and bow noise, through the resonances of a small body."""
    out = np.zeros(round(length_s * RATE))
    for note in notes:
        length = note.end_s - note.start_s + 0.08
        count = int(length * RATE)
        time = np.arange(count) / RATE
        base = _hertz(note.pitch)
        depth = 0.0055 * np.clip((time - 0.14) / 0.25, 0, 1) if length > 0.35 else np.zeros(count)
        slide = -0.010 * np.exp(-time / 0.022)
        bend = 1 + slide + depth * np.sin(2 * np.pi * rng.uniform(5.2, 5.9) * time + rng.uniform(0, 6))
        string = _table(base, lambda n: n**-1.05)
        scrape = sosfilt(_band(1800, 6500, 1), rng.normal(0, 1, count))
        sound = _read(string, base * bend, float(rng.uniform()))
        sound += scrape * (0.02 + 0.10 * np.exp(-time / 0.03))
        shape = 0.72 + 0.28 * np.sin(np.pi * np.clip(time / length, 0, 1))
        _lay(out, sound * shape * _swell(count, 0.035, 0.09) * note.strength * 0.3, note.start_s)
    body = 0.55 * out
    for low, high, gain in ((240, 330, 0.7), (400, 560, 0.8), (800, 1200, 0.35), (2000, 3400, 0.75)):
        body += gain * sosfilt(_band(low, high, 1), out)
    return np.asarray(sosfilt(butter(1, 6500, "lowpass", fs=RATE, output="sos"), body))


def double_bass(notes: list[Sounded], length_s: float, rng: np.random.Generator) -> Wave:
    """A plucked gut string as fading partials (the higher, the faster), with the thump of the finger."""
    out = np.zeros(round(length_s * RATE))
    for note in notes:
        held = note.end_s - note.start_s
        count = int((held + 0.25) * RATE)
        time = np.arange(count) / RATE
        base = _hertz(note.pitch)
        sound = np.zeros(count)
        pluck = rng.uniform(0.16, 0.22)
        for n in range(1, 17):
            partial = base * n * np.sqrt(1 + 0.00012 * n * n)
            level = np.sin(np.pi * n * pluck) / n**1.15
            sound += (
                level * np.exp(-time * (0.9 + 0.22 * n**1.5)) * np.sin(2 * np.pi * partial * time + 0.2 * n)
            )
        thump = sosfilt(_band(90, 700, 1), rng.normal(0, 1, count)) * np.exp(-time / 0.018)
        envelope = np.minimum(time / 0.004, 1) * np.where(time > held, np.exp(-(time - held) / 0.06), 1.0)
        _lay(out, (sound + 0.5 * thump) * envelope * note.strength * 0.5, note.start_s)
    return out


def brushes(notes: list[Sounded], length_s: float, rng: np.random.Generator) -> Wave:
    """Small kit with brushes: soft bass drum, a sweep round the snare, taps, a cymbal."""
    out = np.zeros(round(length_s * RATE))
    hiss, skin = _band(1600, 9000, 1), _band(170, 420, 1)
    shimmer = np.asarray(butter(2, 4500, "highpass", fs=RATE, output="sos"))
    for note in notes:
        stroke = round(note.pitch)
        count = int((2.4 if stroke == CYMBAL else max(0.35, note.end_s - note.start_s)) * RATE)
        time = np.arange(count) / RATE
        noise = rng.normal(0, 1, count)
        if stroke == DRUM:
            turn = 2 * np.pi * (52 * time + 1.1 * (1 - np.exp(-time / 0.03)))
            sound = 0.55 * np.sin(turn) * np.exp(-time / 0.13) * np.minimum(time / 0.002, 1)
            sound += 0.05 * sosfilt(skin, noise) * np.exp(-time / 0.01)
        elif stroke == SWEEP:
            way = np.clip(time / (count / RATE), 0, 1)
            stroked = 0.25 * np.exp(-time / 0.03) + np.sin(np.pi * way) ** 1.5 * (
                0.7 + 0.3 * np.cos(4 * np.pi * way)
            )
            sound = 0.10 * sosfilt(hiss, noise) * stroked * np.minimum(time / 0.003, 1)
        elif stroke == CYMBAL:
            rings = sum(np.sin(2 * np.pi * f * time + f) for f in (3130.0, 4270.0, 5390.0, 6640.0, 8120.0))
            sound = (
                (0.16 * sosfilt(shimmer, noise) + 0.012 * rings)
                * np.exp(-time / 0.6)
                * np.minimum(time / 0.002, 1)
            )
        else:
            sound = 0.34 * sosfilt(hiss, noise) * (np.exp(-time / 0.022) + 0.25 * np.exp(-time / 0.09))
            sound += 0.4 * sosfilt(skin, noise) * np.exp(-time / 0.03)
            sound *= np.minimum(time / 0.0015, 1)
        _lay(out, sound * note.strength, note.start_s)
    return out
