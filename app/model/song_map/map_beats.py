"""How a person corrects beats and bars.

All functions take a map and give a new one. Bar lines that a person fixed (`SongMap.downbeats_s`) bound a
correction: it reaches back and on to the next such line, so that what was put right stays right. Wishes that
cannot be met raise ValueError with a sentence.
"""

from bisect import bisect_right
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from app.model.document.song import SongMap
from app.model.song_map.map_grid import (
    NO_BEATS,
    SAME_S,
    USUAL_METRE,
    Grid,
    bar_start,
    grid_of,
    tempo_of,
    with_grid,
)

MOST_BEATS = 12
FEWEST_TAPS = 3
NEAR = 0.35
"""Share of a beat within which two beats are the same one."""
SLOWEST_BPM, FASTEST_BPM = 10.0, 400.0
"""So slow because a map from elsewhere may hold bars only, which are its beats then."""


def downbeat_here(song_map: SongMap, song_s: float, *, onward: bool = False) -> SongMap:
    """The beat nearest to a moment is the first of its bar.

    All bar lines between those a person fixed before move along by as many beats; ``onward`` leaves the ones
    before the beat where they are. Before bar 1, the beat begins bar 1. Sections that begin on a bar line go
    with it.
    """
    grid = grid_of(song_map)
    new, moved = _with_downbeat(grid, grid.nearest(song_s), onward=onward)
    return moved_edges(with_grid(song_map, new), {grid.beats[a]: grid.beats[b] for a, b in moved.items()})


def bar_one_here(song_map: SongMap, song_s: float) -> SongMap:
    """The beat nearest to a moment is the first of bar 1: no bar is counted before it.

    Bar lines after it move along as in `downbeat_here`, beats before it stay as a lead-in. Raises ValueError
    where a person fixed a bar line before it.
    """
    grid = grid_of(song_map)
    here = grid.nearest(song_s)
    if grid.fixed and grid.fixed[0] < here:
        raise ValueError(
            f"You fixed a bar line (◆) {grid.beats[here] - grid.beats[grid.fixed[0]]:.1f} s before this. "
            "Remove it first: go there and press Delete."
        )
    song_map = downbeat_here(song_map, song_s, onward=True)
    grid = grid_of(song_map)
    counts = [count for start, count in grid.counted if start <= here]
    late = [(start, count) for start, count in grid.counted if start > here]
    return with_grid(
        song_map,
        replace(
            grid,
            downbeats=tuple(one for one in grid.downbeats if one >= here),
            counted=(*((here, count) for count in counts[-1:]), *late),
        ),
    )


def metre_from_here(song_map: SongMap, song_s: float, beats: int) -> SongMap:
    """Count so many beats to a bar from the bar a moment lies in, as far as nobody said otherwise."""
    if not 1 <= beats <= MOST_BEATS:
        raise ValueError(f"A bar has 1 to {MOST_BEATS} beats.")
    grid = grid_of(song_map)
    start_s = bar_start(song_map, song_s)
    return with_grid(song_map, _with_metre(grid, grid.nearest(song_s if start_s is None else start_s), beats))


def half_tempo(song_map: SongMap, from_s: float | None = None) -> SongMap:
    """Every second beat is one, and every second bar; from the bar a moment lies in, or all along."""
    grid = grid_of(song_map)
    start = _start(song_map, grid, from_s)
    anchors = [start, *(one for one in grid.fixed if one > start)]
    kept, downbeats = set(range(start)), {one for one in grid.downbeats if one < start}
    if from_s is None:
        kept = set(range(start % 2, start, 2))
        downbeats = set([one for one in grid.downbeats if one < start][::-1][1::2])
    for here, end in pairwise([*anchors, len(grid.beats)]):
        last = end - 1 if end < len(grid.beats) else end  # half a new beat before a fixed one would be left
        kept |= set(range(here, last, 2)) | {here}
        downbeats |= set([one for one in grid.downbeats if here <= one < end][::2]) | (
            {here} if grid.downbeats else set()
        )
    return _retimed(song_map, grid, {old: new for new, old in enumerate(sorted(kept))}, sorted(downbeats))


