"""Where a take's line steps: samples that the camera lost, or a recorder that paused."""

from typing import NamedTuple

import numpy as np
import scipy.fft

from audio.placement.impulse_response import SegmentCorrelations

LEAST_STEP_S = 0.0008
"""A smaller step is left in the line; it shows in the lags."""
MOST_STEP_S = 0.05
CLEARLY = 2.0
"""The step fits this much better than no step."""
STANDARD = 6.0
"""Standard deviations at which the step must stand: repeats of the song and long reverberation make some of
this by themselves, so that a true step may stand at seven. Whether it is one, its two sides tell once they
are fitted (see audio/placement/takes.py)."""
SIDE_S = 6.0
"""Sound needed on either side of a step."""


class Discontinuity(NamedTuple):
    """A step of a line."""

    clip_s: float
    """Right to a second or so."""
    step_s: float
    """How much later in the song the line goes on."""


def find_discontinuity(segments: SegmentCorrelations) -> Discontinuity | None:
    """Find the step of a line, if it has one.

    The response of all stretches before a moment is compared with that of all after it. On one line the
    two are alike at lag 0; where sound was lost between them, they are alike at the length of the loss.

    Parameters
    ----------
    stretches : Stretches
        Turned onto the line as it is known so far.
    """
    centre, size, rate = segments.centre_s, segments.size, segments.rate
    sums = np.cumsum(segments.spectra.astype(np.complex128), axis=0)
    whole = sums[-1]
    lag = np.abs(np.fft.fftfreq(size, 1 / size)) / rate
    off = np.flatnonzero((lag > LEAST_STEP_S) & (lag < MOST_STEP_S))
    best: tuple[float, int | None] = (STANDARD, None)
    borders = [
        number
        for number, at in enumerate((centre[:-1] + centre[1:]) / 2)
        if at - centre[0] >= SIDE_S and centre[-1] - at >= SIDE_S
    ]
    for number in borders:
        alike = scipy.fft.irfft(np.conj(sums[number]) * (whole - sums[number]), size)
        top = int(off[alike[off].argmax()])
        still = float(alike[lag < LEAST_STEP_S / 2].max(initial=0))
        spread = float(np.sqrt((alike[lag > MOST_STEP_S] ** 2).mean())) + 1e-20
        if alike[top] > CLEARLY * max(still, 0.0) and alike[top] / spread > best[0]:
            best = float(alike[top]) / spread, top
    if best[1] is None:
        return None
    # Once the length of the loss is known, the moment is where all adds up best with the rest moved by it.
    turn = np.exp(2j * np.pi * best[1] / size * np.arange(len(whole)))
    heights = [float((np.abs(sums[number] + turn * (whole - sums[number])) ** 2).sum()) for number in borders]
    number = borders[int(np.argmax(heights))]
    step = float(np.fft.fftfreq(size, 1 / size)[best[1]]) / rate
    return Discontinuity(float((centre[number] + centre[number + 1]) / 2), step)
