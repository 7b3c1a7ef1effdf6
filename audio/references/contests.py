"""Stretches of a recording that several songs claim: decided by placing them on all of these at once.

Songs of one band share sounds, and two mixes of a song share all but a few. Each by itself fits. So the
references are joined to one long song (`audio.references.composite`), in which the other song's place is a
rival like any other: what tells two choruses apart (`audio.placement.rivals`) tells two songs apart.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from audio.placement.align import Hearing
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.spans import FIRM
from audio.placement.takes import DROWNED, LOUD
from audio.references.by_timecode import is_backed, is_by_timecode, is_weak
from audio.references.composite import Composite
from audio.references.reference import Reference, Told, told

EDGE_S = 4.0
"""Takes of two songs that overlap by less meet there: the weaker one is trimmed …"""
EDGE_SHARE = 0.3
"""… unless that is more than this share of the shorter one. Both chosen by hand."""
AROUND_S = 1.0
"""So much around a contested stretch is heard along (s)."""
SAME_LINE_S = 0.005
"""Two lines this close are the same (s)."""
SAME_SPEED = 0.002
"""Two speeds this close are the same, clocks apart (share)."""
OWN_SPEED = 0.001
"""A speed this close to 1 is a song's own (share): more than clocks are off."""


@dataclass(frozen=True, slots=True)
class Court:
    """What deciding a contest needs."""

    hearing: Callable[[], Hearing]
    """Gives the recording; asked only where there is a contest."""
    references: Mapping[str, Reference]
    names: Mapping[str, str]
    """Of songs, by key."""
    composite_of: Callable[[tuple[str, ...]], Composite]
    stop: Callable[[], bool]


def without_chance(takes: Sequence[Told]) -> list[Told]:
    """The takes without those that are chance, where the recording has a song clearly elsewhere."""
    clearest = max((one.stands_out for one in takes), default=0.0)

    def chance(one: Told) -> bool:
        weak = one.fit.verdict is PlaceVerdict.DOUBTFUL and one.fit.strength < FIRM
        return weak and clearest > DROWNED * one.stands_out

    return [one for one in takes if not chance(one)]


def decided(takes: Sequence[Told], court: Court) -> list[Told]:
    """The takes of all songs in the recording's order, none of them over another without saying so.

    Raises Stopped.
    """
    takes = _without_drowned(_by_timecode(takes, court))
    out: list[Told] = []
    for cluster in clusters(takes):
        if len({one.song for one in cluster}) > 1:
            out += _decided(cluster, court)
        else:
            out += cluster
    return sorted(trimmed(out), key=lambda one: (one.fit.clip_start_s, one.fit.clip_end_s))


def _by_timecode(takes: Sequence[Told], court: Court) -> list[Told]:
    """The takes, where timecode tells whose a stretch is: other songs' weak ones are dropped, and strong ones
    are in doubt; what sound and timecode agree on stands."""
    out = list(takes)
    for one in takes:
        rivals = [other for other in takes if is_contest(one, other)]
        if is_backed(one.fit):
            out = [other for other in out if other not in rivals or is_backed(other.fit)]
        elif is_by_timecode(one.fit):
            strong = [other for other in rivals if not is_weak(other.fit) and not is_by_timecode(other.fit)]
            reason = Reason(ReasonCode.TIMECODE_CONTRADICTS, (("song", court.names.get(one.song, one.song)),))
            out = [
                replace(other, fit=replace(other.fit, verdict=PlaceVerdict.DOUBTFUL, reason=reason))
                if other in strong
                else other
                for other in out
                if other not in rivals or other in strong
            ]
            if strong:
                out.remove(one)
    return out


def clusters(takes: Sequence[Told]) -> list[list[Told]]:
    """Takes that songs contest with each other, together; those that nobody contests, each by itself."""
    left, out = list(takes), []
    while left:
        cluster, grew = [left.pop(0)], True
        while grew:
            near = [one for one in left if any(is_contest(one, other) for other in cluster)]
            grew = bool(near)
            cluster += near
            left = [one for one in left if one not in near]
        out.append(cluster)
    return out


