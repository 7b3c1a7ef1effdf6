"""A clip's clock against the song's: the exact line of a take, how fast it runs, and how sure that is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.bends import find_bend
from audio.direct import LEAD, UPSAMPLING, direct_sound, forward, upsampled, vertex
from audio.focus import (
    CLOCK_SPREAD,
    COARSE_REACH_S,
    FINE_REACH_S,
    focus_sections,
    focus_whole,
    inside,
)
from audio.response import ClockLine, Stretches, correlate_stretches
from audio.search import SongIndex
from audio.signals import Samples


@dataclass(frozen=True, slots=True, eq=False)
class LineFit:
    """The line of one take."""

    line: ClockLine
    """On the direct sound, anchored in the take's middle."""
    response: NDArray[np.float32]
    """Shape (m,): what the microphone hears of the song, from 2 ms before the direct sound on, at the
    index's rate."""
    lead: int
    """Samples of ``response`` before the direct sound."""
    strength: float
    """Standard deviations above chance; half of the stretches predicted from the other half."""
    doubt_s: float
    """How far off another peak of the response lies that could be the direct sound as well; 0 if none."""
    place_sd_s: float
    speed_sd: float
    """Standard deviations of the line in its middle and of its speed, from the scatter of the lags."""
    lag_clip_s: NDArray[np.float64]
    lag_s: NDArray[np.float64]
    lag_strength: NDArray[np.float64]
    """Shape (g,): measured moments along the take: when, s off the line, standard deviations over noise."""
    bend_s: float | None
    """Where the line steps, because sound was lost (clip time); None where it is straight."""


def fit_line(
    flat: Samples, index: SongIndex, rough: ClockLine, start_s: float, end_s: float
) -> LineFit | None:
    """Fit the exact line of a take near a rough one; None if there is nothing to fit.

    Parameters
    ----------
    flat : float32, shape (n,)
        The flattened clip; ``start_s`` and ``end_s`` are times of its samples.
    rough : ClockLine
        Right to about 0.1 s.
    """
    coarse = correlate_stretches(flat, index, rough, start_s, end_s, COARSE_REACH_S)
    if coarse is None:
        return None
    return refine_line(flat, index, focus_sections(coarse, rough), start_s, end_s)


def refine_line(
    flat: Samples, index: SongIndex, line: ClockLine, start_s: float, end_s: float
) -> LineFit | None:
    """Fit the exact line of a take near one whose slope is right to 15 ppm; otherwise as :func:`fit_line`."""
    fine = correlate_stretches(flat, index, line, start_s, end_s, FINE_REACH_S)
    if fine is None:
        return None
    line, fine = focus_whole(fine, line)
    # The direct sound is judged by what comes before it: the window must reach well to both sides.
    line = line.moved(_highest_s(fine, line.clip_s))
    fine = correlate_stretches(flat, index, line, start_s, end_s, FINE_REACH_S)
    return None if fine is None else _measure(fine, line)


def _highest_s(stretches: Stretches, about_s: float) -> float:
    """Lag of the highest value of the whole take's response (s)."""
    inner = inside(stretches)
    response = np.abs(stretches.evened().summed(0.0, about_s)[inner])
    highest: int = int(response.argmax()) + inner.start - stretches.size // 2
    return highest / stretches.rate


def _measure(stretches: Stretches, line: ClockLine) -> LineFit:
    """Direct sound, lags along the take, the line through them and how well it holds."""
    rate, size = stretches.rate, stretches.size
    even = stretches.evened()
    about = line.clip_s
    lag, scatter = _group_lags(even, even.summed(0.0, about))
    good = scatter.strength > 4
    offset = slope = 0.0
    place_sd, speed_sd = 1e-3, CLOCK_SPREAD
    if good.any():
        offset, slope, place_sd, speed_sd = _straight(
            scatter.clip_s[good] - about, lag[good], scatter.strength[good]
        )
    inner = inside(stretches)
    direct, doubt = direct_sound(even.summed(slope, about)[inner], rate)
    direct += inner.start
    line = ClockLine(about, line.song_time(about), line.speed + slope).moved((direct - size // 2) / rate)
    lead = rate // LEAD
    response = forward(stretches.summed(slope, about), round(direct), rate, stretches.summed_noise)
    residual = lag - offset - slope * (scatter.clip_s - about)
    return LineFit(
        line, response, lead, _strength(stretches, slope, about), doubt / rate, place_sd, speed_sd,
        scatter.clip_s, residual, scatter.strength, find_bend(stretches),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Scatter:
    clip_s: NDArray[np.float64]
    strength: NDArray[np.float64]


def _group_lags(stretches: Stretches, whole: NDArray[np.float32]) -> tuple[NDArray[np.float64], _Scatter]:
    """Lag of each group of stretches against the whole take's response (s)."""
    rate, size = stretches.rate, stretches.size
    count = len(stretches.centre_s)
    per_group = max(1, min(8, count // 8))
    groups = [np.arange(i, min(i + per_group, count)) for i in range(0, count, per_group)]
    inner = inside(stretches)
    peak = inner.start + int(np.abs(whole[inner]).argmax())
    template = np.where(np.abs(whole) > max(4 * stretches.summed_noise, 0.2 * abs(whole[peak])), whole, 0)
    if not template.any():
        template = whole
    template = template * (np.abs(np.arange(size) - peak) < 0.03 * rate)
    template = np.fft.ifftshift(template) / np.sqrt((template**2).sum() + 1e-20)
    model = np.conj(np.fft.rfft(template))
    reach = int(0.003 * rate) * UPSAMPLING
    lags, strengths, clip_s = [], [], []
    for group in groups:
        match = np.fft.irfft(stretches.spectra[group].sum(axis=0) * model, size)
        fine = upsampled(match.astype(np.float32))
        near = np.concatenate([fine[-reach:], fine[: reach + 1]])
        best = int(near.argmax())
        lags.append((best - reach + vertex(near, best)) / (UPSAMPLING * rate))
        strengths.append(float(near[best] / np.sqrt((stretches.noise[group] ** 2).sum())))
        clip_s.append(float(stretches.centre_s[group].mean()))
    return np.array(lags), _Scatter(np.array(clip_s), np.array(strengths))


def _straight(
    t: NDArray[np.float64], lag: NDArray[np.float64], strength: NDArray[np.float64]
) -> tuple[float, float, float, float]:
    """Sturdy weighted line through lags: offset, slope, and the standard deviations of both.

    A single strong group has a lag good to about 1 / (2 pi * 1500 Hz * strength).
    """
    base_sd = 1.0 / (2 * np.pi * 1500 * strength)
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


def _strength(stretches: Stretches, slope: float, about: float) -> float:
    """How far above chance the line stands: the response of every second stretch, looked for in the
    others."""
    count = len(stretches.centre_s)
    if count < 2:
        return float(np.abs(stretches.summed(slope, about)).max() / stretches.summed_noise)
    odd = np.arange(count) % 2 == 1
    halves = stretches.some(odd), stretches.some(~odd)
    return (
        max(
            0.0,
            _predicted(halves[0], halves[1], slope, about) + _predicted(halves[1], halves[0], slope, about),
        )
        / 2**0.5
    )


def _predicted(source: Stretches, target: Stretches, slope: float, about: float) -> float:
    model, data = source.summed(slope, about), target.summed(slope, about)
    template = np.where(
        np.abs(model) > max(4 * source.summed_noise, 0.2 * float(np.abs(model).max())), model, 0
    )
    size = float(np.sqrt((template**2).sum()))
    return float((template * data).sum() / (size * target.summed_noise)) if size > 0 else 0.0
