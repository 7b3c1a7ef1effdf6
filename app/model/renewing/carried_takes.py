"""Takes of the old master on the next one: split where it was cut, with what has no place any more."""

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

from app.model.document.decisions import Pin, TakeRecord
from app.model.document.findings import Rival, TakePlacement
from app.model.document.verdict import Verdict
from app.model.renewing.carried_reasons import carried_reason
from app.model.renewing.through import Part, Through

LEAST_S = 0.5
"""A shorter piece of a take, left over at a cut, is not carried over. Chosen by hand."""

SAME_S = 0.05
"""Places nearer to each other than this are one."""


def carried_placements(take: TakePlacement, through: Through) -> tuple[TakePlacement, ...]:
    """What of a take lives on, piece by piece, in doubt until it was heard on the next master.

    Where all of it has a place as a whole, it stays whole; else each moment has the first of its places.
    """
    line = take.line
    first_s, last_s = line.song_time(take.clip_start_s), line.song_time(take.clip_end_s)
    out = []
    whole = through.places(first_s, last_s) or through.places(first_s, last_s, LEAST_S)
    for part in whole[:1] or through.parts(first_s, last_s):
        start_s, end_s = line.clip_time(part.old_start_s), line.clip_time(part.old_end_s)
        if end_s - start_s < LEAST_S:
            continue
        out.append(
            TakePlacement(
                clip_start_s=start_s,
                clip_end_s=end_s,
                song_start_s=part.new_start_s,
                speed=take.speed * part.piece.speed,
                uncertainty_s=hypot(take.uncertainty_s * part.piece.speed, part.piece.uncertainty_s),
                verdict=Verdict.DOUBTFUL,
                reason=carried_reason(take.verdict),
                rivals=(*_also(part, through), *_rivals(take, start_s, through)),
                lags=tuple(
                    replace(lag, lag_s=lag.lag_s * part.piece.speed)
                    for lag in take.lags
                    if start_s <= lag.clip_s <= end_s
                ),
                playback_id=take.playback_id,
            )
        )
    return tuple(sorted(out, key=lambda one: one.clip_start_s))


def carried_records(
    record: TakeRecord, through: Through, taken: Sequence[str]
) -> tuple[tuple[TakeRecord, ...], tuple[TakeRecord, ...]]:
    """A take that a person decided, on the next master, and what of it has no place there any more.

    The first part keeps the id; the decision stays with each. A person's place stays sure: only what the
    machine found has to be heard again.
    """
    ids = list(taken)
    kept = []
    for number, placement in enumerate(carried_placements(record.placement, through)):
        own = record.id if number == 0 else _free(record.id, ids)
        ids.append(own)
        kept.append(
            replace(
                record,
                id=own,
                placement=replace(
                    placement, verdict=record.placement.verdict, reason=record.placement.reason
                ),
                pins=_pins(record.pins, placement, through),
            )
        )
    line = record.placement.line
    first_s = line.song_time(record.placement.clip_start_s)
    last_s = line.song_time(record.placement.clip_end_s)
    left = [
        replace(record, placement=cut(record.placement, line.clip_time(low), line.clip_time(high)))
        for low, high in through.gone(first_s, last_s)
    ]
    return tuple(kept), tuple(one for one in left if _length_s(one) >= LEAST_S)


def left_of(take: TakePlacement, through: Through) -> tuple[TakePlacement, ...]:
    """What of a take has no place on the next master."""
    line = take.line
    gone = through.gone(line.song_time(take.clip_start_s), line.song_time(take.clip_end_s))
    parts = [cut(take, line.clip_time(low), line.clip_time(high)) for low, high in gone]
    return tuple(one for one in parts if one.clip_end_s - one.clip_start_s >= LEAST_S)


def cut(take: TakePlacement, start_s: float, end_s: float) -> TakePlacement:
    """The part of a take between two moments of its clip."""
    return replace(
        take,
        clip_start_s=start_s,
        clip_end_s=end_s,
        song_start_s=take.line.song_time(start_s),
        rivals=(),
        lags=(),
    )


def _length_s(record: TakeRecord) -> float:
    return record.placement.clip_end_s - record.placement.clip_start_s


def _also(part: Part, through: Through) -> tuple[Rival, ...]:
    """The other places of what was doubled: it fits there as well, for the most part at least."""
    half_s = (part.old_end_s - part.old_start_s) / 2
    places = [
        run.line.song_time(part.old_start_s)
        for run in through.runs
        if min(part.old_end_s, run.old_end_s) - max(part.old_start_s, run.old_start_s) > half_s
    ]
    others = [new_s for new_s in places if abs(new_s - part.new_start_s) > SAME_S]
    return tuple(Rival(new_s, 1.0, as_well=True) for new_s in others)


def _rivals(take: TakePlacement, start_s: float, through: Through) -> tuple[Rival, ...]:
    out = []
    for rival in take.rivals:
        old_s = rival.song_start_s + (start_s - take.clip_start_s) * take.speed
        new_s = through.moment(old_s)
        if new_s is not None:
            # What was ruled out once stays so, whatever the sound alone left open.
            open_ = rival.as_well and take.verdict is Verdict.DOUBTFUL
            out.append(replace(rival, song_start_s=new_s, as_well=open_))
    return tuple(out)


def _pins(pins: Sequence[Pin], placement: TakePlacement, through: Through) -> tuple[Pin, ...]:
    """Pins that lie in the part, at their new moments."""
    out = []
    for pin in pins:
        new_s = through.moment(pin.song_s)
        if new_s is not None and placement.clip_start_s <= pin.clip_s <= placement.clip_end_s:
            out.append(replace(pin, song_s=new_s))
    return tuple(out)


def _free(take_id: str, taken: Sequence[str]) -> str:
    number = 2
    while f"{take_id}-part-{number}" in taken:
        number += 1
    return f"{take_id}-part-{number}"
