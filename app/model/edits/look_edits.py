"""Edits that put what pictures tell into the shoot, and choose the take that others are compared with."""

from collections.abc import Collection
from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.decisions import Reference
from app.model.document.looks import Look, Match
from app.model.document.marks import MarkState
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.edits.mark_edits import propose_marks
from app.model.faults_seen import REASONS, as_mark
from app.model.on_song import mostly_shared
from app.model.seen import Seen


def see_clip(shoot: Shoot, seen: Seen) -> tuple[Shoot, Change]:
    """Take over what looking at the file ``seen.media`` gave, in the place of what was seen there before.

    Faults are proposed: what a person accepted or dismissed stays. Nothing happens when the file is not in
    the shoot or is another one by now, or could not be looked at.
    """
    clip = next((one for one in shoot.clips if one.media.path == seen.media.path), None)
    if clip is None or seen.trouble or _another(clip.media, seen.media.digest):
        return shoot, NOTHING
    change = NOTHING
    look = Look(clip.id, seen.media.digest, seen.group, seen.sure, seen.measures)
    before = next((one for one in shoot.looks if one.clip_id == clip.id), None)
    if look != before:
        others = tuple(one for one in shoot.looks if one is not before)
        shoot, change = replace(shoot, looks=(*others, look)), Change.LOOKS
    for reason in REASONS:
        marks = [
            mark
            for one in seen.proposed
            if one.reason == reason
            and (mark := as_mark(clip.id, one, clip.facts.duration_s)).clip_end_s > mark.clip_start_s
        ]
        shoot, more = propose_marks(shoot, reason, marks, clip_ids=[clip.id])
        change |= more
    return shoot, change


def set_reference(shoot: Shoot, reference: Reference | None) -> tuple[Shoot, Change]:
    """A person chooses the take that all others are compared with; None: none.

    Matches with another take go. Raises KeyError.
    """
    if reference is not None:
        shoot.clip(reference.clip_id)
    if reference == shoot.decisions.reference:
        return shoot, NOTHING
    decisions = replace(shoot.decisions, reference=reference)
    matches = tuple(one for one in shoot.matches if _matched_with(one, reference))
    return replace(shoot, decisions=decisions, matches=matches), Change.LOOKS


def match_takes(shoot: Shoot, matches: Collection[Match]) -> tuple[Shoot, Change]:
    """Take over how takes compare with the reference, in the place of all that was found before.

    Left out are matches of clips that are gone, and those with another take than the reference as it is now.
    """
    known = {clip.id for clip in shoot.clips}
    kept = tuple(
        one for one in matches if one.clip_id in known and _matched_with(one, shoot.decisions.reference)
    )
    return (shoot, NOTHING) if kept == shoot.matches else (replace(shoot, matches=kept), Change.LOOKS)


def forget_stale(shoot: Shoot) -> tuple[Shoot, Change]:
    """Drop what pictures told of files that others have taken the place of: looks, matches, proposals.

    What a person accepted or dismissed stays.
    """
    media = {clip.id: clip.media for clip in shoot.clips}
    stale = {
        one.clip_id
        for one in shoot.looks
        if one.clip_id in media and _another(media[one.clip_id], one.digest)
    }
    if not stale:
        return shoot, NOTHING
    marks = tuple(
        one
        for one in shoot.marks
        if one.clip_id not in stale or one.state is not MarkState.PROPOSED or one.by not in REASONS
    )
    new = replace(
        shoot,
        looks=tuple(one for one in shoot.looks if one.clip_id not in stale),
        matches=tuple(m for m in shoot.matches if not stale & {m.clip_id, m.reference_clip_id}),
        marks=marks,
    )
    return new, Change.LOOKS if marks == shoot.marks else Change.LOOKS | Change.MARKS


def _another(media: MediaRef | None, digest: str) -> bool:
    """Whether a clip's file is another one than that of a digest; an unreadable one tells nothing."""
    return media is not None and bool(media.digest) and media.digest != digest


def _matched_with(match: Match, reference: Reference | None) -> bool:
    if reference is None or reference.clip_id != match.reference_clip_id:
        return False
    return mostly_shared(
        Reference(match.reference_clip_id, match.reference_start_s, match.reference_end_s), reference
    )
