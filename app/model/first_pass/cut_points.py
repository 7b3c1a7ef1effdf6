"""Where a first pass may cut: on the beat, in whole frames of its timeline; elsewhere only where it must."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from app.model.document.song import Song
from app.model.song_map.bar_spans import bar_spans, bars_of_sections, song_sections
from app.model.song_map.map_grid import grid_of
from app.model.timebase import nearest_frame

BAR = 24
"""Lengths in music are counted in so many ticks to a bar, so that beats of 2, 3, 4, 6 and 8 are whole."""


@dataclass(frozen=True, slots=True)
class Point:
    """A place where a cut may fall."""

    frame: int
    """Of the timeline, from the song's start."""
    song_s: float
    """The exact moment; its nearest frame is ``frame``."""
    ticks: int
    """How far in the music it is, in ticks from bar 1."""
    on_beat: bool = True
    """The rules want cuts there; False where only the edge of a take makes it one."""


@dataclass(frozen=True, slots=True)
class Grid:
    """All places where a cut may fall, and what lies between them."""

    points: tuple[Point, ...]
    """The first is the song's start, the last its end."""
    bars: tuple[int, ...]
    """For each stretch from a point to the next the index of its bar; the lead-in is of the first bar, the
    tail of the last."""
    sections: tuple[int, ...]
    """For each stretch the index of its section."""

    def point_at(self, frame: int) -> int:
        """The first point at a frame or after it."""
        return bisect_left(self.points, frame, key=lambda one: one.frame)


def cut_grid(song: Song, rate: Fraction, *, beats: bool, frames_before: int) -> Grid:
    """The places where the rules want cuts. A song that is shorter than a frame has one point only.

    A song without bars is cut where its sections begin.
    """
    total = nearest_frame(song.duration_s, rate)
    bars = bar_spans(song)
    points = [Point(0, 0.0, _lead_in(song))]
    for song_s, ticks in _moments(song, beats):
        early_s = song_s - float(frames_before / rate)
        frame = nearest_frame(early_s, rate)
        if points[-1].frame < frame < total:
            points.append(Point(frame, early_s, ticks))
    if total > 0:
        points.append(Point(total, song.duration_s, max(_tail(song), points[-1].ticks)))
    of_section = bars_of_sections(song_sections(song), bars)
    section_of = {bar: n for n, own in enumerate(of_section) for bar in own}
    own_bars = tuple(_bar(one.ticks, len(bars)) for one in points[:-1])
    return Grid(tuple(points), own_bars, tuple(section_of.get(bar, 0) for bar in own_bars))


def with_edges(grid: Grid, frames: Iterable[int], rate: Fraction) -> Grid:
    """The grid with more points, at frames between its own: edges of takes where no take runs through."""
    points, bars, sections = list(grid.points), list(grid.bars), list(grid.sections)
    for frame in sorted(set(frames)):
        at = bisect_right(points, frame, key=lambda one: one.frame)
        if at == len(points) or points[at - 1].frame == frame:
            continue
        before, after = points[at - 1], points[at]
        share = Fraction(frame - before.frame, after.frame - before.frame)
        ticks = before.ticks + int(share * (after.ticks - before.ticks))
        points.insert(at, Point(frame, float(frame / rate), ticks, on_beat=False))
        bars.insert(at, bars[at - 1])
        sections.insert(at, sections[at - 1])
    return Grid(tuple(points), tuple(bars), tuple(sections))


def _moments(song: Song, beats: bool) -> list[tuple[float, int]]:
    """The bar lines, or all beats from bar 1 on, with their ticks."""
    bars = bar_spans(song)
    found = [(bar.start_s, n * BAR) for n, bar in enumerate(bars)]
    if beats and song.map.bars_s:
        grid = grid_of(song.map)
        edges = [*grid.downbeats[: len(bars)], len(grid.beats)]
        for n in range(len(edges) - 1):
            own = grid.beats[edges[n] : edges[n + 1]]
            count = len(own) if n + 2 < len(edges) else max(len(own), grid.metre(edges[n]))
            found += [(moment, n * BAR + BAR * m // count) for m, moment in enumerate(own) if 0 < m < count]
    return sorted(found)


def _lead_in(song: Song) -> int:
    """Ticks of the song's start: the lead-in counts by its whole bars."""
    bars = bar_spans(song)
    if not bars or not song.map.bars_s:
        return 0
    return -BAR * int(bars[0].start_s / max(bars[0].end_s - bars[0].start_s, 1e-3))


def _tail(song: Song) -> int:
    """Ticks of the song's end: what comes after the last bar counts by its whole bars."""
    bars = bar_spans(song)
    if not bars:
        return 0
    last = bars[-1]
    rest_s = max(0.0, song.duration_s - last.end_s)
    return BAR * (len(bars) + int(rest_s / max(last.end_s - last.start_s, 1e-3)))


def _bar(ticks: int, count: int) -> int:
    return min(max(ticks // BAR, 0), max(count - 1, 0))
