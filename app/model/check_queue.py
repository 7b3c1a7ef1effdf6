"""In which order takes are looked at: what is in doubt first, then the least sure, what is decided last."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.model.document.decisions import Decision
from app.model.document.verdict import Verdict
from app.model.edits.pins import frame_s
from app.model.on_song import Clip, Refused, SongView, Take, is_decided


class Shown(StrEnum):
    """Which takes are listed."""

    ALL = "All takes"
    DOUBT = "In doubt"
    UNDECIDED = "Not decided yet"
    DECIDED = "Decided by you"
    WITHOUT = "Clips without a take"


@dataclass(frozen=True, slots=True)
class Entry:
    """A take to be looked at; one that was refused; or a clip without any, to be placed by its pictures."""

    clip: Clip
    take: Take | None
    refused: Refused | None = None

    @property
    def key(self) -> str:
        """What it is known by; a clip without a take by the clip."""
        if self.refused is not None:
            return f"{self.clip.id} refused {self.refused.clip_start_s:.3f}"
        return self.clip.id if self.take is None else self.take.id

    @property
    def refused_clip(self) -> bool:
        """Whether it is a clip of which a person said that the song does not run in it, without any take."""
        return self.take is None and self.refused is None and self.clip.decision is Decision.BY_HAND

    @property
    def held(self) -> Take | None:
        """The take as it can be held against the song, refused or not."""
        return self.take if self.refused is None else self.refused.take

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


def fitting(take: Take) -> tuple[int, ...]:
    """Which of the take's rivals fit as well, by their numbers in its list.

    Where a person put the take elsewhere, the place that was found by its sound is one of them.

    >>> from app.model.document.findings import Rival
    >>> fitting(Take("t", 0.0, 1.0, 0.0, rivals=(Rival(1.0, 0.9), Rival(2.0, 0.8, as_well=True))))
    (1,)
    """
    return tuple(number for number, rival in enumerate(take.rivals) if rival.as_well or rival.computed)


def entry_of(clip: Clip) -> str | None:
    """Key of the entry to look at first of a clip: one in doubt, else the first or a refused one.

    >>> takes = (Take("t1", 0.0, 1.0, 0.0, verdict=Verdict.PLACED), Take("t2", 2.0, 3.0, 0.0))
    >>> entry_of(Clip("clip-1", None, "a", takes=takes)), entry_of(Clip("clip-1", None, "a"))
    ('t1', None)
    """
    takes = sorted(clip.takes, key=lambda take: not is_open(take))
    if takes:
        return takes[0].id
    if clip.refused:
        return Entry(clip, None, clip.refused[0]).key
    return clip.id if _without_take(clip) else None


def _without_take(clip: Clip) -> bool:
    """Whether the clip is listed by itself, to be placed by its pictures."""
    nothing = not (clip.takes or clip.refused) and clip.verdict is Verdict.NO_SONG
    return nothing and not clip.elsewhere and clip.duration_s > 0


def queue(shoot: SongView, shown: Shown = Shown.ALL) -> tuple[Entry, ...]:
    """The takes to be looked at, in order.

    First those in doubt, in the order of the clips; then those nobody decided, the least sure (in frames)
    first; then those that a person decided, refusals last; in the end clips in which nothing was found.
    """
    takes = [Entry(clip, take) for clip in shoot.clips for take in clip.takes]
    doubt = [entry for entry in takes if entry.take is not None and is_open(entry.take)]
    settled = [entry for entry in takes if entry not in doubt]
    decided = [entry for entry in settled if entry.take is not None and is_decided(entry.take)]
    rest = sorted(
        (entry for entry in settled if entry not in decided), key=lambda entry: -entry.unsure_frames
    )
    refused = [Entry(clip, None, one) for clip in shoot.clips for one in clip.refused]
    without = [Entry(clip, None) for clip in shoot.clips if _without_take(clip)]
    groups = {
        Shown.ALL: (*doubt, *rest, *decided, *refused, *without),
        Shown.DOUBT: tuple(doubt),
        Shown.UNDECIDED: (*(e for e in doubt if e.take and not is_decided(e.take)), *rest),
        Shown.DECIDED: (*decided, *refused),
        Shown.WITHOUT: (*(e for e in refused if not e.clip.takes), *without),
    }
    return groups[shown]


def kept_in_place(before: Sequence[Entry], shoot: SongView, shown: Shown) -> tuple[Entry, ...]:
    """The entries of a shoot, in the order in which a list showed them before.

    Those that were listed stay where they were, whatever was decided about them. One that is gone leaves its
    row to what its clip has instead. Those that are new stand beside others of their clip, or where they
    would in order.
    """
    every = {entry.key: entry for entry in queue(shoot)}
    known = {entry.key for entry in before}
    fresh = [entry for entry in every.values() if entry.key not in known]
    kept: list[Entry] = []
    for old in before:
        now = every.get(old.key) or next((one for one in fresh if one.clip.id == old.clip.id), None)
        if now is not None:
            kept.append(now)
            fresh = [one for one in fresh if one is not now]
    listed = queue(shoot, shown)
    for entry in fresh:
        if entry in listed:
            kept.insert(_row_for(entry, kept, listed), entry)
    return tuple(kept)


def _row_for(entry: Entry, kept: Sequence[Entry], listed: Sequence[Entry]) -> int:
    beside = [row for row, one in enumerate(kept) if one.clip.id == entry.clip.id]
    if beside:
        return beside[-1] + 1
    before = {one.key for one in listed[: listed.index(entry)]}
    return max((row + 1 for row, one in enumerate(kept) if one.key in before), default=0)


def touched(before: SongView, after: SongView) -> str | None:
    """The key of what a decision was about that led from one shoot to the other, or back.

    None where it was about no take, or about those of several clips.
    """
    old = {clip.id: clip for clip in before.clips}
    pairs = [(old[clip.id], clip) for clip in after.clips if clip.id in old]
    pairs = [(was, now) for was, now in pairs if _decisions(was) != _decisions(now)]
    if len(pairs) != 1:
        return None
    was, now = pairs[0]
    entries = [Entry(now, None, one) for one in now.refused if one not in was.refused]
    entries += [Entry(now, take) for take in now.takes if take not in was.takes]
    entries += [Entry(now, take) for take in now.takes]
    return entries[0].key if entries else now.id


def _decisions(clip: Clip) -> tuple[object, ...]:
    return clip.takes, clip.refused, clip.decision, clip.verdict
