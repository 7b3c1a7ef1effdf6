"""Discontinuities of a take's line: samples that the camera lost, or a recorder that paused."""

from typing import NamedTuple

import numpy as np
import scipy.fft

from audio.placement.impulse_response import SegmentCorrelations

LEAST_STEP_S = 0.0008
"""A smaller step is left in the line; it shows in the lags. Chosen by hand."""
MOST_STEP_S = 0.05
"""More than a camera loses in one go (as LOST_S in audio/placement/takes.py)."""
CLEARLY = 2.0
"""The correlation at the step is higher than at no step by this factor. Chosen by hand."""
LEAST_SD = 6.0
"""Standard deviations above chance that the correlation at the step must reach. Repeats of the song and long
reverberation raise chance, so that a true step may reach seven only. Its two sides confirm it once they are
fitted (see audio/placement/spans.py)."""
SIDE_S = 6.0
"""Sound needed on either side of a step (s)."""


class Discontinuity(NamedTuple):
    """A step of a line."""

    clip_s: float
    """Clip time (s), to about a second."""
    step_s: float
    """How much later in the song the line continues (s)."""


def find_discontinuity(segments: SegmentCorrelations) -> Discontinuity | None:
    """Find the step of a line, if it has one.

    At every border between segments, the impulse response estimated from all segments before it is
    cross-correlated with that from all segments after it. If the line is straight, the peak is at lag 0; if
    samples were lost at the border, it is at the duration of the loss.

    Parameters
    ----------
    segments : SegmentCorrelations
        Rotated onto the line as it is known so far.
    """
    centre, size, rate = segments.centre_s, segments.size, segments.rate
    sums = np.cumsum(segments.spectra.astype(np.complex128), axis=0)
    whole = sums[-1]
    lag = np.abs(np.fft.fftfreq(size, 1 / size)) / rate
    off = np.flatnonzero((lag > LEAST_STEP_S) & (lag < MOST_STEP_S))
    best: tuple[float, int | None] = (LEAST_SD, None)
    borders = [
        number
        for number, at in enumerate((centre[:-1] + centre[1:]) / 2)
        if at - centre[0] >= SIDE_S and centre[-1] - at >= SIDE_S
    ]
    for number in borders:
        correlation = scipy.fft.irfft(np.conj(sums[number]) * (whole - sums[number]), size)
        top = int(off[correlation[off].argmax()])
        still = float(correlation[lag < LEAST_STEP_S / 2].max(initial=0))
        spread = float(np.sqrt((correlation[lag > MOST_STEP_S] ** 2).mean())) + 1e-20
        if correlation[top] > CLEARLY * max(still, 0.0) and correlation[top] / spread > best[0]:
            best = float(correlation[top]) / spread, top
    if best[1] is None:
        return None
    # With the duration of the loss known, its moment is the border at which both sides add up best.
    rotation = np.exp(2j * np.pi * best[1] / size * np.arange(len(whole)))
    heights = [
        float((np.abs(sums[number] + rotation * (whole - sums[number])) ** 2).sum()) for number in borders
    ]
    number = borders[int(np.argmax(heights))]
    step = float(np.fft.fftfreq(size, 1 / size)[best[1]]) / rate
    return Discontinuity(float((centre[number] + centre[number + 1]) / 2), step)
