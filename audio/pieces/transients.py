"""The line of a stretched recording whose player left sharp sounds alone: there waveforms agree at onsets.

Fifty milliseconds of song at each of its strongest onsets are correlated with the recording at the song's own
pace, weighted 1 / |F| ** 0.8 between plain correlation and the phase transform, squared, and summed over
onsets. Where the player shifted every onset by its own amount, as overlap-add does, the sum has no one peak,
and the onsets' strengths decide alone (`audio.pieces.onset_line`).
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.line import Line
from audio.signals import Samples
from audio.speed.log_bands import FLOOR, band_count, band_energies

MOST_ONSETS = 400
"""Onsets looked at: the strongest of the song."""
APART_S = 0.08
"""No two of them are closer than this."""
PATCH_S, HOP_S = 0.016, 0.004
"""Length of the spectra by which onsets are found, and seconds between them."""
BEFORE_S, LENGTH_S = 0.01, 0.05
"""How much of the song before each onset is correlated, and how much in all."""
WEIGHT = 0.8
"""Exponent of the magnitude that a spectrum is divided by."""
REACH_S = 0.03
"""Lags to either side of the line (s of recording)."""
SAME_S = 0.001
"""An onset this close to the line lies on it …"""
SHARE = 0.5
"""… and where more than this share do, the player left them alone."""
STANDS_OUT = 3.3
"""Standard deviations by which the peak must stand above all other lags."""
FLOOR_S = 0.002
"""Least half-width (s): players put high and low bands of one onset so far apart."""


@dataclass(frozen=True, slots=True)
class TransientLine:
    """A line on which waveforms agree at onsets."""

    line: Line
    uncertainty_s: float
    """Half-width (s of song) that holds it 95 times in 100."""
    speed_sd: float
    """Standard deviation of the speed (no unit)."""


def transient_line(
    recording: Samples, song: Samples, rate: int, line: Line, start_s: float, end_s: float, off_s: float
) -> TransientLine | None:
    """Sharpen a line between two moments of a recording; None where the player moved the onsets.

    Parameters
    ----------
    recording, song : float32, shapes (n,) and (m,)
        As they are (not whitened).
    off_s : float
        How far off (s) the line may lie.
    """
    onsets_s = strong_onsets(song, rate, line.song_time(start_s), line.song_time(end_s))
    rows, at_s = _squared(recording, song, rate, line, onsets_s)
    if len(rows) < 8:
        return None
    half_s = max(1.0, (end_s - start_s) / 2)
    from_s = at_s - (start_s + end_s) / 2
    off = min(off_s, 0.5 * REACH_S) * rate
    turns = np.arange(-off, off + 0.5, 1.0)  # samples at the ends of the piece
    spectra = scipy.fft.rfft(rows - rows.mean(), axis=1)
    ramp = 2j * np.pi * np.arange(spectra.shape[1]) / rows.shape[1]
    stacks = np.stack(
        [
            scipy.fft.irfft(
                (spectra * np.exp(np.outer(turn * from_s / half_s, ramp))).sum(axis=0), rows.shape[1]
            )
            for turn in turns
        ]
    )
    middle = rows.shape[1] // 2
    lags = np.arange(rows.shape[1]) - middle
    allowed = np.abs(lags) <= off
    best = np.where(allowed, stacks, -np.inf)
    turn_at, lag_at = np.unravel_index(int(best.argmax()), best.shape)
    others = stacks.max(axis=0)[np.abs(lags - lags[lag_at]) > 4 * SAME_S * rate]
    if best[turn_at, lag_at] < others.max() + STANDS_OUT * stacks.std():
        return None
    ideal = lags[lag_at] + turns[turn_at] * from_s / half_s
    own = rows.argmax(axis=1) - middle - ideal
    on_it = np.abs(own) <= SAME_S * rate
    if on_it.mean() < SHARE:
        return None
    slope, offset = np.polyfit(from_s[on_it], own[on_it], 1)
    sd = float(np.std(own[on_it] - offset - slope * from_s[on_it])) / rate / np.sqrt(on_it.sum())
    lag = float(lags[lag_at] + offset) / rate
    turn = float(turns[turn_at] / half_s + slope) / rate
    speed_sd = sd / (float(from_s.std()) + 1e-9) * line.speed
    # What comes later in the recording lies earlier in the song.
    exact = line.anchored((start_s + end_s) / 2).delayed(lag)
    exact = exact.with_speed(line.speed / (1 + turn))
    return TransientLine(exact, FLOOR_S + 2 * float(np.hypot(sd * line.speed, speed_sd * half_s)), speed_sd)


def strong_onsets(song: Samples, rate: int, from_s: float, to_s: float) -> NDArray[np.float64]:
    """The strongest onsets of a song between two of its moments (s), in order, MOST_ONSETS at most."""
    first = max(0, int(from_s * rate))
    part = song[first : max(first, int(to_s * rate))]
    if len(part) < rate:
        return np.zeros(0)
    energies = band_energies(part, rate, PATCH_S, HOP_S)
    times = np.arange(-1, len(part) / rate / HOP_S + 2) * HOP_S
    cells = energies.cells(times, 0, band_count(rate))
    level = np.log(cells + (FLOOR * cells.mean(axis=0) + np.float32(1e-20)))
    rise = np.maximum(level[2:] - level[:-2], 0).sum(axis=1)
    peaks, _ = scipy.signal.find_peaks(rise, distance=round(APART_S / HOP_S))
    strongest = peaks[np.argsort(-rise[peaks])[:MOST_ONSETS]]
    return np.asarray(np.sort(times[2 + strongest]) + first / rate, np.float64)


def _squared(
    recording: Samples, song: Samples, rate: int, line: Line, onsets_s: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Squared correlations around each onset, lag 0 on the line, and its moments in the recording (s)."""
    count, reach = round(LENGTH_S * rate), round(REACH_S * rate)
    size = scipy.fft.next_fast_len(2 * count + 2 * reach, real=True)
    window = scipy.signal.windows.tukey(count, 0.3)
    bins = np.arange(size // 2 + 1)
    rows, at_s = [], []
    for onset_s in onsets_s:
        start = round((onset_s - BEFORE_S) * rate)
        due = line.clip_time(float(onset_s)) * rate - (onset_s * rate - start)
        first = int(np.floor(due)) - reach
        if (
            start < 0
            or start + count > len(song)
            or first < 0
            or first + count + 2 * reach + 1 > len(recording)
        ):
            continue
        own = scipy.fft.rfft(song[start : start + count] * window, size)
        heard = scipy.fft.rfft(recording[first : first + count + 2 * reach + 1], size)
        size_of = np.abs(own)
        weight = (size_of + 1e-3 * size_of.max() + 1e-12) ** -WEIGHT
        turned = np.exp(2j * np.pi * bins * (due - np.floor(due)) / size)
        lags = scipy.fft.irfft(heard * np.conj(own) * weight * turned, size)[: 2 * reach + 1] ** 2
        rows.append(lags / (lags.mean() + 1e-20))
        at_s.append(line.clip_time(float(onset_s)))
    return np.array(rows).reshape(len(rows), -1), np.array(at_s)
