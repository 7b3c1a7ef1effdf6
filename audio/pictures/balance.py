"""How far apart two takes sit in exposure and balance, in stops, on linear light.

A change of exposure, or of the light's colour, multiplies the light of each channel: in logarithms it shifts
all pixels alike. Two ways lead to that shift. Where both takes show about the same picture, the light of equal
ranks is compared (`same_view`). Where they frame differently, shares of picture mean nothing; then the colours
that both show are brought to cover each other, each counting about once however much of the picture it fills
(`other_view`, after the alignment of log-chrominance histograms in Barron, "Convolutional Color Constancy",
ICCV 2015). Pixels that are clipped or blocked in one of the takes count in neither.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, signal

from audio.pictures.cdl import LUMA

Shift = tuple[float, float, float]
Light = NDArray[np.float64]
"""Linear light of pixels, shape (pixels, 3)."""

BLOCKED, CLIPPED = 10, 248
"""Values of eight bits up to which, and from which on, a pixel's light is not known: noise, rounding and
compression reach so far (chosen by hand)."""
RANKS = np.linspace(0.02, 0.98, 97)
_FEWEST_RANKS = 12
_BIN = 0.125
"""Stops to a bin of the histograms; about the noise of a camera's chrominance."""
_REACH = 3.0
"""Stops by which balances may differ at most: from candle to shade is less."""
_WIDE = 5.0
_USUAL = 1.0
"""Standard deviation, in stops, of how far balances of one shoot differ; a weak wish."""
_FEWEST_PIXELS = 200
_LEAST_SHARE = 0.004
_STEPS, _STILL = 8, 0.01
_COLOUR = 0.5
"""Stops within which two pixels count as of one colour."""


