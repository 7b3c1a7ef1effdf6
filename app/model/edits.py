"""Every change to the shoot: pure functions, each giving the new shoot and what kind of thing changed.

An edit that changes nothing gives the same shoot and ``Change(0)``. An unknown id raises KeyError; a wish
that cannot be met raises ValueError with a sentence for the person.
"""

import enum
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from app.model.angles import guess_angle, same_name, tidy_name
from app.model.shoot import (
    Angle,
    Clip,
    Decision,
    MediaRef,
    Rival,
    Shoot,
    Song,
    SongMap,
    Take,
    Verdict,
)


class Change(enum.Flag):
    """What kind of thing an edit changed."""

    NAME = enum.auto()
    SONG = enum.auto()
    MAP = enum.auto()
    CLIPS = enum.auto()
    TAKES = enum.auto()
    ANGLES = enum.auto()


NOTHING = Change(0)
OTHER_SONG = "Decided on another song file; check that it still fits."
SAID_NO_SONG = "A person said that the song does not run here."


def set_name(shoot: Shoot, name: str) -> tuple[Shoot, Change]:
    """Name the shoot."""
    if name == shoot.name:
        return shoot, NOTHING
    return replace(shoot, name=name), Change.NAME


def set_song(shoot: Shoot, song: Song) -> tuple[Shoot, Change]:
    """Put the song there, or another in its place.

    Placements hold for one song only. When the new file has other content, computed takes go and their
    clips wait again; takes that a person decided stay where they are, as doubtful ones to be looked at.
    """
    if song == shoot.song:
        return shoot, NOTHING
    change = Change.SONG | Change.MAP
    clips = shoot.clips
    if shoot.song is not None and not _same_content(shoot.song.media, song.media):
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
            angles, angle_id = _angle_called(angles, guess.name, safety=guess.safety)
            clip = replace(clip, angle_id=angle_id)
        clip = replace(clip, id=_fresh_id("clip", [c.id for c in (*shoot.clips, *added)]))
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

    Id and angle stay. Takes that a person decided are never overwritten: new takes that share more than
    half of the shorter one's length with such a take are left out. Where a person said "no song", only
    the facts of the file are taken over. ``clip.recording`` may name the first file of the recording by
    its path. Nothing happens when the file is not in the shoot, or when ``heard_on`` (the digest of the
    song that the answer is for) is not that of the shoot's song: such an answer came too late.
    """
    old = next((c for c in shoot.clips if c.media.path == clip.media.path), None)
    if old is None or (heard_on is not None and (shoot.song is None or shoot.song.media.digest != heard_on)):
        return shoot, NOTHING
    new = replace(
        clip, id=old.id, angle_id=old.angle_id, decision=old.decision, recording=_recording(shoot, clip, old)
    )
    if old.decision is not Decision.COMPUTED:
        new = replace(new, verdict=old.verdict, reason=old.reason, takes=old.takes)
    else:
        kept = tuple(take for take in old.takes if take.decision is not Decision.COMPUTED)
        new = replace(new, takes=_with_ids(old.id, kept, clip.takes))
        if kept and new.verdict is not Verdict.UNREADABLE:
            new = _with_verdict_of_takes(new)
    if new == old:
        return shoot, NOTHING
    change = Change.CLIPS if new.takes == old.takes else Change.CLIPS | Change.TAKES
    return _with_clip(shoot, new), change


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
    return _without_empty_angles(replace(shoot, clips=left), change)


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


def rename_angle(shoot: Shoot, angle_id: str, name: str) -> tuple[Shoot, Change]:
    """Name an angle. Where another angle has that name already, the two become one: the other."""
    old = shoot.angle(angle_id)
    name = _checked_name(name)
    twin = next((a for a in shoot.angles if a.id != angle_id and same_name(a.name, name)), None)
    if twin is not None:
        return assign_angle(shoot, [clip.id for clip in shoot.clips if clip.angle_id == angle_id], twin.name)
    if old.name == name:
        return shoot, NOTHING
    return _with_angle(shoot, replace(old, name=name)), Change.ANGLES


def assign_angle(shoot: Shoot, clip_ids: Collection[str], name: str) -> tuple[Shoot, Change]:
    """Put clips on the angle of that name, made where needed. Angles left without clips vanish."""
    name = _checked_name(name)
    for clip_id in clip_ids:
        shoot.clip(clip_id)
    if not clip_ids:
        return shoot, NOTHING
    angles, angle_id = _angle_called(shoot.angles, name, safety=False)
    clips = tuple(replace(c, angle_id=angle_id) if c.id in clip_ids else c for c in shoot.clips)
    if clips == shoot.clips:
        return shoot, NOTHING
    change = Change.CLIPS if angles == shoot.angles else Change.CLIPS | Change.ANGLES
    return _without_empty_angles(replace(shoot, clips=clips, angles=angles), change)


def mark_safety(shoot: Shoot, angle_id: str, on: bool) -> tuple[Shoot, Change]:
    """Keep an angle as the one to cut to when the others fail, or no longer."""
    old = shoot.angle(angle_id)
    if old.safety == on:
        return shoot, NOTHING
    return _with_angle(shoot, replace(old, safety=on)), Change.ANGLES


def move_angle(shoot: Shoot, angle_id: str, index: int) -> tuple[Shoot, Change]:
    """Move an angle to another place among the staves; ``index`` is held to the ends."""
    angle = shoot.angle(angle_id)
    others = [a for a in shoot.angles if a.id != angle_id]
    others.insert(min(max(index, 0), len(others)), angle)
    if tuple(others) == shoot.angles:
        return shoot, NOTHING
    return replace(shoot, angles=tuple(others)), Change.ANGLES


def confirm_take(shoot: Shoot, take_id: str) -> tuple[Shoot, Change]:
    """A person says: the take lies right. A place chosen by hand stays "by hand"."""
    _, take = find_take(shoot, take_id)
    decision = Decision.CONFIRMED if take.decision is Decision.COMPUTED else take.decision
    return _with_take(shoot, replace(take, verdict=Verdict.PLACED, reason="", decision=decision))


def choose_rival(shoot: Shoot, take_id: str, index: int) -> tuple[Shoot, Change]:
    """A person says: the take lies at its rival of that index (IndexError when there is none).

    The place left becomes a rival, strengths are told relative to the new place, and the lags, measured
    along the place left, go.
    """
    _, take = find_take(shoot, take_id)
    if not 0 <= index < len(take.rivals):
        raise IndexError(f"take {take_id} has no rival {index}")
    chosen = take.rivals[index]
    scale = 1 / chosen.strength if chosen.strength > 0 else 1.0
    rivals = [replace(rival, strength=rival.strength * scale) for rival in take.rivals]
    rivals[index] = Rival(take.song_start_s, scale)
    new = replace(
        take,
        song_start_s=chosen.song_start_s,
        verdict=Verdict.PLACED,
        reason="",
        decision=Decision.BY_HAND,
        rivals=tuple(rivals),
        lags=(),
    )
    return _with_take(shoot, new)


def move_take(shoot: Shoot, take_id: str, song_start_s: float) -> tuple[Shoot, Change]:
    """A person says: the take's start lies at ``song_start_s`` of the song.

    A nudge, or a place of their own. The lags are told relative to the new place.
    """
    _, take = find_take(shoot, take_id)
    if song_start_s == take.song_start_s:
        return shoot, NOTHING
    by_s = song_start_s - take.song_start_s
    new = replace(
        take,
        song_start_s=song_start_s,
        verdict=Verdict.PLACED,
        reason="",
        decision=Decision.BY_HAND,
        lags=tuple(replace(point, lag_s=point.lag_s - by_s) for point in take.lags),
    )
    return _with_take(shoot, new)


def set_verdict_no_song(shoot: Shoot, clip_id: str) -> tuple[Shoot, Change]:
    """A person says: the song does not run in this clip. Its takes go."""
    old = shoot.clip(clip_id)
    new = replace(old, verdict=Verdict.NO_SONG, reason=SAID_NO_SONG, takes=(), decision=Decision.BY_HAND)
    if new == old:
        return shoot, NOTHING
    return _with_clip(shoot, new), Change.CLIPS | Change.TAKES


def find_take(shoot: Shoot, take_id: str) -> tuple[Clip, Take]:
    """The take of that id and its clip. Raises KeyError."""
    for clip in shoot.clips:
        for take in clip.takes:
            if take.id == take_id:
                return clip, take
    raise KeyError(take_id)


def _same_content(one: MediaRef, other: MediaRef) -> bool:
    return (one.size_bytes, one.digest) == (other.size_bytes, other.digest)


def _on_another_song(clip: Clip) -> Clip:
    if clip.verdict in (Verdict.WAITING, Verdict.UNREADABLE):
        return clip
    kept = tuple(
        replace(take, verdict=Verdict.DOUBTFUL, reason=OTHER_SONG, rivals=(), lags=())
        for take in clip.takes
        if take.decision is not Decision.COMPUTED
    )
    verdict, reason = (Verdict.DOUBTFUL, OTHER_SONG) if kept else (Verdict.WAITING, "")
    return replace(clip, verdict=verdict, reason=reason, takes=kept, decision=Decision.COMPUTED)


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


def _mostly_shared(one: Take, other: Take) -> bool:
    shared_s = min(one.clip_end_s, other.clip_end_s) - max(one.clip_start_s, other.clip_start_s)
    return shared_s > 0.5 * min(one.clip_end_s - one.clip_start_s, other.clip_end_s - other.clip_start_s)


def _with_verdict_of_takes(clip: Clip) -> Clip:
    """The clip's verdict as its takes have it: doubtful as long as one of them is."""
    if any(take.verdict is Verdict.DOUBTFUL for take in clip.takes):
        reason = clip.reason or next(t.reason for t in clip.takes if t.verdict is Verdict.DOUBTFUL)
        return replace(clip, verdict=Verdict.DOUBTFUL, reason=reason)
    return replace(clip, verdict=Verdict.PLACED, reason="")


