"""The exact line of a time-stretched take, from lags between the onsets of clip and song.

Onset strength is the rise of log-band energies (half-wave rectified spectral flux): reverberation prolongs
sounds but starts none. Even so the room, and the frames in which the player stretched the song, smear each
onset over some hundredths of a second.
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.line import Line
from audio.signals import Samples
from audio.speed.log_bands import FLOOR, Array, band_count, band_energies, running_mean, whiten_modulation

FRAME_S = 0.008
"""Song seconds from one frame to the next. Chosen by hand: a fifth of a picture at 25 a second."""
PATCH_S = 0.032
"""Length of an STFT frame (s)."""
HOP_S = 0.004
"""Seconds between two STFT frames."""
RISE = 2
"""Frames over which the rise of a level is taken."""
MEAN_FRAMES = 50
"""Frames to either side whose mean rise is subtracted."""
REACH = 20
"""Frames to either side of the line within which onsets are correlated."""
GROUP_S = 2.0
"""Length of a segment whose lag is measured (s of song). Chosen by hand: long enough to hold some onsets."""
CHUNK_S = 30.0
"""Long takes are worked in chunks of this much (s of song), so that memory stays bounded."""
UPSAMPLING = 8
"""Lags are read at this many points per frame."""
MOST_LEAD_S = 0.014
"""The direct sound precedes the peak of the correlation by half the width of the peak's rise, because
reverberation delays the peak; but by no more than this, because time-stretching smears to both sides."""
LEAST_S = 0.006
"""Least half-width of a position (s)."""
LEAST_SCATTER_S = 0.01
"""Least scatter of the segments (s) for the standard deviation of the speed: a few that agree by chance prove
little."""
STEEPEST = 2e-3
"""How far off the speed may still be (no unit)."""
CLEAR = 4.0
"""Standard deviations above chance at which the lag of a segment counts towards the jitter. Chosen by
hand."""
SHARE = 0.75
"""The half-width of a position is LEAST_S, this share of the rise of the correlation peak, and the jitter.
Chosen by hand."""


@dataclass(frozen=True, slots=True, eq=False)
class OnsetLags:
    """Correlations of the onsets of a take's segments with the song around a line."""

    clip_s: NDArray[np.float64]
    """Shape (g,): clip times of the middles of the segments."""
    fits: Array
    """Shape (g, 2 * REACH + 1): column k is the correlation k - REACH frames of song after the line."""


def onset_lags(
    clip: Samples, song: Samples, rate: int, line: Line, start_s: float, end_s: float
) -> OnsetLags | None:
    """Correlate the onsets of a take, segment by segment, with the song around its line; None if no segment
    lies in the song."""
    middles: list[float] = []
    fits: list[Array] = []
    step = CHUNK_S / line.speed
    count = max(1, round((end_s - start_s) / step))
    for first, last in np.linspace(start_s, end_s, count + 1)[np.arange(2) + np.arange(count)[:, None]]:
        _chunk(clip, song, rate, line, float(first), float(last), middles, fits)
    return OnsetLags(np.array(middles), np.stack(fits)) if fits else None


def _chunk(
    clip: Samples,
    song: Samples,
    rate: int,
    line: Line,
    start_s: float,
    end_s: float,
    middles: list[float],
    fits: list[Array],
) -> None:
    low = int(np.ceil(max(0.0, line.song_time(start_s)) / FRAME_S))
    high = int(np.floor(min(len(song) / rate, line.song_time(end_s)) / FRAME_S))
    group = round(GROUP_S / FRAME_S)
    if high - low < group:
        return
    frames = np.arange(low - RISE - 1, high + 2)
    patch = PATCH_S / min(1.0, line.speed)
    clip_onsets = _onset_strength(clip, rate, line.clip_time(np.asarray(frames * FRAME_S, np.float64)), patch)
    around = np.arange(low - RISE - 1 - REACH, high + 2 + REACH) * FRAME_S
    song_onsets = _onset_strength(song, rate, around, patch * line.speed)
    clip_onsets = whiten_modulation(clip_onsets, 0.25)
    song_onsets = whiten_modulation(song_onsets, 0.5)
    values = np.stack(
        [
            np.einsum("nb,nb->n", clip_onsets, song_onsets[lag : lag + len(clip_onsets)])
            for lag in range(2 * REACH + 1)
        ],
        axis=1,
    )
    for first in range(0, len(values) - group + 1, group):
        fits.append(values[first : first + group].sum(axis=0))
        middle = (low + first + (group - 1) / 2) * FRAME_S
        middles.append(line.clip_time(middle))


