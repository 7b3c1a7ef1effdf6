"""Angles for clips of which no word says what they show: one for each camera, under a made-up name.

A proposal of the program, so it is revised as clips come and as their files are read. What a person named, or
words in names of files and folders did, is left alone, and so is every clip on it.
"""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace

from app.model.angles import guess_angle, same_name
from app.model.camera_groups import Camera, Filed, cameras
from app.model.document.angle import Angle
from app.model.document.change import NOTHING, Change
from app.model.document.clip import ClipRecord
from app.model.document.ids import fresh_id
from app.model.document.shoot import Shoot
from app.model.edits.angle_edits import without_empty_angles

UNSORTED = "unsorted"
"""Id, never kept, of the angle that a clip is on until it is grouped."""


def group_cameras(shoot: Shoot) -> tuple[Shoot, Change]:
    """Give each camera an angle of its own, among the clips whose angle nobody named.

    An angle stays with the camera that most of its clips are of, and keeps its name and all that was said of
    it.
    """
    open_ids = {angle.id for angle in shoot.angles if not angle.named} | {UNSORTED}
    clips = [clip for clip in shoot.clips if clip.angle_id in open_ids]
    if not clips:
        return shoot, NOTHING
    groups = cameras([Filed(clip.media.path, clip.facts) for clip in clips])
    angles = list(shoot.angles)
    free = [angle for angle in angles if not angle.named]
    goes_to: dict[str, str] = {}
    for n, angle in _kept(clips, groups, free).items():
        goes_to |= {clips[m].id: angle.id for m in groups[n].members}
    for group in groups:
        first = clips[group.members[0]]
        if first.id not in goes_to:
            made = Angle(_angle_id(first, angles), _made_up_name(group, angles), named=False)
            angles.append(made)
            goes_to |= {clips[m].id: made.id for m in group.members}
    moved = tuple(replace(c, angle_id=goes_to.get(c.id, c.angle_id)) for c in shoot.clips)
    used = {clip.angle_id for clip in moved}
    left = tuple(angle for angle in angles if angle.named or angle.id in used)
    change = NOTHING
    if moved != shoot.clips:
        change |= Change.CLIPS
    if left != shoot.angles:
        change |= Change.ANGLES
    return (replace(shoot, clips=moved, angles=left), change) if change else (shoot, NOTHING)


def join_named(shoot: Shoot, clip_id: str) -> tuple[Shoot, Change]:
    """Put a clip whose file was read just now on the angle that a person gave to its camera.

    So nobody is asked twice what a camera shows. It stays where it is unless all other clips of its camera
    are on that one angle, and no words in their names put them there.
    """
    clip = shoot.clip(clip_id)
    by_id = {angle.id: angle for angle in shoot.angles}
    if by_id[clip.angle_id].named:
        return shoot, NOTHING
    named = {
        one.angle_id
        for one in shoot.clips
        if (words := guess_angle(one.media.path)) is not None
        and same_name(words.name, by_id[one.angle_id].name)
    }
    clips = [one for one in shoot.clips if one.angle_id not in named]
    groups = cameras([Filed(one.media.path, one.facts) for one in clips])
    members = next(group.members for group in groups if clip in [clips[n] for n in group.members])
    beside = {clips[n].angle_id for n in members if clips[n].id != clip_id}
    if len(beside) != 1 or not by_id[angle_id := beside.pop()].named:
        return shoot, NOTHING
    moved = tuple(replace(one, angle_id=angle_id) if one.id == clip_id else one for one in shoot.clips)
    return without_empty_angles(replace(shoot, clips=moved), Change.CLIPS)


def _kept(clips: Sequence[ClipRecord], groups: Sequence[Camera], free: Sequence[Angle]) -> dict[int, Angle]:
    """Which angle each camera keeps, by the number of the camera: where they share most clips comes first."""
    by_id = {angle.id: angle for angle in free}
    shared = Counter(
        (n, clips[m].angle_id)
        for n, group in enumerate(groups)
        for m in group.members
        if clips[m].angle_id in by_id
    )
    kept: dict[int, Angle] = {}
    for (n, angle_id), _ in sorted(shared.items(), key=lambda one: (-one[1], one[0][0])):
        if n not in kept and angle_id in by_id:
            kept[n] = by_id.pop(angle_id)
    return kept


def _angle_id(first: ClipRecord, angles: Collection[Angle]) -> str:
    """An id that is the same in every kept value of the shoot, as those of clips are."""
    taken = {angle.id for angle in angles}
    made = f"angle-{first.id}"
    return fresh_id("angle", taken) if made in taken else made


def _made_up_name(camera: Camera, angles: Collection[Angle]) -> str:
    """A plain name that no angle has: the letter of a camera's cards, else a number."""
    lettered = f"{camera.kind} {camera.letter}"
    if camera.letter and not any(same_name(angle.name, lettered) for angle in angles):
        return lettered
    number = 2 if camera.letter else 1
    stem = lettered if camera.letter else camera.kind
    while any(same_name(angle.name, f"{stem} {number}") for angle in angles):
        number += 1
    return f"{stem} {number}"
