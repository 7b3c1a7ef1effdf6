"""Sway: how the lag of a take changes along it, where the way from loudspeaker to microphone changes.

A camera that walks, or two loudspeakers heard in turn, move the direct sound by milliseconds, where a clock
moves it along a line. Short windows of the clip are correlated with the song near the line, and the lag is
tracked through them by dynamic programming: the lag of most evidence, at a price for every change. Noise and
reflections have tracks too. So a track counts only if the one through every second window also suits the
windows between better than any one lag does (cross-validation).
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.ndimage
from numpy.typing import NDArray

from audio.placement.impulse_response import SegmentCorrelations, song_along_line
from audio.placement.line_fit import LineFit
from audio.placement.search import SongIndex
from audio.whitening import Whitened

WINDOW_S = 0.25
"""Somebody who walks at 2 m/s moves the lag by 1.5 ms in a window. Chosen by hand."""
REACH_S = 0.02
"""How far off the line the lag is followed: 7 m of way. Chosen by hand."""
LEAST_S = 4.0
"""Shorter takes are not asked: nobody goes far in them. Chosen by hand."""
STILL = 0.93
"""Mean share of a segment's highest correlation that lies at one and the same lag, from which on the
microphone stood still, and nothing need be tracked. Chosen by hand."""
CLEAR_SD = 6.0
"""Standard deviations above chance from which on a segment counts for that. Chosen by hand."""
STEP_S = 0.0002
"""Change of the lag from window to window that costs as much as the evidence of one standard deviation:
0.3 m/s. Chosen by hand."""
WINDOW_COUNTS = 20.0
"""Log-likelihood that one window adds at most: reflections can win single windows. Chosen by hand."""
JUMP = 60.0
"""What any change costs at most (log-likelihood): another loudspeaker may take over. Chosen by hand."""
GAIN, GAIN_SD = 1.06, 6.0
"""The track suits the windows between better than one lag by this factor, and by so many standard deviations.
Still microphones stay at 1.00 and below, moving ones begin at 1.39 (tests/quality)."""
MEDIAN = 5
"""Windows of the running median that smooths the track. Chosen by hand."""
UNCLEAR_SD, BEYOND = 5.0, 1.2
"""A window that stands less out of chance may follow a reflection; the direct sound may then be further off
than the furthest measured by this factor. Tuned on songs that are not for evaluation."""
TOLD = 2
"""Windows that are told as one moment, twice a second."""
ALMOST = 0.99
"""Share of the moments that counts for the largest sway."""
HELD = 0.95
"""Share of a take's moments that its uncertainty is to hold."""


@dataclass(frozen=True, slots=True, eq=False)
class Sway:
    """The smooth lag of a take, in times of the clip that its line was fitted to."""

    clip_s: NDArray[np.float64]
    lag_s: NDArray[np.float64]
    """Shape (n,): clip time (s), and how much later in the song the sound then is than the line, moved by
    ``offset_s`` (s)."""
    strength: NDArray[np.float64]
    """Shape (n,): how far each stands out of chance (standard deviations)."""
    offset_s: float
    """How much later in the song than the fitted line the middle of the sway lies (s)."""

    @property
    def largest_s(self) -> float:
        """How far the lag gets off the line (s), but for moments in which it was lost."""
        return float(np.quantile(np.abs(self.lag_s), ALMOST))

    @property
    def typical_s(self) -> float:
        """How far it is off usually (s): the root mean square."""
        return float(np.sqrt(np.mean(self.lag_s**2)))

    @property
    def half_width_s(self) -> float:
        """Half-width (s) that holds the lag at HELD of all moments; where the sound is unclear, it may be
        BEYOND what was measured."""
        off_s = np.where(self.strength < UNCLEAR_SD, BEYOND * self.largest_s, np.abs(self.lag_s))
        return float(np.quantile(off_s, HELD))

    def thinned(self) -> "Sway":
        """The same with a moment for every TOLD windows: as closely as it is told and kept."""
        count = len(self.clip_s) // TOLD * TOLD
        clip_s, lag_s, strength = (
            part[:count].reshape(-1, TOLD).mean(axis=1) for part in (self.clip_s, self.lag_s, self.strength)
        )
        return Sway(clip_s, lag_s, strength, self.offset_s)


