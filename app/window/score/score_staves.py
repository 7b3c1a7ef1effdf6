"""Staves of one line: which take lies in which row, and where the rests are."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.model.document.angle import Angle
from app.model.document.marks import Mark, MarkState
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, Take
from app.window.score.score_boxes import MarkBox, Stave, System, TakeBox
from app.window.score.score_metrics import Metrics

HAIR = 0.1
"""Part of a bar: less than this of a take leaves the bar a rest."""


@dataclass(frozen=True, slots=True)
class MarkSpan:
    """A fault or keeper of a take with its ends in the song."""

    start_s: float
    end_s: float
    mark: Mark


@dataclass(frozen=True, slots=True)
class TakeSpan:
    """A take, or a part of it that is shown, with its ends in the song, looked up once."""

    start_s: float
    end_s: float
    clip: Clip
    take: Take
    marks: tuple[MarkSpan, ...] = ()
    """Faults and keepers that lie in it; none that were dismissed."""


@dataclass(frozen=True, slots=True)
class Part:
    """An angle that has a stave, with its takes."""

    angle: Angle
    takes: tuple[TakeSpan, ...]
    row_of: dict[str, int]
    """The row of each take by its id, the same in the whole song."""

    @property
    def rows(self) -> int:
        """Rows its takes lie in."""
        return max(self.row_of.values(), default=-1) + 1

    @property
    def sound_only(self) -> bool:
        """None of its takes has a picture."""
        return all(one.clip.frame_rate is None for one in self.takes)


@dataclass(frozen=True, slots=True)
class StaveRow:
    """Where an angle's stave lies on a line (pixels), and the rows of its takes there by their ids."""

    part: Part
    y: float
    height: float
    row_of: dict[str, int]


def mark_spans(clip: Clip, take: Take) -> tuple[MarkSpan, ...]:
    """The faults and keepers of a take, the longest first."""
    found = []
    for mark in clip.marks:
        if mark.state is MarkState.DISMISSED:
            continue
        start_s, end_s = max(mark.clip_start_s, take.clip_start_s), min(mark.clip_end_s, take.clip_end_s)
        if start_s < end_s:
            found.append(MarkSpan(take.song_time(start_s), take.song_time(end_s), mark))
    return tuple(sorted(found, key=lambda one: one.start_s - one.end_s))


def rows_of(takes: Sequence[TakeSpan]) -> dict[str, int]:
    """Which row each take of an angle lies in, by its id.

    The longest come first, as the first row gets the pictures; what overlaps them lies below, then what is in
    doubt, and last what is sound only.
    """
    wanted = sorted(
        takes,
        key=lambda one: (
            one.clip.frame_rate is None,
            one.take.verdict is Verdict.DOUBTFUL,
            one.start_s - one.end_s,
        ),
    )
    rows: list[list[TakeSpan]] = []
    row_of: dict[str, int] = {}
    for one in wanted:
        row = next((n for n, row in enumerate(rows) if not any(_meet(one, o) for o in row)), len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append(one)
        row_of[one.take.id] = row
    return row_of


def rows_between(part: Part, span: tuple[float, float], bars: int) -> dict[str, int]:
    """The rows of those takes of which something is seen between two moments so many bars apart."""
    start_s, end_s = span
    least = HAIR * (end_s - start_s) / bars
    return {
        one.take.id: part.row_of[one.take.id]
        for one in part.takes
        if min(one.end_s, end_s) - max(one.start_s, start_s) > least
    }


def lay_staves(rows: Sequence[StaveRow], metrics: Metrics, system: System) -> tuple[Stave, ...]:
    """Lay out the staves of a system."""
    return tuple(_stave(row, metrics, system) for row in rows)


def _stave(row: StaveRow, metrics: Metrics, system: System) -> Stave:
    part = row.part
    if not row.row_of:
        rests = tuple((b.x0, b.x1) for b in system.bars)
        return _stave_of(row, (), rests)
    slim = metrics.slim(max(row.row_of.values()))
    apart = 2.0 if slim >= 5 else 0.0
    high = metrics.lead(part.sound_only)
    # Every take keeps its row; of those that are here the uppermost gets the pictures.
    lead = min(row.row_of.values())
    boxes = []
    for one in part.takes:
        mine = row.row_of.get(one.take.id)
        if mine is None:
            continue
        below = mine > lead
        boxes.append(
            TakeBox(
                clip=one.clip,
                take=one.take,
                x0=system.x(max(one.start_s, system.start_s)),
                x1=system.x(min(one.end_s, system.end_s)),
                y=row.y + (high + (mine - 1) * slim + apart if below else lead * slim),
                height=slim - apart if below else high,
                begins=one.start_s >= system.start_s,
                ends=one.end_s <= system.end_s,
                slim=below,
                marks=_marks(one, system),
            )
        )
    # A bar with no more of a take than a hair's breadth at its edge is a rest.
    rests = tuple(
        (b.x0, b.x1)
        for b in system.bars
        if not any(min(t.x1, b.x1) - max(t.x0, b.x0) > HAIR * (b.x1 - b.x0) for t in boxes)
    )
    return _stave_of(row, tuple(boxes), rests)


def _stave_of(row: StaveRow, takes: tuple[TakeBox, ...], rests: tuple[tuple[float, float], ...]) -> Stave:
    return Stave(
        angle=row.part.angle,
        y=row.y,
        height=row.height,
        takes=takes,
        rests=rests,
        sound_only=row.part.sound_only,
    )


def _marks(one: TakeSpan, system: System) -> tuple[MarkBox, ...]:
    low, high = max(one.start_s, system.start_s), min(one.end_s, system.end_s)
    return tuple(
        MarkBox(
            mark.mark,
            system.x(max(mark.start_s, low)),
            system.x(min(mark.end_s, high)),
            begins=mark.start_s >= low,
        )
        for mark in one.marks
        if mark.start_s < high and mark.end_s > low
    )


def _meet(one: TakeSpan, other: TakeSpan) -> bool:
    return one.start_s < other.end_s and other.start_s < one.end_s
