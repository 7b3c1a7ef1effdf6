"""Playback files with the truth of their line: songs marked above what the engine hears, and stretched.

What is the truth of a stretched file? The line that its onsets lie on, as a band that plays to it would
follow them. It cannot be read off by the engine's own means. So each strong onset of the song gets a mark:
3 ms of noise at 5 to 7.5 kHz, where the song itself is filtered off. The engine works below 4 kHz and never
hears it. The whole goes through the stretcher; where each mark comes out is the centre of its energy. The
straight line through all marks, fitted robustly, is the truth; how they scatter about it is told beside.

Marks that are not stretched are found to 0.01 ms, but 0.2 ms late, which is taken off. A stretcher may treat
high bands unlike low ones; that goes into the error that is told here.
"""

from dataclasses import dataclass

import librosa
import numpy as np
import scipy.signal

from audio.pieces.transients import strong_onsets
from audio.rate import ENGINE_RATE
from audio.signals import Samples
from tests.quality.instruments import Wave
from tests.quality.songs import WORK_RATE, Song, to_rate
from tests.quality.stretching import WAYS, stretched

OWN_WAYS = (*WAYS, "split")
KIT = "kit"
"""The library that the playback kit stretches with: told apart, for the engine may not lean on it."""
_HIGH = scipy.signal.butter(6, 4600, "high", fs=WORK_RATE, output="sos")
_LOW = scipy.signal.butter(8, 4100, "low", fs=WORK_RATE, output="sos")
_MARK_S, _APART_S, _LATE_S = 0.003, 0.25, 0.000195
_REACH_S, _CENTRE_S = 0.06, 0.03


@dataclass(frozen=True, slots=True, eq=False)
class Played:
    """A stretched file at ENGINE_RATE."""

    samples: Samples
    onsets_s: Wave
    """Song times of the marks."""
    heard_s: Wave
    """Where the line through all of them has them, in the file."""
    scatter_s: float
    """Half of the marks lie closer to it than this."""


def marked(song: Song) -> tuple[Samples, Wave]:
    """A song at WORK_RATE with a mark at each of its strong onsets, and their times (s)."""
    low = scipy.signal.sosfiltfilt(_LOW, song.room_feed.astype(np.float64))
    onsets_s = [0.0]
    for onset_s in strong_onsets(song.master, ENGINE_RATE, 0.5, song.seconds - 0.5):
        if onset_s - onsets_s[-1] > _APART_S:
            onsets_s.append(float(onset_s))
    length = round(_MARK_S * WORK_RATE)
    noise = np.pad(np.random.default_rng(1).standard_normal(length), 400)
    mark = scipy.signal.sosfiltfilt(_HIGH, noise)
    mark *= 3 * np.sqrt(np.mean(low**2)) / np.abs(mark).max()
    for onset_s in onsets_s[1:]:
        first = round(onset_s * WORK_RATE) - len(mark) // 2
        if first >= 0 and first + len(mark) <= len(low):
            low[first : first + len(mark)] += mark
    return low.astype(np.float32), np.array(onsets_s[1:])


def played(feed: Samples, onsets_s: Wave, speed: float, way: str) -> Played:
    """A marked song stretched to a speed by one of OWN_WAYS, or KIT, with its pitch kept."""
    out = _stretched(feed, speed, way)
    due_s = onsets_s / speed
    late_s = _marks(out, due_s) - due_s
    seen = np.isfinite(late_s)
    due_s, late_s, weight = due_s[seen], late_s[seen], np.ones(int(seen.sum()))
    fit = np.zeros_like(late_s)
    for _ in range(30):
        fit = np.polyval(np.polyfit(due_s, late_s, 1, w=np.sqrt(weight)), due_s)
        weight = 1 / (1 + ((late_s - fit) / 0.004) ** 2)
    samples = to_rate(out.astype(np.float64), WORK_RATE, ENGINE_RATE).astype(np.float32)
    scatter_s = float(np.median(np.abs(late_s - fit)))
    return Played(samples, onsets_s[seen], due_s + fit - _LATE_S, scatter_s)


def _stretched(feed: Samples, speed: float, way: str) -> Wave:
    if way in WAYS:
        return stretched(feed, 0, speed, int(len(feed) / speed), way)[0]
    if way == "split":
        return _split(feed, speed)
    import python_stretch

    stretcher = python_stretch.Signalsmith.Stretch()
    stretcher.preset(1, WORK_RATE)
    stretcher.setTimeFactor(speed)
    return np.asarray(stretcher.process(feed[None])[0])


def _split(feed: Samples, speed: float) -> Wave:
    """What rings by a phase vocoder, what strikes by short overlapping pieces, each in its due place.

    After J. Driedger, M. Müller, S. Ewert, IEEE Signal Processing Letters 21(1), 2014; from memory.
    """
    spectra = librosa.stft(feed, n_fft=1024, hop_length=256)
    rings = librosa.istft(librosa.decompose.hpss(spectra)[0], hop_length=256, length=len(feed))
    out = librosa.effects.time_stretch(rings, rate=speed, n_fft=2048)[: int(len(feed) / speed)]
    piece, window = 256, np.hanning(257)[:-1]
    strikes = np.pad(feed - rings, piece)
    for number in range(1, len(out) // (piece // 2) - 1):
        first, at = round(number * piece / 2 * speed) + piece // 2, (number - 1) * piece // 2
        if first + piece <= len(strikes):
            out[at : at + piece] += window * strikes[first : first + piece]
    return np.asarray(out)


def _marks(wave: Wave, due_s: Wave) -> Wave:
    """Where each mark lies that is due at a time (s); NaN at the edges of the file."""
    power = scipy.signal.sosfiltfilt(_HIGH, wave.astype(np.float64)) ** 2
    window = np.hanning(round(0.02 * WORK_RATE))
    out = np.full(len(due_s), np.nan)
    for number, one in enumerate(due_s):
        low, high = round((one - _REACH_S) * WORK_RATE), round((one + _REACH_S) * WORK_RATE)
        if low < 0 or high > len(power):
            continue
        centre = low + float(np.convolve(power[low:high], window, "same").argmax())
        for _ in range(3):
            first = max(0, round(centre - _CENTRE_S * WORK_RATE))
            around = np.arange(first, min(len(power), round(centre + _CENTRE_S * WORK_RATE)))
            centre = float(np.average(around, weights=power[around] + 1e-20))
        out[number] = centre / WORK_RATE
    return out
