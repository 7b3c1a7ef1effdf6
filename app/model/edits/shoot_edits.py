"""Edits of the shoot itself: its name, its song, its clips, and what was found out about them.

See `app.model.edits.change` for what all edits share, `angle_edits` and `decisions` for the others.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from app.model.angles import guess_angle
from app.model.document.ids import fresh_id
from app.model.document.shoot import Clip, Decision, MediaRef, Refused, Shoot, Song, SongMap, Take, Verdict
from app.model.edits.angle_edits import angle_called, without_empty_angles
from app.model.edits.change import NOTHING, Change
from app.model.edits.decisions import (
    SAID_NO_SONG,
    is_decided,
    set_verdict_no_song,
    with_clip,
    with_verdict_of_takes,
)

OTHER_SONG = "Decided on another song file; check that it still fits."


def set_name(shoot: Shoot, name: str) -> tuple[Shoot, Change]:
    """Name the shoot."""
    if name == shoot.name:
        return shoot, NOTHING
    return replace(shoot, name=name), Change.NAME


def set_song(shoot: Shoot, song: Song) -> tuple[Shoot, Change]:
    """Put the song there, or another in its place.

    Placements hold for one song only. When the new file has other content, computed takes go and their
    clips wait again; takes that a person decided stay where they are, as doubtful ones to be looked at.
    The same recording chosen again keeps its map, for hands may have been on it.
    """
    again = shoot.song is not None and _same_content(shoot.song.media, song.media)
    if shoot.song is not None and again and shoot.song.map != SongMap():
        song = replace(song, map=shoot.song.map)
    if song == shoot.song:
        return shoot, NOTHING
    change = Change.SONG | Change.MAP
    clips = shoot.clips
    if shoot.song is not None and not again:
        clips = tuple(_on_another_song(clip) for clip in clips)
        change |= Change.CLIPS | Change.TAKES
    return replace(shoot, song=song, clips=clips), change


def set_map(shoot: Shoot, song_map: SongMap) -> tuple[Shoot, Change]:
    """Give the song another map. Raises ValueError when there is no song."""
    if shoot.song is None:
        raise ValueError("There is no song yet. Open the song first; then its bars and sections can be set.")
    if song_map == shoot.song.map:
        return shoot, NOTHING
    return replace(shoot, song=replace(shoot.song, map=song_map)), Change.MAP


def add_clips(shoot: Shoot, clips: Iterable[Clip]) -> tuple[Shoot, Change]:
    """Add the clips whose file is not in the shoot yet; ids are given here.

    A clip without an angle joins the one that its file's name or folder suggests, made where needed.
    """
    known = {clip.media.path for clip in shoot.clips}
    angles = shoot.angles
    added: list[Clip] = []
    for clip in clips:
        if clip.media.path in known:
            continue
        known.add(clip.media.path)
        if not any(angle.id == clip.angle_id for angle in angles):
            guess = guess_angle(clip.media.path)
            angles, angle_id = angle_called(angles, guess.name, safety=guess.safety)
            clip = replace(clip, angle_id=angle_id)
        clip = replace(clip, id=fresh_id("clip", [c.id for c in (*shoot.clips, *added)]))
        added.append(replace(clip, takes=_with_ids(clip.id, (), clip.takes)))
    if not added:
        return shoot, NOTHING
    change = Change.CLIPS
    if angles != shoot.angles:
        change |= Change.ANGLES
    if any(clip.takes for clip in added):
        change |= Change.TAKES
    return replace(shoot, clips=(*shoot.clips, *added), angles=angles), change


def answer_clip(shoot: Shoot, clip: Clip, *, heard_on: str | None = None) -> tuple[Shoot, Change]:
    """Take over what was found out about the file ``clip.media.path``.

    Id, angle, note and where a frame guide lies stay. Takes that a person decided are never overwritten: new
    takes that share more than half of the shorter one's length with such a take, or with a refused one, are
    left out. Where a person said "no song", only the facts of the file are taken over. ``clip.recording``
    may name the first file of the recording by its path. Nothing happens when the file is not in the shoot,
    or when ``heard_on`` (the digest of the song that the answer is for) is not that of the shoot's song: such
    an answer came too late.
    """
    old = next((c for c in shoot.clips if c.media.path == clip.media.path), None)
    if old is None or (heard_on is not None and (shoot.song is None or shoot.song.media.digest != heard_on)):
        return shoot, NOTHING
    new = replace(
        clip,
        id=old.id,
        angle_id=old.angle_id,
        decision=old.decision,
        decided=old.decided,
        refused=old.refused,
        note=old.note,
        recording=_recording(shoot, clip, old),
    )
    if old.decision is not Decision.COMPUTED:
        new = replace(new, verdict=old.verdict, reason=old.reason, takes=old.takes)
    else:
        kept = tuple(take for take in old.takes if is_decided(take))
        found = tuple(_framed_as_before(take, old.takes) for take in clip.takes)
        found = tuple(take for take in found if not any(_mostly_shared(take, gone) for gone in old.refused))
        new = replace(new, takes=_with_ids(old.id, kept, found))
        if clip.takes and not new.takes:
            new = replace(new, verdict=Verdict.NO_SONG, reason=SAID_NO_SONG)
        elif (kept or len(found) < len(clip.takes)) and new.verdict is not Verdict.UNREADABLE:
            new = with_verdict_of_takes(new)
    if new == old:
        return shoot, NOTHING
    change = Change.CLIPS if new.takes == old.takes else Change.CLIPS | Change.TAKES
    return with_clip(shoot, new), change


def set_note(shoot: Shoot, ids: Collection[str], note: str) -> tuple[Shoot, Change]:
    """Write a note to clips, in the place of what stood there; an empty one takes it away."""
    for clip_id in ids:
        shoot.clip(clip_id)
    note = note.strip()
    clips = tuple(replace(clip, note=note) if clip.id in ids else clip for clip in shoot.clips)
    return (shoot, NOTHING) if clips == shoot.clips else (replace(shoot, clips=clips), Change.CLIPS)


def refuse_clips(shoot: Shoot, ids: Collection[str], at: str) -> tuple[Shoot, Change]:
    """A person says of several clips that the song does not run in them; see ``set_verdict_no_song``."""
    change = NOTHING
    for clip_id in ids:
        shoot, one = set_verdict_no_song(shoot, clip_id, at)
        change |= one
    return shoot, change


def remove_clips(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """Take clips out of the shoot (their files stay). Angles left without clips vanish."""
    gone = [shoot.clip(clip_id) for clip_id in ids]
    if not gone:
        return shoot, NOTHING
    left = tuple(clip for clip in shoot.clips if clip not in gone)
    first_of: dict[str, str] = {}
    for clip in left:
        if clip.recording is not None:
            first_of.setdefault(clip.recording, clip.id)
    left = tuple(c if c.recording is None else replace(c, recording=first_of[c.recording]) for c in left)
    change = Change.CLIPS
    if any(clip.takes for clip in gone):
        change |= Change.TAKES
    return without_empty_angles(replace(shoot, clips=left), change)


def relink(shoot: Shoot, found: Mapping[str, MediaRef]) -> tuple[Shoot, Change]:
    """Follow files that were moved: ``found`` gives, for the old path, the file found again."""
    change = NOTHING
    song = shoot.song
    if song is not None and found.get(song.media.path, song.media) != song.media:
        song = replace(song, media=found[song.media.path])
        change |= Change.SONG
    clips = tuple(replace(clip, media=found.get(clip.media.path, clip.media)) for clip in shoot.clips)
    if clips != shoot.clips:
        change |= Change.CLIPS
    return (replace(shoot, song=song, clips=clips), change) if change else (shoot, NOTHING)


def _same_content(one: MediaRef, other: MediaRef) -> bool:
    return (one.size_bytes, one.digest) == (other.size_bytes, other.digest)


def _on_another_song(clip: Clip) -> Clip:
    if clip.verdict in (Verdict.WAITING, Verdict.UNREADABLE):
        return clip
    kept = tuple(
        replace(take, verdict=Verdict.DOUBTFUL, reason=OTHER_SONG, rivals=(), lags=())
        for take in clip.takes
        if is_decided(take)
    )
    verdict, reason = (Verdict.DOUBTFUL, OTHER_SONG) if kept else (Verdict.WAITING, "")
    return replace(
        clip,
        verdict=verdict,
        reason=reason,
        takes=kept,
        decision=Decision.COMPUTED,
        decided=None,
        refused=(),
    )


def _recording(shoot: Shoot, answer: Clip, old: Clip) -> str | None:
    if answer.recording is None:
        return old.recording
    by_path = {clip.media.path: clip.id for clip in shoot.clips}
    return by_path.get(answer.recording, answer.recording)


def _with_ids(clip_id: str, kept: tuple[Take, ...], found: tuple[Take, ...]) -> tuple[Take, ...]:
    """The kept takes and those found beside them, in the clip's order, each with an id of its own."""
    takes = list(kept)
    number = 0
    for take in found:
        if any(_mostly_shared(take, other) for other in kept):
            continue
        number += 1
        while f"{clip_id}-take-{number}" in {other.id for other in takes}:
            number += 1
        takes.append(replace(take, id=f"{clip_id}-take-{number}"))
    return tuple(sorted(takes, key=lambda take: (take.clip_start_s, take.clip_end_s)))


def _framed_as_before(take: Take, before: tuple[Take, ...]) -> Take:
    """The take with the frame guide where it lay on the take that was there before."""
    old = next((other for other in before if _mostly_shared(take, other)), None)
    return take if old is None else replace(take, shift_x=old.shift_x, shift_y=old.shift_y)


def _mostly_shared(one: Take, other: Take | Refused) -> bool:
    shared_s = min(one.clip_end_s, other.clip_end_s) - max(one.clip_start_s, other.clip_start_s)
    return shared_s > 0.5 * min(one.clip_end_s - one.clip_start_s, other.clip_end_s - other.clip_start_s)
