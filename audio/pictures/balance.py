"""How far apart two takes sit in exposure and balance, in stops, on linear light.

A change of exposure, or of the light's colour, multiplies the light of each channel: in logarithms it shifts
all pixels alike. Two ways lead to that shift. Where both takes show about the same picture, the light of
equal ranks is compared (`same_view`). Where they frame differently, shares of picture mean nothing; then the
colours that both show are brought to cover each other, each counting little more where it fills much of the
picture (`other_view`, after the alignment of log-chrominance histograms in Barron, "Convolutional Color
Constancy", ICCV 2015). Pixels that are clipped or blocked in one of the takes count in neither.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.pictures.cdl import LUMA
from audio.pictures.colour_cover import Floats, colours, level_shift, rough_stops, shift_of_balance

BLOCKED, CLIPPED = 10, 248
"""Values of eight bits up to which, and from which on, a pixel's light is not known: noise, rounding and
compression reach so far (chosen by hand)."""
RANKS = np.linspace(0.02, 0.98, 97)
FEWEST_RANKS = 12
FEWEST_PIXELS = 200
ALIKE = 0.12
"""Stops by which equal ranks may scatter about their shift where two takes show about the same picture."""
_STEPS, _STILL = 6, 0.01
"""Steps at most, and stops of change after which the next one is spared."""
_FLOOR = 0.15
"""Stops by which framings err even where all colours agree: light is never even in a room."""
_OPTIMISM = 2.0
"""Colours go astray together; so the scatter among them tells half of the error, as measured on drawn scenes
(`tests.quality.match_board`, seeds 1 to 6 and 1000 to 1005)."""

Shift = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Pixels:
    """The pixels of one take's pictures."""

    values: NDArray[np.uint8]
    """Of the file's pictures, full range; shape (pixels, 3)."""
    light: Floats
    """Their linear light; shape (pixels, 3)."""
    low: Floats
    high: Floats
    """Lowest and highest light that is known, by channel; shape (3,)."""

    @property
    def usable(self) -> NDArray[np.bool_]:
        """Which pixels are neither clipped nor blocked in any channel; shape (pixels,)."""
        return np.asarray(((self.values > BLOCKED) & (self.values < CLIPPED)).all(axis=1))

    @property
    def clipped(self) -> float:
        """Share of pixels that are clipped in some channel."""
        return float((self.values >= CLIPPED).any(axis=1).mean())

    @property
    def blocked(self) -> float:
        """Share of pixels that are blocked in all channels."""
        return float((self.values <= BLOCKED).all(axis=1).mean())


@dataclass(frozen=True, slots=True)
class Apart:
    """How far a take sits from the reference."""

    shift: Shift
    """Stops by which red, green and blue are brighter in the take."""
    uncertainty: float
    """Standard error of these, in stops; the largest of the three."""
    shared: float
    """From 0 to 1: how well the two can be compared (share of ranks, or how well colours cover)."""
    alike: bool
    """Whether the two show about the same picture."""

    @property
    def stops(self) -> float:
        """How much brighter a grey is, in stops."""
        red, green, blue = self.shift
        return float(np.log2(LUMA[0] * 2**red + LUMA[1] * 2**green + LUMA[2] * 2**blue))

    @property
    def warm(self) -> float:
        """By how many stops the ratio of red to blue is higher."""
        return self.shift[0] - self.shift[2]

    @property
    def green(self) -> float:
        """By how many stops the ratio of green to the mean of red and blue is higher."""
        red, green, blue = self.shift
        return green - float(np.log2((2**red + 2**blue) / 2))


NOTHING_SHARED = Apart((0.0, 0.0, 0.0), float("inf"), 0.0, False)


def same_view(take: Pixels, reference: Pixels) -> Apart:
    """The shift between pictures of about the same view: the median over equal ranks, channel by channel.

    Over all pixels of a channel ranks stay what they are however it was exposed; those at which one of the
    two is clipped or blocked are left out.
    """
    shifts, spreads, counts = [], [], []
    for channel in range(3):
        good = np.ones(len(RANKS), bool)
        for one in (take, reference):
            values = np.quantile(one.values[:, channel], RANKS)
            good &= (values > BLOCKED) & (values < CLIPPED)
        if good.sum() < FEWEST_RANKS:
            return NOTHING_SHARED
        ours, theirs = (np.quantile(one.light[:, channel], RANKS[good]) for one in (take, reference))
        stops = np.log2(ours / theirs)
        middle = float(np.median(stops))
        shifts.append(middle)
        spreads.append(1.4826 * float(np.median(np.abs(stops - middle))))
        counts.append(len(stops))
    spread, share = max(spreads), min(counts) / len(RANKS)
    # The error of a median (1.2533 of a mean's); neighbouring ranks go astray together, about ten of them.
    error = 1.2533 * spread / np.sqrt(min(counts) / 10)
    red, green, blue = shifts
    return Apart((red, green, blue), float(error), share, spread < ALIKE)


def other_view(take: Pixels, reference: Pixels) -> Apart:
    """The shift between pictures of one scene that are framed differently.

    What one of the two cannot show, because there it would be clipped or blocked, is left out of the other as
    well. That needs the shift, so it is found step by step, from where light of every colour is spread most
    alike in what both show: steps alone would not find out of a wrong beginning.
    """
    begin = np.array(same_view(take, reference).shift)
    pair = _known(take, reference, begin)
    if pair is None:
        return NOTHING_SHARED
    red, blue, _ = shift_of_balance(*map(colours, pair))

    def both(stops: float) -> tuple[Floats, Floats, float] | None:
        found = _known(take, reference, stops + np.array([red, 0.0, blue]))
        if found is None:
            return None
        kept = min(len(found[0]) / len(take.values), len(found[1]) / len(reference.values))
        return found[0] - np.array([red, 0.0, blue]), found[1], kept

    shift = rough_stops(both, float(begin[1])) + np.array([red, 0.0, blue])
    found = NOTHING_SHARED
    for _ in range(_STEPS):
        pair = _known(take, reference, shift)
        if pair is None:
            break
        red, blue, shared = shift_of_balance(*map(colours, pair))
        green, error = level_shift(pair[0], pair[1], red, blue)
        if not np.isfinite(error):
            break
        new = green + np.array([red, 0.0, blue])
        three = (float(new[0]), float(new[1]), float(new[2]))
        found = Apart(three, float(np.hypot(_OPTIMISM * error, _FLOOR)), shared, False)
        moved = float(np.abs(new - shift).max())
        shift = new
        if moved < _STILL:
            break
    return found


def _known(take: Pixels, reference: Pixels, shift: Floats) -> tuple[Floats, Floats] | None:
    """Light, in stops, of pixels that would be known in both, if the take were so many stops brighter.

    None where they are too few.
    """
    kept = []
    for one, other, gain in ((take, reference, 2.0**-shift), (reference, take, 2.0**shift)):
        there = one.light * gain
        good = one.usable & ((there >= other.low) & (there <= other.high)).all(axis=1)
        if good.sum() < FEWEST_PIXELS:
            return None
        kept.append(np.log2(one.light[good]))
    return kept[0], kept[1]
