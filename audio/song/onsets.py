"""Onset detection functions of the song: how strongly notes begin, by band, frame by frame."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from audio.errors import BadSignal
from audio.song.spectra import by_filters

RATE = 22050
"""Samples a second at which the song is mapped; other rates are resampled to it. It keeps what hi-hats have
up to 10 kHz, at half the cost of 44.1 kHz."""
HOP = 256
"""Samples between frames: 11.6 ms, finer than the 70 ms within which beats are usually scored."""
FRAME_RATE = RATE / HOP
"""Frames a second, 86.1."""
_WINDOW = 1024
"""Samples of a Fourier window (46 ms): longer ones blur onsets, shorter ones do not resolve the bass."""
_MELS = 48
"""Mel bands; chosen by hand."""
_LAG = 2
"""Frames (23 ms) back to the frame that a rise is measured against; chosen by hand."""
_DECAY = 9
"""Frames (0.1 s) within which a percussive sound has died away; chosen by hand."""
_LEAD_IN = 16
"""Frames of silence put before the song; more than a window, so that the first note has an onset."""
_LOW_HZ = 300.0
"""Upper edge of the low band: drums and bass sound below it, count-in sticks do not."""
_LEAST_RISE_DB = 0.05
"""Mean rise below which a band counts as steady, in dB a frame; chosen by hand, far below any played note."""
_LATENCY_S = 0.003
"""How far the strongest frame lies behind the onset; measured on synthesised drums and struck notes (a bare
click comes out 9 ms early)."""


@dataclass(frozen=True, slots=True, eq=False)
class Onsets:
    """Onset detection functions and levels of a song, frame by frame."""

    bands: NDArray[np.float64]
    """Onset strength, shape (3, frames): low (kick, bass), middle, high (hats). No unit; mean 1 where there
    is sound."""
    percussive: NDArray[np.float64]
    """Percussive onset strength, shape (3, frames): the same for sounds that die away within 0.1 s, as drums
    do and held notes do not."""
    normalised: NDArray[np.float64]
    """Onset strength of all bands together, locally normalised so that quiet passages count as much as loud
    ones. Shape (frames,), no unit."""
    level_db: NDArray[np.float64]
    """Level of each frame (power of all mel bands), shape (frames,), in dB with an arbitrary zero."""
    low_level_db: NDArray[np.float64]
    """Level below 300 Hz, shape (frames,), in dB with the same zero."""

    def seconds(self, frames: NDArray[np.float64]) -> NDArray[np.float64]:
        """Song time in seconds of frame numbers."""
        return frames / FRAME_RATE - _LATENCY_S

    def frames(self, seconds: NDArray[np.float64]) -> NDArray[np.float64]:
        """Fractional frame numbers of song times in seconds."""
        return (seconds + _LATENCY_S) * FRAME_RATE


def song_samples(samples: NDArray[np.float32], rate: int) -> NDArray[np.float32]:
    """Check a song of shape (n,) at ``rate`` samples a second and resample it to RATE.

    Raises BadSignal for silence, an empty or non-finite array, or more than one row.
    """
    if samples.ndim != 1 or samples.size == 0:
        raise BadSignal("The song has no sound; choose a file that does.")
    if rate <= 0:
        raise BadSignal(f"A sample rate of {rate} is not possible; read the song again.")
    loudest = max(float(samples.max()), -float(samples.min()))
    if not np.isfinite(loudest):
        raise BadSignal("The song's sound has values that are not numbers; export the song again.")
    if loudest < 1e-6:
        raise BadSignal("The song is silent from start to end; choose the file with the music in it.")
    if rate == RATE:
        return samples.astype(np.float32, copy=False)
    import soxr

    moved: NDArray[np.float32] = soxr.resample(samples.astype(np.float32), rate, RATE)
    return moved


def find_onsets(samples: NDArray[np.float32]) -> Onsets:
    """Onset strength of samples at RATE: spectral flux of the mel spectrum in dB.

    After Boeck and Widmer 2013 (SuperFlux): each band is compared with the largest of its neighbours in the
    earlier frame, so that vibrato and glides do not count as onsets.
    """
    import librosa

    # Silence in front gives a song that is cut to its first note that note's onset.
    mels = librosa.filters.mel(sr=RATE, n_fft=_WINDOW, n_mels=_MELS, fmin=30.0, fmax=10000.0)
    power = by_filters(samples, mels, _WINDOW, HOP, lead_in=_LEAD_IN * HOP)
    level = librosa.power_to_db(power, ref=np.max, top_db=70.0)
    centres = librosa.mel_frequencies(n_mels=_MELS + 2, fmin=30.0, fmax=10000.0)[1:-1]
    edges = [0, int(np.searchsorted(centres, 180.0)), int(np.searchsorted(centres, 2500.0)), _MELS]
    bands = librosa.onset.onset_strength_multi(
        S=level, sr=RATE, lag=_LAG, max_size=3, channels=edges, center=False
    ).astype(np.float64)[: len(edges) - 1, _LEAD_IN:]
    percussive = _percussive_onsets(level, edges)[:, _LEAD_IN:]
    power = power[:, _LEAD_IN:]
    # A single crash, or the first note after silence, must not make everything else look small.
    strong = np.percentile(bands, 98.0, axis=1, keepdims=True)
    bands = np.minimum(bands, 3.0 * strong + _LEAST_RISE_DB)
    bands = bands / np.maximum(bands.mean(axis=1, keepdims=True), _LEAST_RISE_DB)
    return Onsets(
        bands=bands,
        percussive=percussive,
        normalised=locally_normalised(bands.sum(axis=0)),
        level_db=10 * np.log10(power.sum(axis=0, dtype=np.float64) + 1e-10),
        low_level_db=10 * np.log10(power[centres < _LOW_HZ].sum(axis=0, dtype=np.float64) + 1e-10),
    )


def _percussive_onsets(level: NDArray[np.float32], edges: list[int]) -> NDArray[np.float64]:
    """How far the level rises at a frame and falls again within 0.1 s: mean by band, scaled to mean 1."""
    means = np.stack([_peaks(level[low:high]) for low, high in pairwise(edges)])
    strong = np.percentile(means, 98.0, axis=1, keepdims=True)
    means = np.minimum(means, 3.0 * strong + _LEAST_RISE_DB)
    scaled: NDArray[np.float64] = means / np.maximum(means.mean(axis=1, keepdims=True), _LEAST_RISE_DB)
    return scaled


def _peaks(bands: NDArray[np.float32]) -> NDArray[np.float64]:
    """Mean over mel bands of how far each rises and falls again; band by band, to take little memory."""
    total = np.zeros(bands.shape[1])
    for row in bands:
        level = row.astype(np.float64)
        before = np.pad(level, (_LAG, 0), mode="edge")[: level.size]
        after = np.pad(level, (0, _DECAY), mode="edge")[_DECAY:]
        total += np.maximum(np.minimum(level - before, level - after), 0.0)
    return total / len(bands)


def locally_normalised(strength: NDArray[np.float64], seconds: float = 6.0) -> NDArray[np.float64]:
    """Local z-score of an onset strength: distance from the mean of ``seconds`` around, in standard
    deviations.

    Clipped to -1 … 4: one very loud onset must not count like many.
    """
    size = max(3, round(seconds * FRAME_RATE))
    mean = uniform_filter1d(strength, size, mode="reflect")
    square = uniform_filter1d(strength**2, size, mode="reflect")
    spread = np.sqrt(np.maximum(square - mean**2, 0.0))
    floor = 0.2 * float(np.median(spread)) + 0.1
    level: NDArray[np.float64] = np.clip((strength - mean) / (spread + floor), -1.0, 4.0)
    return level
