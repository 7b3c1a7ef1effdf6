"""A clip's clock against the song's: the exact line of a take, how fast it runs, and how sure that is.

The line is found in two steps. Coarse: sections of ten seconds are focused for every slope up to 400 ppm, and
the slope and lag on which all of them agree best are taken. Fine: the whole take is focused around that, the
direct sound is told from its reflections, and groups of stretches give the lag along the take.
"""

from dataclasses import dataclass

import numpy as np
import scipy.ndimage
import scipy.signal
from numpy.typing import NDArray

from audio.response import ClockLine, Stretches, correlate_stretches
from audio.search import Line, SongIndex
from audio.signals import Samples

SLOPE_LIMIT = 450e-6
"""Largest clock error of a camera or recorder looked for (s/s); cheap phones reach 300 ppm."""
CLOCK_SPREAD = 100e-6
"""What clocks of cameras differ by, as a standard deviation: all that is known of a very short take's speed."""
COARSE_REACH_S = 0.2
"""Reflections can lead the coarse search astray by this much."""
FINE_REACH_S = 0.12
SECTION_S = 10.0
EARLY_S = 0.07
"""A reflection higher than the direct sound comes at most this much after it."""
DIRECT_SHARE = 0.35
"""A response value of this share of the highest is taken for the direct sound if it comes before it."""
STANDS_OUT = 1.15
"""A peak is sound if it tops by this factor all that there is before any sound can have arrived."""
SURELY = 1.6
"""A direct sound that tops it by this factor is not confused with a reflection by chance."""
ALIKE = 0.75
"""Below SURELY, peaks of this share of the chosen one could be the direct sound as well."""
UPSAMPLING = 16


@dataclass(frozen=True, slots=True, eq=False)
class LineFit:
    """The line of one take."""

    line: ClockLine
    """On the direct sound, anchored in the take's middle."""
    response: NDArray[np.float32]
    """Shape (m,): what the microphone hears of the song, from 2 ms before the direct sound on, at the index's rate."""
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
    """Shape (g,): measured moments along the take: when, how far off the line, standard deviations over noise."""


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
    line = _focus_sections(coarse, rough)
    fine = correlate_stretches(flat, index, line, start_s, end_s, FINE_REACH_S)
    if fine is None:
        return None
    line, fine = _focus_whole(fine, line)
    return _measure(fine, line)


def rough_line(line: Line) -> ClockLine:
    """A sturdy straight line through the blocks of a search line (weighted by evidence, slope within limits)."""
    weight = np.maximum(line.evidence, 1e-3)
    lag = line.places_s - line.starts_s
    slope, offset = 0.0, 0.0
    middle = float(np.average(line.starts_s, weights=weight))
    for _ in range(5):
        offset = float(np.average(lag - slope * (line.starts_s - middle), weights=weight))
        spread = line.starts_s - middle
        power = float((weight * spread**2).sum())
        if power > 0:
            slope = float((weight * spread * (lag - offset)).sum() / (power + 4e2))
        slope = float(np.clip(slope, -SLOPE_LIMIT, SLOPE_LIMIT))
        residual = np.abs(lag - offset - slope * spread)
        weight = np.maximum(line.evidence, 1e-3) / (1 + (residual / 0.004) ** 2)
    return ClockLine(middle, middle + offset, 1.0 + slope)


