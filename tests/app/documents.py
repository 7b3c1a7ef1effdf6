"""Documents for tests, made of shoots written down as readers see them."""

from collections.abc import Iterable, Sequence
from dataclasses import fields, replace

from app.model.answers import Answer
from app.model.document.clip import ClipRecord, FileFacts
from app.model.document.decisions import (
    ClipRefusal,
    Decision,
    Decisions,
    Refusal,
    SetTake,
    TakeDecision,
    TakeSettings,
)
from app.model.document.findings import Finding
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take, is_decided, record_of


def document(view: SongView, *, own_ids: bool = False) -> Shoot:
    """The document that stands on its song as told.

    Takes nobody decided about are findings, which get their ids by their order; ``own_ids`` keeps those told.
    """
    song = view.song
    records = tuple(record(clip) for clip in view.clips)
    if song is None:
        return Shoot(view.name, (), view.angles, records, plan=view.plan)
    return Shoot(
        name=view.name,
        songs=(song,),
        angles=view.angles,
        clips=records,
        findings=tuple(
            _finding(replace(clip, takes=()) if own_ids else clip, song)
            for clip in view.clips
            if clip.verdict is not Verdict.WAITING
        ),
        decisions=_decisions(view.clips, song, own_ids),
        marks=tuple(mark for clip in view.clips for mark in clip.marks),
        plan=view.plan,
    )


def answer(clip: Clip) -> Answer:
    """What the engine answers about a clip that is told as readers see it."""
    return Answer(
        media=clip.media,
        facts=_facts(clip),
        warnings=clip.warnings,
        recording=clip.recording,
        verdict=clip.verdict,
        reason=clip.reason,
        takes=tuple(record_of(take).placement for take in clip.takes),
    )


def record(clip: Clip) -> ClipRecord:
    """A clip as the document keeps it."""
    return ClipRecord(
        id=clip.id,
        media=clip.media,
        angle_id=clip.angle_id,
        facts=_facts(clip),
        warnings=clip.warnings,
        recording=clip.recording,
        note=clip.note,
    )


def _facts(clip: Clip) -> FileFacts:
    return FileFacts(**{one.name: getattr(clip, one.name) for one in fields(FileFacts)})


def _finding(clip: Clip, song: Song) -> Finding:
    takes = tuple(record_of(take).placement for take in clip.takes if not is_decided(take))
    return Finding(clip.id, song.id, song.media.digest, clip.verdict, clip.reason, takes)


def _decisions(clips: Sequence[Clip], song: Song, own_ids: bool) -> Decisions:
    anchor = {"song_id": song.id, "song_digest": song.media.digest}
    return Decisions(
        takes=tuple(
            TakeDecision(clip_id=clip.id, take=record_of(take), **anchor)
            for clip, take in _takes(clips)
            if own_ids or is_decided(take)
        ),
        refusals=tuple(
            Refusal(
                clip_id=clip.id,
                clip_start_s=one.clip_start_s,
                clip_end_s=one.clip_end_s,
                at=one.at,
                take=None if one.take is None else record_of(one.take),
                **anchor,
            )
            for clip in clips
            for one in clip.refused
        ),
        clip_refusals=tuple(
            ClipRefusal(clip_id=clip.id, decided=clip.decided, **anchor)
            for clip in clips
            if clip.decision is Decision.BY_HAND
        ),
        settings=tuple(
            SetTake(clip.id, take.clip_start_s, take.clip_end_s, take.settings)
            for clip, take in _takes(clips)
            if take.settings != TakeSettings()
        ),
    )


def _takes(clips: Iterable[Clip]) -> Iterable[tuple[Clip, Take]]:
    return ((clip, take) for clip in clips for take in clip.takes)
