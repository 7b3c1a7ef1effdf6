"""Simpler methods on the same clips: how often each finds a take; none can say that there is nothing to find.

``correlate``: ``scipy.signal.correlate`` of the whole take with the whole song, its highest peak. ``onsets``:
the same with ``librosa.onset.onset_strength`` of both, 100 values a second. Both are told where the take
begins and ends in the clip, and know no speed but 1. ``tdoa``: ``pyroomacoustics.experimental.tdoa`` (phase
transform) of blocks of 4 s of the take against the song where it truly runs. That finds nothing: it is a
second opinion on the truth, and agrees if the median of its delays is less than a frame of 25 a second.
"""

import librosa
import numpy as np
from numpy.typing import NDArray
from pyroomacoustics.experimental import tdoa
from scipy import signal

from tests.quality.scene import Example, Take
from tests.quality.songs import ENGINE_RATE

_RIGHT_S = 0.02
_ONSET_HOP = ENGINE_RATE // 100
_BLOCK_S = 4


def simpler_methods(clip: Example, master: NDArray[np.float32]) -> dict[str, list[bool]]:
    """What each method makes of each take: found or not. A take is judged at both ends."""
    found: dict[str, list[bool]] = {"correlate": [], "onsets": [], "tdoa": []}
    row = clip.sound.samples[-1]
    for take in clip.takes:
        first, last = (
            round((t - clip.sound.start_s) * ENGINE_RATE) for t in (take.clip_start_s, take.clip_end_s)
        )
        first, last = max(0, first), min(len(row), last)
        heard, start_s = row[first:last], clip.sound.start_s + first / ENGINE_RATE
        for name, lag_s in (
            ("correlate", correlated(heard, master)),
            ("onsets", onsets_correlated(heard, master)),
        ):
            ends = (start_s, start_s + len(heard) / ENGINE_RATE)
            off = [lag_s + (t - start_s) - take.song_at(t) for t in ends]
            found[name].append(max(map(abs, off)) <= _RIGHT_S)
        delays = block_delays(heard, master, take, start_s)
        found["tdoa"].append(bool(len(delays)) and abs(float(np.median(delays))) < 2 * _RIGHT_S)
    return found


def correlated(heard: NDArray[np.float32], master: NDArray[np.float32]) -> float:
    """Song time of the first sample heard, s."""
    product = signal.correlate(master, heard, "full", "fft")
    return (int(np.argmax(np.abs(product))) - len(heard) + 1) / ENGINE_RATE


def onsets_correlated(heard: NDArray[np.float32], master: NDArray[np.float32]) -> float:
    """Song time of the first sample heard, s, to a hundredth."""
    curves = [
        librosa.onset.onset_strength(y=wave, sr=ENGINE_RATE, hop_length=_ONSET_HOP, n_fft=512)
        for wave in (master, heard)
    ]
    whole, part = (curve - curve.mean() for curve in curves)
    product = signal.correlate(whole, part, "full", "fft")
    return (int(np.argmax(product)) - len(part) + 1) * _ONSET_HOP / ENGINE_RATE


def block_delays(
    heard: NDArray[np.float32], master: NDArray[np.float32], take: Take, start_s: float
) -> list[float]:
    """Delays (s) of up to eight blocks against the song where the truth has them."""
    delays = []
    length = _BLOCK_S * ENGINE_RATE
    for first in np.linspace(0, max(0, len(heard) - length), 8).astype(int):
        song = round(take.song_at(start_s + first / ENGINE_RATE) * ENGINE_RATE)
        piece = master[max(0, song) : max(0, song) + length]
        block = heard[first : first + len(piece)]
        if len(piece) == length and song >= 0 and np.any(block) and np.any(piece):
            delays.append(
                float(tdoa(block.astype(np.float64), piece.astype(np.float64), fs=ENGINE_RATE, phat=True))
            )
    return delays
