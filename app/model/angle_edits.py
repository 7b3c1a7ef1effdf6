"""Edits of the angles: names, order, safety, and which clips are on them."""

from collections.abc import Collection
from dataclasses import replace

from app.model.angles import same_name, tidy_name
from app.model.change import NOTHING, Change
from app.model.ids import fresh_id
from app.model.shoot import Angle, Shoot


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
    angles, angle_id = angle_called(shoot.angles, name, safety=False)
    clips = tuple(replace(c, angle_id=angle_id) if c.id in clip_ids else c for c in shoot.clips)
    if clips == shoot.clips:
        return shoot, NOTHING
    change = Change.CLIPS if angles == shoot.angles else Change.CLIPS | Change.ANGLES
    return without_empty_angles(replace(shoot, clips=clips, angles=angles), change)


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


def angle_called(angles: tuple[Angle, ...], name: str, *, safety: bool) -> tuple[tuple[Angle, ...], str]:
    """The angles with one of that name among them, made where needed, and its id."""
    for angle in angles:
        if same_name(angle.name, name):
            return angles, angle.id
    new = Angle(fresh_id("angle", [angle.id for angle in angles]), name, safety)
    return (*angles, new), new.id


def without_empty_angles(shoot: Shoot, change: Change) -> tuple[Shoot, Change]:
    """The shoot without angles that no clip is on."""
    used = {clip.angle_id for clip in shoot.clips}
    angles = tuple(angle for angle in shoot.angles if angle.id in used)
    if angles == shoot.angles:
        return shoot, change
    return replace(shoot, angles=angles), change | Change.ANGLES


def _checked_name(name: str) -> str:
    name = tidy_name(name)
    if not name:
        raise ValueError("An angle needs a name. Type what the camera shows, such as Singer or Safety wide.")
    return name


def _with_angle(shoot: Shoot, angle: Angle) -> Shoot:
    return replace(shoot, angles=tuple(angle if other.id == angle.id else other for other in shoot.angles))
