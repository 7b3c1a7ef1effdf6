"""How loud stretches of the song are, from the loudness that its map keeps."""

from math import log10

from app.model.document.song import LEVEL_STEP_S, Song, SongMap
from app.model.song_map.bar_spans import bar_spans

FLOOR_DB, CEILING_DB = -120.0, 120.0
"""What sound files can hold lies between; a document may say anything."""


def mean_level(song_map: SongMap, start_s: float, end_s: float) -> float | None:
    """Mean loudness (of power) from a moment to another, in dBFS; None where nobody knows.

    >>> mean_level(SongMap(levels_db=(-20.0, -20.0, -10.0)), 0.0, 0.5)
    -20.0
    """
    levels = song_map.levels_db
    first = int(min(max(0.0, start_s / LEVEL_STEP_S), len(levels)))
    last = int(min(max(0.0, end_s / LEVEL_STEP_S + 1), len(levels)))
    power = weight = 0.0
    for n in range(first, last):
        shared = min(end_s, (n + 1) * LEVEL_STEP_S) - max(start_s, n * LEVEL_STEP_S)
        if shared > 0:
            power += shared * 10 ** (min(levels[n], CEILING_DB) / 10)
            weight += shared
    return max(FLOOR_DB, 10 * log10(power / weight)) if weight > 0 and power > 0 else None


def bar_levels(song: Song) -> tuple[float | None, ...]:
    """Mean loudness of each bar, in dBFS."""
    return tuple(mean_level(song.map, bar.start_s, bar.end_s) for bar in bar_spans(song))
