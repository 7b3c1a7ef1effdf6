"""The exact line of a take: its position by the direct sound, its speed, and the uncertainty of both."""

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.direct_sound import LEAD, UPSAMPLING, causal_part, direct_sound, upsampled, vertex
from audio.placement.discontinuities import Discontinuity, find_discontinuity
from audio.placement.impulse_response import SEGMENT_S, SegmentCorrelations, correlate_segments
from audio.placement.search import SongIndex
from audio.placement.slope_search import CLOCK_SPREAD, FINE_REACH_S, coarse_line, fine_slope, inner_lags
from audio.whitening import Whitened

RECENTRE_S = 0.02
"""A line moved by more than this is correlated anew: the lags at the edges of a correlation suffer. Chosen by
hand."""
FEW_S = 30.0
"""Shorter takes are correlated anew for a new end: every fraction of a segment counts. Chosen by hand."""
NEAR = 400
"""Samples to either side of the line within which a group's lag is measured."""
LEAST_LAG_SD = 4.0
"""Standard deviations above chance at which the lag of a group counts. Chosen by hand."""
BANDWIDTH = 2 * np.pi * 1500
"""Effective bandwidth (rad/s): a lag that stands n standard deviations above chance has a standard deviation
of about 1 / (BANDWIDTH * n) seconds. Chosen by hand."""
FLOOR_S = 0.00003
"""Least standard deviation of a position (s): a quarter of a sample."""


@dataclass(frozen=True, slots=True, eq=False)
class LineFit:
    """The line fitted to one take."""

    line: Line
    """On the direct sound, anchored in the take's middle."""
    impulse_response: NDArray[np.float32]
    """Shape (m,): from song to microphone, causal, from 2 ms before the direct sound on."""
    direct_at: int
    """Sample of ``impulse_response`` at which the direct sound lies."""
    strength: float
    """Standard deviations above chance, by split-half cross-validation (see `prediction_score`)."""
    ambiguity_s: float
    """How far off another peak lies that could be the direct sound as well (s); 0 if none."""
    position_sd_s: float
    speed_sd: float
    """Standard deviations of the line in its middle (s) and of its speed (no unit), from the scatter of the
    lags."""
    lag_clip_s: NDArray[np.float64]
    lag_s: NDArray[np.float64]
    lag_strength: NDArray[np.float64]
    """Shape (g,): measured moments: clip time (s), lag off the line (s), standard deviations above chance."""
    discontinuity: Discontinuity | None
    """Where the line steps because samples were lost; None where it is straight."""
    segments: SegmentCorrelations
    """What it was fitted to, rotated onto the line."""

    def half_width_s(self, start_s: float, end_s: float) -> float:
        """Half-width (s) that holds the true position of a take from ``start_s`` to ``end_s`` about 95 times
        in 100, anywhere in it, by the scatter of the lags."""
        half = max(abs(start_s - self.line.clip_s), abs(end_s - self.line.clip_s))
        return 2 * float(np.hypot(np.hypot(self.position_sd_s, half * self.speed_sd), FLOOR_S))


def fit_line(white: Whitened, index: SongIndex, rough: Line, start_s: float, end_s: float) -> LineFit | None:
    """Fit the exact line of a take near a rough one; None if there is nothing to fit.

    Parameters
    ----------
    white : Whitened, shape (n,)
        The whitened clip; ``start_s`` and ``end_s`` are times of its samples.
    rough : Line
        Right to about 0.1 s.
    """
    segments = correlate_segments(white, index, rough, start_s, end_s, FINE_REACH_S)
    if segments is None:
        return None
    line = coarse_line(segments, rough)
    onto = _onto(segments, rough, line)
    if onto is None:
        onto = correlate_segments(white, index, line, start_s, end_s, FINE_REACH_S)
    return None if onto is None else _refined(white, index, onto, line, start_s, end_s, discontinuities=True)


def refine_line(
    white: Whitened, index: SongIndex, line: Line, start_s: float, end_s: float
) -> LineFit | None:
    """Fit the exact line of a take near one whose slope is right to 15 ppm; otherwise as :func:`fit_line`."""
    segments = correlate_segments(white, index, line, start_s, end_s, FINE_REACH_S)
    return None if segments is None else _refined(white, index, segments, line, start_s, end_s)


