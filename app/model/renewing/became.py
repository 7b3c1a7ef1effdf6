"""What became of everything when a song was renewed: for reports and for the page that shows it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.model.answers import Answer
from app.model.document.media_ref import MediaRef
from app.model.on_song import SongView, Take, mostly_shared
from app.model.renewing.carried_reasons import AGREE_S, off_s
from app.model.renewing.through import Through


@dataclass(frozen=True, slots=True)
class Carried:
    """One take of the old master, and what became of it."""

    clip_id: str
    media: MediaRef
    take: Take
    """As it is on the new master."""
    old_start_s: float | None
    """Song time of its start on the old one; None where it lies on nothing that was there."""
    heard_off_s: float | None
    """How far from there it was heard on the new master (s, at its middle); None where it was not heard."""

    @property
    def agrees(self) -> bool:
        """Whether it was heard where it was carried to."""
        allowed = AGREE_S + self.take.uncertainty_s
        return self.heard_off_s is not None and abs(self.heard_off_s) <= allowed


def became(carried: SongView, through: Through, heard: Sequence[Answer]) -> tuple[Carried, ...]:
    """All takes on the new master as they were ``carried``, beside what was ``heard`` on it."""
    found = {answer.media.path: answer.takes for answer in heard}
    out = []
    for clip in carried.clips:
        for take in clip.takes:
            near = [one for one in found.get(clip.media.path, ()) if mostly_shared(one, take)]
            span = take.clip_start_s, take.clip_end_s
            # What was doubled may be heard in either place.
            lines = [take.line]
            lines += [replace(take.line, song_start_s=one.song_start_s) for one in take.rivals if one.as_well]
            off = [off_s(one.line, line, *span) for one in near for line in lines]
            out.append(
                Carried(
                    clip.id,
                    clip.media,
                    take,
                    _old_s(take.song_start_s, through),
                    min(off, key=abs) if off else None,
                )
            )
    return tuple(out)


def _old_s(new_s: float, through: Through) -> float | None:
    for piece in through.pieces:
        old_s = piece.line.clip_time(new_s)
        if piece.old_start_s - 1e-6 <= old_s <= piece.old_end_s + 1e-6:
            return old_s
    return None
