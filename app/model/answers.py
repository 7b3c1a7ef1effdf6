"""What the engine answers about one file: the facts of the file, and what was found in it on a song."""

from dataclasses import dataclass, field

from app.model.document.clip import FileFacts
from app.model.document.findings import TakePlacement
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.reasons import NO_REASON, Reason


@dataclass(frozen=True, slots=True)
class Answer:
    """What is known of a file, as it is by itself; nothing in it depends on a shoot."""

    media: MediaRef
    facts: FileFacts = field(default_factory=FileFacts)
    warnings: tuple[str, ...] = ()
    recording: str | None = None
    """Path of the first file of the recording that this one continues or begins; None where it stands
    alone."""
    verdict: Verdict = Verdict.WAITING
    reason: Reason = NO_REASON
    """Why there is no take; a take tells its own doubt."""
    takes: tuple[TakePlacement, ...] = ()
    """In the clip's order."""
    song_id: str = ""
    """The song that it is about; empty for the first."""


def answers_on_all(shoot: Shoot) -> tuple[Answer, ...]:
    """What was found on all songs, song by song."""
    return tuple(answer for song in shoot.songs for answer in answers(shoot, song.id))


def answers(shoot: Shoot, song_id: str | None = None) -> tuple[Answer, ...]:
    """What was found on a song (the first without an id), clip by clip, without those that still wait."""
    song = shoot.song(song_id)
    if song is None:
        return ()
    paths = {clip.id: clip.media.path for clip in shoot.clips}
    found = {
        finding.clip_id: finding
        for finding in shoot.findings
        if finding.song_id == song.id and finding.song_digest == song.media.digest
    }
    return tuple(
        Answer(
            media=clip.media,
            facts=clip.facts,
            warnings=clip.warnings,
            recording=None if clip.recording is None else paths.get(clip.recording, clip.recording),
            verdict=found[clip.id].verdict,
            reason=found[clip.id].reason,
            takes=found[clip.id].takes,
            song_id=song.id,
        )
        for clip in shoot.clips
        if clip.id in found
    )
