"""Takes that were carried over to the next master, held against what is heard on it.

Two witnesses: the map from master to master, and the sound. Where both put a take at the same place, it is
placed there, even if the sound alone could not tell it from others, as in a chorus that was doubled. Where
they differ, it is in doubt, with the other place beside it. Nothing that was carried is lost because the
sound does not tell it.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

from app.model.clip_verdict import of_takes
from app.model.document.findings import Finding, Rival, TakePlacement
from app.model.document.verdict import Verdict
from app.model.on_song import mostly_shared
from app.model.reasons import Reason
from app.model.renewing.carried_reasons import (
    AGREE_S,
    BY_CODE,
    ELSEWHERE,
    HERE,
    NOT_HEARD,
    WAS_CUT,
    is_carried,
    off_s,
    said_of,
    was_placed,
)
from app.model.renewing.carried_takes import LEAST_S, cut
from app.model.song_line import Line

SETTLED = frozenset(
    ("", "fits elsewhere", "faint", "loud echo", "clock unclear", "leap", "mostly doubtful", "some takes")
)
"""Doubts of the sound by itself, which a place that is known otherwise settles. What other clips, codes and
songs say against it stays said."""

OLD_CODE = "code of another song"
"""Why a clip without sound is not placed whose slate shows the code of the earlier master."""


def held_again(before: Finding, heard: Finding, gone: Sequence[TakePlacement] = ()) -> Finding:
    """What was heard on the next master, with what was carried over to it (``before``).

    That itself, where the file could not be read: it is not heard yet. ``gone`` are stretches of the clip
    that lay on what was cut: where they are heard all the same, that is another place that sounds alike.
    """
    carried = [take for take in before.takes if is_carried(take)]
    if not carried and not gone:
        return heard
    if heard.verdict is Verdict.UNREADABLE:
        return before if carried else heard
    out: list[TakePlacement] = []
    told: set[int] = set()
    for take in heard.takes:
        near = [number for number, one in enumerate(carried) if mostly_shared(one, take)]
        told |= set(near)
        if near or not any(mostly_shared(one, take) for one in gone):
            out += _held(take, [carried[number] for number in near])
        else:
            out.append(replace(take, verdict=Verdict.DOUBTFUL, reason=Reason(WAS_CUT)))
    # Without sound it was placed by its slate, and that tells the time of the earlier master.
    by_code = heard.reason.code == OLD_CODE
    out += [
        replace(
            one,
            verdict=Verdict.PLACED if by_code and was_placed(one) else Verdict.DOUBTFUL,
            reason=said_of(one, BY_CODE if by_code else NOT_HEARD),
        )
        for number, one in enumerate(carried)
        if number not in told
    ]
    for number in told:
        out += _rest(carried[number], out)
    out.sort(key=lambda take: (take.clip_start_s, take.clip_end_s))
    verdict, reason = of_takes([(take.verdict, take.reason) for take in out])
    return replace(heard, verdict=verdict, reason=reason, takes=tuple(out))


def _held(heard: TakePlacement, carried: Sequence[TakePlacement]) -> list[TakePlacement]:
    """A take that was heard, beside those that were carried to about that stretch of its clip."""
    if not carried or not any(map(was_placed, carried)):
        return [heard]  # what was in doubt before has nothing to say against the sound
    offs = [_off_s(heard, one) for one in carried]
    settled = heard.verdict is Verdict.PLACED or heard.reason.code in SETTLED
    if all(_agree(off, heard, one) for off, one in zip(offs, carried, strict=True)):
        if not settled:
            return [heard]
        reason = said_of(carried[0], HERE, max(offs, key=abs))
        whole = _as_far(_better(heard, carried), carried)
        return [replace(whole, verdict=Verdict.PLACED, reason=reason)]
    out = []
    for off, one in zip(offs, carried, strict=True):
        part = cut(one, max(one.clip_start_s, heard.clip_start_s), min(one.clip_end_s, heard.clip_end_s))
        also = _as_well(heard, one)
        if settled and (also or _agree(off, heard, one)):
            verdict, reason = Verdict.PLACED, said_of(one, HERE, 0.0 if also else off)
        else:
            verdict, reason = Verdict.DOUBTFUL, said_of(one, ELSEWHERE, off)
        rivals = _others(heard, part, also, as_well=verdict is Verdict.PLACED)
        out.append(replace(part, verdict=verdict, reason=reason, rivals=rivals))
    return out


def _better(heard: TakePlacement, carried: Sequence[TakePlacement]) -> TakePlacement:
    """The take as it was heard; on a line that it was carried to where the sound alone left a doubt."""
    if heard.verdict is Verdict.PLACED or len(carried) > 1:
        return heard
    (one,) = carried
    return replace(
        heard,
        song_start_s=_nearest(heard, one).song_time(heard.clip_start_s),
        speed=one.speed,
        uncertainty_s=one.uncertainty_s,
        lags=(),
    )


def _as_far(heard: TakePlacement, carried: Sequence[TakePlacement]) -> TakePlacement:
    """The take as far as either tells: soft ends are heard in one master and not in another."""
    own = [one for one in carried if _nearest(heard, one) == one.line]
    start_s = min([heard.clip_start_s, *(one.clip_start_s for one in own)])
    end_s = max([heard.clip_end_s, *(one.clip_end_s for one in own)])
    return replace(heard, clip_start_s=start_s, clip_end_s=end_s, song_start_s=heard.line.song_time(start_s))


def _rest(carried: TakePlacement, out: Sequence[TakePlacement]) -> list[TakePlacement]:
    """What of a carried take no other one covers."""
    left, at = [], carried.clip_start_s
    covered = sorted((one.clip_start_s, one.clip_end_s) for one in out)
    for low, high in (*covered, (carried.clip_end_s, carried.clip_end_s)):
        if min(low, carried.clip_end_s) - at >= LEAST_S:
            left.append(cut(carried, at, min(low, carried.clip_end_s)))
        at = max(at, high)
    reason = said_of(carried, NOT_HEARD)
    return [replace(one, verdict=Verdict.DOUBTFUL, reason=reason) for one in left]


def _nearest(heard: TakePlacement, carried: TakePlacement) -> Line:
    """The line that a take was carried to; of what the next master has twice, the one nearer to the sound."""
    lines = [carried.line]
    lines += [replace(lines[0], song_start_s=one.song_start_s) for one in carried.rivals if one.as_well]
    return min(lines, key=lambda line: abs(_apart_s(heard, carried, line)))


def _off_s(heard: TakePlacement, carried: TakePlacement) -> float:
    return _apart_s(heard, carried, _nearest(heard, carried))


def _apart_s(heard: TakePlacement, carried: TakePlacement, line: Line) -> float:
    start_s = max(heard.clip_start_s, carried.clip_start_s)
    return off_s(heard.line, line, start_s, min(heard.clip_end_s, carried.clip_end_s))


def _agree(off: float, heard: TakePlacement, carried: TakePlacement) -> bool:
    return abs(off) <= AGREE_S + hypot(heard.uncertainty_s, carried.uncertainty_s)


def _as_well(heard: TakePlacement, carried: TakePlacement) -> Rival | None:
    """The place at which a take was heard as well, if that is where it was carried to."""
    due_s = carried.line.song_time(heard.clip_start_s)
    allowed_s = AGREE_S + hypot(heard.uncertainty_s, carried.uncertainty_s)
    near = [one for one in heard.rivals if one.as_well and abs(one.song_start_s - due_s) <= allowed_s]
    return min(near, key=lambda one: abs(one.song_start_s - due_s), default=None)


def _others(
    heard: TakePlacement, part: TakePlacement, also: Rival | None, *, as_well: bool
) -> tuple[Rival, ...]:
    """Where else a carried take was heard, the place that its sound gave first."""
    by_s = (part.clip_start_s - heard.clip_start_s) * heard.speed
    first = Rival(heard.song_start_s + by_s, 1.0, as_well=as_well, computed=not as_well)
    rest = [replace(one, song_start_s=one.song_start_s + by_s) for one in heard.rivals if one is not also]
    return (first, *rest)