def find_sway(white: Whitened, index: SongIndex, fit: LineFit, start_s: float, end_s: float) -> Sway | None:
    """The sway of a take from ``start_s`` to ``end_s`` (in times of the whitened clip's samples); None where
    the microphone stood still, as far as can be told."""
    if end_s - start_s < LEAST_S or _stands_still(fit.segments):
        return None
    at_s, matches = _windows(white, index, fit, start_s, end_s)
    if len(at_s) < LEAST_S / WINDOW_S / 2:
        return None
    step = STEP_S * index.rate
    tracked, still = _between(matches, step)
    if tracked < GAIN * still + GAIN_SD:
        return None
    track = _track(_evidence(matches), step)
    strength = matches[np.arange(len(track)), track].astype(np.float64)
    lag_s = (scipy.ndimage.median_filter(track, MEDIAN) - matches.shape[1] // 2) / index.rate
    # The middle of what it does, not its mean: of two loudspeakers the line lies between.
    low, high = np.quantile(lag_s, [(1 - HELD) / 2, (1 + HELD) / 2])
    offset_s = float(low + high) / 2
    return Sway(at_s, lag_s - offset_s, strength, offset_s)


def _stands_still(segments: SegmentCorrelations) -> bool:
    """Whether nearly every segment has its highest correlation at the same lag: most takes are told so."""
    reach = round(REACH_S * segments.rate)
    lags = scipy.fft.irfft(segments.spectra, segments.size, axis=1)
    near = np.concatenate([lags[:, -reach:], lags[:, : reach + 1]], axis=1) / segments.noise[:, None]
    matches = _upright(near.astype(np.float32))
    highest = matches.max(axis=1)
    clear = highest > CLEAR_SD
    if 2 * clear.sum() < len(clear):
        return False
    common = int(matches.sum(axis=0).argmax())
    return float((matches[clear, common] / highest[clear]).mean()) > STILL


def _windows(
    white: Whitened, index: SongIndex, fit: LineFit, start_s: float, end_s: float
) -> tuple[NDArray[np.float64], NDArray[np.float32]]:
    """Clip time (s) of the middle of each window, and its correlations with the song in standard deviations
    of chance, shape (windows, lags), the line in the middle."""
    rate, reach = index.rate, round(REACH_S * index.rate) + 1
    length = round(WINDOW_S * rate)
    first = max(0, round(start_s * rate))
    count = max(0, (min(round(end_s * rate), len(white)) - first) // length)
    if not count:
        return np.zeros(0), np.zeros((0, 2 * reach - 1), np.float32)
    clip = white[first : first + count * length].reshape(count, length)
    dry = song_along_line(index, fit.line, first - reach, count * length + 2 * reach)
    song = np.lib.stride_tricks.sliding_window_view(dry, length + 2 * reach)[::length]
    size = scipy.fft.next_fast_len(length + 2 * reach, real=True)
    spectra = scipy.fft.rfft(song, size, axis=1) * np.conj(scipy.fft.rfft(clip, size, axis=1))
    lags = scipy.fft.irfft(spectra, size, axis=1)[:, : 2 * reach + 1]
    noise = np.sqrt(np.square(clip).sum(axis=1) * np.square(song).mean(axis=1))
    # Neighbouring lags added up: a peak between two samples counts like one upon a sample.
    near = (lags[:, :-2] + 2 * lags[:, 1:-1] + lags[:, 2:]) / np.float32(6**0.5)
    at_s = (first + length * (np.arange(count) + 0.5)) / rate
    return at_s, _upright((near / (noise[:, None] + 1e-12)).astype(np.float32))


def _upright(matches: NDArray[np.float32]) -> NDArray[np.float32]:
    """Correlations with their highest peaks up: a microphone may turn the sign of all it hears."""
    turned = np.square(matches.min(axis=1)).sum() > np.square(matches.max(axis=1)).sum()
    return -matches if turned else matches


def _evidence(matches: NDArray[np.float32]) -> NDArray[np.float32]:
    """Log-likelihood ratio of each lag of each window against chance."""
    evidence = np.square(np.maximum(matches, 0)) / 2
    highest = evidence.max(axis=1, keepdims=True)
    return np.asarray(evidence * np.minimum(1, WINDOW_COUNTS / (highest + 1e-9)), np.float32)


def _between(matches: NDArray[np.float32], step: float) -> tuple[float, float]:
    """How well (standard deviations) the track through every second window suits the windows between, and how
    well the one lag does that suits those best."""
    count = len(matches)
    odd = np.arange(count) % 2 == 1
    tracked = still = 0.0
    for half, other in ((odd, ~odd), (~odd, odd)):
        track = _track(_evidence(matches[half]), 2 * step)
        along = np.rint(np.interp(np.flatnonzero(other), np.flatnonzero(half), track)).astype(np.int64)
        rest = matches[other]
        tracked += float(rest[np.arange(len(rest)), along].sum())
        still += float(rest[:, int(matches[half].sum(axis=0).argmax())].sum())
    return tracked / count**0.5, still / count**0.5


def _track(evidence: NDArray[np.float32], step: float) -> NDArray[np.int64]:
    """The lag in each window on the track of most evidence (Viterbi algorithm).

    A change by ``step`` lags costs 1, others in proportion, up to JUMP: the best predecessor of every lag is
    found in one pass upwards and one downwards.
    """
    count, lags = evidence.shape
    at = np.arange(lags)
    slope = 1 / step
    best = evidence[0].astype(np.float64)
    before = np.zeros((count, lags), np.int64)
    for number in range(1, count):
        up, up_from = _running_best(best + at * slope)
        down, down_from = _running_best((best - at * slope)[::-1])
        up, down = up - at * slope, down[::-1] + at * slope
        before[number] = np.where(up >= down, up_from, lags - 1 - down_from[::-1])
        near = np.maximum(up, down)
        top = int(best.argmax())
        jumps = near < best[top] - JUMP
        before[number, jumps] = top
        best = np.where(jumps, best[top] - JUMP, near) + evidence[number]
    track = np.zeros(count, np.int64)
    track[-1] = best.argmax()
    for number in range(count - 1, 0, -1):
        track[number - 1] = before[number, track[number]]
    return track


def _running_best(values: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """The highest value up to each place, and where it is."""
    highest = np.maximum.accumulate(values)
    places = np.maximum.accumulate(np.where(values >= highest, np.arange(len(values)), 0))
    return highest, places
