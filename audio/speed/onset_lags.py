"""Texture on a finer grid, for the moment at which a stretched playback is heard.

Only what rises counts: reverberation stretches every sound but begins none. Even so the room, and the patches
in which the player stretched the song, smear each beginning over some hundredths of a second.
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.line import Line
from audio.signals import Samples
from audio.speed.log_bands import QUIET, Array, band_count, band_energies, running_mean, whiten_modulation

FRAME_S = 0.008
"""Song seconds from one frame to the next."""
PATCH_S = 0.032
HOP_S = 0.004
RISE = 2
"""Frames over which a rise is taken."""
SETTLE = 50
"""Frames to either side whose mean rise is taken off."""
REACH = 20
"""Frames to either side of the line that are looked at."""
GROUP_S = 2.0
"""Song seconds of a group of frames."""
CHUNK_S = 30.0
FINER = 8
MOST_LEAD_S = 0.014
"""The direct sound is heard before the middle of what the room makes of it, by half the width of its rise but
no more than this: stretching smears to both sides."""
LEAST_S = 0.006
LEAST_SCATTER_S = 0.01
"""A few groups that agree by chance do not make a speed more certain than this allows."""
STEEPEST = 2e-3
"""How far off the speed may still be."""
CLEAR = 4.0
"""Standard deviations at which the lag of a group tells of jitter."""
SHARE = 0.75
"""Half-width that holds the place: LEAST_S and this share of the rise."""


@dataclass(frozen=True, slots=True, eq=False)
class OnsetLags:
    """How well groups of a take fit the song around a line."""

    clip_s: NDArray[np.float64]
    """Shape (g,): middles of the groups in the clip."""
    fits: Array
    """Shape (g, 2 * REACH + 1)."""


def onset_lags(
    clip: Samples, song: Samples, rate: int, line: Line, start_s: float, end_s: float
) -> OnsetLags | None:
    """Compare a take, group by group, with the song around its line; None if no group lies in the song."""
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
    heard = _onset_strength(clip, rate, line.clip_s + (frames * FRAME_S - line.song_s) / line.speed, patch)
    around = np.arange(low - RISE - 1 - REACH, high + 2 + REACH) * FRAME_S
    there = _onset_strength(song, rate, around, patch * line.speed)
    heard, there = whiten_modulation(heard, 0.25), whiten_modulation(there, 0.5)
    values = np.stack(
        [np.einsum("nb,nb->n", heard, there[lag : lag + len(heard)]) for lag in range(2 * REACH + 1)], axis=1
    )
    for first in range(0, len(values) - group + 1, group):
        fits.append(values[first : first + group].sum(axis=0))
        middle = (low + first + (group - 1) / 2) * FRAME_S
        middles.append(line.clip_s + (middle - line.song_s) / line.speed)


def _onset_strength(samples: Samples, rate: int, times: NDArray[np.floating], patch_s: float) -> Array:
    """Rises of all bands at the moments between, shape (len(times) - 2 - RISE, bands)."""
    margin = 0.5
    low = max(0, int((times[0] - margin) * rate))
    high = min(len(samples), int((times[-1] + margin) * rate))
    piece = band_energies(samples[low:high], rate, patch_s, HOP_S)
    cells = piece.cells(np.asarray(times - low / rate, np.float64), 0, band_count(rate))
    level = np.log(cells + (QUIET * cells.mean(axis=0) + np.float32(1e-20)))
    rise = np.maximum(level[RISE:] - level[:-RISE], 0)
    rise -= running_mean(rise[None], SETTLE)[0]
    rise /= rise.std(axis=0) + np.float32(1e-3)
    rise -= np.float32(0.5) * rise.mean(axis=1, keepdims=True)
    weight = np.sqrt(np.square(rise).mean(axis=1, keepdims=True))
    rise /= weight + np.float32(0.5) * weight.mean() + np.float32(1e-6)
    return np.asarray(rise, np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class RefinedLine:
    """The exact line of a take, as far as texture tells it."""

    line: Line
    uncertainty_s: float
    """Half-width that holds the line in its middle about 95 times in 100."""
    speed_sd: float
    jitter_s: float
    """Scatter of the groups about the line (s, standard deviation)."""
    lags: tuple[tuple[float, float, float], ...]
    """Of each group: time in clip, s off the line, standard deviations above chance."""


def refine_line(lags: OnsetLags, line: Line) -> RefinedLine:
    """Turn and move a line until the groups of a take agree, and put it on the direct sound."""
    half_s = max(1.0, float(np.abs(lags.clip_s - line.clip_s).max()) * line.speed)
    most = min(STEEPEST, (REACH / 2) * FRAME_S / half_s)
    slopes = np.linspace(-most, most, 41)
    best = max(slopes, key=lambda slope: float(_summed(lags, line, float(slope)).max()))
    response = _summed(lags, line, float(best))
    moved, strength = _group_lags(lags, line, float(best), response)
    offset = lags.clip_s - line.clip_s
    weight = np.maximum(strength - 2.0, 0.0) ** 2 + 1e-6
    slope, place, residual = 0.0, 0.0, moved
    for _ in range(4):
        place = float(np.average(moved - slope * offset, weights=weight))
        middle = float(np.average(offset, weights=weight))
        spread = offset - middle
        power = float((weight * spread**2).sum())
        slope = float((weight * spread * (moved - place)).sum() / (power + 1e-9)) if len(moved) > 3 else 0.0
        place = float(np.average(moved - slope * offset, weights=weight))
        residual = moved - place - slope * offset
        weight = (np.maximum(strength - 2.0, 0.0) ** 2 + 1e-6) / (1 + (residual / 0.015) ** 2)
    clear = strength > CLEAR
    scatter = residual[clear] if clear.sum() > 3 else residual
    jitter = float(np.median(np.abs(scatter))) / 0.6745
    count = max(1.0, float(weight.sum() ** 2 / np.square(weight).sum()))
    width = max(1.0, float(np.sqrt(np.average(spread**2, weights=weight)))) * line.speed
    speed_sd = max(jitter, LEAST_SCATTER_S) / np.sqrt(count) / width * line.speed
    rise_s, lag_s = _direct(response)
    best_slope = Line(line.clip_s, line.song_s, line.speed * (1 + float(best)) + slope)
    return RefinedLine(
        best_slope.shifted(lag_s + place),
        LEAST_S + SHARE * rise_s + 2 * jitter / float(np.sqrt(count)),
        float(speed_sd),
        jitter,
        tuple(
            (float(t), float(r), float(z)) for t, r, z in zip(lags.clip_s, residual, strength, strict=True)
        ),
    )


def _summed(lags: OnsetLags, line: Line, slope: float) -> Array:
    """The groups added up along the line turned by ``slope``, shape (FINER * (2 * REACH + 1),)."""
    spectra = _rotated(lags, line, slope).sum(axis=0)
    return np.asarray(scipy.fft.irfft(spectra, FINER * lags.fits.shape[1]), np.float32)


def _rotated(lags: OnsetLags, line: Line, slope: float) -> NDArray[np.complex128]:
    spectra = scipy.fft.rfft(lags.fits.astype(np.float64), axis=1)
    moved = slope * line.speed * (lags.clip_s - line.clip_s) / FRAME_S
    rotation = np.exp(2j * np.pi / lags.fits.shape[1] * np.outer(moved, np.arange(spectra.shape[1])))
    return np.asarray(spectra * rotation)


def _group_lags(
    lags: OnsetLags, line: Line, slope: float, response: Array
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lag of each group against the whole take (s), and by how much it stands above chance."""
    size = lags.fits.shape[1]
    reach = REACH // 2 * FINER
    template = response - np.median(response)
    best = int(template.argmax())
    template[: max(0, best - reach)] = 0
    template[best + reach :] = 0
    model = np.conj(np.fft.rfft(template))[: size // 2 + 1]
    matches = scipy.fft.irfft(_rotated(lags, line, slope) * model, FINER * size, axis=1)
    near = np.concatenate([matches[:, -reach:], matches[:, : reach + 1]], axis=1)
    top = near.argmax(axis=1)
    noise = matches.std(axis=1) + 1e-12
    return (top - reach) * FRAME_S / FINER, near[np.arange(len(near)), top] / noise


def _direct(response: Array) -> tuple[float, float]:
    """Width of a response's rise (s) and the lag of the direct sound.

    The song reaches the microphone on the straight way first: latest in the song.
    """
    best = int(response.argmax())
    below = np.flatnonzero(response[best:] < response[best] / 2)
    rise_s = float(below[0] if len(below) else len(response) - best) * FRAME_S / FINER
    return rise_s, (best / FINER - REACH) * FRAME_S + min(rise_s / 2, MOST_LEAD_S)