def _with_take(shoot: Shoot, take: Take) -> tuple[Shoot, Change]:
    clip, old = find_take(shoot, take.id)
    if take == old:
        return shoot, NOTHING
    takes = tuple(take if other.id == take.id else other for other in clip.takes)
    new = _with_verdict_of_takes(replace(clip, takes=takes))
    change = Change.TAKES if replace(new, takes=clip.takes) == clip else Change.TAKES | Change.CLIPS
    return _with_clip(shoot, new), change


def _with_clip(shoot: Shoot, clip: Clip) -> Shoot:
    return replace(shoot, clips=tuple(clip if other.id == clip.id else other for other in shoot.clips))


def _with_angle(shoot: Shoot, angle: Angle) -> Shoot:
    return replace(shoot, angles=tuple(angle if other.id == angle.id else other for other in shoot.angles))


def _without_empty_angles(shoot: Shoot, change: Change) -> tuple[Shoot, Change]:
    used = {clip.angle_id for clip in shoot.clips}
    angles = tuple(angle for angle in shoot.angles if angle.id in used)
    if angles == shoot.angles:
        return shoot, change
    return replace(shoot, angles=angles), change | Change.ANGLES


def _angle_called(angles: tuple[Angle, ...], name: str, *, safety: bool) -> tuple[tuple[Angle, ...], str]:
    for angle in angles:
        if same_name(angle.name, name):
            return angles, angle.id
    new = Angle(_fresh_id("angle", [angle.id for angle in angles]), name, safety)
    return (*angles, new), new.id


def _checked_name(name: str) -> str:
    name = tidy_name(name)
    if not name:
        raise ValueError("An angle needs a name. Type what the camera shows, such as Singer or Safety wide.")
    return name


def _fresh_id(kind: str, taken: Collection[str]) -> str:
    numbers = [int(i.rpartition("-")[2]) for i in taken if i.rpartition("-")[2].isdecimal()]
    return f"{kind}-{max(numbers, default=0) + 1}"