@dataclass(frozen=True, slots=True)
class Seen:
    """The pixels of one take's pictures."""

    values: NDArray[np.uint8]
    """Shape (pixels, 3), of the full range."""
    table: NDArray[np.float64]
    """Light for each value, shape (256,)."""

    @property
    def light(self) -> Light:
        """Their light, shape (pixels, 3)."""
        return np.asarray(self.table[self.values])

    def sample(self, count: int) -> "Seen":
        """At most so many of the pixels, from all over."""
        return Seen(self.values[:: max(1, len(self.values) // count)], self.table)

    @property
    def usable(self) -> NDArray[np.bool_]:
        """Which pixels are neither clipped nor blocked in any channel; shape (pixels,)."""
        inside = (self.values > BLOCKED) & (self.values < CLIPPED)
        return np.asarray(inside.all(axis=1))

    def light_of(self, value: int) -> float:
        """The light of a value of eight bits."""
        return float(self.table[value])

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
    """Share of the pixels, 0 to 1, that could be compared."""
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


def apart(take: Seen, reference: Seen) -> Apart:
    """How far a take sits from the reference."""
    alike = same_view(take, reference)
    return alike if alike.alike else other_view(take, reference)


def same_view(take: Seen, reference: Seen) -> Apart:
    """The shift between pictures of about the same view: the median over equal ranks, channel by channel."""
    shifts, spreads, counts = [], [], []
    for channel in range(3):
        ranked = ranks(take, reference, channel)
        if ranked is None:
            return Apart((0.0, 0.0, 0.0), np.inf, 0.0, False)
        stops = np.log2(ranked[0] / ranked[1])
        middle = float(np.median(stops))
        shifts.append(middle)
        spreads.append(1.4826 * float(np.median(np.abs(stops - middle))))
        counts.append(len(stops) / len(RANKS))
    spread = max(spreads)
    red, green, blue = shifts
    # Neighbouring ranks go astray together: about a tenth of them count as independent.
    error = 1.2533 * spread / np.sqrt(min(counts) * len(RANKS) / 10)
    return Apart((red, green, blue), float(error), min(counts), spread < ALIKE and min(counts) > 0.15)


ALIKE = 0.12
"""Stops by which equal ranks may scatter about their shift where two takes show about the same picture."""


def ranks(take: Seen, reference: Seen, channel: int) -> tuple[Light, Light] | None:
    """The light of both at those ranks of a channel that are usable in both; None where they are too few."""
    values = [np.quantile(one.values[:, channel], RANKS) for one in (take, reference)]
    good = np.ones(len(RANKS), bool)
    for one in values:
        good &= (one > BLOCKED) & (one < CLIPPED)
    if good.sum() < _FEWEST_RANKS:
        return None
    light = [np.quantile(one.light[:, channel], RANKS[good]) for one in (take, reference)]
    return light[0], light[1]


def other_view(take: Seen, reference: Seen) -> Apart:
    """The shift between pictures of one scene that are framed differently.

    What one of the two cannot show, because there it would be clipped or blocked, is left out of the other as
    well. That needs the shift, so it is found step by step.
    """
    found = Apart(_rough(take, reference), np.inf, 0.0, False)
    for _ in range(_STEPS):
        again = _other_view(take, reference, np.array(found.shift))
        if again is None:
            return found
        moved = np.abs(np.subtract(again.shift, found.shift)).max()
        found = again
        if moved < _STILL:
            break
    return found


def _rough(take: Seen, reference: Seen) -> Shift:
    """The shift to begin with: that at which light of every colour is spread alike in what both show.

    Step by step alone would not find out of a wrong beginning: the less both show, the more alike it is.
    """
    begin = same_view(take, reference).shift
    both = [one.sample(_ROUGH_PIXELS) for one in (take, reference)]
    pair = both_show(both[0], both[1], np.array(begin))
    if min(map(len, pair)) < _FEWEST_PIXELS:
        pair = both[0].light[both[0].usable], both[1].light[both[1].usable]
    if min(map(len, pair)) < _FEWEST_PIXELS:
        return begin
    red, blue, _ = _balance(*(_colours(np.log2(light)) for light in pair))
    best, shift = -1.0, begin
    for stops in np.arange(-_MOST_STOPS, _MOST_STOPS + 0.1, 0.25):
        there = stops + np.array([red, 0.0, blue])
        pair = both_show(both[0], both[1], there)
        if min(map(len, pair)) < _FEWEST_PIXELS:
            continue
        first, second = _spread(np.log2(pair[0]) - there), _spread(np.log2(pair[1]))
        cover = float(np.sqrt(first * second).sum())
        kept = min(len(light) / len(one.values) for light, one in zip(pair, both, strict=True))
        score = cover * kept**KEPT * float(np.exp(-(stops**2) / (2 * _USUAL_STOPS**2)))
        if score > best:
            best, shift = score, (float(there[0]), float(there[1]), float(there[2]))
    return shift


def _spread(logs: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of the pixels of each colour at each level of light; flat."""
    places = np.concatenate([_colours(logs) / _COLOUR + 10, logs[:, 1:2] / _COLOUR + 32], axis=1)
    whole = np.clip(np.rint(places), 0, (19, 19, 39)).astype(np.intp)
    flat = (whole[:, 0] * 20 + whole[:, 1]) * 40 + whole[:, 2]
    return np.bincount(flat, minlength=20 * 20 * 40) / len(logs)

_ROUGH_PIXELS=4000

KEPT=float(__import__('os').environ.get('KEPT','0.5'))
_USUAL_STOPS=2.0
_MOST_STOPS=5.0


def _other_view(take: Seen, reference: Seen, shift: NDArray[np.float64]) -> Apart | None:
    pair = both_show(take, reference, shift)
    if min(map(len, pair)) < _FEWEST_PIXELS:
        return None
    both = [np.log2(light) for light in pair]
    colours = [_colours(one) for one in both]
    red, blue, shared = _balance(*colours)
    levels, weights = _levels(both, colours, red, blue)
    if not len(levels):
        return None
    stops, spread = _weighted(levels, weights)
    error = 1.2533 * spread / np.sqrt(max(1.0, len(levels) / 4))
    return Apart((stops + red, stops, stops + blue), float(np.hypot(error, 0.1)), shared, False)


def both_show(take: Seen, reference: Seen, shift: NDArray[np.float64]) -> tuple[Light, Light]:
    """The light of the pixels that would be usable in both, if the take were so many stops brighter."""
    low = [one.light_of(BLOCKED + 1) for one in (take, reference)]
    high = [one.light_of(CLIPPED - 1) for one in (take, reference)]
    gain = 2.0**shift
    kept = []
    for one, own, other, factor in ((take, 0, 1, 1 / gain), (reference, 1, 0, gain)):
        there = one.light * factor
        good = one.usable & ((there >= low[other]) & (there <= high[other])).all(axis=1)
        kept.append(one.light[good])
    return kept[0], kept[1]


def _balance(
    colours: NDArray[np.float64], others: NDArray[np.float64]
) -> tuple[float, float, float]:
    """Stops by which red and blue are stronger against green in the first, and how well both then cover."""
    first, second = map(_histogram, (colours, others))
    size = len(first)
    shifts = (np.arange(2 * size - 1) - (size - 1)) * _BIN
    score = signal.fftconvolve(first, second[::-1, ::-1], mode="full")
    score /= np.sqrt((first**2).sum() * (second**2).sum())
    inside = np.abs(shifts) <= _REACH
    wish = np.exp(-(shifts**2) / (2 * (2 * _USUAL) ** 2)) * inside
    score *= wish[:, None] * wish[None, :]
    row, column = np.unravel_index(int(np.argmax(score)), score.shape)
    rows, columns = slice(row - 2, row + 3), slice(column - 2, column + 3)
    weights = score[rows, columns] ** 8
    red = float((weights.sum(axis=1) * shifts[rows]).sum() / weights.sum())
    blue = float((weights.sum(axis=0) * shifts[columns]).sum() / weights.sum())
    return red, blue, float(score[row, column])


def _colours(logs: NDArray[np.float64]) -> NDArray[np.float64]:
    """Red and blue against green, in stops, of light in stops; shape (pixels, 2)."""
    return np.stack([logs[:, 0] - logs[:, 1], logs[:, 2] - logs[:, 1]], axis=1)


def _levels(
    both: list[NDArray[np.float64]], colours: list[NDArray[np.float64]], red: float, blue: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How many stops brighter each colour is that both show, at some ranks of its light; and their weights."""
    keys = [np.rint(one / _COLOUR).astype(int) for one in (colours[0] - np.array([red, blue]), colours[1])]
    codes = [one[:, 0] * 1000 + one[:, 1] for one in keys]
    levels, weights = [], []
    for code in np.intersect1d(*codes):
        own = [one[of == code, 1] for one, of in zip(both, codes, strict=True)]
        share = min(len(one) / len(of) for one, of in zip(own, codes, strict=True))
        if share > _LEAST_SHARE:
            for rank in (0.25, 0.5, 0.75, 0.9):
                levels.append(float(np.quantile(own[0], rank) - np.quantile(own[1], rank)))
                weights.append(np.sqrt(share))
    return np.array(levels), np.array(weights)


def _histogram(colours: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much each colour is there, with large areas held back; (bins, bins)."""
    edges = np.arange(-_WIDE, _WIDE + _BIN, _BIN)
    counts, _, _ = np.histogram2d(colours[:, 0], colours[:, 1], bins=(edges, edges))
    smooth = ndimage.gaussian_filter(counts / max(1, len(colours)), 1.0)
    return np.asarray(np.sqrt(smooth))


def _weighted(values: NDArray[np.float64], weights: NDArray[np.float64]) -> tuple[float, float]:
    """Weighted median, and the scatter about it as a standard deviation."""

    def median(of: NDArray[np.float64]) -> float:
        order = np.argsort(of)
        total = np.cumsum(weights[order])
        return float(of[order][np.searchsorted(total, total[-1] / 2)])

    middle = median(values)
    return middle, 1.4826 * median(np.abs(values - middle))