def _onset_strength(samples: Samples, rate: int, times: NDArray[np.floating], patch_s: float) -> Array:
    """Onset strength of every band at times (s), shape (len(times) - 2 - RISE, bands)."""
    margin = 0.5
    low = max(0, int((times[0] - margin) * rate))
    high = min(len(samples), int((times[-1] + margin) * rate))
    piece = band_energies(samples[low:high], rate, patch_s, HOP_S)
    cells = piece.cells(np.asarray(times - low / rate, np.float64), 0, band_count(rate))
    level = np.log(cells + (FLOOR * cells.mean(axis=0) + np.float32(1e-20)))
    rise = np.maximum(level[RISE:] - level[:-RISE], 0)
    rise -= running_mean(rise[None], MEAN_FRAMES)[0]
    rise /= rise.std(axis=0) + np.float32(1e-3)
    rise -= np.float32(0.5) * rise.mean(axis=1, keepdims=True)
    weight = np.sqrt(np.square(rise).mean(axis=1, keepdims=True))
    rise /= weight + np.float32(0.5) * weight.mean() + np.float32(1e-6)
    return np.asarray(rise, np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class RefinedLine:
    """The exact line of a time-stretched take."""

    line: Line
    uncertainty_s: float
    """Half-width (s) that holds the line in its middle about 95 times in 100."""
    speed_sd: float
    """Standard deviation of the speed (no unit)."""
    jitter_s: float
    """Standard deviation of the segments' lags about the line (s)."""
    lags: tuple[tuple[float, float, float], ...]
    """Of each segment: clip time (s), lag off the line (s), standard deviations above chance."""


def refine_line(lags: OnsetLags, line: Line) -> RefinedLine:
    """Rotate and shift a line until the segments of a take add up, then fit a line through their lags and put
    it on the direct sound."""
    half_s = max(1.0, float(np.abs(lags.clip_s - line.clip_s).max()) * line.speed)
    most = min(STEEPEST, (REACH / 2) * FRAME_S / half_s)
    slopes = np.linspace(-most, most, 41)
    best = max(slopes, key=lambda slope: float(summed(lags, line, float(slope)).max()))
    correlation = summed(lags, line, float(best))
    measured_s, strength = segment_lags(lags, line, float(best), correlation)
    from_anchor_s = lags.clip_s - line.clip_s
    weight = np.maximum(strength - 2.0, 0.0) ** 2 + 1e-6
    slope, offset_s, residual = 0.0, 0.0, measured_s
    for _ in range(4):
        offset_s = float(np.average(measured_s - slope * from_anchor_s, weights=weight))
        middle = float(np.average(from_anchor_s, weights=weight))
        spread = from_anchor_s - middle
        power = float((weight * spread**2).sum())
        slope = (
            float((weight * spread * (measured_s - offset_s)).sum() / (power + 1e-9))
            if len(measured_s) > 3
            else 0.0
        )
        offset_s = float(np.average(measured_s - slope * from_anchor_s, weights=weight))
        residual = measured_s - offset_s - slope * from_anchor_s
        weight = (np.maximum(strength - 2.0, 0.0) ** 2 + 1e-6) / (1 + (residual / 0.015) ** 2)
    clear = strength > CLEAR
    scatter = residual[clear] if clear.sum() > 3 else residual
    jitter = float(np.median(np.abs(scatter))) / 0.6745
    count = max(1.0, float(weight.sum() ** 2 / np.square(weight).sum()))
    width = max(1.0, float(np.sqrt(np.average(spread**2, weights=weight)))) * line.speed
    speed_sd = max(jitter, LEAST_SCATTER_S) / np.sqrt(count) / width * line.speed
    rise_s, lag_s = _direct(correlation)
    rotated = line.with_speed(line.speed * (1 + float(best)) + slope)
    return RefinedLine(
        rotated.shifted(lag_s + offset_s),
        LEAST_S + SHARE * rise_s + 2 * jitter / float(np.sqrt(count)),
        float(speed_sd),
        jitter,
        tuple(
            (float(t), float(r), float(z)) for t, r, z in zip(lags.clip_s, residual, strength, strict=True)
        ),
    )


def summed(lags: OnsetLags, line: Line, slope: float) -> Array:
    """Sum of the segments' correlations along the line rotated by ``slope`` (no unit), shape (UPSAMPLING *
    (2 * REACH + 1),)."""
    spectra = _rotated(lags, line, slope).sum(axis=0)
    return np.asarray(scipy.fft.irfft(spectra, UPSAMPLING * lags.fits.shape[1]), np.float32)


def _rotated(lags: OnsetLags, line: Line, slope: float) -> NDArray[np.complex128]:
    spectra = scipy.fft.rfft(lags.fits.astype(np.float64), axis=1)
    moved = slope * line.speed * (lags.clip_s - line.clip_s) / FRAME_S
    rotation = np.exp(2j * np.pi / lags.fits.shape[1] * np.outer(moved, np.arange(spectra.shape[1])))
    return np.asarray(spectra * rotation)


def segment_lags(
    lags: OnsetLags, line: Line, slope: float, correlation: Array
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lag of each segment against the whole take (s), and its standard deviations above chance."""
    size = lags.fits.shape[1]
    reach = REACH // 2 * UPSAMPLING
    template = correlation - np.median(correlation)
    best = int(template.argmax())
    template[: max(0, best - reach)] = 0
    template[best + reach :] = 0
    model = np.conj(np.fft.rfft(template))[: size // 2 + 1]
    matches = scipy.fft.irfft(_rotated(lags, line, slope) * model, UPSAMPLING * size, axis=1)
    near = np.concatenate([matches[:, -reach:], matches[:, : reach + 1]], axis=1)
    top = near.argmax(axis=1)
    noise = matches.std(axis=1) + 1e-12
    return (top - reach) * FRAME_S / UPSAMPLING, near[np.arange(len(near)), top] / noise


def _direct(correlation: Array) -> tuple[float, float]:
    """Width of a correlation peak's rise, and the lag of the direct sound (s).

    The direct sound reaches the microphone first, so it lies latest in the song.
    """
    best = int(correlation.argmax())
    below = np.flatnonzero(correlation[best:] < correlation[best] / 2)
    rise_s = float(below[0] if len(below) else len(correlation) - best) * FRAME_S / UPSAMPLING
    return rise_s, (best / UPSAMPLING - REACH) * FRAME_S + min(rise_s / 2, MOST_LEAD_S)