def trimmed(takes: Sequence[Told]) -> list[Told]:
    """The takes, where two of different songs overlap at an edge, with the weaker one cut off there."""
    out = sorted(takes, key=lambda one: one.stands_out, reverse=True)
    for place, strong in enumerate(out):
        for number in range(place + 1, len(out)):
            weak = out[number]
            if weak.song != strong.song and _shared_s(strong, weak) > 0 and not is_contest(strong, weak):
                before = weak.fit.clip_start_s < strong.fit.clip_start_s
                start = weak.fit.clip_start_s if before else strong.fit.clip_end_s
                end = strong.fit.clip_start_s if before else weak.fit.clip_end_s
                out[number] = weak.within(start, end)
    return out


def _without_drowned(takes: Sequence[Told]) -> list[Told]:
    """The takes without doubtful ones that a far stronger one of another song covers."""
    return [
        one
        for one in takes
        if not any(
            other.song != one.song
            and is_contest(one, other)
            and one.fit.verdict is PlaceVerdict.DOUBTFUL
            and one.fit.strength < LOUD
            and other.stands_out > DROWNED * one.stands_out
            for other in takes
        )
    ]


def _shared_s(one: Told, other: Told) -> float:
    return min(one.fit.clip_end_s, other.fit.clip_end_s) - max(one.fit.clip_start_s, other.fit.clip_start_s)


def is_contest(one: Told, other: Told) -> bool:
    """Whether two takes are of different songs, and share more than an edge."""
    shared = _shared_s(one, other)
    shorter = min(one.fit.clip_length_s, other.fit.clip_length_s)
    return one.song != other.song and shared > min(EDGE_S, EDGE_SHARE * shorter)


def _decided(cluster: Sequence[Told], court: Court) -> list[Told]:
    placement = _on_all(cluster, court)
    if placement is None:
        return _by_verdict(cluster, court)
    composite = court.composite_of(_keys(cluster))
    out: list[Told] = []
    for take in placement.takes:
        out += _of_composite(take, composite, cluster, court)
    for one in cluster:
        heard = sum(max(0.0, _over_s(take, one)) for take in placement.takes)
        if heard < 0.5 * one.fit.clip_length_s:
            # On all of them together nothing was found here: then nobody knows.
            rival = next(other.song for other in cluster if other.song != one.song)
            out.append(in_doubt(one, rival, court.names))
    return _once(out)


def _on_all(cluster: Sequence[Told], court: Court) -> Placement | None:
    """The stretch of a cluster placed on all its references at once; None where they run at different speeds,
    or where no waveforms agree."""
    speed = max(cluster, key=lambda one: one.fit.strength).found.speed
    if any(abs(one.found.speed / speed - 1) > SAME_SPEED for one in cluster):
        return None
    start = min(one.fit.clip_start_s for one in cluster) - AROUND_S
    end = max(one.fit.clip_end_s for one in cluster) + AROUND_S
    part = court.hearing().part(start, end)
    index = court.composite_of(_keys(cluster)).index
    if abs(speed - 1) < OWN_SPEED:
        takes = part.at_own_speed(index, court.stop)
    else:
        takes = part.at_speed(speed, index, court.stop)
    return part.answer(takes) if takes.takes else None


def _keys(cluster: Sequence[Told]) -> tuple[str, ...]:
    return tuple(sorted({one.reference for one in cluster}))


def _by_verdict(cluster: Sequence[Told], court: Court) -> list[Told]:
    """What cannot be compared by waveforms: a placed take is believed beside weak ones in doubt, and nothing
    else is."""
    placed = [one for one in cluster if one.fit.verdict is PlaceVerdict.PLACED]
    weak = [
        one
        for one in cluster
        if one.fit.verdict is PlaceVerdict.DOUBTFUL and one.fit.strength < min(LOUD, _least(placed))
    ]
    if len({one.song for one in placed}) == 1 and len(weak) == len(cluster) - len(placed):
        return placed
    return [
        in_doubt(one, next(other.song for other in cluster if other.song != one.song), court.names)
        for one in cluster
    ]


def _least(placed: Sequence[Told]) -> float:
    return min((one.fit.strength for one in placed), default=0.0)


