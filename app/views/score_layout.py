"""Where everything of the score lies: systems, bars, staves and takes as plain figures, without painting.

A section is a system; a long section takes several lines, and where the score flows, short ones share a line.
Within a line time runs evenly, so a take begins where it begins, not at the nearest bar line.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from app.model.coverage import BarCoverage, SectionCoverage, counted_clips
from app.model.shoot import Angle, Clip, Shoot, Take, Verdict
from app.model.staves import colour_ranks, stave_order
from app.views.score_boxes import BarBox, ScoreLayout, Stave, System, TakeBox
from app.views.score_metrics import Metrics

HAIR = 0.1
"""Part of a bar: less than this of a take leaves the bar a rest."""


@dataclass(frozen=True, slots=True)
class Laid:
    """A take with its ends in the song, looked up once."""

    start_s: float
    end_s: float
    clip: Clip
    take: Take


@dataclass(frozen=True, slots=True)
class Part:
    """An angle that has a stave, with its takes."""

    angle: Angle
    order: int
    takes: tuple[Laid, ...]
    rows: int
    """The most takes that lie over one moment."""


@dataclass(frozen=True, slots=True)
class Content:
    """What a score shows, whatever its size; made once for a shoot."""

    sections: tuple[SectionCoverage, ...] = ()
    parts: tuple[Part, ...] = ()
    counted: bool = True
    """The song has bars; without, a section is one span and takes the whole width."""
    silent: bool = True
    """Staves that have nothing in their line are shown too."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """Some bars of a section that stand on one line."""

    section: SectionCoverage
    first: bool
    bars: Sequence[BarCoverage]


def content(shoot: Shoot, sections: Sequence[SectionCoverage], *, silent: bool = True) -> Content:
    """Gather what the score shows: angles that have a take and are not hidden, in stave order."""
    takes: dict[str, list[Laid]] = {}
    for clip in counted_clips(shoot):
        for take in clip.takes:
            takes.setdefault(clip.angle_id, []).append(Laid(take.song_start_s, take.song_end_s, clip, take))
    ranks = colour_ranks(shoot.angles)
    parts = tuple(
        Part(angle, ranks[angle.id], tuple(takes[angle.id]), _deepest(takes[angle.id]))
        for angle in stave_order(shoot.angles)
        if angle.id in takes and not angle.hidden
    )
    counted = shoot.song is not None and bool(shoot.song.map.bars_s)
    return Content(tuple(section for section in sections if section.bars), parts, counted, silent)


def lay_out(shown: Content, width: float, metrics: Metrics) -> ScoreLayout:
    """Lay the score out for a width."""
    left = metrics.margin + metrics.label
    room = max(width - left - metrics.margin, metrics.narrowest_bar)
    systems: list[System] = []
    y = metrics.margin
    for line in lines(shown, room, metrics):
        systems += _line(shown, line, (left, room, y), metrics)
        y = systems[-1].bottom + metrics.after
    places = {bar.coverage.bar.number: (system, bar) for system in systems for bar in system.bars}
    return ScoreLayout(tuple(systems), y, places)


def lines(shown: Content, room: float, metrics: Metrics) -> list[list[_Piece]]:
    """Break the song into lines for a room so wide."""
    found: list[list[_Piece]] = []
    used = room
    for section in shown.sections:
        for n, bars in enumerate(_broken(section.bars, room, metrics)):
            wide = len(bars) * metrics.narrowest_bar + metrics.beside
            if not metrics.flows or n > 0 or used + wide - metrics.beside > room:
                found.append([])
                used = 0.0
            found[-1].append(_Piece(section, n == 0, bars))
            used += wide
    return found


def _broken(bars: Sequence[BarCoverage], room: float, metrics: Metrics) -> list[Sequence[BarCoverage]]:
    """Break a section's bars into lines as even as can be, of a multiple of four bars where that fits."""
    most = max(1, int(room // metrics.narrowest_bar))
    count = ceil(len(bars) / most)
    each = ceil(len(bars) / count)
    if count > 1 and most >= 4:
        while ceil(each / 4) * 4 > most:
            count += 1
            each = ceil(len(bars) / count)
        each = ceil(each / 4) * 4
    return [bars[n : n + each] for n in range(0, len(bars), each)]


def _line(
    shown: Content, pieces: Sequence[_Piece], place: tuple[float, float, float], metrics: Metrics
) -> list[System]:
    left, room, top = place
    count = sum(len(piece.bars) for piece in pieces)
    free = room - (len(pieces) - 1) * metrics.beside
    wide = min(free, count * metrics.widest_bar) if shown.counted else free
    spans = [(p.bars[0].bar.start_s, p.bars[-1].bar.end_s) for p in pieces]
    per_bar = wide / count
    # Staves first, for all sections on the line: they share heights.
    y = top + metrics.heading + metrics.depths
    rows: list[tuple[Part, float, float, list[dict[str, int]]]] = []
    above: Part | None = None
    for part in shown.parts:
        assigned = [_rows(part, span, len(p.bars)) for span, p in zip(spans, pieces, strict=True)]
        deepest = max(max(rows_of.values(), default=-1) for rows_of in assigned) + 1
        if not deepest and not shown.silent:
            continue
        if above is not None and part.angle.safety and not above.angle.safety:
            y += metrics.gap  # room for the double line
        height = metrics.stave(deepest) if deepest else metrics.silent
        rows.append((part, y, height, assigned))
        y += height + metrics.gap
        above = part
    bottom = y - metrics.gap if rows else y
    systems, x = [], left
    for n, (piece, (start_s, end_s)) in enumerate(zip(pieces, spans, strict=True)):
        x1 = x + per_bar * len(piece.bars)
        per_s = (x1 - x) / (end_s - start_s)
        first, last = piece.bars[0].bar.number, piece.bars[-1].bar.number
        thin = tuple(t for t in piece.section.thin if first <= t.last_bar and t.first_bar <= last)
        bars = tuple(
            BarBox(
                bar,
                x + (bar.bar.start_s - start_s) * per_s,
                x + (bar.bar.end_s - start_s) * per_s,
                any(t.first_bar <= bar.bar.number <= t.last_bar for t in thin),
            )
            for bar in piece.bars
        )
        staves = tuple(
            _stave(part, (at, height), assigned[n], bars, (x, per_s), (start_s, end_s), metrics)
            for part, at, height, assigned in rows
        )
        systems.append(
            System(
                piece.section.section,
                piece.first,
                n == 0,
                top,
                bottom,
                x,
                x1,
                start_s,
                end_s,
                bars,
                staves,
                thin,
            )
        )
        x = x1 + metrics.beside
    return systems


def _rows(part: Part, span: tuple[float, float], bars: int) -> dict[str, int]:
    """Which row each take of a span lies in, by its id.

    The longest come first and get the pictures; what overlaps them lies below, in the order of the song.
    """
    least = HAIR * (span[1] - span[0]) / bars
    here = [one for one in part.takes if _shown(one, span) > least]
    here.sort(key=lambda one: (one.take.verdict is Verdict.DOUBTFUL, -_shown(one, span)))
    rows: list[list[Laid]] = []
    row_of: dict[str, int] = {}
    for one in here:
        row = next((n for n, row in enumerate(rows) if not any(_meet(one, o) for o in row)), len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append(one)
        row_of[one.take.id] = row
    return row_of


def _stave(
    part: Part,
    place: tuple[float, float],
    row_of: dict[str, int],
    bars: Sequence[BarBox],
    scale: tuple[float, float],
    span: tuple[float, float],
    metrics: Metrics,
) -> Stave:
    (top, height), (left, per_s) = place, scale
    if not row_of:
        return Stave(part.angle, part.order, top, height, (), tuple((b.x0, b.x1) for b in bars))
    slim = metrics.slim(max(row_of.values()))
    apart = 2.0 if slim >= 5 else 0.0
    boxes = []
    for one in part.takes:
        row = row_of.get(one.take.id)
        if row is None:
            continue
        boxes.append(
            TakeBox(
                one.clip,
                one.take,
                left + (max(one.start_s, span[0]) - span[0]) * per_s,
                left + (min(one.end_s, span[1]) - span[0]) * per_s,
                top + (metrics.picture + (row - 1) * slim + apart if row else 0.0),
                slim - apart if row else metrics.picture,
                one.start_s >= span[0],
                one.end_s <= span[1],
                row > 0,
            )
        )
    rests = tuple((b.x0, b.x1) for b in bars if not any(_in_bar(t, b) for t in boxes))
    return Stave(part.angle, part.order, top, height, tuple(boxes), rests)


def _deepest(takes: Sequence[Laid]) -> int:
    """The most takes that lie over one moment."""
    edges = sorted([(one.start_s, 1) for one in takes] + [(one.end_s, -1) for one in takes])
    depth = deepest = 0
    for _, step in edges:
        depth += step
        deepest = max(deepest, depth)
    return deepest


def _in_bar(take: TakeBox, bar: BarBox) -> bool:
    """Whether more of a take lies in a bar than a hair's breadth at its edge."""
    return min(take.x1, bar.x1) - max(take.x0, bar.x0) > HAIR * (bar.x1 - bar.x0)


def _shown(one: Laid, span: tuple[float, float]) -> float:
    return min(one.end_s, span[1]) - max(one.start_s, span[0])


def _meet(one: Laid, other: Laid) -> bool:
    return one.start_s < other.end_s and other.start_s < one.end_s
