"""Whether two clips are of one moment: where the live sound of one occurs in the other, and nowhere else.

Geometry sets how exactly. The playback comes from the loudspeaker, the band from elsewhere in the room, so
the time between the two is not the same at two cameras. It differs by at most twice the distance from
loudspeaker to band, and by at most twice the distance from camera to camera, over the speed of sound: with
ten metres, 58 ms.
"""

from dataclasses import dataclass

import numpy as np
import scipy.ndimage
import scipy.signal
from numpy.typing import NDArray

from audio.shoot.residual import Residual

GEOMETRY_S = 0.06
"""What live sound may lie off the playback between two clips: 2 × 10 m at 343 m/s, the speed of sound in air
of about 20 °C (handbook value)."""
SMEAR_S = 0.003
"""Two rooms' worth of reflections and a doubtful clock spread an agreement over about this much."""
NEAR_S = 0.15
"""Agreement this close to another is one with it: flams and echoes."""
HEIGHT = 12.0
"""Standard deviations above chance that live sound must agree by: unlike clips stay under 9 in the tests."""
CHANCE = 7.0
"""The greatest height that chance reaches somewhere in a clip of minutes."""
SHARE = 1 / 3
"""Of an agreement's height: what no other place may reach beyond chance. Machines agree half as well a bar
later, and so do the remains of a playback; people agree once."""
SEARCHED_S = 8.0
"""An agreement is known to be the only one if the live sound was compared over so many seconds of places:
some bars."""
INSIDE = 0.8
"""Share of a stretch that must lie inside the other clip to be compared."""
SHARE_SIMULTANEOUS = 0.6
"""The same where the clocks of both cameras see the two clips at one time: a drummer's strokes resemble each
other from beat to beat, in a hall by half."""
SPREAD_S = 0.5
SPREAD = 0.7
"""Share of half seconds that must bear an agreement: no single noise decides, for a sampler may give it
again."""
QUIET = 0.3
"""Of the usual energy: where the other clip has less, it is taken to have this much, not to magnify
chance."""


@dataclass(frozen=True, slots=True, eq=False)
class ResidualMatch:
    """How well the live sound of a stretch agrees with another clip, place by place."""

    rate: int
    first: int
    """Shift (samples of the song's clock) of ``heights[0]``; 0 is where both placements say."""
    heights: NDArray[np.float32]
    """Shape (n,): standard deviations above chance, over SMEAR_S."""
    one: Residual
    other: Residual

    def at(self, shift_s: float, reach_s: float) -> tuple[float, float] | None:
        """The best place within ``reach_s`` of a shift: that shift (s) and its height; None outside the
        clip."""
        centre, reach = round(shift_s * self.rate) - self.first, round(reach_s * self.rate)
        low, high = max(0, centre - reach), min(len(self.heights), centre + reach + 1)
        if high <= low or centre < 0 or centre >= len(self.heights):
            return None
        best = low + int(self.heights[low:high].argmax())
        return (best + self.first) / self.rate, float(self.heights[best])

    def elsewhere(self, shift_s: float) -> float:
        """The greatest height further than NEAR_S from a shift."""
        lags = np.abs(np.arange(len(self.heights)) + self.first - shift_s * self.rate)
        return float(self.heights[lags > NEAR_S * self.rate].max(initial=0.0))

    @property
    def best(self) -> tuple[float, float]:
        """Shift (s) and height of the best place of all."""
        best = int(self.heights.argmax())
        return (best + self.first) / self.rate, float(self.heights[best])

    def only_at(self, shift_s: float, height: float, others: float = 0.0, share: float = SHARE) -> bool:
        """Whether an agreement of a height is clear, the only one there is, and borne by the whole stretch.

        ``others``: the greatest height that this stretch reaches in places looked at otherwise; ``share``: of
        the height, what any of them may reach.
        """
        others = max(others, self.elsewhere(shift_s))
        return (
            len(self.heights) >= SEARCHED_S * self.rate
            and height >= HEIGHT
            and others**2 <= CHANCE**2 + (share * height) ** 2
            and self._borne_by_all(shift_s)
        )

    def _borne_by_all(self, shift_s: float) -> bool:
        """Whether many half seconds of the stretch agree there, not one noise."""
        step = round(SPREAD_S * self.rate)
        smear = round(SMEAR_S * self.rate)
        shift = round(shift_s * self.rate)
        # The finest lag of the smeared height: the one at which the products add up most.
        lags = range(shift - smear, shift + smear + 1)
        products = max((self._products(lag) for lag in lags), key=lambda one: abs(float(one.sum())))
        parts = products[: len(products) // step * step].reshape(-1, step).sum(axis=1).astype(np.float64)
        power = float((parts**2).sum())
        if power <= 0:
            return False
        bearing = float(parts.sum()) ** 2 / power
        return bearing >= SPREAD * len(parts)

    def _products(self, shift: int) -> NDArray[np.float32]:
        begin = self.one.first + shift - self.other.first
        low, high = max(0, -begin), min(len(self.one.samples), len(self.other.samples) - begin)
        return np.asarray(self.one.samples[low:high] * self.other.samples[begin + low : begin + high])


def match_residuals(one: Residual, other: Residual, rate: int) -> ResidualMatch | None:
    """Compare the live sound of a stretch with that of another clip, wherever it lies inside it.

    Parameters
    ----------
    one, other : Live
        ``one`` no longer than ``other``, give or take what may lie outside (see INSIDE).

    Returns
    -------
    Agreement or None
        None where the stretch fits nowhere into the other clip, or one of them holds nothing live.
    """
    size = len(one.samples)
    outside = int((1 - INSIDE) * size)
    places = len(other.samples) + 2 * outside - size + 1
    if places < 1:
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
    # The median of the sizes of normal noise is 0.6745 standard deviations: sturdy against what agrees.
    values = values / (float(np.median(np.abs(values))) / 0.6745 + 1e-12)
    smear = round(SMEAR_S * rate)
    energy = scipy.ndimage.uniform_filter1d(values**2, smear, mode="constant") * smear
    heights = np.sqrt(np.maximum(energy - smear, 0.0)).astype(np.float32)
    return ResidualMatch(rate, other.first - outside - one.first, heights, one, other)
