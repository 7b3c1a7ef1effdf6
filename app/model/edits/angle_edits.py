"""Edits of the angles: names, subjects, groups, order, safety, hiding, and which clips are on them."""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

from app.model.angles import same_name, tidy_name
from app.model.coverage.staves import stave_blocks, stave_order
from app.model.document.angle import Angle
from app.model.document.change import NOTHING, Change
from app.model.document.ids import fresh_id
from app.model.document.shoot import Shoot
from app.model.edits.cut_edits import with_locks_carried

Item = TypeVar("Item")
NO_NAME = "An angle needs a name. Type what the camera shows, such as Singer or Safety wide."


def rename_angle(shoot: Shoot, angle_id: str, name: str) -> tuple[Shoot, Change]:
    """Name an angle. Where another angle has that name already, the two become one: the other."""
    old = shoot.angle(angle_id)
    name = _checked_name(name)
    twin = namesake(shoot, angle_id, name)
    if twin is not None:
        return assign_angle(shoot, [clip.id for clip in shoot.clips if clip.angle_id == angle_id], twin.name)
    if old.name == name and old.named:
        return shoot, NOTHING
    return _with_angle(shoot, replace(old, name=name, named=True)), Change.ANGLES


def namesake(shoot: Shoot, angle_id: str, name: str) -> Angle | None:
    """Another angle that has the name already, as people read names; None where it is free."""
    return next((a for a in shoot.angles if a.id != angle_id and same_name(a.name, name)), None)


def assign_angle(shoot: Shoot, clip_ids: Collection[str], name: str) -> tuple[Shoot, Change]:
    """Put clips on the angle of that name, made where needed; it counts as named from then on.

    Angles left without clips vanish.
    """
    name = _checked_name(name)
    for clip_id in clip_ids:
        shoot.clip(clip_id)
    if not clip_ids:
        return shoot, NOTHING
    angles, angle_id = angle_called(shoot.angles, name, safety=False)
    # A person put clips there, so the name is one of theirs, though the program may have made it up.
    angles = tuple(replace(one, named=True) if one.id == angle_id else one for one in angles)
    clips = tuple(replace(c, angle_id=angle_id) if c.id in clip_ids else c for c in shoot.clips)
    if clips == shoot.clips and angles == shoot.angles:
        return shoot, NOTHING
    change = Change.CLIPS if angles == shoot.angles else Change.CLIPS | Change.ANGLES
    return without_empty_angles(shoot, replace(shoot, clips=clips, angles=angles), change)


def mark_safety(shoot: Shoot, angle_id: str, on: bool) -> tuple[Shoot, Change]:
    """Keep an angle as the one to cut to when the others fail, or no longer."""
    old = shoot.angle(angle_id)
    if old.safety == on:
        return shoot, NOTHING
    return _with_angle(shoot, replace(old, safety=on)), Change.ANGLES


def step_angle(
    shoot: Shoot, angle_id: str, step: int, shown: Collection[str] | None = None
) -> tuple[Shoot, Change]:
    """Move a stave one place up (``step`` -1) or down (1), as one sees it.

    Within its group an angle changes places with its neighbour; at the group's edge the whole group moves
    past what stands next to it. A safety stays among the safeties. ``shown`` are the ids of the angles that
    have a stave on screen (None: all); others are passed by, so that every step can be seen.
    """
    angle = shoot.angle(angle_id)
    seen = {a.id for a in shoot.angles} if shown is None else {*shown, angle_id}
    blocks = [list(block) for block in stave_blocks(shoot.angles)]
    mine = next(n for n, block in enumerate(blocks) if angle in block)
    inside = _swapped(blocks[mine], blocks[mine].index(angle), step, lambda other: other.id in seen)
    if inside is not None:
        blocks[mine] = inside
    else:
        moved = _swapped(
            blocks,
            mine,
            step,
            lambda block: any(a.id in seen and a.safety == angle.safety for a in block),
        )
        if moved is None:
            return shoot, NOTHING
        blocks = moved
    return _in_order(shoot, [a for block in blocks for a in block])


def place_angle(shoot: Shoot, angle_id: str, before_id: str | None) -> tuple[Shoot, Change]:
    """Put a stave in front of another one (None: behind all).

    Groups stay together and safeties last, so an angle put among others of another kind comes as near as
    those rules let it.
    """
    angle = shoot.angle(angle_id)
    if before_id is not None:
        shoot.angle(before_id)
    if before_id == angle_id:
        return shoot, NOTHING
    others = [a for a in stave_order(shoot.angles) if a.id != angle_id]
    index = next((n for n, a in enumerate(others) if a.id == before_id), len(others))
    others.insert(index, angle)
    return _in_order(shoot, stave_order(others))


def set_subjects(shoot: Shoot, angle_id: str, subjects: Iterable[str]) -> tuple[Shoot, Change]:
    """Say who or what an angle shows, each subject once; none takes it back."""
    tidy: list[str] = []
    for subject in map(tidy_name, subjects):
        if subject and not any(same_name(subject, other) for other in tidy):
            tidy.append(subject)
    return _replaced(shoot, [angle_id], lambda angle: replace(angle, subjects=tuple(tidy)))


