"""Locks as bars of the song, and how a first pass stands to them; which shot is seen when."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from app.model.coverage.passages import bars_words, passage_parts
from app.model.document.cut import Lock
from app.model.first_pass.result import FirstPass, Shot
from app.model.on_song import SongView
from app.model.song_map.bar_spans import BarSpan, bar_spans


@dataclass(frozen=True, slots=True)
class FixedBars:
    """Neighbouring bars that a lock fixes; seconds are on the song's clock."""

    lock: Lock
    first_bar: int
    last_bar: int
    song_start_s: float
    song_end_s: float


def fixed_bars(view: SongView) -> tuple[FixedBars, ...]:
    """What the locks fix, in the song's order. Of two locks on one bar the later one counts."""
    if view.song is None:
        return ()
    bars = bar_spans(view.song)
    lock_of: dict[int, Lock] = {}
    for lock in view.cut.locks:
        for part in passage_parts(lock.passage, view.song, bars):
            lock_of |= dict.fromkeys(part.bars, lock)
    runs: list[list[int]] = []
    for n in sorted(lock_of):
        if runs and runs[-1][-1] == n - 1 and lock_of[n] == lock_of[n - 1]:
            runs[-1].append(n)
        else:
            runs.append([n])
    return tuple(_fixed(lock_of[run[0]], bars[run[0]], bars[run[-1]]) for run in runs)


def locks_in(view: SongView, first_bar: int, last_bar: int) -> tuple[Lock, ...]:
    """The locks that fix some of these bars (numbers, both included)."""
    found = [one.lock for one in fixed_bars(view) if one.first_bar <= last_bar and first_bar <= one.last_bar]
    return tuple(dict.fromkeys(found))


def is_met(one: FixedBars, cut: FirstPass) -> bool:
    """Whether a first pass shows the locked angle in all of the bars that it fixes."""
    others = [
        *((shot.first_bar, shot.last_bar) for shot in cut.shots if shot.angle_id != one.lock.angle_id),
        *((gap.first_bar, gap.last_bar) for gap in cut.gaps),
    ]
    return all(last < one.first_bar or one.last_bar < first for first, last in others)


def not_met_words(view: SongView, cut: FirstPass) -> tuple[str, ...]:
    """For each lock that a first pass does not keep, a sentence that says so."""
    names = {angle.id: angle.name for angle in view.angles}
    return tuple(
        f"{bars_words(one.first_bar, one.last_bar).capitalize()}: locked to "
        f"{names.get(one.lock.angle_id, 'an angle that is gone')}, which cannot be used in all of it."
        for one in fixed_bars(view)
        if not is_met(one, cut)
    )


def shot_at(cut: FirstPass, song_s: float) -> Shot | None:
    """The shot that is seen at a moment of the song; None in a gap."""
    n = shot_before(cut.shots, song_s)
    return cut.shots[n] if n >= 0 and song_s < cut.shots[n].song_end_s else None


def shot_after(cut: FirstPass, song_s: float) -> Shot | None:
    """The next shot to begin after a moment of the song."""
    n = shot_before(cut.shots, song_s) + 1
    return cut.shots[n] if n < len(cut.shots) else None


def shot_before(shots: Sequence[Shot], song_s: float) -> int:
    """Index of the last shot that has begun by a moment of the song; -1 before the first."""
    return bisect_right(shots, song_s, key=lambda shot: shot.song_start_s) - 1


def _fixed(lock: Lock, first: BarSpan, last: BarSpan) -> FixedBars:
    return FixedBars(lock, first.number, last.number, first.start_s, last.end_s)