def double_tempo(song_map: SongMap, from_s: float | None = None) -> SongMap:
    """A beat between each two, a bar line in the middle of each bar; from the bar a moment lies in, or all
    along."""
    grid = grid_of(song_map)
    start = 0 if from_s is None else _start(song_map, grid, from_s)
    where = {n: n if n < start else 2 * n - start for n in range(len(grid.beats))}
    beats = [moment for n, beat in enumerate(grid.beats) for moment in _with_middle(grid, n, beat, start)]
    middles = [where[one] + grid.metre(one) for one in grid.downbeats if one >= start]
    downbeats = {where[one] for one in grid.downbeats} | {one for one in middles if one < len(beats)}
    made = Grid(
        tuple(beats),
        tuple(sorted(downbeats)),
        tuple(where[one] for one in grid.fixed),
        tuple((where[one], count) for one, count in grid.counted),
    )
    return _by_hand(song_map, with_grid(song_map, made))


def nudged(song_map: SongMap, by_s: float) -> SongMap:
    """All beats and bar lines that much later; section edges that lie on a beat go along."""
    grid = grid_of(song_map)
    if not grid.beats:
        raise ValueError(NO_BEATS)
    return _moved(song_map, grid, [beat + by_s for beat in grid.beats])


def half_a_beat_on(song_map: SongMap) -> SongMap:
    """All beats and bar lines half a beat later: what was taken for the beat is the off-beat."""
    grid = grid_of(song_map)
    if not grid.beats:
        raise ValueError(NO_BEATS)
    return _moved(song_map, grid, [beat + grid.step(n) / 2 for n, beat in enumerate(grid.beats)])


def tapped(song_map: SongMap, taps_s: Sequence[float], duration_s: float) -> SongMap:
    """Beats laid evenly as a person tapped them, from the first tap on; bars are counted on.

    They reach to the end of the song or the next place a person fixed; in a song without beats also back to
    its start, and the first tap is a one. The pace is the straight line that fits the taps best.
    """
    if len(taps_s) < FEWEST_TAPS or any(later <= tap for tap, later in pairwise(taps_s)):
        raise ValueError(f"Tap at least {FEWEST_TAPS} times, one beat after the other.")
    first_s, step_s = _line(taps_s)
    if not SLOWEST_BPM <= 60 / step_s <= FASTEST_BPM:
        raise ValueError(f"That is {60 / step_s:.0f} bpm. Tap once on every beat.")
    grid = grid_of(song_map)
    hand = [grid.beats[n] for n in (*grid.fixed, *(start for start, _ in grid.counted))]
    end_s = min((moment for moment in hand if moment > taps_s[-1]), default=None)
    before = sum(beat < first_s - step_s / 2 for beat in grid.beats)
    back = 0 if grid.beats else int(max(first_s, 0.0) / step_s)
    last_s = duration_s if end_s is None else end_s - step_s / 2
    count = sum(first_s + n * step_s < last_s for n in range(int(max(0.0, last_s - first_s) / step_s) + 2))
    laid = [first_s + n * step_s for n in range(-back, count) if first_s + n * step_s >= 0]
    rest = [] if end_s is None else [beat for beat in grid.beats if beat >= end_s]
    metre = grid.metre(before)
    downbeats = [one for one in grid.downbeats if one < before]
    next_downbeat = max(downbeats[-1] + metre, before) if downbeats else back % metre + before
    shift = before + len(laid) - (len(grid.beats) - len(rest))
    late = [one + shift for one in grid.downbeats if end_s is not None and grid.beats[one] >= end_s]
    made = Grid(
        (*grid.beats[:before], *laid, *rest),
        (*downbeats, *range(next_downbeat, before + len(laid), metre), *late),
    )
    kept_s = {*grid.beats[:before], *rest}
    made = replace(
        made,
        fixed=_found(made, (grid.beats[n] for n in grid.fixed), kept_s),
        counted=tuple(
            (made.nearest(grid.beats[n]), beats) for n, beats in grid.counted if grid.beats[n] in kept_s
        ),
    )
    return _by_hand(song_map, with_grid(song_map, made))


