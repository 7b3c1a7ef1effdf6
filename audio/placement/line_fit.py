"""A clip's clock against the song's: the exact line of a take, how fast it runs, and how sure that is."""

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.direct_sound import LEAD, UPSAMPLING, direct_sound, forward, upsampled, vertex
from audio.placement.discontinuities import Discontinuity, find_discontinuity
from audio.placement.impulse_response import SEGMENT_S, SegmentCorrelations, correlate_segments
from audio.placement.search import SongIndex
from audio.placement.slope_search import CLOCK_SPREAD, FINE_REACH_S, focus_sections, focus_whole, inside
from audio.whitening import Whitened

RECENTRE_S = 0.02
"""Lines further off than this have their stretches made again, for the lags at their edges suffer."""
FEW_S = 30.0
"""Of shorter takes every part of a second counts: their stretches are made anew for a new end."""
NEAR = 400
"""Samples to either side of the line that a group's lag is read from."""
BANDWIDTH = 2 * np.pi * 1500
"""A lag so many standard deviations above chance is good to about one over this times that number (s)."""
FLOOR_S = 0.00003
"""Standard deviation that no place gets below: a quarter of a sample."""


@dataclass(frozen=True, slots=True, eq=False)
class LineFit:
    """The line of one take."""

    line: Line
    """On the direct sound, anchored in the take's middle."""
    response: NDArray[np.float32]
    """Shape (m,): what the microphone hears of the song, from 2 ms before the direct sound on, at the
    index's rate."""
    lead: int
    """Samples of ``response`` before the direct sound."""
    strength: float
    """Standard deviations above chance; half of the stretches predicted from the other half."""
    ambiguity_s: float
    """How far off another peak of the response lies that could be the direct sound as well; 0 if none."""
    place_sd_s: float
    speed_sd: float
    """Standard deviations of the line in its middle and of its speed, from the scatter of the lags."""
    lag_clip_s: NDArray[np.float64]
    lag_s: NDArray[np.float64]
    lag_strength: NDArray[np.float64]
    """Shape (g,): measured moments along the take: when, s off the line, standard deviations over noise."""
    discontinuity: Discontinuity | None
    """Where the line steps, because sound was lost; None where it is straight."""
    segments: SegmentCorrelations
    """What it was fitted to, turned onto the line."""

    def half_width_s(self, start_s: float, end_s: float) -> float:
        """Half-width (s) that holds the true place of a take from ``start_s`` to ``end_s`` about 95 times in
        100, anywhere in it, as the scatter of the lags has it."""
        half = max(abs(start_s - self.line.clip_s), abs(end_s - self.line.clip_s))
        return 2 * float(np.hypot(np.hypot(self.place_sd_s, half * self.speed_sd), FLOOR_S))


def fit_line(white: Whitened, index: SongIndex, rough: Line, start_s: float, end_s: float) -> LineFit | None:
    """Fit the exact line of a take near a rough one; None if there is nothing to fit.

    Parameters
    ----------
    flat : float32, shape (n,)
        The flattened clip; ``start_s`` and ``end_s`` are times of its samples.
    rough : ClockLine
        Right to about 0.1 s.
    """
    segments = correlate_segments(white, index, rough, start_s, end_s, FINE_REACH_S)
    if segments is None:
        return None
    line = focus_sections(segments, rough)
    onto = _moved(segments, rough, line)
    if onto is None:
        onto = correlate_segments(white, index, line, start_s, end_s, FINE_REACH_S)
    return None if onto is None else _settled(white, index, onto, line, start_s, end_s, discontinuities=True)


def refine_line(
    white: Whitened, index: SongIndex, line: Line, start_s: float, end_s: float
) -> LineFit | None:
    """Fit the exact line of a take near one whose slope is right to 15 ppm; otherwise as :func:`fit_line`."""
    segments = correlate_segments(white, index, line, start_s, end_s, FINE_REACH_S)
    return None if segments is None else _settled(white, index, segments, line, start_s, end_s)


def refit(white: Whitened, index: SongIndex, fit: LineFit, start_s: float, end_s: float) -> LineFit | None:
    """Fit a take's line once more, to a part of what it was fitted to, or to a little more than that."""
    centre, half = fit.segments.centre_s, SEGMENT_S / 2
    known = centre[0] - half < start_s + SEGMENT_S / 4 and centre[-1] + half > end_s - SEGMENT_S / 4
    if not known or end_s - start_s < FEW_S:
        return refine_line(white, index, fit.line, start_s, end_s)
    inside_take = (centre - half > start_s - SEGMENT_S / 4) & (centre + half < end_s + SEGMENT_S / 4)
    part = fit.segments.some(inside_take)
    middle = float(part.centre_s.mean())
    line = Line(middle, fit.line.song_time(middle), fit.line.speed)
    return _settled(white, index, part, line, start_s, end_s)


def _moved(segments: SegmentCorrelations, from_line: Line, to_line: Line) -> SegmentCorrelations | None:
    """Stretches turned onto another line; None if it lies so far off that they should be made again."""
    off = [to_line.song_time(t) - from_line.song_time(t) for t in segments.centre_s[[0, -1]]]
    if max(map(abs, off)) > RECENTRE_S:
        return None
    later = to_line.song_s - from_line.song_time(to_line.clip_s)
    return segments.rotated(to_line.speed - from_line.speed, to_line.clip_s, later)


