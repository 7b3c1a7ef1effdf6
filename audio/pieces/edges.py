"""Where a piece begins and ends to within some milliseconds, by where the recording stops following its line.

Sample by sample, the likelihood of the recording with the song in it is held against that without it (both
whitened, so nearly normal and independent). An edge is where the cumulated ratio is highest. Where two pieces
meet, it is the moment from which on the second explains more than the first.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.impulse_response import song_along_line
from audio.placement.search import SongIndex
from audio.signals import Samples

REACH_S = 2.5
"""How far to both sides of an edge it is looked for (s)."""
INSIDE_S = 6.0
"""How much of a piece beside the edge tells how loud the song is in it (s)."""
TOUCHING_S = 1.0
"""Pieces closer than this (s) may meet …"""
HOLE_S = 0.06
"""… unless more than this lies between the edges of each by itself: something else was put in."""
LEAST_SHARE = 0.02
"""Share of the recording's power that the song must explain beside an edge for that to be looked for."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A line and where it holds, in seconds of a recording at the song's speed."""

    line: Line
    start_s: float
    end_s: float


def sharpened(white: Samples, index: SongIndex, stretches: Sequence[Stretch]) -> list[Stretch]:
    """The stretches, in order, with exact edges.

    Parameters
    ----------
    white : float32, shape (n,)
        The whitened recording at the song's speed.
    """
    out: list[Stretch] = []
    for number, one in enumerate(stretches):
        low_s = stretches[number - 1].end_s - REACH_S if number else 0.0
        high_s = stretches[number + 1].start_s + REACH_S if number + 1 < len(stretches) else np.inf
        start_s = _edge(white, index, one, one.start_s, max(low_s, one.start_s - REACH_S), -1)
        end_s = _edge(white, index, one, one.end_s, min(high_s, one.end_s + REACH_S), 1)
        out.append(replace(one, start_s=start_s, end_s=end_s))
    for number in range(len(out) - 1):
        one, other = out[number], out[number + 1]
        if other.start_s - one.end_s > TOUCHING_S or other.start_s - one.end_s > HOLE_S:
            continue
        at_s = _meeting(white, index, one, other)
        out[number], out[number + 1] = replace(one, end_s=at_s), replace(other, start_s=at_s)
    return [one for one in out if one.end_s > one.start_s]


def agreement(white: Samples, index: SongIndex, one: Stretch) -> float:
    """The correlation with the song that three of four seconds of a stretch reach or exceed.

    Another mix of the song holds the song all through. Another song made of the same loops holds it where
    they are heard alone, and little of it elsewhere.
    """
    _, heard, song = _both(white, index, one.line, one.start_s, one.end_s)
    count = len(heard) // index.rate
    if not count:
        return 0.0
    rows = heard[: count * index.rate].reshape(count, -1), song[: count * index.rate].reshape(count, -1)
    power = np.sqrt((rows[0] ** 2).sum(axis=1) * (rows[1] ** 2).sum(axis=1))
    sounding = power > 0.05 * np.median(power)
    if not sounding.any():
        return 0.0
    return float(np.quantile((rows[0] * rows[1]).sum(axis=1)[sounding] / power[sounding], 0.25))


def _edge(white: Samples, index: SongIndex, one: Stretch, edge_s: float, far_s: float, way: int) -> float:
    """The edge of a stretch near ``edge_s``, looked for up to ``far_s`` outside it; ``way`` 1: its end."""
    song_edges_s = one.line.clip_time(0.0), one.line.clip_time(index.duration_s)
    far_s = float(np.clip(far_s, max(0.0, song_edges_s[0]), min(len(white) / index.rate, song_edges_s[1])))
    inner_s = min(INSIDE_S, one.end_s - one.start_s)
    from_s = edge_s - way * inner_s
    gain, noise, share = _fit(white, index, one.line, min(from_s, edge_s), max(from_s, edge_s))
    if share < LEAST_SHARE:
        return edge_s
    begin_s = edge_s - way * min(REACH_S, inner_s)
    low_s, high_s = min(begin_s, far_s), max(begin_s, far_s)
    first, ratio = _ratio(white, index, one.line, low_s, high_s, gain, noise)
    if not len(ratio):
        return edge_s
    gained = np.concatenate([[0.0], np.cumsum(ratio[::way])])
    at = int(gained.argmax())
    return (first + (at if way > 0 else len(ratio) - at)) / index.rate


def _meeting(white: Samples, index: SongIndex, one: Stretch, other: Stretch) -> float:
    """The moment at which a recording changes from one line to the next."""
    low_s = max(one.start_s, min(one.end_s, other.start_s) - REACH_S)
    high_s = min(other.end_s, max(one.end_s, other.start_s) + REACH_S)
    around_s = (one.end_s + other.start_s) / 2
    prefers: list[NDArray[np.float64]] = []
    first = 0
    for stretch, way in ((one, -1), (other, 1)):
        there = sorted((around_s + way * REACH_S / 4, around_s + way * INSIDE_S))
        inside_s = max(stretch.start_s, there[0]), min(stretch.end_s, there[1])
        gain, noise, _ = _fit(white, index, stretch.line, *inside_s)
        first, ratio = _ratio(white, index, stretch.line, low_s, high_s, gain, noise)
        prefers.append(ratio)
    if not len(prefers[0]):
        return around_s
    gained = np.concatenate([[0.0], np.cumsum(prefers[0] - prefers[1])])
    # Where both explain it alike, as in a part that is the same in both, the edge stays where it was.
    near = np.flatnonzero(gained >= gained.max() - 1.0)
    at = near[np.abs(near / index.rate + first / index.rate - around_s).argmin()]
    return float(first + at) / index.rate


def _fit(
    white: Samples, index: SongIndex, line: Line, from_s: float, to_s: float
) -> tuple[float, float, float]:
    """Gain of the song along a line, power of what is left, and the share that the song explains."""
    heard, song = _both(white, index, line, from_s, to_s)[1:]
    power = float(np.dot(song, song)) + 1e-9
    gain = float(np.dot(heard, song)) / power
    whole = float(np.dot(heard, heard)) + 1e-9
    left = max(whole - gain**2 * power, 0.02 * whole)
    return max(gain, 0.0), left / max(1, len(heard)), gain**2 * power / whole


def _ratio(
    white: Samples, index: SongIndex, line: Line, from_s: float, to_s: float, gain: float, noise: float
) -> tuple[int, NDArray[np.float64]]:
    """First sample, and log-likelihood ratio of each sample, for the song being there against not."""
    first, heard, song = _both(white, index, line, from_s, to_s)
    without = noise + gain**2 * float(np.mean(song**2) if len(song) else 0.0)
    with_it = np.square(heard - gain * song) / (2 * noise) + 0.5 * np.log(noise)
    # Big values of the whitened sound are commoner than a normal's: none may decide by itself.
    ratio = np.square(heard) / (2 * without) + 0.5 * np.log(without) - with_it
    return first, np.asarray(np.clip(ratio, -8.0, 8.0), np.float64)


def _both(
    white: Samples, index: SongIndex, line: Line, from_s: float, to_s: float
) -> tuple[int, NDArray[np.float64], NDArray[np.float64]]:
    first = max(0, round(from_s * index.rate))
    last = min(len(white), round(to_s * index.rate))
    song = song_along_line(index, line, first, max(0, last - first))
    return first, white[first : max(first, last)].astype(np.float64), song.astype(np.float64)
