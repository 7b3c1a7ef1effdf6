"""Beats before the first and after the last that were found: the grid goes on at the tempo it has there.

A quiet opening or a long last chord may hold no beat that can be found, and still has bars.
"""

from dataclasses import replace
from math import ceil

from app.model.document.song import SongMap
from app.model.song_map.map_beats import FASTEST_BPM
from app.model.song_map.map_grid import SAME_S, Grid, grid_of, tempo_of, with_grid
from app.model.song_map.map_sections import Snap, stepped

AROUND = 8
"""Beats that tell the tempo at a place."""


def beyond(song_map: SongMap, song_s: float) -> int:
    """-1 for a moment more than half a beat before the first beat, 1 for one as far after the last, else 0.

    >>> song_map = SongMap(beats_s=(2.0, 2.5, 3.0))
    >>> [beyond(song_map, song_s) for song_s in (1.7, 1.8, 3.2, 3.3)]
    [-1, 0, 0, 1]
    """
    beats = grid_of(song_map).beats
    if len(beats) < 2:
        return 0
    if song_s < beats[0] - _step(beats, -1) / 2:
        return -1
    return int(song_s > beats[-1] + _step(beats, 1) / 2)


def reaching(song_map: SongMap, song_s: float, duration_s: float, *, in_time: bool = False) -> SongMap:
    """The map with beats that reach to a moment before the first beat, or past the last.

    The moment is a beat then, and the beats between are even. ``in_time`` takes the beat that the tempo puts
    nearest to the moment instead: whoever presses a key to the music is late by a reaction time. Past the
    last beat, beats and bars go on to the end of the song; before the first beat, bars are left to whoever
    says which beat begins one. Raises ValueError where the beats are no tempo.

    >>> song_map = SongMap(beats_s=(2.0, 2.5, 3.0), bars_s=(2.0,))
    >>> reaching(song_map, 1.01, 4.0).beats_s
    (1.01, 1.505, 2.0, 2.5, 3.0)
    >>> reaching(song_map, 1.01, 4.0, in_time=True).beats_s
    (1.0, 1.5, 2.0, 2.5, 3.0)
    """
    side = beyond(song_map, song_s)
    if not side:
        return song_map
    grid = grid_of(song_map)
    edge = grid.beats[0] if side < 0 else grid.beats[-1]
    step = _step(grid.beats, side)
    if 60 / step > FASTEST_BPM:
        raise ValueError(
            f"The beats here are only {step:.2f} s apart, too close to go on from. Tap the tempo first."
        )
    end_s = min(max(song_s, 0.0), duration_s)
    count = max(1, round(abs(end_s - edge) / step))
    if in_time:
        while count and not 0 <= edge + side * count * step <= duration_s:
            count -= 1
        end_s = edge + side * count * step
    if not count or end_s == edge:
        return song_map
    laid = [edge + (end_s - edge) * n / count for n in range(1, count)] + [end_s]
    if side < 0:
        return with_grid(song_map, _later(replace(grid, beats=(*reversed(laid), *grid.beats)), count))
    laid += [
        end_s + n * step for n in range(1, ceil((duration_s - end_s) / step)) if end_s + n * step < duration_s
    ]
    beats = (*grid.beats, *laid)
    bars = grid.downbeats
    metre = grid.metre(len(grid.beats) - 1)
    on = range(bars[-1] + metre, len(beats), metre) if bars else ()
    return with_grid(song_map, replace(grid, beats=beats, downbeats=(*bars, *on)))


def stepped_on(song_map: SongMap, song_s: float, snap: Snap, by: int, duration_s: float) -> float:
    """The next bar line or beat, like `map_sections.stepped`; beyond the found ones, where it would be.

    From a moment outside that lies on no such place, the way back is to the first or last one found.

    >>> song_map = SongMap(beats_s=(2.0, 2.5, 3.0))
    >>> [stepped_on(song_map, song_s, Snap.BEAT, -1, 9.0) for song_s in (2.5, 2.0, 1.5, 0.4)]
    [2.0, 1.5, 1.0, 0.0]
    >>> [stepped_on(song_map, song_s, Snap.BEAT, 1, 9.0) for song_s in (0.3, 0.5, 3.0, 8.9)]
    [2.0, 1.0, 3.5, 9.0]
    """
    grid = grid_of(song_map)
    moments = song_map.bars_s if snap is Snap.BAR else grid.beats
    if len(grid.beats) < 2 or not moments:
        return song_s
    outside = song_s < moments[0] - SAME_S or song_s > moments[-1] + SAME_S
    leaving = song_s <= moments[0] + SAME_S if by < 0 else song_s >= moments[-1] - SAME_S
    if not outside and not leaving:
        return stepped(song_map, song_s, snap, by)
    side = -1 if song_s <= moments[0] + SAME_S else 1
    edge = moments[0] if side < 0 else moments[-1]
    step = _step(grid.beats, side) * (grid.metre(grid.nearest(edge)) if snap is Snap.BAR else 1)
    away = max(0.0, side * (song_s - edge) / step)
    on = abs(away - round(away)) * step <= SAME_S
    outward, inward = (round(away) + 1, round(away) - 1) if on else (ceil(away), 0)
    moment = edge + side * (outward if by == side else inward) * step
    return moment if 0 <= moment <= duration_s else song_s


def _step(beats: tuple[float, ...], side: int) -> float:
    """Seconds of a beat at the start (``side`` -1) or the end (1) of at least two rising beats."""
    tempo = tempo_of(beats[: AROUND + 1] if side < 0 else beats[-AROUND - 1 :])
    assert tempo is not None
    return 60 / tempo


def _later(grid: Grid, by: int) -> Grid:
    """The grid with everything that counts in beats so many beats later."""
    return replace(
        grid,
        downbeats=tuple(one + by for one in grid.downbeats),
        fixed=tuple(one + by for one in grid.fixed),
        counted=tuple((start + by, count) for start, count in grid.counted),
    )