def set_rank(shoot: Shoot, angle_id: str, rank: int) -> tuple[Shoot, Change]:
    """Say how much the maker likes an angle: 1 is best, 0 takes it back."""
    return _replaced(shoot, [angle_id], lambda angle: replace(angle, rank=max(0, rank)))


def set_place(shoot: Shoot, angle_id: str, place: str) -> tuple[Shoot, Change]:
    """Say where an angle's camera stands; an empty place takes it back."""
    return _replaced(shoot, [angle_id], lambda angle: replace(angle, place=tidy_name(place)))


def set_camera(shoot: Shoot, angle_id: str, camera: str) -> tuple[Shoot, Change]:
    """Say which camera and lens an angle is shot with; an empty text takes it back."""
    return _replaced(shoot, [angle_id], lambda angle: replace(angle, camera=tidy_name(camera)))


def set_group(shoot: Shoot, angle_ids: Collection[str], group: str) -> tuple[Shoot, Change]:
    """Let angles stand together under a name; an empty one takes them out of their groups.

    A group that is there already keeps its spelling.
    """
    group = tidy_name(group)
    known = next((a.group for a in shoot.angles if group and same_name(a.group, group)), group)
    return _replaced(shoot, angle_ids, lambda angle: replace(angle, group=known))


def hide_angles(shoot: Shoot, angle_ids: Collection[str], on: bool) -> tuple[Shoot, Change]:
    """Leave angles out of the score, or show them again; their takes count all the same."""
    return _replaced(shoot, angle_ids, lambda angle: replace(angle, hidden=on))


def merge_angles(shoot: Shoot, angle_ids: Collection[str], into_id: str) -> tuple[Shoot, Change]:
    """Put all clips of several angles on one of them, or on another one; the others vanish.

    What was said of that angle stays, and it counts as named; where nobody gave it a subject, a group, a
    place, a camera or a rank, it gets the first one given to the others. What was locked to them is locked to
    it.
    """
    into = shoot.angle(into_id)
    gone = [angle for angle in shoot.angles if angle.id in set(angle_ids) - {into_id}]
    for angle_id in angle_ids:
        shoot.angle(angle_id)
    if not gone:
        return shoot, NOTHING
    kept = replace(
        into,
        named=True,
        subjects=into.subjects or next((a.subjects for a in gone if a.subjects), ()),
        group=into.group or next((a.group for a in gone if a.group), ""),
        place=into.place or next((a.place for a in gone if a.place), ""),
        camera=into.camera or next((a.camera for a in gone if a.camera), ""),
        rank=into.rank or next((a.rank for a in gone if a.rank), 0),
    )
    ids = {angle.id for angle in gone}
    clips = tuple(replace(c, angle_id=into_id) if c.angle_id in ids else c for c in shoot.clips)
    angles = tuple(kept if a.id == into_id else a for a in shoot.angles if a.id not in ids)
    change = Change.ANGLES if clips == shoot.clips else Change.ANGLES | Change.CLIPS
    return with_locks_carried(shoot, replace(shoot, clips=clips, angles=angles), change)


def angle_called(
    angles: tuple[Angle, ...], name: str, *, safety: bool, new_id: str | None = None
) -> tuple[tuple[Angle, ...], str]:
    """The angles with one of that name among them, made where needed (under ``new_id``), and its id."""
    for angle in angles:
        if same_name(angle.name, name):
            return angles, angle.id
    new = Angle(new_id or fresh_id("angle", [angle.id for angle in angles]), name, safety)
    return (*angles, new), new.id


def without_empty_angles(before: Shoot, after: Shoot, change: Change) -> tuple[Shoot, Change]:
    """The shoot after an edit, without angles that no clip is on; locks on them follow their clips."""
    used = {clip.angle_id for clip in after.clips}
    angles = tuple(angle for angle in after.angles if angle.id in used)
    if angles == after.angles:
        return after, change
    return with_locks_carried(before, replace(after, angles=angles), change | Change.ANGLES)


def _checked_name(name: str) -> str:
    name = tidy_name(name)
    if not name:
        raise ValueError(NO_NAME)
    return name


def _replaced(
    shoot: Shoot, angle_ids: Collection[str], edit: Callable[[Angle], Angle]
) -> tuple[Shoot, Change]:
    for angle_id in angle_ids:
        shoot.angle(angle_id)
    angles = tuple(edit(angle) if angle.id in angle_ids else angle for angle in shoot.angles)
    if angles == shoot.angles:
        return shoot, NOTHING
    return replace(shoot, angles=angles), Change.ANGLES


def _swapped(row: list[Item], at: int, step: int, seen: Callable[[Item], bool]) -> list[Item] | None:
    """The row with one of it moved past its next neighbour that is seen; None where there is none."""
    other = at + step
    while 0 <= other < len(row) and not seen(row[other]):
        other += step
    if not 0 <= other < len(row):
        return None
    moved = [*row[:at], *row[at + 1 :]]
    moved.insert(other, row[at])
    return moved


def _in_order(shoot: Shoot, angles: Sequence[Angle]) -> tuple[Shoot, Change]:
    if tuple(angles) == shoot.angles:
        return shoot, NOTHING
    return replace(shoot, angles=tuple(angles)), Change.ANGLES


def _with_angle(shoot: Shoot, angle: Angle) -> Shoot:
    return replace(shoot, angles=tuple(angle if other.id == angle.id else other for other in shoot.angles))
