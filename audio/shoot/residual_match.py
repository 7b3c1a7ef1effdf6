"""Whether two clips are of one moment: cross-correlation of their live residuals, with one peak and no other.

Geometry limits how exactly the peak lies. The playback comes from the loudspeaker, the band from elsewhere in
the room, so the time between the two is not the same at two cameras. It differs by at most twice the distance
from loudspeaker to band, and by at most twice the distance from camera to camera, over the speed of sound:
with ten metres, 58 ms.
"""

from dataclasses import dataclass

import numpy as np
import scipy.ndimage
import scipy.signal
from numpy.typing import NDArray

from audio.shoot.residual import Residual

GEOMETRY_S = 0.06
"""How far live sound may lie off the playback between two clips: 2 × 10 m at 343 m/s, the speed of sound in
air of about 20 °C (handbook value)."""
SMEAR_S = 0.003
"""The reflections of two rooms and an uncertain clock spread a correlation peak over about this much. Chosen
by hand."""
NEAR_S = 0.15
"""Peaks this close to each other are one: flams and echoes. Chosen by hand."""
HEIGHT = 12.0
"""Least height of a peak, in standard deviations above chance: unlike clips stay under 9 in the tests."""
CHANCE = 7.0
"""The greatest height that chance reaches somewhere in a clip of minutes."""
SHARE = 1 / 3
"""Share of the peak's height that no other peak may reach beyond chance. Machines correlate half as well a
bar later, and so does what remains of a playback; people correlate once."""
SEARCHED_S = 8.0
"""A peak is known to be the only one if the residual was compared over this many seconds of lags: some bars.
Chosen by hand."""
INSIDE = 0.8
"""Share of the shorter residual that must lie inside the other one. Chosen by hand."""
SHARE_SIMULTANEOUS = 0.6
"""SHARE where the clocks of both cameras put the two clips at one time: a drummer's strokes resemble each
other from beat to beat, in a hall by half."""
SPREAD_S = 0.5
"""Length of the parts into which a residual is divided to see whether the whole of it correlates …"""
SPREAD = 0.7
"""… and the share of parts that must: a single noise must not decide, for a sampler may play it again. Chosen
by hand."""
QUIET = 0.3
"""Share of the median energy that the other residual is taken to have where it has less, so that normalising
does not magnify chance. Chosen by hand."""


@dataclass(frozen=True, slots=True, eq=False)
class ResidualMatch:
    """Normalised cross-correlation of a shorter residual with a longer one, lag by lag."""

    rate: int
    first: int
    """Lag (samples of the song's clock) of ``heights[0]``; at lag 0 both lie where their placements say."""
    heights: NDArray[np.float32]
    """Shape (n,): standard deviations above chance, over SMEAR_S."""
    one: Residual
    """The shorter."""
    other: Residual

    def at(self, lag_s: float, reach_s: float) -> tuple[float, float] | None:
        """The highest peak within ``reach_s`` of a lag: its lag (s) and height; None outside the clip."""
        centre, reach = round(lag_s * self.rate) - self.first, round(reach_s * self.rate)
        low, high = max(0, centre - reach), min(len(self.heights), centre + reach + 1)
        if high <= low or centre < 0 or centre >= len(self.heights):
            return None
        best = low + int(self.heights[low:high].argmax())
        return (best + self.first) / self.rate, float(self.heights[best])

    def elsewhere(self, lag_s: float) -> float:
        """The greatest height further than NEAR_S from a lag."""
        lags = np.abs(np.arange(len(self.heights)) + self.first - lag_s * self.rate)
        return float(self.heights[lags > NEAR_S * self.rate].max(initial=0.0))

    @property
    def best(self) -> tuple[float, float]:
        """Lag (s) and height of the highest peak of all."""
        best = int(self.heights.argmax())
        return (best + self.first) / self.rate, float(self.heights[best])

    def only_at(self, lag_s: float, height: float, others: float = 0.0, share: float = SHARE) -> bool:
        """Whether a peak is clear, the only one there is, and borne by the whole of the shorter residual.

        ``others``: the greatest height found elsewhere by other comparisons; ``share``: the share of the
        peak's height that any other peak may reach.
        """
        others = max(others, self.elsewhere(lag_s))
        return (
            len(self.heights) >= SEARCHED_S * self.rate
            and height >= HEIGHT
            and others**2 <= CHANCE**2 + (share * height) ** 2
            and self._borne_by_all(lag_s)
        )

    def _borne_by_all(self, lag_s: float) -> bool:
        """Whether many parts of the shorter residual correlate there, not one noise."""
        step = round(SPREAD_S * self.rate)
        smear = round(SMEAR_S * self.rate)
        centre = round(lag_s * self.rate)
        # Of the lags that the height was smoothed over, the one with the largest correlation.
        lags = range(centre - smear, centre + smear + 1)
        products = max((self._products(lag) for lag in lags), key=lambda one: abs(float(one.sum())))
        parts = products[: len(products) // step * step].reshape(-1, step).sum(axis=1).astype(np.float64)
        power = float((parts**2).sum())
        if power <= 0:
            return False
        bearing = float(parts.sum()) ** 2 / power
        return bearing >= SPREAD * len(parts)

    def _products(self, lag: int) -> NDArray[np.float32]:
        begin = self.one.first + lag - self.other.first
        low, high = max(0, -begin), min(len(self.one.samples), len(self.other.samples) - begin)
        return np.asarray(self.one.samples[low:high] * self.other.samples[begin + low : begin + high])


def match_residuals(one: Residual, other: Residual, rate: int) -> ResidualMatch | None:
    """Cross-correlate a residual with a longer one, at every lag at which it lies inside that.

    Parameters
    ----------
    one, other : Live
        ``one`` no longer than ``other``, but for what may lie outside (see INSIDE).

    Returns
    -------
    Agreement or None
        None where ``one`` fits nowhere into ``other``, or one of them is silent.
    """
    size = len(one.samples)
    outside = int((1 - INSIDE) * size)
    lags = len(other.samples) + 2 * outside - size + 1
    if lags < 1:
        return None
    longer = np.pad(other.samples, outside)
    products = scipy.signal.correlate(longer, one.samples, "valid", method="fft")
    power = np.concatenate([[0.0], np.cumsum(longer.astype(np.float64) ** 2)])
    around = power[size:] - power[:-size]
    around = np.maximum(around, QUIET * np.median(around))
    own = float((one.samples.astype(np.float64) ** 2).sum())
    if own <= 0 or not np.median(around) > 0:
        return None
    values = products / np.sqrt(around * own)
    # Robust standard deviation: the median of the magnitudes of normal noise is 0.6745 of it.
    values = values / (float(np.median(np.abs(values))) / 0.6745 + 1e-12)
    smear = round(SMEAR_S * rate)
    energy = scipy.ndimage.uniform_filter1d(values**2, smear, mode="constant") * smear
    heights = np.sqrt(np.maximum(energy - smear, 0.0)).astype(np.float32)
    return ResidualMatch(rate, other.first - outside - one.first, heights, one, other)
