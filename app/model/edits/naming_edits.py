"""Naming what cameras shot, all of it in one edit."""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace

from app.model.angles import is_safety_name, same_name, tidy_name
from app.model.document.angle import Angle
from app.model.document.change import NOTHING, Change
from app.model.document.ids import fresh_id
from app.model.document.shoot import Shoot
from app.model.edits.angle_edits import NO_NAME, without_empty_angles


def name_angles(shoot: Shoot, named: Sequence[tuple[str, Collection[str]]]) -> tuple[Shoot, Change]:
    """Give clips (by ids) angles of these names, and take all of them for named.

    The same name twice, or that of another angle, makes one angle. An angle that gets a new name is the one
    most of the clips were on, so its colour and what was said of it stay. A name that sounds like the safety
    marks one, as in names of files. Raises KeyError for an unknown clip, ValueError for an empty name.
    """
    wanted: list[tuple[str, list[str]]] = []
    for typed, ids in named:
        name = tidy_name(typed)
        if not name:
            raise ValueError(NO_NAME)
        for clip_id in ids:
            shoot.clip(clip_id)
        twin = next((one for one in wanted if same_name(one[0], name)), None)
        if twin is None:
            wanted.append((name, list(ids)))
        else:
            twin[1].extend(ids)
    on = {clip.id: clip.angle_id for clip in shoot.clips}
    asked = {clip_id for _, ids in wanted for clip_id in ids}
    # Only an angle all of whose clips are being named may get another name.
    free = {one.id for one in shoot.angles if all(c.id in asked for c in shoot.clips if c.angle_id == one.id)}
    angles = list(shoot.angles)
    goes_to: dict[str, str] = {}
    # Who has the name already keeps it, before others choose.
    for name, ids in sorted(wanted, key=lambda one: not any(same_name(a.name, one[0]) for a in shoot.angles)):
        angle = next((one for one in angles if same_name(one.name, name)), None)
        if angle is None:
            most = Counter(on[one] for one in ids if on[one] in free).most_common(1)
            angle = next((one for one in angles if most and one.id == most[0][0]), None)
        if angle is None:
            angle = Angle(fresh_id("angle", [one.id for one in angles]), name)
            angles.append(angle)
        free.discard(angle.id)
        safety = angle.safety or (not angle.named and is_safety_name(name))
        new = replace(angle, name=name, named=True, safety=safety)
        angles[angles.index(angle)] = new
        goes_to |= dict.fromkeys(ids, new.id)
    clips = tuple(replace(clip, angle_id=goes_to.get(clip.id, clip.angle_id)) for clip in shoot.clips)
    change = NOTHING
    if clips != shoot.clips:
        change |= Change.CLIPS
    if tuple(angles) != shoot.angles:
        change |= Change.ANGLES
    if not change:
        return shoot, NOTHING
    return without_empty_angles(shoot, replace(shoot, clips=clips, angles=tuple(angles)), change)
