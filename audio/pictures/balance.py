"""How far apart two takes sit in exposure and balance, in stops, on linear light.

A change of exposure, or of the light's colour, multiplies the light of each channel: in logarithms it shifts
all pixels alike. Three ways lead to that shift. Where both takes show about the same picture, the light of
equal ranks is compared (`same_view`). Where they frame differently, shares of picture mean nothing; then the
places of the scene that both show are compared, one by one (`same_places`, on what `shared_places` finds).
Where none are found, the colours that both show are brought to cover each other, each counting little more
where it fills much of the picture (`other_view`, after the alignment of log-chrominance histograms in Barron,
"Convolutional Color Constancy", ICCV 2015): a rough value. Pixels that are clipped or blocked in one of the
takes count in none of them.
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
_FLOOR = 0.3
"""Stops by which framings err even where all colours agree: light is never even in a room."""
_OPTIMISM = 4.0
"""Colours go astray together; so the scatter among them tells a quarter of the error, as measured on
drawn scenes (`tests.quality.match_board`, seeds 1 to 6 and 1000 to 1005)."""

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


FEWEST_PLACES = 10
_LIKE_PLACES = 4.0
"""Neighbouring places go astray together, about so many."""
_CORNER, _CORNER_APART = 0.3, 0.25
"""Stops of light that a lens loses in the corners of the picture, and how these deviate among lenses."""
_CODES, _POWER = 0.5, 3.2
"""Values of eight bits by which a dark one may be off, and stops for such a share of it (2.2 / ln 2)."""
_EVEN = 0.03
"""Stops by which places err in any case, by drawn scenes: mapping, rounding, compression."""

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


def same_places(take: Pixels, reference: Pixels, place: NDArray[np.int64], corner: Floats) -> Apart:
    """The shift between pixels that show the same, one by one.

    ``place`` numbers the place of the scene that each pixel is of, shape (pixels,); ``corner`` is the square
    of its distance from the middle in both pictures, in half diagonals, shape (pixels, 2). Lenses lose light
    towards the corners, about by that square (the first term of the cosine law); how much these two lose is
    found along with the shift, as far as places tell it, and else assumed.
    """
    good = take.usable & reference.usable
    size = int(place.max(initial=-1)) + 1
    count = np.bincount(place[good], minlength=size)
    told = count >= 0.5 * max(1, int(count.max(initial=0)))
    if told.sum() < FEWEST_PLACES:
        return NOTHING_SHARED

    def means(values: Floats) -> Floats:
        columns = values[good].T
        sums = [np.bincount(place[good], column, size)[told] for column in columns]
        return np.stack(sums, axis=1) / count[told, None]

    stops = np.log2(means(take.light) / means(reference.light))
    bright = stops.mean(axis=1)
    colour = stops - bright[:, None]
    balance = np.median(colour, axis=0)
    spread = 1.4826 * np.median(np.abs(colour - balance), axis=0).max()
    of_balance = 1.2533 * float(spread) * (_LIKE_PLACES / told.sum()) ** 0.5
    level, of_level = _level(bright, means(corner))
    red, green, blue = (float(one) for one in level + balance)
    # A dark value is a coarse one: what rounds it, and compresses it, is alike in all places.
    coarse = [_POWER * _CODES / float(np.median(one.values[good].min(axis=1))) for one in (take, reference)]
    error = float(np.sqrt(of_level**2 + of_balance**2 + coarse[0] ** 2 + coarse[1] ** 2 + _EVEN**2))
    return Apart((red, green, blue), error, float(told.sum() / size), False)


def _level(stops: Floats, corner: Floats) -> tuple[float, float]:
    """The shift of exposure in the middle of both pictures, and its standard error, from those of places."""
    terms = np.stack([np.ones(len(stops)), -corner[:, 0], corner[:, 1]], axis=1)
    usual = np.array([0.0, _CORNER, _CORNER])
    keep = np.diag([0.0, _CORNER_APART**-2, _CORNER_APART**-2])
    found = np.array([float(np.median(stops)), _CORNER, _CORNER])
    weight, left = np.ones(len(stops)), keep
    for _ in range(12):
        off = stops - terms @ found
        spread = max(0.02, 1.4826 * float(np.median(np.abs(off))))
        weight = 1 / (1 + (off / (2 * spread)) ** 4) / (_LIKE_PLACES * spread**2)
        left = terms.T @ (terms * weight[:, None]) + keep
        found = np.linalg.solve(left, terms.T @ (stops * weight) + keep @ usual)
    return float(found[0]), float(np.sqrt(np.linalg.inv(left)[0, 0]))


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
