"""Edits of the shoot itself: its name, its songs, its clips, and what was found out about them.

See `app.model.document.change` for what all edits share.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from pathlib import PurePath

from app.model.angles import EVERYWHERE, guess_angle, root_of
from app.model.answers import Answer
from app.model.document.change import NOTHING, Change
from app.model.document.clip import ClipRecord
from app.model.document.findings import Finding, TakePlacement
from app.model.document.ids import fresh_id
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import FIRST_SONG, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.edits.angle_edits import angle_called, without_empty_angles
from app.model.edits.camera_angles import UNSORTED, group_cameras
from app.model.edits.look_edits import forget_stale
from app.model.renewing.held_again import held_again
from app.model.song_map.section_ids import with_ids


def set_name(shoot: Shoot, name: str) -> tuple[Shoot, Change]:
    """Name the shoot."""
    if name == shoot.name:
        return shoot, NOTHING
    return replace(shoot, name=name), Change.NAME


def set_song(shoot: Shoot, song: Song, song_id: str | None = None) -> tuple[Shoot, Change]:
    """Put the song there, or another file in its place (of the first song without an id).

    What was found and decided holds for one song file only. When the new file has other content, clips wait
    again, and takes that a person decided are shown where they were, as doubtful ones to be looked at; all
    of it comes back with the old file. The same recording chosen again keeps its map, for hands may have
    been on it. Raises KeyError.
    """
    old = shoot.song(song_id)
    if old is None:
        new = replace(song, id=FIRST_SONG, map=with_ids(song.map, SongMap()))
        return replace(shoot, songs=(new,)), Change.SONG | Change.MAP
    again = old.media.same_content(song.media)
    song_map = old.map if again and old.map != SongMap() else with_ids(song.map, old.map, _planned(shoot))
    new = replace(song, id=old.id, map=song_map)
    if new == old:
        return shoot, NOTHING
    change = Change.SONG | Change.MAP
    if not again:
        change |= Change.CLIPS | Change.TAKES
    return _with_song(shoot, new), change


def set_map(shoot: Shoot, song_map: SongMap, song_id: str | None = None) -> tuple[Shoot, Change]:
    """Give the song (the first without an id) another map. Raises ValueError when there is no song."""
    song = shoot.song(song_id)
    if song is None:
        raise ValueError(
            "There is no song yet. Choose the song first; then its bars and sections can be set."
        )
    new = replace(song, map=with_ids(song_map, song.map, _planned(shoot)))
    if new == song:
        return shoot, NOTHING
    return _with_song(shoot, new), Change.MAP


def add_clips(
    shoot: Shoot, files: Iterable[MediaRef], dropped: Collection[str | PurePath] | None = None
) -> tuple[Shoot, Change]:
    """Add files that are not in the shoot yet as clips, on the angles that their names or folders suggest.

    ``dropped`` are the files and folders that a person dropped or named, from which the files came: their own
    names, and those of folders above, say nothing. Without them all folders speak. Where no word speaks, each
    camera is an angle of its own, under a made-up name.
    """
    known = {clip.media.path for clip in shoot.clips}
    change = NOTHING
    for media in files:
        if media.path not in known:
            known.add(media.path)
            root = EVERYWHERE if dropped is None else root_of(media.path, dropped)
            shoot, one = _with_file(shoot, media, root)
            change |= one
    return _grouped(shoot, change)


def add_clip(
    shoot: Shoot,
    media: MediaRef,
    root: PurePath = EVERYWHERE,
    *,
    clip_id: str | None = None,
    angle_id: str | None = None,
) -> tuple[Shoot, Change]:
    """Add a file as a clip, on the angle that its name, or its folders below ``root``, suggest.

    The ids are those that the clip, and an angle made for it, are to have; free ones are given without them.
    """
    return _grouped(*_with_file(shoot, media, root, clip_id=clip_id, angle_id=angle_id))


def answer_clip(
    shoot: Shoot, answer: Answer, *, song_id: str | None = None, heard_on: str | None = None
) -> tuple[Shoot, Change]:
    """Take over what was found out about the file ``answer.media.path``.

    It is about the song of that id, else the one that the answer names, else the first.

    It takes the place of what was found there before; takes that were carried over from an earlier master are
    held against it (`app.model.renewing.held_again`). Whatever people decided, set, marked and noted stays
    as it is. Where nobody named the clip's angle, what the file tells may show that it is another camera's.
    Nothing happens when the file is not in the shoot, when a carried take could not be heard because its file
    cannot be read, or when ``heard_on`` (the digest of the song file that
    the answer is for) is not that of the song: such an answer came too late.
    """
    old = next((clip for clip in shoot.clips if clip.media.path == answer.media.path), None)
    try:
        song = shoot.song(song_id or answer.song_id or None)
    except KeyError:
        return shoot, NOTHING  # the song was taken out meanwhile
    if old is None or song is None or heard_on not in (None, song.media.digest):
        return shoot, NOTHING
    record = replace(
        old,
        media=answer.media,
        facts=answer.facts,
        warnings=answer.warnings,
        recording=_recording(shoot, answer, old),
    )
    finding = Finding(
        clip_id=old.id,
        song_id=song.id,
        song_digest=song.media.digest,
        verdict=answer.verdict,
        reason=answer.reason,
        takes=answer.takes,
    )
    before = next((one for one in shoot.findings if _same_question(one, finding)), None)
    if before is not None and before.song_digest == finding.song_digest:
        finding = held_again(before, finding, _gone(shoot, old.id, song.id))
        if finding is before and answer.verdict is Verdict.UNREADABLE:
            return shoot, NOTHING
    if record == old and finding == before:
        return shoot, NOTHING
    change = Change.CLIPS
    if before is None or before.takes != finding.takes:
        change |= Change.TAKES
    findings = tuple(finding if one is before else one for one in shoot.findings)
    if before is None:
        findings = (*findings, finding)
    shoot, stale = forget_stale(replace(_with_clip(shoot, record), findings=findings))
    change |= stale
    return (shoot, change) if record.facts == old.facts else _told_apart(shoot, change, old)


def set_note(shoot: Shoot, ids: Collection[str], note: str) -> tuple[Shoot, Change]:
    """Write a note to clips, in the place of what stood there; an empty one takes it away."""
    for clip_id in ids:
        shoot.clip(clip_id)
    note = note.strip()
    clips = tuple(replace(clip, note=note) if clip.id in ids else clip for clip in shoot.clips)
    return (shoot, NOTHING) if clips == shoot.clips else (replace(shoot, clips=clips), Change.CLIPS)


def remove_clips(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """Take clips out of the shoot (their files stay), with all that is known and was said of them.

    Angles left without clips vanish.
    """
    gone = {shoot.clip(clip_id).id for clip_id in ids}
    if not gone:
        return shoot, NOTHING
    left = tuple(clip for clip in shoot.clips if clip.id not in gone)
    first_of: dict[str, str] = {}
    for clip in left:
        if clip.recording is not None:
            first_of.setdefault(clip.recording, clip.id)
    left = tuple(c if c.recording is None else replace(c, recording=first_of[c.recording]) for c in left)
    decided = shoot.decisions
    decisions = replace(
        decided,
        takes=tuple(one for one in decided.takes if one.clip_id not in gone),
        refusals=tuple(one for one in decided.refusals if one.clip_id not in gone),
        clip_refusals=tuple(one for one in decided.clip_refusals if one.clip_id not in gone),
        settings=tuple(one for one in decided.settings if one.clip_id not in gone),
        reference=None if decided.reference and decided.reference.clip_id in gone else decided.reference,
    )
    findings = tuple(one for one in shoot.findings if one.clip_id not in gone)
    marks = tuple(mark for mark in shoot.marks if mark.clip_id not in gone)
    looks = tuple(one for one in shoot.looks if one.clip_id not in gone)
    matches = tuple(m for m in shoot.matches if not gone & {m.clip_id, m.reference_clip_id})
    change = Change.CLIPS
    if (looks, matches) != (shoot.looks, shoot.matches):
        change |= Change.LOOKS
    if decisions != decided or any(one.takes for one in shoot.findings if one.clip_id in gone):
        change |= Change.TAKES
    if marks != shoot.marks:
        change |= Change.MARKS
    new = replace(
        shoot,
        clips=left,
        findings=findings,
        decisions=decisions,
        marks=marks,
        looks=looks,
        matches=matches,
    )
    return without_empty_angles(shoot, new, change)


def relink(shoot: Shoot, found: Mapping[str, MediaRef]) -> tuple[Shoot, Change]:
    """Follow files that were moved: ``found`` gives, for the old path, the file found again."""
    change = NOTHING
    songs = tuple(replace(song, media=found.get(song.media.path, song.media)) for song in shoot.songs)
    masters = tuple(replace(one, media=found.get(one.media.path, one.media)) for one in shoot.masters)
    if (songs, masters) != (shoot.songs, shoot.masters):
        change |= Change.SONG
    clips = tuple(replace(clip, media=found.get(clip.media.path, clip.media)) for clip in shoot.clips)
    if clips != shoot.clips:
        change |= Change.CLIPS
    playbacks = tuple(replace(one, media=found.get(one.media.path, one.media)) for one in shoot.playbacks)
    if playbacks != shoot.playbacks:
        change |= Change.PLAYBACK
    if not change:
        return shoot, NOTHING
    shoot, stale = forget_stale(
        replace(shoot, songs=songs, clips=clips, playbacks=playbacks, masters=masters)
    )
    return shoot, change | stale


def _with_file(
    shoot: Shoot,
    media: MediaRef,
    root: PurePath,
    *,
    clip_id: str | None = None,
    angle_id: str | None = None,
) -> tuple[Shoot, Change]:
    guess = guess_angle(media.path, root)
    angles, on = shoot.angles, UNSORTED
    if guess is not None:
        angles, on = angle_called(shoot.angles, guess.name, safety=guess.safety, new_id=angle_id)
    clip = ClipRecord(clip_id or fresh_id("clip", [clip.id for clip in shoot.clips]), media, on)
    change = Change.CLIPS if angles == shoot.angles else Change.CLIPS | Change.ANGLES
    return replace(shoot, clips=(*shoot.clips, clip), angles=angles), change


def _grouped(shoot: Shoot, change: Change) -> tuple[Shoot, Change]:
    if not any(clip.angle_id == UNSORTED for clip in shoot.clips):
        return shoot, change
    shoot, more = group_cameras(shoot)
    return shoot, change | more


def _told_apart(shoot: Shoot, change: Change, old: ClipRecord) -> tuple[Shoot, Change]:
    """The shoot after a file was read, or has changed: its clip may be another camera's."""
    if shoot.angle(old.angle_id).named:
        return shoot, change
    shoot, grouped = group_cameras(shoot, just_read=old.id)
    return shoot, change | grouped


