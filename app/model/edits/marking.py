"""Where a take begins and ends, as a person marked it: a stretch of a clip as a take of its own."""

from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.decisions import Action, Decided
from app.model.document.ids import fresh_id
from app.model.document.shoot import Shoot
from app.model.edits.deciding import decide, needed_song, take_ids, without_decisions
from app.model.edits.pins import SHORTEST_S
from app.model.on_song import Take, on_song


def mark_stretch(
    shoot: Shoot, clip_id: str, from_s: float, to_s: float, at: str, song_id: str | None = None
) -> tuple[Shoot, Change]:
    """A person says: from here to there (clip time) is a take of its own.

    It lies on the line of the take that most of it belongs to. What that take, and others, hold of the
    stretch is cut out of them: they are shortened or split, and pieces of less than half a second go. All
    pieces are kept from then on as they are, in doubt where their take was. Raises ValueError with a
    sentence.
    """
    view = on_song(shoot, song_id)
    clip, song = view.clip(clip_id), needed_song(view.song)
    from_s, to_s = max(0.0, min(from_s, to_s)), min(clip.duration_s, max(from_s, to_s))
    if to_s - from_s < SHORTEST_S:
        raise ValueError("A take needs at least half a second. Mark a longer part.")
    base = max(clip.takes, key=lambda take: _shared_s(take, from_s, to_s), default=None)
    if base is None or _shared_s(base, from_s, to_s) <= 0:
        raise ValueError("No take covers that part of the clip. Pin a frame of it first.")
    if (base.clip_start_s, base.clip_end_s) == (from_s, to_s):
        return shoot, NOTHING
    decided = Decided(Action.MARKED, at)
    taken = take_ids(shoot)
    pieces: list[Take] = []
    touched = [take for take in clip.takes if _shared_s(take, from_s, to_s) > 0]
    for take in touched:
        spans = [(take.clip_start_s, from_s), (to_s, take.clip_end_s)]
        spans = [span for span in spans if span[1] - span[0] >= SHORTEST_S]
        if take is base:
            spans.append((from_s, to_s))
        name = take.id
        for start_s, end_s in sorted(spans):
            pieces.append(replace(cut(take, start_s, end_s), id=name, decided=decided))
            name = fresh_id(f"{clip.id}-take", taken)
            taken.add(name)
    shoot = without_decisions(shoot, {take.id for take in touched})
    return decide(shoot, song, clip_id, pieces)


def cut(take: Take, start_s: float, end_s: float) -> Take:
    """The take's line between two moments of the clip, with what was measured there."""
    song_start_s = take.song_time(start_s)
    later_s = song_start_s - take.song_start_s
    return replace(
        take,
        clip_start_s=start_s,
        clip_end_s=end_s,
        song_start_s=song_start_s,
        rivals=tuple(replace(one, song_start_s=one.song_start_s + later_s) for one in take.rivals),
        lags=tuple(point for point in take.lags if start_s <= point.clip_s <= end_s),
    )


def _shared_s(take: Take, from_s: float, to_s: float) -> float:
    return min(take.clip_end_s, to_s) - max(take.clip_start_s, from_s)
