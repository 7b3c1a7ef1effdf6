"""Where everything of the score lies: systems, bars, staves and takes as plain figures, without painting.

A section is a system; a long section takes several lines, very short ones share a line, and where the score
flows, all do.
Within a line time runs evenly, so a take begins where it begins, not at the nearest bar line.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from math import ceil

from app.model.coverage.coverage import BarCoverage, SectionCoverage
from app.model.coverage.need_bars import SubjectBars, missing_remarks
from app.model.coverage.showing import counted_clips, sound_clips
from app.model.coverage.staves import stave_order
from app.model.coverage.subjects import shows
from app.model.coverage.usable import usable_takes
from app.model.on_song import SongView
from app.model.song_map.lyrics import lines_at_bars
from app.window.score.score_boxes import BarBox, NeedRow, ScoreLayout, System
from app.window.score.score_metrics import ROOMY, Metrics
from app.window.score.score_shown import Shown
from app.window.score.score_staves import (
    Part,
    StaveRow,
    TakeSpan,
    lay_staves,
    mark_spans,
    rows_between,
    rows_of,
)

Rows = dict[str, int]
ALL = Shown()
SHORT = 2
"""A section of no more bars shares a line: a whole line for it would waste most of the screen."""


@dataclass(frozen=True, slots=True)
class Content:
    """What a score shows, whatever its size; made once for a shoot."""

    sections: tuple[SectionCoverage, ...] = ()
    parts: tuple[Part, ...] = ()
    counted: bool = True
    """The song has bars; without, a section is one span and takes the whole width."""
    silent: bool = True
    """Staves that have nothing in their line are shown too."""
    missing: tuple[SubjectBars, ...] = ()
    """How the plan stands, for the words in the margin."""
    needs: tuple[SubjectBars, ...] = ()
    """The same, as rows above the staves; empty where they are not shown."""
    cut: bool = False
    """The first pass has a row above the staves."""
    lyrics: Mapping[int, str] = field(default_factory=dict)
    """For the number of a bar the words that begin there."""
    rows: dict[tuple[str, float, float], Rows] = field(default_factory=dict, compare=False)
    """Rows of an angle's takes between two moments (song time, seconds), as far as they were asked for: most
    lines are the same in many sizes."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """Some bars of a section that stand on one line."""

    section: SectionCoverage
    first: bool
    bars: Sequence[BarCoverage]


def content(
    shoot: SongView,
    sections: Sequence[SectionCoverage],
    needs: tuple[SubjectBars, ...] = (),
    shown: Shown = ALL,
) -> Content:
    """Gather what the score shows: angles that have a take and are not hidden, in stave order.

    What is sound only is shown too, so that it can be found; it does not count. ``needs`` is how the plan
    stands.
    """
    takes: dict[str, list[TakeSpan]] = {}
    for clip in (*counted_clips(shoot), *sound_clips(shoot)):
        for take in filter(shown.lets, clip.takes):
            takes.setdefault(clip.angle_id, []).append(
                TakeSpan(take.song_start_s, take.song_end_s, clip, take, mark_spans(clip, take))
            )
    parts = [
        Part(angle, tuple(takes[angle.id]), rows_of(takes[angle.id]))
        for angle in stave_order(shoot.angles)
        if angle.id in takes and not angle.hidden and (not shown.subject or shows(angle, shown.subject))
    ]
    if shown.usable:
        parts = _usable(shoot, parts)
    counted = shoot.song is not None and bool(shoot.song.map.bars_s)
    found = tuple(section for section in sections if section.bars)
    return Content(
        sections=found,
        parts=tuple(parts),
        counted=counted,
        silent=shown.silent,
        missing=needs,
        needs=needs if shown.needs and counted else (),
        cut=shown.first_pass,
        lyrics={} if shoot.song is None or not counted else lines_at_bars(shoot.song),
    )


def _usable(shoot: SongView, parts: Sequence[Part]) -> list[Part]:
    """The same angles with what can be used of their takes; every take keeps its row."""
    spans = {one.take.id: one.usable for one in usable_takes(shoot)}
    found = []
    for part in parts:
        takes = tuple(
            replace(one, start_s=start_s, end_s=end_s)
            for one in part.takes
            for start_s, end_s in spans.get(one.take.id, ())
        )
        if takes:
            found.append(replace(part, takes=takes))
    return found


def lay_out(shown: Content, width: float, metrics: Metrics) -> ScoreLayout:
    """Lay the score out for a width."""
    left = metrics.margin + metrics.label
    room = max(width - left - metrics.margin, metrics.narrowest_bar)
    systems: list[System] = []
    y = metrics.margin
    broken = lines(shown, room, metrics)
    fullest = max((sum(len(piece.bars) for piece in line) for line in broken), default=1)
    widest = metrics.widest_bar(room, fullest) if shown.counted else room
    for line in broken:
        systems += _line(shown, line, (left, room, y), widest, metrics)
        y = systems[-1].bottom + metrics.after
    places = {bar.coverage.bar.number: (system, bar) for system in systems for bar in system.bars}
    return ScoreLayout(tuple(systems), y, places)


def lines(shown: Content, room: float, metrics: Metrics) -> list[list[_Piece]]:
    """Break the song into lines for a room so wide.

    Where the score does not flow, very short sections share a line with the one before or after, and whole
    ones on paper so wide that their bars stay roomy.
    """
    found: list[list[_Piece]] = []
    used = room
    for section in shown.sections:
        for n, bars in enumerate(_broken(section.bars, room, metrics)):
            wide = len(bars) * metrics.narrowest_bar + metrics.beside
            shares = n == 0 and bool(found) and (metrics.flows or shown.counted)
            if shares and not metrics.flows:
                before = sum(len(piece.bars) for piece in found[-1])
                short = min(len(bars), len(found[-1][-1].bars)) <= SHORT
                roomy = ROOMY * metrics.narrowest_bar * (before + len(bars)) + metrics.beside <= room
                shares = short or (roomy and _whole(found[-1]))
            if not shares or used + wide - metrics.beside > room:
                found.append([])
                used = 0.0
            found[-1].append(_Piece(section, n == 0, bars))
            used += wide
    return found


def _whole(line: Sequence[_Piece]) -> bool:
    """Whether nothing on a line goes on from the line before."""
    return all(piece.first for piece in line)


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
    shown: Content,
    pieces: Sequence[_Piece],
    place: tuple[float, float, float],
    widest: float,
    metrics: Metrics,
) -> list[System]:
    left, room, top = place
    count = sum(len(piece.bars) for piece in pieces)
    free = room - (len(pieces) - 1) * metrics.beside
    wide = min(free, count * widest)
    spans = [(p.bars[0].bar.start_s, p.bars[-1].bar.end_s) for p in pieces]
    per_bar = wide / count
    # Staves first, for all sections on the line: they share heights.
    y = top + metrics.heading + metrics.depths + metrics.lyrics
    numbers = [(p.bars[0].bar.number, p.bars[-1].bar.number) for p in pieces]
    needs = []
    for subject in shown.needs:
        if any(subject.within(*ends) for ends in numbers):
            needs.append(NeedRow(subject, y, metrics.need))
            y += metrics.need
    y += metrics.after_needs if needs else 0.0
    shots_y = y if shown.cut else None
    y += metrics.shots + metrics.after_shots if shown.cut else 0.0
    rows: list[tuple[Part, float, float, list[Rows]]] = []
    above: Part | None = None
    for part in shown.parts:
        assigned = [_rows(shown, part, span, len(p.bars)) for span, p in zip(spans, pieces, strict=True)]
        deepest = max(max(row_of.values(), default=-1) for row_of in assigned) + 1
        if not deepest and not shown.silent:
            continue
        if above is not None and part.angle.safety and not above.angle.safety:
            y += metrics.gap  # room for the double line
        height = metrics.stave(deepest, part.sound_only) if deepest else metrics.silent
        rows.append((part, y, height, assigned))
        y += height + metrics.gap
        above = part
    bottom = y - metrics.gap if rows else y
    systems, x = [], left
    for n, (piece, (start_s, end_s)) in enumerate(zip(pieces, spans, strict=True)):
        x1 = x + per_bar * len(piece.bars)
        per_s = (x1 - x) / (end_s - start_s)
        first, last = numbers[n]
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
        parts = tuple(StaveRow(part, at, height, assigned[n]) for part, at, height, assigned in rows)
        not_named = any(bar.not_named for bar in piece.bars)
        systems.append(
            System(
                section=piece.section.section,
                first=piece.first,
                leads=n == 0,
                top=top,
                bottom=bottom,
                x0=x,
                x1=x1,
                start_s=start_s,
                end_s=end_s,
                bars=bars,
                thin=thin,
                not_named=not_named,
                missing=missing_remarks(shown.missing, first, last, where=shown.counted),
                need_rows=tuple(needs),
                shots_y=shots_y,
                bottom_of_shots=0.0 if shots_y is None else shots_y + metrics.shots,
                lyrics=tuple(
                    (box.x0, words) for box in bars if (words := shown.lyrics.get(box.coverage.bar.number))
                ),
                make_staves=partial(lay_staves, parts, metrics),
            )
        )
        x = x1 + metrics.beside
    return systems


def _rows(shown: Content, part: Part, span: tuple[float, float], bars: int) -> Rows:
    key = (part.angle.id, *span)
    if key not in shown.rows:
        shown.rows[key] = rows_between(part, span, bars)
    return shown.rows[key]
