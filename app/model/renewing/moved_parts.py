"""Where every part of every take lies on the song's last master, and where it lies now."""

from collections.abc import Iterator
from dataclasses import dataclass

from app.model.document.masters import EarlierMaster, MasterPiece
from app.model.on_song import Clip, SongView, Take, mostly_shared
from app.model.renewing.carried_takes import LEAST_S


@dataclass(frozen=True, slots=True)
class MovedPart:
    """A part of a clip, before and after the master was replaced."""

    clip: Clip
    clip_start_s: float
    clip_end_s: float
    take: Take | None
    """As it is on the song; None where it has no place there any more."""
    piece: MasterPiece | None
    """The piece of the last master that it lies on; None of what was added since, and of what is gone."""
    old_s: float | None
    """Where it began in the last master; None where it was not there."""


def moved_parts(shoot: SongView) -> tuple[MovedPart, ...]:
    """All parts since the last master, clip by clip; none where the song had no other.

    A take is cut where pieces of the master meet: each part moved by its own. What lay on what was cut and
    has another place now moved there from where it lay. Where a take lay is told from where it lies: one that
    a person has put elsewhere since counts as if it had been there before.
    """
    if not shoot.masters:
        return ()
    last = shoot.masters[-1]
    out = []
    for clip in shoot.clips:
        gone = [
            one.take.placement
            for one in last.left
            if one.kind == "take" and one.clip_id == clip.id and one.take is not None
        ]
        parts: list[MovedPart] = []
        for take in clip.takes:
            was = next((one for one in gone if mostly_shared(one, take)), None)
            if was is None:
                parts += _parts(clip, take, last)
                continue
            gone.remove(was)
            old_s = was.line.song_time(take.clip_start_s)
            parts.append(MovedPart(clip, take.clip_start_s, take.clip_end_s, take, None, old_s))
        parts += [
            MovedPart(clip, one.clip_start_s, one.clip_end_s, None, None, one.song_start_s) for one in gone
        ]
        out += sorted(parts, key=lambda one: (one.clip_start_s, one.take is None))
    return tuple(out)


def _parts(clip: Clip, take: Take, last: EarlierMaster) -> Iterator[MovedPart]:
    at = take.clip_start_s
    for piece in sorted(last.pieces, key=lambda one: one.new_start_s):
        low = max(take.clip_time(piece.new_start_s), at)
        high = min(take.clip_time(piece.line.song_time(piece.old_end_s)), take.clip_end_s)
        # A sliver beyond the edge of a piece belongs to the part beside it.
        if high - low < LEAST_S:
            continue
        if low - at >= LEAST_S:
            yield MovedPart(clip, at, low, take, None, None)
        else:
            low = at
        if take.clip_end_s - high < LEAST_S:
            high = take.clip_end_s
        yield MovedPart(clip, low, high, take, piece, piece.line.clip_time(take.song_time(low)))
        at = high
    if take.clip_end_s - at >= LEAST_S or at == take.clip_start_s:
        yield MovedPart(clip, at, take.clip_end_s, take, None, None)
