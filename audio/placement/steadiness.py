"""Whether a take's segments agree on its line, or wander along a line of another slope.

Music that was time-stretched by little agrees with the song bit by bit, each bit at a lag of its own: a
search at the song's own speed finds takes that seem sound as a whole. Segment by segment their lags tell.
Noise and reflections scatter the lags of a true take too, but half of them agree.
"""

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.placement.impulse_response import SegmentCorrelations

REACH_S = 0.1
"""Segments are looked at this far to both sides of the line (s)."""
NEAR_S = 0.001
"""Lags this close to each other are one (s)."""
LEAST_AGREEING = 0.45
"""Where a smaller share of the segments agree on one lag, the take may wander. Chosen by hand: of true takes
in noise and in rooms half agree or more, of most stretched ones a third."""
STEEP = 7e-4
"""The same where the lags drift by more (s/s): more than any clock does."""
LEAST_SEGMENTS = 3
"""Fewer tell nothing."""


def highest_lags(
    segments: SegmentCorrelations, reach_s: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middles of the segments that are not silent (clip s), and the lag (s) at which each agrees best."""
    white = segments.whitened()
    reach = round(reach_s * white.rate)
    lags = scipy.fft.irfft(white.spectra, white.size, axis=1)
    around = np.abs(np.concatenate([lags[:, -reach:], lags[:, : reach + 1]], axis=1))
    loud = white.noise > 0.1 * np.median(white.noise)
    best = around[loud].argmax(axis=1) - reach
    return white.centre_s[loud], np.asarray(best / white.rate, np.float64)


def wanders(segments: SegmentCorrelations) -> bool:
    """Whether the segments of a take, rotated onto its line, agree on none: worth a search by onsets."""
    at_s, lag_s = highest_lags(segments, REACH_S)
    if len(lag_s) < LEAST_SEGMENTS:
        return False
    ordered = np.sort(lag_s)
    together = np.searchsorted(ordered, ordered + 2 * NEAR_S, side="right") - np.arange(len(ordered))
    if together.max() < LEAST_AGREEING * len(lag_s):
        return True
    one, other = np.triu_indices(len(lag_s), 1)
    return abs(float(np.median((lag_s[other] - lag_s[one]) / (at_s[other] - at_s[one])))) > STEEP
