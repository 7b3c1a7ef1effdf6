"""The shoot as it stands on one song: what was found and what people decided, put together.

The document keeps the two apart, so that neither overwrites the other (see `app.model.document`). Readers
(score, check, coverage, report, hand-off) ask for this view and never see the seams.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from fractions import Fraction
from typing import TypeVar

from app.model.clip_verdict import of_takes
from app.model.document.angle import Angle
from app.model.document.clip import ClipRecord, FileFacts
from app.model.document.cut import Cut
from app.model.document.decisions import (
    Action,
    ClipRefusal,
    Decided,
    Decision,
    Pin,
    Reference,
    Refusal,
    SetTake,
    TakeDecision,
    TakeRecord,
    TakeSettings,
)
from app.model.document.findings import Finding, LagPoint, Rival, TakePlacement
from app.model.document.looks import Look, Match
from app.model.document.marks import Mark
from app.model.document.masters import EarlierMaster
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Plan
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import FIRST_SONG, Song
from app.model.document.verdict import Verdict
from app.model.reasons import NO_REASON, Reason
from app.model.renewing.carried_reasons import reason_beside
from app.model.song_line import Line

OTHER_SONG = Reason("other song")
SAID_NO_SONG = Reason("said no song")


@dataclass(frozen=True, slots=True)
class Take:
    """A stretch of a clip through which the song runs.

    Song time = ``song_start_s + speed * (clip time - clip_start_s)``.
    """

    id: str
    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float = 1.0
    """Seconds of song to a second of clip."""
    uncertainty_s: float = 0.0
    """Half-width that holds the true place 95 times in 100."""
    verdict: Verdict = Verdict.PLACED
    """PLACED or DOUBTFUL."""
    reason: Reason = NO_REASON
    decision: Decision = Decision.COMPUTED
    rivals: tuple[Rival, ...] = ()
    lags: tuple[LagPoint, ...] = ()
    playback_id: str = ""
    """The playback file that was heard; empty where it was the song itself."""
    decided: Decided | None = None
    """None where nobody decided."""
    pins: tuple[Pin, ...] = ()
    """The moments by which it was placed by hand; none, one or two."""
    settings: TakeSettings = field(default_factory=TakeSettings)
    match: Match | None = None
    """How its pictures compare with the reference take; None where they were not compared."""

    @property
    def line(self) -> Line:
        """Song time of every moment of the take."""
        return Line(self.song_start_s, self.speed, self.clip_start_s)

    @property
    def song_end_s(self) -> float:
        """Song time at the take's end."""
        return self.song_time(self.clip_end_s)

    def song_time(self, clip_s: float) -> float:
        """Song time of a moment of the clip."""
        return self.line.song_time(clip_s)

    def clip_time(self, song_s: float) -> float:
        """Moment of the clip at a song time."""
        return self.line.clip_time(song_s)


@dataclass(frozen=True, slots=True)
class Refused:
    """A stretch of a clip of which a person said that the song does not run there."""

    clip_start_s: float
    clip_end_s: float
    at: str
    """UTC, as in `app.model.document.decisions.Decided`."""
    take: Take | None = None
    """The take as it was; None where nobody kept it."""


@dataclass(frozen=True, slots=True)
class Clip:
    """One file off a camera or recorder, and how it stands on the song."""

    id: str
    media: MediaRef
    angle_id: str
    duration_s: float = 0.0
    frame_rate: Fraction | None = None
    """Pictures a second; None for a sound-only file."""
    variable_frame_rate: bool = False
    width: int = 0
    height: int = 0
    """Pixels, as shown."""
    start_timecode: str | None = None
    make: str | None = None
    model: str | None = None
    created: str | None = None
    verdict: Verdict = Verdict.WAITING
    reason: Reason = NO_REASON
    warnings: tuple[str, ...] = ()
    takes: tuple[Take, ...] = ()
    recording: str | None = None
    """Id of the first clip of the recording this file continues or begins; None where it stands alone."""
    decision: Decision = Decision.COMPUTED
    """BY_HAND where a person said that the song does not run here."""
    decided: Decided | None = None
    """The record of that."""
    refused: tuple[Refused, ...] = ()
    """Takes of it that a person refused."""
    note: str = ""
    """What the maker wants to remember about it."""
    marks: tuple[Mark, ...] = ()
    """Faults and keepers, in clip time."""
    look: Look | None = None
    """What its pictures tell; None where nobody looked at this file."""
    elsewhere: bool = False
    """It has no take of this song, but one of another; told by `app.model.songs_of_clips.views_of`."""


