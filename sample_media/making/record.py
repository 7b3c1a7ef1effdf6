"""The recording of a tune: four performances, a small wooden room, a mix."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

from making.instruments import RATE, Wave, accordion, brushes, double_bass, fiddle
from making.playing import Pulse, Sounded, play, pulse
from making.tunes import Tune

RING_S = 2.6
"""How long the last bar is left to ring."""
BEFORE_S, FADE_S = 0.04, 0.01
"""How long before a beat a cut lies, so that notes played early come along; and how long it fades over."""


@dataclass(frozen=True, slots=True)
class Performance:
    """One run of the band through a tune."""

    beats: Pulse
    length_s: float
    lead: list[Sounded]
    left: list[Sounded]
    fiddle: list[Sounded]
    bass: list[Sounded]
    brushes: list[Sounded]


def perform(tune: Tune, beats: Pulse, rng: np.random.Generator) -> Performance:
    """Play all parts once."""
    return Performance(
        beats,
        float(beats.beats_s[-1]) + RING_S,
        play(tune.lead, beats, rng, spread_s=0.009),
        play(tune.left, beats, rng, spread_s=0.007, touch=0.1),
        play(tune.fiddle, beats, rng, spread_s=0.010),
        play(tune.bass, beats, rng, spread_s=0.006),
        play(tune.brushes, beats, rng, spread_s=0.004, touch=0.12),
    )


def stem(played: Performance, player: str, rng: np.random.Generator) -> Wave:
    """The sound of one player alone: accordion, fiddle, bass or drums."""
    if player == "accordion":
        right = accordion(played.lead, played.length_s, rng)
        return right + 0.8 * accordion(played.left, played.length_s, rng, left_hand=True)
    if player == "fiddle":
        return fiddle(played.fiddle, played.length_s, rng)
    if player == "bass":
        return double_bass(played.bass, played.length_s, rng)
    return brushes(played.brushes, played.length_s, rng)


def _room(rng: np.random.Generator, fade_s: float) -> Wave:
    """A tail of noise that fades to a thousandth (60 dB) in ``fade_s``, darker as it fades."""
    time = np.arange(int(fade_s * 1.1 * RATE)) / RATE
    bright = rng.normal(0, 1, len(time)) * 10 ** (-3 * time / (0.55 * fade_s))
    dark = sosfilt(butter(1, 1800, "lowpass", fs=RATE, output="sos"), rng.normal(0, 1, len(time)))
    tail = 0.5 * bright + 1.6 * dark * 10 ** (-3 * time / fade_s)
    tail[: int(0.008 * RATE)] = 0
    return np.asarray(tail / np.sqrt(np.sum(tail**2)))


def mix(played: Performance, rng: np.random.Generator) -> NDArray[np.float64]:
    """Stereo, shape (n, 2), peak at -1 dB of full scale."""
    places = (("accordion", 0.30, -0.30), ("fiddle", 0.28, 0.35), ("bass", 0.27, 0.0), ("drums", 0.30, 0.12))
    dry = np.zeros((round(played.length_s * RATE), 2))
    send = np.zeros(len(dry))
    for player, level, side in places:
        sound = stem(played, player, rng)
        sound = sound / np.sqrt(np.mean(sound**2)) * level * 0.15
        angle = (side + 1) * np.pi / 4
        dry += sound[:, None] * np.array([np.cos(angle), np.sin(angle)])
        send += sound * (0.12 if player == "bass" else 0.4)
    wet = np.stack([fftconvolve(send, _room(rng, 0.9))[: len(dry)] for _ in range(2)], axis=1)
    both = sosfilt(butter(2, 32, "highpass", fs=RATE, output="sos"), dry + 0.55 * wet, axis=0)
    both = np.tanh(both / np.percentile(np.abs(both), 99.7) * 0.75)
    fade = np.ones(len(both))
    fade[-int(0.9 * RATE) :] = np.cos(np.linspace(0, np.pi / 2, int(0.9 * RATE))) ** 2
    both *= fade[:, None]
    return np.asarray(both / np.abs(both).max() * 10 ** (-1 / 20))


def _spliced(sound: NDArray[np.float64], first: int, again: int, count: int) -> NDArray[np.float64]:
    """The sound with ``count`` samples from ``first`` on also at ``again``, faded over at both ends."""
    fade = round(FADE_S * RATE)
    share = np.ones(count + fade)
    share[:fade] = np.linspace(0, 1, fade)
    share[count:] = np.linspace(1, 0, fade)
    out = sound.copy()
    there = out[again : again + count + fade]
    there += share[:, None] * (sound[first : first + count + fade] - there)
    return out


def _copied_notes(part: list[Sounded], first_s: float, again_s: float, length_s: float) -> list[Sounded]:
    """The part with what begins within ``length_s`` from ``first_s`` on also at ``again_s``."""
    by_s = again_s - first_s
    kept = [n for n in part if not again_s <= n.start_s < again_s + length_s]
    twice = [n for n in part if first_s <= n.start_s < first_s + length_s]
    moved = [replace(n, start_s=n.start_s + by_s, end_s=n.end_s + by_s) for n in twice]
    return sorted(kept + moved, key=lambda n: n.start_s)


def record(tune: Tune, rng: np.random.Generator) -> tuple[Performance, NDArray[np.float64]]:
    """Perform and mix a tune: the performance, and its sound of shape (n, 2) at ``RATE``.

    Bars that the tune has copied are the same to the sample, from just before their first beat on.
    """
    beats = pulse(tune, rng)
    played = perform(tune, beats, rng)
    sound = mix(played, rng)
    if tune.copied is None:
        return played, sound
    first, again, bars = tune.copied.from_beat, tune.copied.to_beat, tune.copied.beats
    first_s, again_s = (float(beats.beats_s[beat]) - BEFORE_S for beat in (first, again))
    length_s = float(beats.beats_s[first + bars]) - BEFORE_S - first_s
    sound = _spliced(
        sound,
        round(first_s * RATE),
        round(first_s * RATE) + round((again_s - first_s) * RATE),
        round(length_s * RATE),
    )
    parts = {
        name: _copied_notes(getattr(played, name), first_s, again_s, length_s)
        for name in ("lead", "left", "fiddle", "bass", "brushes")
    }
    return replace(played, **parts), sound


def write_song(path: Path, sound: NDArray[np.float64]) -> None:
    """Write Ogg Vorbis in short blocks (the encoder does not take minutes at once)."""
    with soundfile.SoundFile(
        path, "w", RATE, 2, format="OGG", subtype="VORBIS", compression_level=0.6
    ) as file:
        for first in range(0, len(sound), RATE):
            file.write(sound[first : first + RATE].astype(np.float32))