def refit(white: Whitened, index: SongIndex, fit: LineFit, start_s: float, end_s: float) -> LineFit | None:
    """Fit a take's line again after its ends have changed."""
    centre, half = fit.segments.centre_s, SEGMENT_S / 2
    known = centre[0] - half < start_s + SEGMENT_S / 4 and centre[-1] + half > end_s - SEGMENT_S / 4
    if not known or end_s - start_s < FEW_S:
        return refine_line(white, index, fit.line, start_s, end_s)
    inside_take = (centre - half > start_s - SEGMENT_S / 4) & (centre + half < end_s + SEGMENT_S / 4)
    part = fit.segments.select(inside_take)
    middle = float(part.centre_s.mean())
    line = fit.line.anchored(middle)
    return _refined(white, index, part, line, start_s, end_s)


def _onto(segments: SegmentCorrelations, from_line: Line, to_line: Line) -> SegmentCorrelations | None:
    """Segment correlations rotated onto another line; None if that lies so far off that they have to be
    computed anew."""
    off = [from_line.lag_s(t, to_line.song_time(t)) for t in segments.centre_s[[0, -1]]]
    if max(map(abs, off)) > RECENTRE_S:
        return None
    later = from_line.lag_s(to_line.clip_s, to_line.song_s)
    return segments.rotated(to_line.speed - from_line.speed, to_line.clip_s, later)


def _refined(
    white: Whitened,
    index: SongIndex,
    segments: SegmentCorrelations,
    line: Line,
    start_s: float,
    end_s: float,
    discontinuities: bool = False,
) -> LineFit | None:
    """The exact line near one that is nearly right, given the segment correlations around that."""
    about = float(segments.centre_s.mean())
    anchored = line.anchored(about)
    slope = fine_slope(segments, anchored)
    rotated = segments.rotated(slope, about)
    # The direct sound is judged by what arrives before it: the lags must reach well to both sides of it.
    highest_s = _highest_s(rotated)
    closer = anchored.with_speed(line.speed + slope).shifted(highest_s)
    onto = rotated.rotated(0.0, about, highest_s)
    if abs(highest_s) > RECENTRE_S:
        again = correlate_segments(white, index, closer, start_s, end_s, FINE_REACH_S)
        if again is None:
            return None
        onto = again
    return _measured(onto, closer, discontinuities)


def _highest_s(segments: SegmentCorrelations) -> float:
    """Lag of the highest peak of the whole take's impulse response (s)."""
    inner = inner_lags(segments)
    impulse_response = np.abs(segments.whitened().summed()[inner])
    highest: int = int(impulse_response.argmax()) + inner.start - segments.size // 2
    return highest / segments.rate


