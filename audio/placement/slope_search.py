"""A take brought into focus: the slope and lag at which its stretches add up best.

Coarse, sections of ten seconds are focused for every slope up to 450 ppm, and the slope and lag on which
all of them agree best are taken; fine, the whole take is focused around that.
"""

import numpy as np
import scipy.ndimage

from audio.line import Line
from audio.placement.impulse_response import SegmentCorrelations

SLOPE_LIMIT = 450e-6
"""Largest clock error of a camera or recorder looked for (s/s); cheap phones reach 300 ppm."""
CLOCK_SPREAD = 100e-6
"""What clocks of cameras differ by (standard deviation): all that is known of a very short take's speed."""
COARSE_REACH_S = 0.2
"""Reflections can lead a search line astray by this much."""
FINE_REACH_S = 0.35
"""In a long reverberation the coarse lag can follow the first sound by this much, edges left out."""
INNER = 0.7
"""Share of the fine window in which the direct sound is looked for: its edges suffer from the evening."""
STANDS_OUT = 12.0
"""Power of a lag, in units of what chance gives, from which on it counts for the slope."""
SECTION_S = 10.0
ASTRAY_S = 0.03
"""How much further off one end of a search line may lie than the other."""
LEAST_LIMIT = 80e-6
"""Slopes up to this are tried however long the line is (s/s)."""


def focus_sections(segments: SegmentCorrelations, line: Line) -> Line:
    """Find the slope and lag on which the sections of a take agree best."""
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
    # Blocks led astray by reflections at one end only turn a line by so much.
    limit = min(SLOPE_LIMIT, max(LEAST_LIMIT, ASTRAY_S / span))
    # A line that is led astray is, and no clock is likelier than a right one: slopes about both are tried.
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
        section = segments.some(section_of == number)
        if not len(section.centre_s):
            continue
        middle = float(section.centre_s.mean())
        for row, (slope, response) in enumerate(zip(slopes, section.sweep(slopes, middle), strict=True)):
            power = scipy.ndimage.uniform_filter1d(response[near] ** 2, width, mode="nearest")
            energy[row] += np.roll(power, -round(slope * (middle - about) * rate))
    # What clocks are like is known beforehand; without it a short take would take any slope that chance
    # likes.
    energy /= segments.summed_noise**2 / sections
    # Where sound is smeared no single lag tells the slope, but all that stand out of chance do together.
    told = np.maximum(energy - 2 * sections, 0).sum(axis=1) / width
    row = int((told - (slopes + line.speed - 1) ** 2 / CLOCK_SPREAD**2).argmax())
    lag = int(energy[row].argmax())
    rotated = line.speed + slopes[row]
    place = line.song_time(about) + (lag - reach) / rate
    return Line(float(about), float(place), float(rotated))


def focus_whole(segments: SegmentCorrelations, line: Line) -> float:
    """Sharpen the slope until the whole take adds up: by how much (s/s) to turn the line about its anchor."""
    rate = segments.rate
    centre = segments.centre_s
    span = float(centre[-1] - centre[0]) + 1.0
    step = 0.5 / (rate * span)
    reach = min(60e-6, max(15e-6, 1.5 / (rate * min(span, SECTION_S))))
    if span <= 2 * SECTION_S:
        reach = 1.5 / (rate * span)
    slopes = np.arange(-reach, reach + step / 2, step)
    even = segments.whitened()
    inner = inside(segments)
    # Within a group the steepest slope moves the sound by half a sample at most.
    group = max(1, int(1.0 / (rate * reach)))
    sums = even.grouped(group).sweep(slopes, line.clip_s)
    # All lags that stand out of chance: a direct sound alone, or all of its reflections with it.
    power = [np.square(response[inner] / np.float32(even.summed_noise)) for response in sums]
    told = np.array([float(np.maximum(one - STANDS_OUT, 0).sum()) for one in power])
    gain = told - (slopes + line.speed - 1) ** 2 / CLOCK_SPREAD**2
    return float(slopes[gain.argmax()])


def inside(segments: SegmentCorrelations) -> slice:
    """The lags of a sum that are free of its edges."""
    out = round(segments.size * (1 - INNER) / 2)
    return slice(out, segments.size - out)