@dataclass(frozen=True, slots=True)
class SongView:
    """The shoot as it stands on one song."""

    name: str = ""
    song: Song | None = None
    angles: tuple[Angle, ...] = ()
    """In stave order; safeties are shown last whatever their order."""
    clips: tuple[Clip, ...] = ()
    plan: Plan = field(default_factory=Plan)
    """Needs and set-ups of this song."""
    reference: Reference | None = None
    """The take whose pictures all others are compared with: the one through this stretch of its clip."""
    cut: Cut = field(default_factory=Cut)
    """What is fixed in this song's first passes, and their versions."""
    playbacks: tuple[PlaybackFile, ...] = ()
    """All of the shoot: a clip may be heard on any of them."""
    masters: tuple[EarlierMaster, ...] = ()
    """Those this song had before, oldest first."""

    def clip(self, clip_id: str) -> Clip:
        """The clip of that id. Raises KeyError."""
        for clip in self.clips:
            if clip.id == clip_id:
                return clip
        raise KeyError(clip_id)

    def angle(self, angle_id: str) -> Angle:
        """The angle of that id. Raises KeyError."""
        for angle in self.angles:
            if angle.id == angle_id:
                return angle
        raise KeyError(angle_id)


def on_song(shoot: Shoot, song_id: str | None = None) -> SongView:
    """The shoot as it stands on a song: the first where no id is told. Raises KeyError for an unknown id."""
    song = shoot.song(song_id)
    own = "" if song is None else song.id
    decided = shoot.decisions
    findings = {finding.clip_id: finding for finding in shoot.findings if finding.song_id == own}
    takes = _by_clip(one for one in decided.takes if one.song_id == own)
    refusals = _by_clip(one for one in decided.refusals if one.song_id == own)
    clip_refusals = {one.clip_id: one for one in decided.clip_refusals if one.song_id == own}
    settings, marks, matches = _by_clip(decided.settings), _by_clip(shoot.marks), _by_clip(shoot.matches)
    looks = {one.clip_id: one for one in shoot.looks}
    clips = tuple(
        _clip(
            record,
            song,
            findings.get(record.id),
            takes.get(record.id, ()),
            refusals.get(record.id, ()),
            clip_refusals.get(record.id),
            settings.get(record.id, ()),
            matches.get(record.id, ()),
            tuple(marks.get(record.id, ())),
            looks.get(record.id),
        )
        for record in shoot.clips
    )
    plan = replace(
        shoot.plan,
        needs=tuple(need for need in shoot.plan.needs if need.song_id == own),
        set_ups=tuple(one for one in shoot.plan.set_ups if one.song_id == own),
    )
    fixed = Cut(
        locks=tuple(lock for lock in shoot.cut.locks if lock.song_id == own),
        versions=tuple(one for one in shoot.cut.versions if one.song_id == own),
    )
    masters = tuple(one for one in shoot.masters if one.song_id == own)
    return SongView(
        shoot.name, song, shoot.angles, clips, plan, decided.reference, fixed, shoot.playbacks, masters
    )


def is_decided(take: Take | TakeRecord) -> bool:
    """Whether a person decided something about the take, so that no new computation may replace it."""
    return take.decision is not Decision.COMPUTED or take.decided is not None


def was_moved(take: Take) -> bool:
    """Whether a person put the take where it lies: how sure the machine was says nothing of that place."""
    return take.decided is not None and take.decided.action is Action.MOVED


def reference_take(shoot: SongView) -> Take | None:
    """The take whose pictures all others are compared with; None where none is chosen, or it is gone."""
    wanted = shoot.reference
    if wanted is None:
        return None
    takes = (take for clip in shoot.clips if clip.id == wanted.clip_id for take in clip.takes)
    return next((take for take in takes if mostly_shared(take, wanted)), None)


def shared_s(one: "Stretch", other: "Stretch") -> float:
    """How much of a clip two stretches have in common (s); negative where they lie apart."""
    return min(one.clip_end_s, other.clip_end_s) - max(one.clip_start_s, other.clip_start_s)


def mostly_shared(one: "Stretch", other: "Stretch") -> bool:
    """Whether two stretches of a clip are about the same: they share half of the shorter one and more."""
    return shared_s(one, other) > 0.5 * min(
        one.clip_end_s - one.clip_start_s, other.clip_end_s - other.clip_start_s
    )


Stretch = Take | TakePlacement | Refused | Refusal | SetTake | Mark | Match | Reference
Anchored = TypeVar("Anchored", TakeDecision, Refusal, SetTake, Mark, Match)


def _by_clip(values: Iterable[Anchored]) -> Mapping[str, Sequence[Anchored]]:
    found: defaultdict[str, list[Anchored]] = defaultdict(list)
    for value in values:
        found[value.clip_id].append(value)
    return found