def put_back(song_map: SongMap, before: SongMap, from_s: float) -> SongMap:
    """The map with what a person had fixed, from a moment on, put onto its beats."""
    grid = grid_of(song_map)
    moments = [(one, 0) for one in before.downbeats_s] + [
        (metre.from_s, metre.beats) for metre in before.metres
    ]
    for moment, beats in sorted(moments):
        if moment < from_s:
            continue
        grid, here = _with_beat(grid, moment)
        new, _ = _with_downbeat(grid, here, onward=True)
        grid = _with_metre(new, here, beats) if beats else new
        if moment not in before.downbeats_s:
            grid = replace(grid, fixed=tuple(one for one in grid.fixed if one != here))
    return with_grid(song_map, grid)


def _with_beat(grid: Grid, moment: float) -> tuple[Grid, int]:
    """The grid with a beat at a moment, and which it is: the nearest one drawn there, or another one."""
    if grid.beats:
        here = grid.nearest(moment)
        usual = 60 / (tempo_of(grid.beats) or 60)
        near = NEAR * min(usual, grid.step(here - 1), grid.step(here))
        if abs(grid.beats[here] - moment) <= max(SAME_S, near):
            return replace(grid, beats=(*grid.beats[:here], moment, *grid.beats[here + 1 :])), here
    here = bisect_right(grid.beats, moment)

    def to(beat: int) -> int:
        return beat + (beat >= here)

    return Grid(
        (*grid.beats[:here], moment, *grid.beats[here:]),
        tuple(map(to, grid.downbeats)),
        tuple(map(to, grid.fixed)),
        tuple((to(start), count) for start, count in grid.counted),
    ), here


def _with_downbeat(grid: Grid, here: int, *, onward: bool) -> tuple[Grid, dict[int, int]]:
    """The grid with a bar that begins at a beat, and where the bar lines that moved for that went."""
    downbeats = grid.downbeats or tuple(range(here % USUAL_METRE, len(grid.beats), USUAL_METRE))
    if (
        here < downbeats[0]
    ):  # bars are counted back to the new bar 1, so that no more than a bar's rest is moved
        length = grid.metre(downbeats[0])
        back = range(downbeats[0] - length, here - length, -length)
        downbeats = (*reversed(back), *downbeats)
    low = here if onward else max((one for one in grid.fixed if one < here), default=-1)
    high = min((one for one in grid.fixed if one > here), default=len(grid.beats))
    near = min(downbeats, key=lambda one: (abs(one - here), one > here))
    by = here - near
    to = {one: one + by for one in downbeats if low < one < high}
    moved = {one: new for one, new in to.items() if max(low, -1) < new < high}
    laid = {one for one in downbeats if one not in to} | set(moved.values()) | {here}
    metre = grid.metre(here)
    first = min((new for new in moved.values() if new > low), default=here)
    if not onward and low in grid.fixed and first - low > metre + 1:
        laid.add(low + metre)  # a short bar is likelier than one of six beats
    fixed = {*grid.fixed, here}
    laid = _without_lone(laid, (low + 1, here - 1, high - 1), fixed, metre)
    if grid.downbeats and here < grid.downbeats[0]:
        laid = {one for one in laid if one >= here}
    counted = {moved.get(start, start): count for start, count in grid.counted}
    new_grid = replace(
        grid,
        downbeats=tuple(sorted(laid)),
        fixed=tuple(sorted(fixed)),
        counted=tuple(sorted((start, count) for start, count in counted.items() if start in laid)),
    )
    if near not in laid:
        moved[near] = here
    return new_grid, {a: b for a, b in moved.items() if b in laid and a in grid.downbeats}


def _with_metre(grid: Grid, here: int, beats: int) -> Grid:
    end = min((start for start, _ in grid.counted if start > here), default=len(grid.beats))
    anchors = [here, *(one for one in grid.fixed if here < one < end)]
    laid = {one for one in grid.downbeats if one < here or one >= end}
    for start, stop in pairwise([*anchors, end]):
        laid |= set(range(start, stop, beats))
    hand = {*anchors, *grid.fixed, *(start for start, _ in grid.counted)}
    laid = _without_lone(laid, [stop - 1 for stop in (*anchors[1:], end)], hand, beats)
    counted = {**dict(grid.counted), here: beats}
    return replace(grid, downbeats=tuple(sorted(laid)), counted=tuple(sorted(counted.items())))


