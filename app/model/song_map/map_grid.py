"""The beats of a song, numbered, and which of them begin a bar."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from app.model.document.song import Metre, SongMap

SAME_S = 0.01
"""Moments closer than this are one: bar lines of other programs lie beside their beats."""
EARLY_S = 0.1
"""A moment so little before a bar line belongs to the bar that begins there."""
USUAL_METRE = 4
NO_BEATS = "There are no beats here yet. Tap the tempo first: T on every beat while the song plays."


@dataclass(frozen=True, slots=True)
class Grid:
    """Beats in seconds, rising; everything else counts in them, from 0."""

    beats: tuple[float, ...]
    downbeats: tuple[int, ...] = ()
    """Beats that begin a bar, rising."""
    fixed: tuple[int, ...] = ()
    """Those of them that a person fixed."""
    counted: tuple[tuple[int, int], ...] = ()
    """From which beat on a person counts how many to a bar, rising."""

    def nearest(self, song_s: float) -> int:
        """The beat nearest to a moment. Raises ValueError where there is none."""
        if not self.beats:
            raise ValueError(NO_BEATS)
        after = bisect_left(self.beats, song_s)
        near = [n for n in (after - 1, after) if 0 <= n < len(self.beats)]
        return min(near, key=lambda n: abs(self.beats[n] - song_s))

    def step(self, beat: int) -> float:
        """Seconds from a beat to the next, at the last one from the one before; 0 for a lone beat."""
        if len(self.beats) < 2:
            return 0.0
        low = min(max(beat, 0), len(self.beats) - 2)
        return self.beats[low + 1] - self.beats[low]

    def metre(self, beat: int) -> int:
        """Beats of the bar that holds a beat; an upbeat counts like bar 1, the last bar like the one before
        it."""
        own = [beats for start, beats in self.counted if start <= beat]
        lengths = [later - one for one, later in pairwise(self.downbeats)]
        number = bisect_right(self.downbeats, beat) - 1
        if number == len(lengths) and own:
            return own[-1]
        return lengths[min(max(number, 0), len(lengths) - 1)] if lengths else USUAL_METRE


def grid_of(song_map: SongMap) -> Grid:
    """The map's beats, its bar lines among them.

    >>> grid_of(SongMap(beats_s=(0.5, 1.0, 1.5, 2.0), bars_s=(1.001, 3.0)))
    Grid(beats=(0.5, 1.001, 1.5, 2.0, 3.0), downbeats=(1, 4), fixed=(), counted=())
    """
    bars = song_map.bars_s
    lone = {beat for beat in song_map.beats_s if not _near(bars, beat)}
    beats = tuple(sorted({*lone, *bars}))
    where = {beat: n for n, beat in enumerate(beats)}
    grid = Grid(beats, tuple(sorted({where[bar] for bar in bars})))
    if not beats:
        return grid
    fixed = {grid.nearest(one) for one in song_map.downbeats_s if _near(bars, one)}
    counted = {grid.nearest(m.from_s): m.beats for m in song_map.metres if _near(bars, m.from_s)}
    return replace(grid, fixed=tuple(sorted(fixed)), counted=tuple(sorted(counted.items())))


def with_grid(song_map: SongMap, grid: Grid) -> SongMap:
    """The map on other beats and bars; its sections stay where they are."""
    beats = grid.beats
    return replace(
        song_map,
        tempo_bpm=tempo_of(beats),
        beats_s=beats,
        bars_s=tuple(beats[one] for one in grid.downbeats),
        downbeats_s=tuple(beats[one] for one in grid.fixed),
        metres=tuple(Metre(beats[start], count) for start, count in grid.counted),
    )


def metres_along(song_map: SongMap) -> tuple[tuple[int, int], ...]:
    """How bars are counted along the song: bar 1 and every bar where that changes, with its beats.

    >>> beats = tuple(n / 2 for n in range(12))
    >>> metres_along(SongMap(beats_s=beats, bars_s=(0.5, 2.5, 3.5, 5.0)))
    ((1, 4), (2, 2), (3, 3))
    """
    if len(song_map.beats_s) < len(song_map.bars_s):
        return ()
    out: list[tuple[int, int]] = []
    for number, (one, later) in enumerate(pairwise(grid_of(song_map).downbeats), 1):
        if not out or out[-1][1] != later - one:
            out.append((number, later - one))
    return tuple(out)


def tempo_of(beats: Sequence[float]) -> float | None:
    """Beats a minute of the middle beat; None for fewer than two."""
    steps = sorted(later - beat for beat, later in pairwise(beats) if later > beat)
    return 60 / steps[len(steps) // 2] if steps else None


def bar_start(song_map: SongMap, song_s: float) -> float | None:
    """Start of the bar a moment lies in (of bar 1 for what is before it); None without bars."""
    if not song_map.bars_s:
        return None
    return song_map.bars_s[max(0, bisect_right(song_map.bars_s, song_s + EARLY_S) - 1)]


def _near(moments: Sequence[float], song_s: float) -> bool:
    """Whether one of rising moments is the same as this one."""
    after = bisect_left(moments, song_s - SAME_S)
    return after < len(moments) and moments[after] <= song_s + SAME_S
