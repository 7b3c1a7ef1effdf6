"""Every clip without the song: is this the wrong song? What is asked then, and what the clips share."""

from dataclasses import dataclass

from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView

LEAST_CLIPS = 2
"""A single clip without the song is nothing special: a slate, a rehearsal."""
NOT_FOUND = "song not found"
"""Code of the reason of a clip that was heard; others are ``no song`` because they have no sound."""


@dataclass(frozen=True, slots=True)
class Shared:
    """What clips without the song share: others were placed on one of them as if it were the song."""

    path: str
    """The clip that the others were placed on."""
    compared: int
    matching: int
    """How many were compared with it, and how many of them hold what it holds."""


def without_song(shoot: SongView) -> tuple[Clip, ...]:
    """The clips that were heard, if the song was found in none of them and none still waits; else none.

    What a person decided counts: a take placed by hand is the song.
    """
    heard = [clip for clip in shoot.clips if clip.verdict is not Verdict.UNREADABLE]
    if shoot.song is None or any(clip.verdict is not Verdict.NO_SONG or clip.takes for clip in heard):
        return ()
    found = tuple(clip for clip in heard if clip.reason.code == NOT_FOUND)
    return found if len(found) >= LEAST_CLIPS else ()


def question(shoot: SongView, shared: Shared | None = None) -> str:
    """What is asked where ``without_song`` has clips, with what they share, if that is known; else empty."""
    clips = without_song(shoot)
    if not clips or shoot.song is None:
        return ""
    none = "Neither of the 2 clips has" if len(clips) == 2 else f"None of the {len(clips)} clips has"
    asked = f"{none} this song. Is {_name(shoot.song.media.path)} the right song?"
    return f"{asked} {sharing(shared)}" if shared is not None and shared.matching else asked


def sharing(shared: Shared) -> str:
    """What clips share, in a sentence, where any match.

    >>> sharing(Shared("/card/A001.mov", 4, 3))
    '3 of 4 other clips match A001.mov, so they may be from another song.'
    """
    if shared.compared == 1:
        return f"The other clip matches {_name(shared.path)}, so both may be from another song."
    verb = "matches" if shared.matching == 1 else "match"
    return (
        f"{shared.matching} of {shared.compared} other clips {verb} {_name(shared.path)}, "
        "so they may be from another song."
    )


def _name(path: str) -> str:
    return path.replace("\\", "/").rpartition("/")[2]