def _planned(shoot: Shoot) -> set[str]:
    """Ids of the sections that the plan and locks name."""
    passages = [need.passage for need in shoot.plan.needs]
    passages += [set_up.passage for set_up in shoot.plan.set_ups]
    passages += [lock.passage for lock in shoot.cut.locks]
    return {passage.section_id for passage in passages}


def _gone(shoot: Shoot, clip_id: str, song_id: str) -> list[TakePlacement]:
    """What of a clip lay on what the song's last master had and this one has not."""
    last = [one for one in shoot.masters if one.song_id == song_id][-1:]
    left = [one for master in last for one in master.left if one.clip_id == clip_id]
    return [one.take.placement for one in left if one.take is not None]


def _same_question(one: Finding, other: Finding) -> bool:
    return (one.clip_id, one.song_id) == (other.clip_id, other.song_id)


def _recording(shoot: Shoot, answer: Answer, old: ClipRecord) -> str | None:
    if answer.recording is None:
        return old.recording
    by_path = {clip.media.path: clip.id for clip in shoot.clips}
    return by_path.get(answer.recording, answer.recording)


def _with_song(shoot: Shoot, song: Song) -> Shoot:
    return replace(shoot, songs=tuple(song if one.id == song.id else one for one in shoot.songs))


def _with_clip(shoot: Shoot, clip: ClipRecord) -> Shoot:
    return replace(shoot, clips=tuple(clip if one.id == clip.id else one for one in shoot.clips))
