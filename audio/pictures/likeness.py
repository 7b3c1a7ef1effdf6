"""Which clips are one set-up: the same camera with the same framing and light, by its looks.

The odds that two clips are one set-up are a logistic model of how they compare (`comparing`), fitted on drawn
shoots by ``python -m tests.quality.look_fit``; ``look_board`` measures them on others. Clips are grouped by
mean log-odds, nearest first. A wrong join is worse than a missed one: a camera that walks about shows nothing
twice, so what it shot never joins by looks alone, and a group takes nobody in whom one of its clips denies.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.pictures.comparing import Compared, compared
from audio.pictures.portraits import Portrait, Seen, portrait_of
from audio.progress import never

WALKS = 0.45
"""Below that much steadiness a camera walks about; by hand, between those held and those not."""
JOIN = 0.35
"""Mean odds, as a probability, from which clips are one group; by hand, on shoots drawn to tune on. Below a
half: of pairs given so much more than half are one set-up, and how sure the group is gets told."""
DENIED = 0.03
"""A pair less likely than this is never in one group; by hand."""
_SURE = 0.998
"""No pair counts as surer than this, or as surer that it is not: the model was not tried further; by hand."""
_OUT = 0.01
"""Groups that a clip is less likely in do not count against the sureness of its own; by hand: there may be
dozens of them."""
_WALKS_MOST = 0.3
"""The same of a camera that walks about; by hand: below `JOIN`."""
_OTHER_SHAPE = 0.005
"""Probability that pictures of different shape are one set-up: a camera keeps its format; by hand."""
_LOG = 0.03
"""Added to differences of light before their logarithm, stops; by hand: below it is noise."""
_LOCKED = 0.02
"""Picture heights, one and a half small pixels, by which pictures of a camera that was not touched lie apart
at most; by hand. Twice as far is as telling as any more."""
_STANDS = 0.4
"""A pair that is less likely to be in a hand stands still; by hand: five pictures without unrest."""
_OTHER_SIZE = 0.03
"""How much better another size must fit to be believed; by hand."""
_TOUCHED_MOST = 0.3
"""The most given to a camera that stands still and was touched between: in doubt, below `JOIN`; by hand."""
_CLOSE_ZOOM = 0.05
"""How much worse the next size fits, at least, where the size is the same; by hand, in a hand less."""

WEIGHTS = {
    "one": -11.08,
    "share": 0.37,
    "uneven": -0.872,
    "hue": -0.637,
    "balance": -1.185,
    "gap": -5.856,
    "zoomed": -20.197,
    "edges": 3.354,
    "hand": 1.726,
    "hand fit": 2.121,
    "still off": -8.972,
}
"""Of `held_terms`; fitted."""
WALKING = {
    "one": -1.664,
    "pictures": -1.025,
    "both": -1.468,
    "both hue": 0.799,
    "both uneven": -0.999,
    "both balance": -0.871,
}
"""Of `walking_terms`; fitted."""


@dataclass(frozen=True, slots=True)
class Grouped:
    """Where a clip belongs."""

    group: int
    """Clips of one set-up share it; groups are numbered from 0 in the order of their first clips."""
    sure: float
    """How likely it is that the clip belongs to its group and to no other, from 0 to 1."""


def view_groups(seen: Sequence[Seen], *, stop: Callable[[], bool] = never) -> tuple[Grouped, ...]:
    """The set-ups of a shoot's clips, in their order, from one small picture of each or more.

    Raises Stopped. Takes about a millisecond a pair.
    """
    portraits: list[Portrait] = []
    for clip in seen:
        _go_on(stop)
        portraits.append(portrait_of(clip))
    odds = np.full((len(seen), len(seen)), 0.5)
    for n, one in enumerate(portraits):
        _go_on(stop)
        for m in range(n):
            odds[n, m] = odds[m, n] = pair_odds(one, portraits[m])
    return groups_of(odds)


def groups_of(odds: NDArray[np.float64]) -> tuple[Grouped, ...]:
    """Groups by what `pair_odds` says of every two clips; shape (clips, clips), the diagonal is not read."""
    logs = np.log(odds / (1 - odds))
    groups = _grouped(logs)
    number = {n: g for g, members in enumerate(groups) for n in members}
    return tuple(Grouped(number[n], _sure(n, number[n], groups, logs)) for n in range(len(odds)))


def pair_odds(one: Portrait, other: Portrait) -> float:
    """The probability that two clips are one set-up, from 0 to 1."""
    if one.edges.shape != other.edges.shape:
        return _OTHER_SHAPE
    return probability(compared(one, other), one, other)


def probability(pair: Compared, one: Portrait, other: Portrait) -> float:
    """What the logistic model makes of a comparison."""
    walks = min(one.steady, other.steady) < WALKS
    weights, most = (WALKING, _WALKS_MOST) if walks else (WEIGHTS, _TOUCHED_MOST if touched(pair) else _SURE)
    terms = walking_terms(pair, one, other) if walks else held_terms(pair)
    total = sum(weights[name] * value for name, value in terms.items())
    return min(most, max(1 - _SURE, _probability(max(-30.0, min(30.0, total)))))


def touched(pair: Compared) -> bool:
    """Whether a camera that stands still shows another framing than before: aimed beside or zoomed."""
    return pair.hand < _STANDS and (pair.shift > 2 * _LOCKED or pair.zoom > _OTHER_SIZE)


def held_terms(pair: Compared) -> dict[str, float]:
    """What the odds of two cameras that stay where they are go by.

    A camera that stands still repeats its picture to a small pixel, so a little off is much there; one in a
    hand does not, and fits less well.
    """
    return {
        "one": 1.0,
        "share": pair.share,
        "uneven": math.log2(pair.uneven + _LOG),
        "hue": math.log2(pair.hue + _LOG),
        "balance": math.log2(pair.balance + _LOG),
        "gap": pair.gap,
        "zoomed": max(0.0, pair.zoom + _CLOSE_ZOOM),
        "edges": pair.edges,
        "hand": pair.hand,
        "hand fit": pair.hand * pair.fit,
        "still off": (1 - pair.hand) * min(max(0.0, pair.shift / _LOCKED - 1), 1.0),
    }


def walking_terms(pair: Compared, one: Portrait, other: Portrait) -> dict[str, float]:
    """What the odds go by where a camera walks about: whether both do, colours, and little else.

    A camera of which there are few pictures may walk about and not show it.
    """
    if max(one.steady, other.steady) >= WALKS:
        return {"one": 1.0, "pictures": math.log2(min(one.count, other.count))}
    return {
        "one": 1.0,
        "both": 1.0,
        "both hue": math.log2(pair.hue + _LOG),
        "both uneven": math.log2(pair.uneven + _LOG),
        "both balance": math.log2(pair.balance + _LOG),
    }


def _grouped(odds: NDArray[np.float64]) -> list[list[int]]:
    """Clips joined by mean log-odds, nearest first, while these are high enough and no pair denies it."""
    groups = [[n] for n in range(len(odds))]
    least, denied = _log_odds(JOIN), _log_odds(DENIED)
    means = odds.copy()  # between groups
    lowest = odds.copy()
    np.fill_diagonal(means, -np.inf)
    while len(groups) > 1:
        allowed = np.where(lowest > denied, means, -np.inf)
        a, b = sorted(int(n) for n in np.unravel_index(int(allowed.argmax()), allowed.shape))
        if a == b or allowed[a, b] < least:
            break
        mine, theirs = len(groups[a]), len(groups[b])
        means[a] = means[:, a] = (mine * means[a] + theirs * means[b]) / (mine + theirs)
        lowest[a] = lowest[:, a] = np.minimum(lowest[a], lowest[b])
        groups[a] += groups.pop(b)
        means, lowest = (np.delete(np.delete(one, b, 0), b, 1) for one in (means, lowest))
        np.fill_diagonal(means, -np.inf)
    return sorted(sorted(one) for one in groups)


def _sure(clip: int, own: int, groups: Sequence[Sequence[int]], odds: NDArray[np.float64]) -> float:
    """That a clip is one set-up with the others of its group, and with no other group."""
    sure = 1.0
    for number, members in enumerate(groups):
        others = [n for n in members if n != clip]
        if others:
            alike = _probability(float(odds[clip, others].mean()))
            if number == own:
                sure *= alike
            elif alike > _OUT:
                sure *= 1 - alike
    return sure


def _log_odds(probability: float) -> float:
    return math.log(probability / (1 - probability))


def _probability(log_odds: float) -> float:
    return 1 / (1 + math.exp(-log_odds))


def _go_on(stop: Callable[[], bool]) -> None:
    if stop():
        raise Stopped("Stopped.")
