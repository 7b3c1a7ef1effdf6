"""The slope and lag of a line at which the segment correlations of a take add up best.

Coarse search: within sections of ten seconds the segments are summed for every slope up to 450 ppm, and the
slope and lag with the most energy over all sections are taken. Fine search: the whole take is summed for
slopes around that.
"""

import numpy as np
import scipy.ndimage

from audio.line import Line
from audio.placement.impulse_response import SegmentCorrelations

SLOPE_LIMIT = 450e-6
"""Largest clock error of a camera or recorder searched for (s/s); cheap phones reach 300 ppm."""
CLOCK_SPREAD = 100e-6
"""Standard deviation of the clocks of cameras (s/s): the prior, and all that is known of a very short take's
speed. Chosen by hand."""
COARSE_REACH_S = 0.2
"""Reflections can shift a rough line by this much. Chosen by hand."""
FINE_REACH_S = 0.35
"""In long reverberation the coarse lag can follow the direct sound by INNER times this. Chosen by hand."""
INNER = 0.7
"""Share of the lags of the fine search in which the direct sound is searched: whitening distorts the
edges."""
STANDS_OUT = 12.0
"""Power of a lag, in units of its mean by chance, from which on it counts for the slope. Chosen by hand."""
SECTION_S = 10.0
"""Length of a section: 450 ppm shift its ends by 4.5 ms."""
END_ERROR_S = 0.03
"""How much further off one end of a rough line may lie than the other. Chosen by hand."""
LEAST_LIMIT = 80e-6
"""Slopes up to this are tried however long the line is (s/s)."""


def coarse_line(segments: SegmentCorrelations, line: Line) -> Line:
    """The line, near a rough one, with the most energy summed over the sections of a take."""
    segments = segments.whitened()
    rate = segments.rate
    centre = segments.centre_s
    about = float(centre.mean())
    span = float(centre[-1] - centre[0]) + 1.0
    section_of = ((centre - centre[0]) // SECTION_S).astype(int)
    sections = section_of.max() + 1
    if span < 2 * SECTION_S:
        section_of[:] = 0
        sections = 1
    # Reflections at one end of a rough line only rotate it by so much.
    limit = min(SLOPE_LIMIT, max(LEAST_LIMIT, END_ERROR_S / span))
    # Slopes about the rough one are tried, and about 1: most clocks are nearly right.
    back = 1 - line.speed
    low, high = min(0.0, back) - limit, max(0.0, back) + limit
    slopes = np.arange(low, high, max(10e-6, sections / (rate * span)))
    slopes -= slopes[np.abs(slopes).argmin()]
    reach = round(COARSE_REACH_S * rate)
    middle_lag = segments.size // 2
    near = slice(middle_lag - reach, middle_lag + reach)
    energy = np.zeros((len(slopes), 2 * reach), np.float32)
    width = max(1, rate // 2000)
    for number in range(sections):
        section = segments.select(section_of == number)
        if not len(section.centre_s):
            continue
        middle = float(section.centre_s.mean())
        for row, (slope, summed) in enumerate(zip(slopes, section.sweep(slopes, middle), strict=True)):
            power = scipy.ndimage.uniform_filter1d(summed[near] ** 2, width, mode="nearest")
            energy[row] += np.roll(power, -round(slope * (middle - about) * rate))
    # In units of chance, so that the prior on clocks can be subtracted below: without it chance would choose
    # the slope of a short take.
    energy /= segments.summed_noise**2 / sections
    # Reverberation leaves no single peak: the energy of all lags that stand out of chance is summed.
    score = np.maximum(energy - 2 * sections, 0).sum(axis=1) / width
    row = int((score - (slopes + line.speed - 1) ** 2 / CLOCK_SPREAD**2).argmax())
    lag = int(energy[row].argmax())
    speed = line.speed + slopes[row]
    song_s = line.song_time(about) + (lag - reach) / rate
    return Line(float(about), float(song_s), float(speed))


def fine_slope(segments: SegmentCorrelations, line: Line) -> float:
    """By how much (s/s) to rotate a nearly right line about its anchor so that the whole take adds up
    best."""
    rate = segments.rate
    centre = segments.centre_s
    span = float(centre[-1] - centre[0]) + 1.0
    step = 0.5 / (rate * span)
    reach = min(60e-6, max(15e-6, 1.5 / (rate * min(span, SECTION_S))))
    if span <= 2 * SECTION_S:
        reach = 1.5 / (rate * span)
    slopes = np.arange(-reach, reach + step / 2, step)
    whitened = segments.whitened()
    inner = inner_lags(segments)
    # Within a group the steepest slope shifts segments by half a sample at most.
    group = max(1, int(1.0 / (rate * reach)))
    sums = whitened.grouped(group).sweep(slopes, line.clip_s)
    # All lags that stand out of chance count: the direct sound and its reflections.
    power = [np.square(one[inner] / np.float32(whitened.summed_noise)) for one in sums]
    score = np.array([float(np.maximum(one - STANDS_OUT, 0).sum()) for one in power])
    gain = score - (slopes + line.speed - 1) ** 2 / CLOCK_SPREAD**2
    return float(slopes[gain.argmax()])


def inner_lags(segments: SegmentCorrelations) -> slice:
    """The lags of a sum without its edges (see INNER)."""
    out = round(segments.size * (1 - INNER) / 2)
    return slice(out, segments.size - out)