def _measured(segments: SegmentCorrelations, line: Line, discontinuities: bool) -> LineFit:
    """Measure the lags along a take, fit the line through them, and put it on the direct sound."""
    rate, size = segments.rate, segments.size
    whitened = segments.whitened()
    about = line.clip_s
    groups = _group_lags(whitened)
    good = groups.strength > LEAST_LAG_SD
    offset = slope = 0.0
    position_sd, speed_sd = 1e-3, CLOCK_SPREAD
    if good.any():
        offset, slope, position_sd, speed_sd = _weighted_line(
            groups.clip_s[good] - about, groups.lag_s[good], groups.strength[good]
        )
    discontinuity = find_discontinuity(segments) if discontinuities else None
    segments = segments.rotated(slope, about)
    inner = inner_lags(segments)
    whitened = segments.whitened()
    direct, ambiguity = direct_sound(whitened.summed()[inner], rate, whitened.summed_noise)
    direct += inner.start
    off_s = (direct - size // 2) / rate
    direct_at = rate // LEAD
    impulse_response = causal_part(segments.summed(), round(direct), rate, segments.summed_noise)
    residual = groups.lag_s - offset - slope * (groups.clip_s - about)
    strength = _strength(segments)
    return LineFit(
        line=Line(about, line.song_s + off_s, line.speed + slope),
        impulse_response=impulse_response,
        direct_at=direct_at,
        strength=strength,
        ambiguity_s=ambiguity / rate,
        position_sd_s=position_sd,
        speed_sd=speed_sd,
        lag_clip_s=groups.clip_s,
        lag_s=residual,
        lag_strength=groups.strength,
        discontinuity=discontinuity,
        segments=segments.rotated(0.0, about, off_s),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _GroupLags:
    """Shape (groups,) each: clip time (s), lag (s) and standard deviations above chance of groups of
    segments."""

    clip_s: NDArray[np.float64]
    lag_s: NDArray[np.float64]
    strength: NDArray[np.float64]


def _group_lags(segments: SegmentCorrelations) -> _GroupLags:
    """Lag (s) of each group of segments against the impulse response of the whole take (template
    matching)."""
    rate, size = segments.rate, segments.size
    whole = segments.summed()
    count = len(segments.centre_s)
    groups = segments.grouped(max(1, min(8, count // 8)))
    inner = inner_lags(segments)
    peak = inner.start + int(np.abs(whole[inner]).argmax())
    template = np.where(np.abs(whole) > max(4 * segments.summed_noise, 0.2 * abs(whole[peak])), whole, 0)
    if not template.any():
        template = whole
    template = template * (np.abs(np.arange(size) - peak) < 0.03 * rate)
    template = np.fft.ifftshift(template) / np.sqrt((template**2).sum() + 1e-20)
    model = np.conj(scipy.fft.rfft(template)).astype(np.complex64)
    reach = int(0.003 * rate) * UPSAMPLING
    # Only lags near the line are upsampled; the others would cost most of the time.
    around = min(size // 2, NEAR)
    matches = scipy.fft.irfft(groups.spectra * model, size, axis=1)
    matches = np.concatenate([matches[:, -around:], matches[:, :around]], axis=1)
    lags, strengths = [], []
    for match, noise in zip(matches, groups.noise, strict=True):
        fine = upsampled(match)
        middle = around * UPSAMPLING
        near = fine[middle - reach : middle + reach + 1]
        best = int(near.argmax())
        lags.append((best - reach + vertex(near, best)) / (UPSAMPLING * rate))
        strengths.append(float(near[best] / noise))
    return _GroupLags(groups.centre_s, np.array(lags), np.array(strengths))


def _weighted_line(
    t: NDArray[np.float64], lag: NDArray[np.float64], strength: NDArray[np.float64]
) -> tuple[float, float, float, float]:
    """Robust weighted line through lags (iteratively reweighted least squares with a prior on the slope):
    offset (s), slope (no unit), and the standard deviations of both."""
    base_sd = 1.0 / (BANDWIDTH * strength)
    weight = 1 / base_sd**2
    prior = 1 / CLOCK_SPREAD**2
    offset = slope = 0.0
    sd = base_sd
    for _ in range(6):
        normal = np.array(
            [[weight.sum(), (weight * t).sum()], [(weight * t).sum(), (weight * t * t).sum() + prior]]
        )
        right = np.array([(weight * lag).sum(), (weight * t * lag).sum()])
        offset, slope = np.linalg.solve(normal, right)
        residual = lag - offset - slope * t
        scale = max(1.0, float(np.median(np.abs(residual) / base_sd) / 0.6745))
        sd = base_sd * scale
        weight = 1 / sd**2 / (1 + (residual / (3 * sd)) ** 2)
    inverse = np.linalg.inv(normal)
    return float(offset), float(slope), float(np.sqrt(inverse[0, 0])), float(np.sqrt(inverse[1, 1]))


def _strength(segments: SegmentCorrelations) -> float:
    """Standard deviations above chance by split-half cross-validation: the impulse response of the odd
    segments predicts that of the even ones, and the other way round."""
    count = len(segments.centre_s)
    if count < 2:
        return float(np.abs(segments.summed()).max() / segments.summed_noise)
    odd = np.arange(count) % 2 == 1
    halves = segments.select(odd), segments.select(~odd)
    score = _prediction_score(halves[0], halves[1]) + _prediction_score(halves[1], halves[0])
    return max(0.0, score) / 2**0.5


def _prediction_score(source: SegmentCorrelations, target: SegmentCorrelations) -> float:
    return prediction_score(source.summed(), source.summed_noise, target.summed(), target.summed_noise)


def prediction_score(
    model: NDArray[np.float32], model_noise: float, data: NDArray[np.float32], noise: float
) -> float:
    """Standard deviations above chance by which one impulse response agrees with another.

    Parameters
    ----------
    model, data : float32, shape (n,)
        Only the part of ``model`` that stands out of its noise is used as a template for ``data``.
    model_noise, noise : float
        RMS of chance in each.
    """
    high = max(4 * model_noise, 0.2 * float(np.abs(model).max()))
    template = np.where(np.abs(model) > high, model, 0)
    size = float(np.sqrt((template**2).sum()))
    return float((template * data).sum() / (size * noise)) if size > 0 else 0.0