def _without_lone(laid: set[int], places: Iterable[int], kept: Collection[int], metre: int) -> set[int]:
    """Bar lines without those that would make a bar of a single beat where two counts meet: nobody counts
    that; the beat belongs to the bar before."""
    if metre <= 2:
        return laid
    return laid - {one for one in places if one not in kept and (one + 1 in laid or one - 1 in kept)}


def _start(song_map: SongMap, grid: Grid, from_s: float | None) -> int:
    if len(grid.beats) < 2:
        raise ValueError(NO_BEATS)
    if from_s is None:
        return grid.downbeats[0] if grid.downbeats else 0
    start_s = bar_start(song_map, from_s)
    return grid.nearest(from_s if start_s is None else start_s)


def _with_middle(grid: Grid, n: int, beat: float, start: int) -> list[float]:
    return [beat] if n < start else [beat, beat + grid.step(n) / 2]


def _retimed(song_map: SongMap, grid: Grid, where: Mapping[int, int], downbeats: Sequence[int]) -> SongMap:
    """The map on fewer beats: ``where`` tells for those that are kept which they are now."""
    old = sorted(where)
    at = {one: where[one] if one in where else bisect_right(old, one) - 1 for one in downbeats}
    laid = tuple(sorted({new for new in at.values() if new >= 0}))
    made = Grid(
        tuple(grid.beats[n] for n in old),
        laid,
        tuple(where[one] for one in grid.fixed if where.get(one) in laid),
        tuple((where[one], count) for one, count in grid.counted if where.get(one) in laid),
    )
    return _by_hand(song_map, with_grid(song_map, made))


def _by_hand(before: SongMap, song_map: SongMap) -> SongMap:
    """The map with a tempo that a person said; the one before is the other way to count it."""
    tempo = song_map.tempo_bpm or 0.0
    if not SLOWEST_BPM <= tempo <= FASTEST_BPM:
        raise ValueError(f"That would be {tempo:.0f} bpm, which no song has.")
    return replace(song_map, tempo_by_hand=True, other_tempo_bpm=before.tempo_bpm)


def _moved(song_map: SongMap, grid: Grid, beats: Sequence[float]) -> SongMap:
    """The map with each beat somewhere else; what would lie before the song's start goes."""
    gone = sum(beat < 0 for beat in beats)
    if gone == len(beats):
        raise ValueError("No beat would be left.")
    made = Grid(
        tuple(beats[gone:]),
        tuple(one - gone for one in grid.downbeats if one >= gone),
        tuple(one - gone for one in grid.fixed if one >= gone),
        tuple((start - gone, count) for start, count in grid.counted if start >= gone),
    )
    moved = {old: new for old, new in zip(grid.beats, beats, strict=True) if new >= 0}
    return moved_edges(with_grid(song_map, made), moved, by_hand_too=True)


def moved_edges(song_map: SongMap, moved: Mapping[float, float], *, by_hand_too: bool = False) -> SongMap:
    """The map with section edges that lay on a beat where that beat lies now."""

    def to(edge: float) -> float:
        if edge in song_map.edges_s and not by_hand_too:
            return edge
        near = [old for old in moved if abs(old - edge) <= SAME_S]
        return moved[near[0]] if near else edge

    sections = song_map.sections
    inner = [to(section.start_s) for section in sections[1:]]
    edges = [*(s.start_s for s in sections[:1]), *inner, *(s.end_s for s in sections[-1:])]
    if any(later <= edge for edge, later in pairwise(edges)):
        return song_map
    return replace(
        song_map,
        sections=tuple(
            replace(section, start_s=start, end_s=end)
            for section, (start, end) in zip(sections, pairwise(edges), strict=True)
        ),
        edges_s=tuple(sorted({to(edge) for edge in song_map.edges_s})) if by_hand_too else song_map.edges_s,
    )


def _line(taps_s: Sequence[float]) -> tuple[float, float]:
    """First beat and step of the straight line through taps, by least squares."""
    count = len(taps_s)
    middle = (count - 1) / 2
    mean = sum(taps_s) / count
    step = sum((n - middle) * (tap - mean) for n, tap in enumerate(taps_s)) / sum(
        (n - middle) ** 2 for n in range(count)
    )
    return mean - middle * step, step


def _found(grid: Grid, moments: Iterable[float], kept_s: Collection[float]) -> tuple[int, ...]:
    return tuple(grid.nearest(moment) for moment in moments if moment in kept_s)
