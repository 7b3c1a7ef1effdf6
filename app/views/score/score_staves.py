"""Staves of one line: which take lies in which row, and where the rests are."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.model.shoot import Angle, Clip, Take, Verdict
from app.views.score.score_boxes import Stave, System, TakeBox
from app.views.score.score_metrics import Metrics

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
class StaveRow:
    """Where an angle's stave lies on a line, and the rows of its takes there by their ids."""

    part: Part
    y: float
    height: float
    row_of: dict[str, int]


def rows_between(part: Part, span: tuple[float, float], bars: int) -> dict[str, int]:
    """Which row each take lies in between two moments so many bars apart, by its id.

    The longest come first and get the pictures; what overlaps them lies below, what is in doubt last.
    """
    start_s, end_s = span
    least = HAIR * (end_s - start_s) / bars
    here = []
    for one in part.takes:
        if one.start_s < end_s and one.end_s > start_s:
            shown_s = min(one.end_s, end_s) - max(one.start_s, start_s)
            if shown_s > least:
                here.append((one.take.verdict is Verdict.DOUBTFUL, -shown_s, one))
    here.sort(key=lambda entry: entry[:2])
    rows: list[list[Laid]] = []
    row_of: dict[str, int] = {}
    for _, _, one in here:
        row = next((n for n, row in enumerate(rows) if not any(_meet(one, o) for o in row)), len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append(one)
        row_of[one.take.id] = row
    return row_of


def lay_staves(rows: Sequence[StaveRow], metrics: Metrics, system: System) -> tuple[Stave, ...]:
    """Lay out the staves of a system."""
    return tuple(_stave(row, metrics, system) for row in rows)


def _stave(row: StaveRow, metrics: Metrics, system: System) -> Stave:
    part, top = row.part, row.y
    if not row.row_of:
        rests = tuple((b.x0, b.x1) for b in system.bars)
        return Stave(part.angle, part.order, top, row.height, (), rests)
    slim = metrics.slim(max(row.row_of.values()))
    apart = 2.0 if slim >= 5 else 0.0
    picture = metrics.picture
    boxes = []
    for one in part.takes:
        below = row.row_of.get(one.take.id)
        if below is None:
            continue
        boxes.append(
            TakeBox(
                one.clip,
                one.take,
                system.x(max(one.start_s, system.start_s)),
                system.x(min(one.end_s, system.end_s)),
                top + (picture + (below - 1) * slim + apart if below else 0.0),
                slim - apart if below else picture,
                one.start_s >= system.start_s,
                one.end_s <= system.end_s,
                below > 0,
            )
        )
    # A bar with no more of a take than a hair's breadth at its edge is a rest.
    rests = tuple(
        (b.x0, b.x1)
        for b in system.bars
        if not any(min(t.x1, b.x1) - max(t.x0, b.x0) > HAIR * (b.x1 - b.x0) for t in boxes)
    )
    return Stave(part.angle, part.order, top, row.height, tuple(boxes), rests)


def _meet(one: Laid, other: Laid) -> bool:
    return one.start_s < other.end_s and other.start_s < one.end_s
