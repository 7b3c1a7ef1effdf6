"""What the engine answers about the pictures of one file: measures, its set-up, faults it proposes."""

from dataclasses import dataclass

from app.model.document.looks import Measure
from app.model.document.media_ref import MediaRef
from app.model.on_song import Clip


@dataclass(frozen=True, slots=True)
class Proposed:
    """A stretch that looks faulty; a person says whether it is."""

    reason: str
    """What was seen: one of the words of `app.model.faults_seen`."""
    clip_start_s: float
    clip_end_s: float
    measure: float
    """The figure on which it is proposed; what it counts depends on the reason."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What looking at a file gave, beside the other files of its shoot."""

    media: MediaRef
    """The file that was looked at, as it was then."""
    measures: tuple[Measure, ...] = ()
    group: str = ""
    """A word that files of one set-up share; empty where the pictures tell of none."""
    sure: float = 0.0
    """How likely it is that the file belongs to its group, from 0 to 1."""
    proposed: tuple[Proposed, ...] = ()
    trouble: str = ""
    """Why its pictures could not be looked at, in a sentence; empty where they could."""


def has_pictures(clip: Clip) -> bool:
    """Whether there is something to look at, as far as is known: a file not read yet may have pictures."""
    return clip.frame_rate is not None or clip.duration_s == 0