def _clip(
    record: ClipRecord,
    song: Song | None,
    finding: Finding | None,
    decided: Sequence[TakeDecision],
    refusals: Sequence[Refusal],
    clip_refusal: ClipRefusal | None,
    settings: Sequence[SetTake],
    matches: Sequence[Match],
    marks: tuple[Mark, ...],
    look: Look | None,
) -> Clip:
    digest = None if song is None else song.media.digest
    # A file that cannot be read cannot be read whatever the song is.
    if finding is not None and finding.song_digest != digest and finding.verdict is not Verdict.UNREADABLE:
        finding = None
    refused = tuple(_refused(one) for one in refusals if one.song_digest == digest)
    decision, by_person = Decision.COMPUTED, None
    takes: tuple[Take, ...] = ()
    if clip_refusal is not None and clip_refusal.song_digest == digest:
        decision, by_person = Decision.BY_HAND, clip_refusal.decided
        verdict, reason = Verdict.NO_SONG, SAID_NO_SONG
    else:
        found = () if finding is None else finding.takes
        takes = _takes(record.id, song, found, decided, refused)
        takes = tuple(_said_and_seen(take, settings, matches) for take in takes)
        verdict, reason = _verdict(finding, takes)
    facts = {one.name: getattr(record.facts, one.name) for one in fields(FileFacts)}
    return Clip(
        id=record.id,
        media=record.media,
        angle_id=record.angle_id,
        verdict=verdict,
        reason=reason,
        warnings=record.warnings,
        takes=takes,
        recording=record.recording,
        decision=decision,
        decided=by_person,
        refused=refused,
        note=record.note,
        marks=marks,
        look=look,
        **facts,
    )


def _verdict(finding: Finding | None, takes: Sequence[Take]) -> tuple[Verdict, Reason]:
    """The clip's verdict: that of its takes, else what was found."""
    if finding is not None and finding.verdict is Verdict.UNREADABLE:
        return finding.verdict, finding.reason
    if takes:
        return of_takes([(take.verdict, take.reason) for take in takes])
    if finding is None:
        return Verdict.WAITING, NO_REASON
    if finding.takes:
        return Verdict.NO_SONG, SAID_NO_SONG
    return finding.verdict, finding.reason


def _takes(
    clip_id: str,
    song: Song | None,
    found: Sequence[TakePlacement],
    decided: Sequence[TakeDecision],
    refused: Sequence[Refused],
) -> tuple[Take, ...]:
    """Those a person decided, and those found beside them that nobody refused, in the clip's order."""
    kept = [_decided_take(one, song, found) for one in decided if is_decided(one.take)]
    # A refusal that was taken back brings its take along, as long as nothing was found there since.
    kept += [
        _decided_take(one, song, found)
        for one in decided
        if not is_decided(one.take) and not any(mostly_shared(one.take.placement, take) for take in found)
    ]
    hidden: list[Stretch] = [*kept, *refused]
    taken = {take.id for take in kept}
    takes = list(kept)
    for number, placement in enumerate(found, 1):
        if not any(mostly_shared(placement, one) for one in hidden):
            takes.append(_take(_free_id(clip_id, song, number, taken), placement))
            taken.add(takes[-1].id)
    takes.sort(key=lambda take: (take.clip_start_s, take.clip_end_s))
    return tuple(takes)


def _decided_take(one: TakeDecision, song: Song | None, found: Sequence[TakePlacement]) -> Take:
    take = take_of(one.take)
    if song is not None and one.song_digest == song.media.digest:
        near = [other for other in found if mostly_shared(other, take)]
        said = reason_beside(one.take.placement, near)
        return take if said is None else replace(take, reason=said)
    # What was measured on another file, and what else it could be there, says nothing of this one.
    return replace(take, verdict=Verdict.DOUBTFUL, reason=OTHER_SONG, rivals=(), lags=())


def take_of(record: TakeRecord) -> Take:
    """A take as a person left it, as readers see it."""
    take = _take(record.id, record.placement)
    return replace(take, decision=record.decision, decided=record.decided, pins=record.pins)


def record_of(take: Take) -> TakeRecord:
    """A take as the document keeps it once a person decided about it."""
    placement = TakePlacement(**{one.name: getattr(take, one.name) for one in fields(TakePlacement)})
    return TakeRecord(take.id, placement, take.decision, take.decided, take.pins)


def _refused(one: Refusal) -> Refused:
    take = None if one.take is None else take_of(one.take)
    return Refused(one.clip_start_s, one.clip_end_s, one.at, take)


def _take(take_id: str, placement: TakePlacement) -> Take:
    return Take(id=take_id, **{one.name: getattr(placement, one.name) for one in fields(TakePlacement)})


def _said_and_seen(take: Take, settings: Sequence[SetTake], matches: Sequence[Match]) -> Take:
    """The take with what a person set on it, and how its pictures compare."""
    said = next((one.settings for one in settings if mostly_shared(one, take)), take.settings)
    match = next((one for one in matches if mostly_shared(one, take)), None)
    return take if (said, match) == (take.settings, None) else replace(take, settings=said, match=match)


def _free_id(clip_id: str, song: Song | None, number: int, taken: set[str]) -> str:
    """The id of the take found as the number so and so of a clip, if a decided one does not have it."""
    # Ids of takes are unique in a shoot: those on further songs name their song.
    own = "" if song is None or song.id == FIRST_SONG else f"-{song.id}"
    while f"{clip_id}{own}-take-{number}" in taken:
        number += 1
    return f"{clip_id}{own}-take-{number}"