def _focus_sections(stretches: Stretches, line: ClockLine) -> ClockLine:
    """Find the slope and lag on which the sections of a take agree best."""
    rate = stretches.rate
    centre = stretches.centre_s
    about = float(centre.mean())
    span = float(centre[-1] - centre[0]) + 1.0
    section_of = ((centre - centre[0]) // SECTION_S).astype(int)
    sections = section_of.max() + 1
    if span < 2 * SECTION_S:
        section_of[:] = 0
        sections = 1
    length = span / sections
    slopes = np.arange(-SLOPE_LIMIT, SLOPE_LIMIT, max(10e-6, 1.0 / (rate * length)))
    slopes -= slopes[np.abs(slopes).argmin()]
    energy = np.zeros((len(slopes), stretches.size), np.float32)
    width = max(1, rate // 2000)
    for number in range(sections):
        section = stretches.some(section_of == number)
        middle = float(section.centre_s.mean())
        for row, slope in enumerate(slopes):
            power = scipy.ndimage.uniform_filter1d(section.summed(slope, middle) ** 2, width, mode="wrap")
            energy[row] += np.roll(power, -round(slope * (middle - about) * rate))
    # What clocks are like is known beforehand; without it a short take would take any slope that chance likes.
    energy /= stretches.summed_noise**2 / sections
    energy -= ((slopes + line.speed - 1) ** 2 / CLOCK_SPREAD**2)[:, None].astype(np.float32)
    row, lag = divmod(int(energy.argmax()), stretches.size)
    turned = line.speed + slopes[row]
    place = line.song_time(about) + (lag - stretches.size // 2) / rate
    return ClockLine(about, place, turned)


def _focus_whole(stretches: Stretches, line: ClockLine) -> tuple[ClockLine, Stretches]:
    """Sharpen the slope until the whole take adds up; the stretches come back turned onto the new line."""
    rate = stretches.rate
    centre = stretches.centre_s
    about = float(centre.mean())
    span = float(centre[-1] - centre[0]) + 1.0
    step = 0.5 / (rate * span)
    reach = min(60e-6, max(15e-6, 1.5 / (rate * min(span, SECTION_S))))
    if span <= 2 * SECTION_S:
        reach = 1.5 / (rate * span)
    slopes = np.arange(-reach, reach + step / 2, step)
    heights = np.array([np.abs(stretches.summed(slope, about)).max() for slope in slopes])
    gain = (heights / stretches.summed_noise) ** 2 - (slopes + line.speed - 1) ** 2 / CLOCK_SPREAD**2
    slope = float(slopes[gain.argmax()])
    line = ClockLine(about, line.song_time(about), line.speed + slope)
    return line, stretches.turned(slope, about)


def direct_sound(response: NDArray[np.float32], rate: int) -> tuple[float, float]:
    """Place of the direct sound in a response (samples, to a fraction), and what else it could be.

    The song reaches the microphone first on the straight way: of all peaks that stand out, the one latest in the
    song. Reflections can be higher, even 12 to 18 ms behind in a hard room. What stands out is judged by what is
    there before any sound can have arrived, at the response's end.

    Returns
    -------
    place, doubt : float
        ``doubt`` is the distance (samples) to the furthest other peak that stands out as little as the chosen one;
        0 where the chosen one stands alone.

    >>> response = np.zeros(2000, np.float32); response[[190, 420]] = 1.0, 0.6
    >>> place, doubt = direct_sound(response, 8000)
    >>> round(place, 3), doubt
    (420.0, 0.0)
    """
    fine = np.abs(_upsampled(response))
    main = int(fine.argmax())
    ahead = int(EARLY_S * rate * UPSAMPLING)
    clutter = float(fine[main + ahead :].max(initial=0))
    enough = max(DIRECT_SHARE * float(fine[main]), STANDS_OUT * clutter)
    peaks, _ = scipy.signal.find_peaks(fine[main : main + ahead], height=enough)
    best = main + int(peaks[-1]) if len(peaks) else main
    doubt = 0.0
    if fine[best] < SURELY * clutter:
        near = slice(max(0, best - ahead), best + ahead)
        others, _ = scipy.signal.find_peaks(fine[near], height=ALIKE * float(fine[best]))
        doubt = float(np.abs(others + near.start - best).max(initial=0)) / UPSAMPLING
    return best / UPSAMPLING, doubt


def _without_colour(response: NDArray[np.float32], colour: NDArray[np.float32]) -> NDArray[np.float32]:
    """The response without the song's own colour: an echo in the song itself is no sound that came earlier."""
    return np.fft.irfft(np.fft.rfft(response) / (colour + 0.1), len(response)).astype(np.float32)


def _upsampled(response: NDArray[np.float32]) -> NDArray[np.float64]:
    """The response at UPSAMPLING times the rate, its upper band rounded off so that no side lobe looks like a peak."""
    spectrum = np.fft.rfft(response)
    taper = np.cos(np.linspace(0, np.pi / 2, len(spectrum))) ** 1.0
    full = np.zeros(len(response) * UPSAMPLING // 2 + 1, complex)
    full[: len(spectrum)] = spectrum * taper
    return np.fft.irfft(full, len(response) * UPSAMPLING) * UPSAMPLING


def _measure(stretches: Stretches, line: ClockLine) -> LineFit:
    """Direct sound, lags along the take, the line through them and how well it holds."""
    rate, size = stretches.rate, stretches.size
    centre = stretches.centre_s
    about = line.clip_s
    whole = stretches.summed(0.0, about)
    noise = stretches.summed_noise
    lag, scatter = _group_lags(stretches, whole, noise)
    good = scatter.strength > 4
    offset = slope = 0.0
    place_sd, speed_sd = 1e-3, CLOCK_SPREAD
    if good.any():
        offset, slope, place_sd, speed_sd = _straight(
            scatter.clip_s[good] - about, lag[good], scatter.strength[good]
        )
    line = ClockLine(about, line.song_time(about) + offset, line.speed + slope)
    whole = stretches.summed(slope, about)
    direct, doubt = direct_sound(_without_colour(whole, stretches.colour), rate)
    line = line.moved((direct - size // 2) / rate - offset)
    # From here on the response runs forward in time: reflections lie later.
    lead = rate // 500
    top = round(direct)
    response = whole[max(0, top + lead - rate // 20) : top + lead + 1][::-1].copy()
    response[np.abs(response) < 3 * noise] = 0
    residual = lag - offset - slope * (scatter.clip_s - about)
    return LineFit(
        line, response, lead, _strength(stretches, slope, about), doubt / rate, place_sd, speed_sd,
        scatter.clip_s, residual, scatter.strength,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Scatter:
    clip_s: NDArray[np.float64]
    strength: NDArray[np.float64]


def _group_lags(
    stretches: Stretches, whole: NDArray[np.float32], noise: float
) -> tuple[NDArray[np.float64], _Scatter]:
    """Lag of each group of stretches against the whole take's response (s)."""
    rate, size = stretches.rate, stretches.size
    count = len(stretches.centre_s)
    per_group = max(1, min(8, count // 8))
    groups = [np.arange(i, min(i + per_group, count)) for i in range(0, count, per_group)]
    template = np.where(np.abs(whole) > 4 * noise, whole, 0)
    if not template.any():
        template = whole
    peak = int(np.abs(whole).argmax())
    template = template * (np.abs(np.arange(size) - peak) < 0.03 * rate)
    template = np.fft.ifftshift(template) / np.sqrt((template**2).sum() + 1e-20)
    model = np.conj(np.fft.rfft(template))
    reach = int(0.003 * rate) * UPSAMPLING
    lags, strengths, clip_s = [], [], []
    for group in groups:
        match = np.fft.irfft(stretches.spectra[group].sum(axis=0) * model, size)
        fine = _upsampled(match.astype(np.float32))
        near = np.concatenate([fine[-reach:], fine[: reach + 1]])
        best = int(near.argmax())
        lags.append((best - reach + _vertex(near, best)) / (UPSAMPLING * rate))
        strengths.append(float(near[best] / np.sqrt((stretches.noise[group] ** 2).sum())))
        clip_s.append(float(stretches.centre_s[group].mean()))
    return np.array(lags), _Scatter(np.array(clip_s), np.array(strengths))


def _vertex(values: NDArray[np.float64], best: int) -> float:
    """Offset of a parabola's top from its highest sample."""
    if best in (0, len(values) - 1):
        return 0.0
    a, b, c = values[best - 1 : best + 2]
    return float(np.clip((a - c) / (2 * (a - 2 * b + c) - 1e-30), -0.5, 0.5))


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
    """How far above chance the line stands: the response of every second stretch, looked for in the others."""
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
