"""Angles for clips of which no word says what they show: one for each camera, under a made-up name.

A proposal of the program, so it is revised as clips come and as their files are read. What a person named, or
words in names of files and folders did, is left alone, and so is every clip on it.
"""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import PurePath

from app.model.angles import guess_angle, same_name
from app.model.camera_groups import Camera, Filed, cameras
from app.model.document.angle import Angle
from app.model.document.change import NOTHING, Change
from app.model.document.clip import ClipRecord, FileFacts
from app.model.document.ids import fresh_id
from app.model.document.shoot import Shoot
from app.model.edits.cut_edits import with_locks_carried

UNSORTED = "unsorted"
"""Id, never kept, of the angle that a clip is on until it is grouped."""


def group_cameras(shoot: Shoot, just_read: str = "") -> tuple[Shoot, Change]:
    """Give each camera an angle of its own, among the clips whose angle nobody named.

    An angle stays with the camera that most of its clips are of, and keeps its name and all that was said of
    it. A clip that just came goes to the angle that a person gave to its camera. ``just_read`` is the id of
    the clip whose file was read just now, if any.
    """
    before, shoot = shoot, _with_known(shoot)
    open_ids = {angle.id for angle in shoot.angles if not angle.named} | {UNSORTED}
    clips = [clip for clip in shoot.clips if clip.angle_id in open_ids]
    groups = cameras([Filed(clip.media.path, clip.facts) for clip in clips])
    angles = list(shoot.angles)
    free = [angle for angle in angles if not angle.named]
    goes_to: dict[str, str] = {}
    for n, angle in _kept(clips, groups, free, just_read).items():
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
    if moved != before.clips:
        change |= Change.CLIPS
    if left != before.angles:
        change |= Change.ANGLES
    if not change:
        return before, NOTHING
    return with_locks_carried(before, replace(shoot, clips=moved, angles=left), change)


def _with_known(shoot: Shoot) -> Shoot:
    """Put clips that just came on the angle that a person gave to their camera: nobody is asked twice.

    Only where the path leaves no doubt: the camera's other clips are all on that angle, not drawn there by
    words in names, and the card has its letter or the clip lies in the folder of one of them.
    """
    by_id = {angle.id: angle for angle in shoot.angles}

    def was_named(clip: ClipRecord) -> bool:
        words = guess_angle(clip.media.path)
        return words is None or not same_name(words.name, by_id[clip.angle_id].name)

    known = [clip for clip in shoot.clips if clip.angle_id != UNSORTED and was_named(clip)]
    goes_to: dict[str, str] = {}
    for new in (clip for clip in shoot.clips if clip.angle_id == UNSORTED):
        clips = [*known, new]
        groups = cameras([Filed(clip.media.path) for clip in clips])
        camera = next(one for one in groups if len(known) in one.members)
        others = [clips[n] for n in camera.members[:-1]]
        near = camera.letter or any(_folder(one) == _folder(new) for one in others)
        on = {clip.angle_id for clip in others}
        if near and len(on) == 1 and by_id[angle_id := on.pop()].named:
            goes_to[new.id] = angle_id
    moved = tuple(replace(one, angle_id=goes_to.get(one.id, one.angle_id)) for one in shoot.clips)
    return replace(shoot, clips=moved)


def _folder(clip: ClipRecord) -> PurePath:
    return PurePath(clip.media.path).parent


def _kept(
    clips: Sequence[ClipRecord], groups: Sequence[Camera], free: Sequence[Angle], just_read: str
) -> dict[int, Angle]:
    """Which angle each camera keeps, by the number of the camera: where they share most clips comes first.

    Clips whose file was read before decide, for they are where they belong.
    """
    by_id = {angle.id: angle for angle in free}
    shared: Counter[tuple[int, str]] = Counter()
    for n, group in enumerate(groups):
        for clip in (clips[m] for m in group.members):
            if clip.angle_id in by_id:
                settled = clip.facts != FileFacts() and clip.id != just_read
                shared[n, clip.angle_id] += len(clips) + 1 if settled else 1
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
