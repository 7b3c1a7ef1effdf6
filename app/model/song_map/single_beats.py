"""How a person corrects one beat: add it, move it, remove it.

Functions take a map and give a new one; no other beat and no other bar line moves. Wishes that cannot be met
raise ValueError with a sentence.
"""

from bisect import bisect_right
from dataclasses import replace

from app.model.document.song import SongMap
from app.model.song_map.map_beats import moved_edges
from app.model.song_map.map_grid import NO_BEATS, SAME_S, Grid, grid_of, with_grid

CLOSEST_S = 0.05
"""Beats are at least so far apart: two hits closer than this are heard as one (a flam)."""
ALONE_S = 0.5
"""A lone beat is taken hold of within so much of it: half a beat at 60 a minute."""


def beat_near(song_map: SongMap, song_s: float) -> float:
    """The beat nearest to a moment, at most half a beat from it. Raises ValueError where there is none."""
    grid = grid_of(song_map)
    return grid.beats[_near(grid, song_s)]


def room(song_map: SongMap, beat_s: float, duration_s: float) -> tuple[float, float]:
    """Between which moments the beat nearest to a moment can be moved."""
    grid = grid_of(song_map)
    return _room(grid, grid.nearest(beat_s), duration_s)


def beat_added(song_map: SongMap, song_s: float, duration_s: float) -> SongMap:
    """Another beat at a moment; bar lines stay where they are."""
    grid = grid_of(song_map)
    song_s = min(max(song_s, 0.0), duration_s)
    if grid.beats and abs(grid.beats[grid.nearest(song_s)] - song_s) < CLOSEST_S:
        raise ValueError("There is a beat here already. Move the playhead to where one is missing.")
    at = bisect_right(grid.beats, song_s)
    return with_grid(
        song_map, _shifted(replace(grid, beats=(*grid.beats[:at], song_s, *grid.beats[at:])), at, 1)
    )


def beat_moved(song_map: SongMap, from_s: float, to_s: float, duration_s: float) -> SongMap:
    """The beat nearest to a moment lies elsewhere, as far as the beats beside it leave room.

    A bar line goes with its beat and is fixed from then on; a section that begins there begins with it.
    """
    grid = grid_of(song_map)
    here = _near(grid, from_s)
    low, high = _room(grid, here, duration_s)
    old_s, to_s = grid.beats[here], min(max(to_s, low), high)
    if to_s == old_s:
        return song_map
    fixed = {*grid.fixed, here} & {*grid.downbeats}
    made = replace(
        grid, beats=(*grid.beats[:here], to_s, *grid.beats[here + 1 :]), fixed=tuple(sorted(fixed))
    )
    return moved_edges(with_grid(song_map, made), {old_s: to_s}, by_hand_too=True)


def beat_removed(song_map: SongMap, song_s: float) -> SongMap:
    """The map without the beat nearest to a moment; a bar line on it goes with it."""
    grid = grid_of(song_map)
    here = _near(grid, song_s)
    after = next((one for one in grid.downbeats if one > here), None)
    counted = dict(grid.counted)
    count = counted.pop(here, None)
    if count is not None and after is not None:
        counted.setdefault(after, count)  # a person's count goes on with the next bar
    left = replace(
        grid,
        beats=(*grid.beats[:here], *grid.beats[here + 1 :]),
        downbeats=tuple(one for one in grid.downbeats if one != here),
        fixed=tuple(one for one in grid.fixed if one != here),
        counted=tuple(sorted(counted.items())),
    )
    return with_grid(song_map, _shifted(left, here, -1))


def _near(grid: Grid, song_s: float) -> int:
    if not grid.beats:
        raise ValueError(NO_BEATS)
    here = grid.nearest(song_s)
    half = max(grid.step(here), grid.step(here - 1)) / 2 or ALONE_S
    if abs(grid.beats[here] - song_s) > half + SAME_S:
        raise ValueError(
            "There is no beat near the playhead. Go to the beat first (← and →), or press A to add one."
        )
    return here


def _room(grid: Grid, here: int, duration_s: float) -> tuple[float, float]:
    # Beats of other programs may lie closer already: they stay where they are.
    low = grid.beats[here - 1] + CLOSEST_S if here else 0.0
    high = grid.beats[here + 1] - CLOSEST_S if here + 1 < len(grid.beats) else duration_s
    return min(low, grid.beats[here]), max(high, grid.beats[here])


def _shifted(grid: Grid, from_beat: int, by: int) -> Grid:
    """The grid with all that counts in beats, from a beat on, moved by so many."""

    def to(beat: int) -> int:
        return beat + by if beat >= from_beat else beat

    return replace(
        grid,
        downbeats=tuple(map(to, grid.downbeats)),
        fixed=tuple(map(to, grid.fixed)),
        counted=tuple((to(start), count) for start, count in grid.counted),
    )
