"""What became of a master in the next one: which stretch lives on where."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from audio.line import Line
from audio.pieces.joints import alike, joint
from audio.pieces.pieces import pieces_of
from audio.placement.search import SongIndex
from audio.progress import never, no_progress
from audio.rate import ENGINE_RATE
from audio.signals import Samples

SCRAP_S = 0.02
"""Overlap of two pieces in old time that is no repeat, but an edge found a little off (s)."""
LONGEST_END_S = 3.0
"""A start or end of the old master that was not told is no longer than this (s)."""
SOFT = 10 ** (-20 / 10)
"""Up to this share of the whole's power it is soft. Chosen by hand."""


@dataclass(frozen=True, slots=True)
class LivesOn:
    """A stretch of the old master that lives on in the new one."""

    old_start_s: float
    """In the old master, as ``old_end_s``."""
    old_end_s: float
    new_start_s: float
    """Where it begins in the new one."""
    speed: float
    """Seconds of the new master to a second of the old."""
    uncertainty_s: float
    """Half-width of new time that holds the true place 95 times in 100."""
    again: bool
    """The stretch lives on earlier in the new master too."""


def lives_on(
    old: SongIndex,
    new: Samples,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> tuple[LivesOn, ...]:
    """Find what of an old master lives on in a new one.

    Every moment of the new master is asked which moment of the old it is, so what was doubled is found twice.
    What is not sure is left out.

    Parameters
    ----------
    old : SongIndex
    new : float32, shape (n,)
        At ENGINE_RATE.

    Returns
    -------
    tuple of LivesOn
        In the order of old time; what is there again, behind the first.

    Raises
    ------
    BadSignal
        As `pieces_of`.
    Stopped
    """
    out: list[LivesOn] = []
    sure = [piece for piece in pieces_of(new, old, stop=stop, progress=progress) if piece.sure]
    for number, (before, after) in enumerate(pairwise(sure)):
        at_s = joint(new, old, before, after)
        if at_s is not None:
            # Only the edges move: each line holds as it did.
            sure[number : number + 2] = replace(sure[number], end_s=at_s), replace(after, start_s=at_s)
    for piece in sure:
        from_s, to_s = (float(piece.line.song_time(one)) for one in (piece.start_s, piece.end_s))
        from_s, to_s = max(0.0, from_s), min(old.duration_s, to_s)
        for start_s, end_s, again in _cut_at_known(from_s, to_s, out):
            out.append(
                LivesOn(
                    start_s,
                    end_s,
                    float(piece.line.clip_time(start_s)),
                    1 / piece.line.speed,
                    piece.uncertainty_s / piece.line.speed,
                    again,
                )
            )
    out.sort(key=lambda one: (one.old_start_s, one.again, one.new_start_s))
    return tuple(_to_the_ends(out, old, new))


def _to_the_ends(pieces: list[LivesOn], old: SongIndex, new: Samples) -> list[LivesOn]:
    """Pieces that reach the old master's ends where what is missing is in the new one as well, or is soft and
    has room there.

    Where a song dies away, or begins out of nothing, what is left of it cannot be told by itself.
    """
    firsts = [number for number, one in enumerate(pieces) if not one.again]
    if not firsts:
        return pieces

    def goes_on(piece: LivesOn, from_s: float, to_s: float, room_s: float) -> bool:
        line = Line(piece.new_start_s, piece.old_start_s, 1 / piece.speed)
        if not 0 < to_s - from_s <= LONGEST_END_S or (to_s - from_s) * piece.speed > room_s + SCRAP_S:
            return False
        there = float(line.clip_time(from_s)), float(line.clip_time(to_s))
        return _soft(old, from_s, to_s) or alike(new, old, line, *there)

    head, tail = firsts[0], max(firsts, key=lambda number: pieces[number].old_end_s)
    first = pieces[head]
    room_s = first.new_start_s - _end_before(pieces, first.new_start_s)
    if goes_on(first, 0.0, first.old_start_s, room_s):
        new_start_s = first.new_start_s - first.old_start_s * first.speed
        pieces[head] = replace(first, old_start_s=0.0, new_start_s=new_start_s)
    last = pieces[tail]
    end_s = last.new_start_s + (last.old_end_s - last.old_start_s) * last.speed
    starts_s = [one.new_start_s for one in pieces if one.new_start_s >= end_s - SCRAP_S and one is not last]
    if goes_on(last, last.old_end_s, old.duration_s, min([*starts_s, len(new) / ENGINE_RATE]) - end_s):
        pieces[tail] = replace(last, old_end_s=old.duration_s)
    return pieces


def _end_before(pieces: list[LivesOn], new_s: float) -> float:
    """Where the piece before a moment of the new master ends; its start where there is none."""
    ends_s = [one.new_start_s + (one.old_end_s - one.old_start_s) * one.speed for one in pieces]
    return max([0.0, *(end_s for end_s in ends_s if end_s <= new_s + SCRAP_S)])


def _soft(old: SongIndex, from_s: float, to_s: float) -> bool:
    """Whether a stretch of a master is far softer than the whole."""
    part = old.samples[round(from_s * old.rate) : round(to_s * old.rate)]
    return not len(part) or bool(np.mean(np.square(part)) <= SOFT * np.mean(np.square(old.samples)))


def _cut_at_known(from_s: float, to_s: float, known: list[LivesOn]) -> list[tuple[float, float, bool]]:
    """A stretch of the old master, cut where what is known to live on begins and ends.

    >>> first = LivesOn(0.0, 60.0, 0.0, 1.0, 0.0, False)
    >>> _cut_at_known(40.0, 100.0, [first])
    [(40.0, 60.0, True), (60.0, 100.0, False)]
    >>> _cut_at_known(59.995, 100.0, [first])
    [(60.0, 100.0, False)]
    """
    edges = {from_s, to_s}
    for one in known:
        edges |= {edge for edge in (one.old_start_s, one.old_end_s) if from_s < edge < to_s}
    cuts = sorted(edges)
    out: list[tuple[float, float, bool]] = []
    for start_s, end_s in pairwise(cuts):
        middle_s = (start_s + end_s) / 2
        again = any(one.old_start_s <= middle_s <= one.old_end_s for one in known)
        if again and end_s - start_s < SCRAP_S:
            continue
        if out and out[-1][1] == start_s and out[-1][2] == again:
            out[-1] = out[-1][0], end_s, again
        else:
            out.append((start_s, end_s, again))
    return out
