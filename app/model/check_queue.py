"""In which order takes are looked at: what is in doubt first, then the least sure, what is decided last."""

from dataclasses import dataclass
from enum import StrEnum

from app.model.decisions import is_decided
from app.model.pins import frame_s
from app.model.shoot import Clip, Shoot, Take, Verdict


class Shown(StrEnum):
    """Which takes are listed."""

    ALL = "All takes"
    DOUBT = "In doubt"
    UNDECIDED = "Not decided yet"
    DECIDED = "Decided by a person"
    WITHOUT = "Clips without a take"


@dataclass(frozen=True, slots=True)
class Entry:
    """A take to be looked at; or a clip without one, to be placed by its pictures."""

    clip: Clip
    take: Take | None

    @property
    def key(self) -> str:
        """What it is known by; a clip without a take by the clip."""
        return self.clip.id if self.take is None else self.take.id

    @property
    def unsure_frames(self) -> float:
        """How sure its place is, in frames of the clip."""
        return 0.0 if self.take is None else self.take.uncertainty_s / frame_s(self.clip)


def is_open(take: Take) -> bool:
    """Whether a person should still look at the take: it is in doubt, and nobody said where it lies.

    >>> is_open(Take("t", 0.0, 1.0, 0.0, verdict=Verdict.DOUBTFUL))
    True
    """
    return take.verdict is Verdict.DOUBTFUL


def entry_of(clip: Clip) -> str | None:
    """Key of the entry to look at first of a clip: a take in doubt, else its first; None: none.

    >>> takes = (Take("t1", 0.0, 1.0, 0.0, verdict=Verdict.PLACED), Take("t2", 2.0, 3.0, 0.0))
    >>> entry_of(Clip("clip-1", None, "a", takes=takes)), entry_of(Clip("clip-1", None, "a"))
    ('t1', None)
    """
    takes = sorted(clip.takes, key=lambda take: not is_open(take))
    if takes:
        return takes[0].id
    return clip.id if _without_take(clip) else None


def _without_take(clip: Clip) -> bool:
    """Whether the clip is listed by itself, to be placed by its pictures."""
    return not clip.takes and clip.verdict is Verdict.NO_SONG and clip.duration_s > 0


def queue(shoot: Shoot, shown: Shown = Shown.ALL) -> tuple[Entry, ...]:
    """The takes to be looked at, in order.

    First those in doubt, in the order of the clips; then those nobody decided, the least sure (in frames)
    first; then those that a person decided; last the clips with pictures in which nothing was found.
    """
    takes = [Entry(clip, take) for clip in shoot.clips for take in clip.takes]
    doubt = [entry for entry in takes if entry.take is not None and is_open(entry.take)]
    settled = [entry for entry in takes if entry not in doubt]
    decided = [entry for entry in settled if entry.take is not None and is_decided(entry.take)]
    rest = sorted(
        (entry for entry in settled if entry not in decided), key=lambda entry: -entry.unsure_frames
    )
    without = [Entry(clip, None) for clip in shoot.clips if _without_take(clip)]
    groups = {
        Shown.ALL: (*doubt, *rest, *decided, *without),
        Shown.DOUBT: tuple(doubt),
        Shown.UNDECIDED: (*(e for e in doubt if e.take and not is_decided(e.take)), *rest),
        Shown.DECIDED: tuple(decided),
        Shown.WITHOUT: tuple(without),
    }
    return groups[shown]