def _settled(
    white: Whitened,
    index: SongIndex,
    segments: SegmentCorrelations,
    line: Line,
    start_s: float,
    end_s: float,
    discontinuities: bool = False,
) -> LineFit | None:
    """The exact line near one that is nearly right; the stretches lie on that."""
    about = float(segments.centre_s.mean())
    slope = focus_whole(segments, Line(about, line.song_time(about), line.speed))
    straight = Line(about, line.song_time(about), line.speed + slope)
    rotated = segments.rotated(slope, about)
    # The direct sound is judged by what comes before it: the window must reach well to both sides.
    highest_s = _highest_s(rotated)
    closer = straight.shifted(highest_s)
    onto = rotated.rotated(0.0, about, highest_s)
    if abs(highest_s) > RECENTRE_S:
        again = correlate_segments(white, index, closer, start_s, end_s, FINE_REACH_S)
        if again is None:
            return None
        onto = again
    return _measure(onto, closer, discontinuities)


def _highest_s(segments: SegmentCorrelations) -> float:
    """Lag of the highest value of the whole take's response (s)."""
    inner = inside(segments)
    response = np.abs(segments.whitened().summed()[inner])
    highest: int = int(response.argmax()) + inner.start - segments.size // 2
    return highest / segments.rate


def _measure(segments: SegmentCorrelations, line: Line, discontinuities: bool) -> LineFit:
    """Direct sound, lags along the take, the line through them and how well it holds."""
    rate, size = segments.rate, segments.size
    even = segments.whitened()
    about = line.clip_s
    lag, scatter = _group_lags(even)
    good = scatter.strength > 4
    offset = slope = 0.0
    place_sd, speed_sd = 1e-3, CLOCK_SPREAD
    if good.any():
        offset, slope, place_sd, speed_sd = _straight(
            scatter.clip_s[good] - about, lag[good], scatter.strength[good]
        )
    discontinuity = find_discontinuity(segments) if discontinuities else None
    segments = segments.rotated(slope, about)
    inner = inside(segments)
    even = segments.whitened()
    direct, doubt = direct_sound(even.summed()[inner], rate, even.summed_noise)
    direct += inner.start
    off_s = (direct - size // 2) / rate
    lead = rate // LEAD
    response = forward(segments.summed(), round(direct), rate, segments.summed_noise)
    residual = lag - offset - slope * (scatter.clip_s - about)
    strength = _strength(segments)
    return LineFit(
        Line(about, line.song_s + off_s, line.speed + slope), response, lead, strength, doubt / rate,
        place_sd, speed_sd, scatter.clip_s, residual, scatter.strength, discontinuity,
        segments.rotated(0.0, about, off_s),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Scatter:
    clip_s: NDArray[np.float64]
    strength: NDArray[np.float64]


def _group_lags(segments: SegmentCorrelations) -> tuple[NDArray[np.float64], _Scatter]:
    """Lag of each group of stretches against the whole take's response (s)."""
    rate, size = segments.rate, segments.size
    whole = segments.summed()
    count = len(segments.centre_s)
    groups = segments.grouped(max(1, min(8, count // 8)))
    inner = inside(segments)
    peak = inner.start + int(np.abs(whole[inner]).argmax())
    template = np.where(np.abs(whole) > max(4 * segments.summed_noise, 0.2 * abs(whole[peak])), whole, 0)
    if not template.any():
        template = whole
    template = template * (np.abs(np.arange(size) - peak) < 0.03 * rate)
    template = np.fft.ifftshift(template) / np.sqrt((template**2).sum() + 1e-20)
    model = np.conj(scipy.fft.rfft(template)).astype(np.complex64)
    reach = int(0.003 * rate) * UPSAMPLING
    # Looked at closely is only what lies near the line; the rest would cost most of the time.
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
    return np.array(lags), _Scatter(groups.centre_s, np.array(strengths))


def _straight(
    t: NDArray[np.float64], lag: NDArray[np.float64], strength: NDArray[np.float64]
) -> tuple[float, float, float, float]:
    """Sturdy weighted line through lags: offset, slope, and the standard deviations of both."""
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
    """How far above chance the line stands: the response of every second stretch, looked for in the
    others."""
    count = len(segments.centre_s)
    if count < 2:
        return float(np.abs(segments.summed()).max() / segments.summed_noise)
    odd = np.arange(count) % 2 == 1
    halves = segments.some(odd), segments.some(~odd)
    told = _prediction_score(halves[0], halves[1]) + _prediction_score(halves[1], halves[0])
    return max(0.0, told) / 2**0.5


def _prediction_score(source: SegmentCorrelations, target: SegmentCorrelations) -> float:
    return prediction_score(source.summed(), source.summed_noise, target.summed(), target.summed_noise)


def prediction_score(
    model: NDArray[np.float32], model_noise: float, data: NDArray[np.float32], noise: float
) -> float:
    """Standard deviations above chance by which a response agrees with what another one predicts of it.

    Both of shape (n,), with the RMS of chance in each; what hardly stands out of the model predicts nothing.
    """
    high = max(4 * model_noise, 0.2 * float(np.abs(model).max()))
    template = np.where(np.abs(model) > high, model, 0)
    size = float(np.sqrt((template**2).sum()))
    return float((template * data).sum() / (size * noise)) if size > 0 else 0.0
