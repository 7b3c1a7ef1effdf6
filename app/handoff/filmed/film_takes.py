"""Which take of an angle a proof film shows at which moment of the song.

Where several takes of an angle run at once, a take that a person decided comes first, then the longest; it
stays until it ends. This is worked out for the whole song, so that a film of a few bars shows what the film
of the whole song shows there.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from app.handoff.layout import take_name
from app.handoff.outcome import plain
from app.model.document.decisions import Decision
from app.model.document.verdict import Verdict
from app.model.first_pass.result import FirstPass
from app.model.on_song import Clip, SongView, Take

SAME_S = 1e-6
"""Moments nearer than this count as one, seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A part of the song in which a tile shows one take."""

    clip: Clip
    take: Take
    start_s: float
    end_s: float
    """Both in song time."""
    words: str = ""
    """What is to be said of it beside the name of its file."""

    @property
    def name(self) -> str:
        """As it is burnt in."""
        return plain(f"{take_name(self.clip, self.take)} {self.words}".strip())


def seen_takes(shoot: SongView, angle_id: str, from_s: float, to_s: float) -> tuple[Seen, ...]:
    """What an angle shows in a part of the song, from takes beyond doubt."""
    found = [
        _whole(clip, take)
        for clip in shoot.clips
        if clip.angle_id == angle_id
        for take in clip.takes
        if take.verdict is Verdict.PLACED
    ]
    return tuple(
        replace(seen, start_s=max(seen.start_s, from_s), end_s=min(seen.end_s, to_s))
        for seen in _one_at_a_time(found)
        if min(seen.end_s, to_s) - max(seen.start_s, from_s) > SAME_S
    )


def seen_shots(shoot: SongView, cut: FirstPass, from_s: float, to_s: float) -> tuple[Seen, ...]:
    """What a first pass shows in a part of the song, each shot with its angle and its reason."""
    owners = {take.id: (clip, take) for clip in shoot.clips for take in clip.takes}
    names = {angle.id: angle.name for angle in shoot.angles}
    found = []
    for number, shot in enumerate(cut.shots, 1):
        start_s, end_s = max(shot.song_start_s, from_s), min(shot.song_end_s, to_s)
        if end_s - start_s > SAME_S:
            clip, take = owners[shot.take_id]
            words = f"– {number} {names.get(shot.angle_id, '')}: {shot.reason}"
            found.append(Seen(clip=clip, take=take, start_s=start_s, end_s=end_s, words=words))
    return tuple(found)


def _whole(clip: Clip, take: Take) -> Seen:
    """All of a take that is both in the song and in the clip."""
    first_s = max(take.clip_start_s, 0.0)
    last_s = min(take.clip_end_s, clip.duration_s) if clip.duration_s > 0 else take.clip_end_s
    return Seen(clip=clip, take=take, start_s=max(0.0, take.song_time(first_s)), end_s=take.song_time(last_s))


def _one_at_a_time(found: Sequence[Seen]) -> Iterable[Seen]:
    """Parts without overlap; each take goes on until it ends."""

    def has_picture(seen: Seen) -> bool:
        return seen.clip.frame_rate is not None

    def worth(seen: Seen) -> tuple[bool, bool, float]:
        decided = seen.take.decision is not Decision.COMPUTED
        return has_picture(seen), decided, seen.take.song_end_s - seen.take.song_start_s

    at_s = 0.0
    while True:
        running = [seen for seen in found if seen.start_s <= at_s + SAME_S and seen.end_s > at_s + SAME_S]
        if running:
            best = max(running, key=worth)
            # A sound-only take gives way to one with pictures.
            better = [s.start_s for s in found if s.start_s > at_s and has_picture(s) > has_picture(best)]
            end_s = min([best.end_s, *better])
            yield replace(best, start_s=at_s, end_s=end_s)
            at_s = end_s
            continue
        later = [seen.start_s for seen in found if seen.start_s > at_s]
        if not later:
            return
        at_s = min(later)
