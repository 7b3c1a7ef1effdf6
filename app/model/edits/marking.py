"""Where a take begins and ends, as a person marked it: a stretch of a clip as a take of its own."""

from dataclasses import replace

from app.model.document.ids import fresh_id
from app.model.document.shoot import Decided, Deed, Shoot, Take
from app.model.edits.change import NOTHING, Change
from app.model.edits.decisions import with_takes
from app.model.edits.pins import SHORTEST_S


def mark_stretch(shoot: Shoot, clip_id: str, from_s: float, to_s: float, at: str) -> tuple[Shoot, Change]:
    """A person says: from here to there (clip time) is a take of its own.

    It lies on the line of the take that most of it belongs to. What that take, and others, hold of the
    stretch is cut out of them: they are shortened or split, and pieces of less than half a second go. All
    pieces are kept from then on as they are, in doubt where their take was. Raises ValueError with a
    sentence.
    """
    clip = shoot.clip(clip_id)
    from_s, to_s = max(0.0, min(from_s, to_s)), min(clip.duration_s, max(from_s, to_s))
    if to_s - from_s < SHORTEST_S:
        raise ValueError("A take needs at least half a second. Mark a longer stretch.")
    base = max(clip.takes, key=lambda take: _shared_s(take, from_s, to_s), default=None)
    if base is None or _shared_s(base, from_s, to_s) <= 0:
        raise ValueError("No take runs there whose place the stretch could have. Pin a frame of it first.")
    if (base.clip_start_s, base.clip_end_s) == (from_s, to_s):
        return shoot, NOTHING
    decided = Decided(Deed.MARKED, at)
    taken = {take.id for one in shoot.clips for take in one.takes}
    takes: list[Take] = []
    for take in clip.takes:
        if _shared_s(take, from_s, to_s) <= 0:
            takes.append(take)
            continue
        spans = [(take.clip_start_s, from_s), (to_s, take.clip_end_s)]
        spans = [span for span in spans if span[1] - span[0] >= SHORTEST_S]
        if take is base:
            spans.append((from_s, to_s))
        name = take.id
        for start_s, end_s in sorted(spans):
            takes.append(replace(cut(take, start_s, end_s), id=name, decided=decided))
            name = fresh_id(f"{clip.id}-take", taken)
            taken.add(name)
    takes.sort(key=lambda take: (take.clip_start_s, take.clip_end_s))
    return with_takes(shoot, clip, tuple(takes))


def cut(take: Take, start_s: float, end_s: float) -> Take:
    """The take's line between two moments of the clip, with what was measured there."""
    later_s = (start_s - take.clip_start_s) * take.speed
    return replace(
        take,
        clip_start_s=start_s,
        clip_end_s=end_s,
        song_start_s=take.song_start_s + later_s,
        rivals=tuple(replace(one, song_start_s=one.song_start_s + later_s) for one in take.rivals),
        lags=tuple(point for point in take.lags if start_s <= point.clip_s <= end_s),
    )


def _shared_s(take: Take, from_s: float, to_s: float) -> float:
    return min(take.clip_end_s, to_s) - max(take.clip_start_s, from_s)