def _of_composite(take: TakeFit, composite: Composite, cluster: Sequence[Told], court: Court) -> list[Told]:
    """A take on the composite as takes on the references: one, and one for each other song it may be."""
    key, begin_s = composite.at(_middle_s(take, take.song_start_s))
    found = _moved(take, composite, key, begin_s)
    if found is None:
        return []
    mine = [one for one in cluster if one.reference == key and _same_line(one.found, found)]
    own = mine or told(found, court.references[key], court.names)
    if not own:
        return []
    others: list[Told] = []
    for rival in take.rivals:
        there, there_s = composite.at(_middle_s(take, rival.song_start_s))
        if not rival.open or there == key:
            continue
        moved_s = found.line.song_s + begin_s - take.song_start_s
        line = replace(found.line, song_s=rival.song_start_s - there_s + moved_s)
        copy = replace(found, line=line, rivals=(), strength=take.strength * rival.strength)
        same = [one for one in cluster if one.reference == there and _same_line(one.found, copy)]
        others += same or told(copy, court.references[there], court.names)
    songs = {one.song for one in own}
    others = [one for one in others if one.song not in songs]
    if others:
        doubted = [in_doubt(one, others[0].song, court.names) for one in own]
        return doubted + [in_doubt(one, own[0].song, court.names) for one in others]
    if take.verdict is PlaceVerdict.DOUBTFUL:
        # What is in doubt here for other reasons than another song is in doubt by itself too, or is now.
        return [
            one
            if one.fit.verdict is PlaceVerdict.DOUBTFUL
            else replace(one, fit=replace(one.fit, verdict=take.verdict, reason=take.reason))
            for one in own
        ]
    return own


def _moved(take: TakeFit, composite: Composite, key: str, begin_s: float) -> TakeFit | None:
    """A take on the composite in the time of the reference it lies in, no longer than that."""
    line = take.line.shifted(-begin_s)
    start = max(take.clip_start_s, line.clip_time(0.0))
    end = min(take.clip_end_s, line.clip_time(composite.length_s(key)))
    if end <= start:
        return None
    inside = [
        PlaceRival(rival.song_start_s - begin_s, rival.strength, rival.open)
        for rival in take.rivals
        if composite.at(_middle_s(take, rival.song_start_s))[0] == key
    ]
    reason = take.reason
    count = sum(rival.open for rival in inside)
    if reason is not None and reason.code is ReasonCode.FITS_ELSEWHERE:
        reason = Reason(ReasonCode.FITS_ELSEWHERE, (("places", count),))
    moved = replace(take, line=line, rivals=tuple(inside), reason=reason)
    return moved.reaching(start, end, take.uncertainty_s)


def _middle_s(take: TakeFit, start_s: float) -> float:
    return start_s + take.clip_length_s / 2 * take.speed


def _over_s(take: TakeFit, one: Told) -> float:
    return min(take.clip_end_s, one.fit.clip_end_s) - max(take.clip_start_s, one.fit.clip_start_s)


def _same_line(one: TakeFit, other: TakeFit) -> bool:
    """Whether two takes of one reference lie on one line, where both are."""
    start, end = max(one.clip_start_s, other.clip_start_s), min(one.clip_end_s, other.clip_end_s)
    if end - start < 0.5 * min(one.clip_length_s, other.clip_length_s):
        return False
    at = (start + end) / 2
    return abs(one.line.song_time(at) - other.line.song_time(at)) < SAME_LINE_S


def in_doubt(one: Told, other: str, names: Mapping[str, str]) -> Told:
    """A take of which nobody knows whether it is of another song."""
    reason = Reason(ReasonCode.OTHER_SONG_AS_WELL, (("song", names.get(other, other)),))
    return replace(one, fit=replace(one.fit, verdict=PlaceVerdict.DOUBTFUL, reason=reason))


def _once(takes: Sequence[Told]) -> list[Told]:
    """Each take once: one may come back from several takes on the composite. In doubt where one says so."""
    out: list[Told] = []
    for one in takes:
        same = next((n for n, other in enumerate(out) if _is_same(one, other)), None)
        if same is None:
            out.append(one)
        elif one.fit.verdict is PlaceVerdict.DOUBTFUL:
            out[same] = one
    return out


def _is_same(one: Told, other: Told) -> bool:
    place = (one.reference, one.song, one.fit.clip_start_s, one.fit.clip_end_s)
    return place == (other.reference, other.song, other.fit.clip_start_s, other.fit.clip_end_s)
