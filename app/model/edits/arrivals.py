"""Files that come into the shoot by themselves, out of a watched folder: no step that can be undone.

So they are put into every value that undo and redo can come back to, each file under one and the same id:
findings, decisions and what is chosen on screen name clips by their ids.
"""

from collections.abc import Sequence
from pathlib import PurePath

from app.model.angles import EVERYWHERE
from app.model.document.change import NOTHING, Change
from app.model.document.ids import fresh_id
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.edits.shoot_edits import add_clip


def arrive(
    values: Sequence[Shoot], at: int, files: Sequence[MediaRef], root: PurePath = EVERYWHERE
) -> list[tuple[Shoot, Change]]:
    """Put files that the present does not hold into the kept values; gives each of them, and its change.

    ``at`` is the index of the present, ``root`` the watched folder: names below it may name angles. A later
    value from which a person took the file again stays without it, so that redo does what it says.
    """
    results = [(value, NOTHING) for value in values]
    present = _paths(values[at])
    for media in files:
        if media.path not in present:
            present.add(media.path)
            results = _with_file(results, at, media, root)
    return results


def _with_file(
    results: Sequence[tuple[Shoot, Change]], at: int, media: MediaRef, root: PurePath
) -> list[tuple[Shoot, Change]]:
    values = [shoot for shoot, _ in results]
    clip_id = _clip_id(values, media.path)
    angle_id = fresh_id("angle", [angle.id for value in values for angle in value.angles])
    added: list[tuple[Shoot, Change]] = []
    taken_in_later = False
    for n, (value, change) in enumerate(results):
        holds = media.path in _paths(value)
        taken_in_later |= n > at and holds
        if holds or taken_in_later:
            added.append((value, change))
        else:
            new, more = add_clip(value, media, root, clip_id=clip_id, angle_id=angle_id)
            added.append((new, change | more))
    return added


def _clip_id(values: Sequence[Shoot], path: str) -> str:
    """The id that the file has in a kept value, if no other file has it in another; else one free in all."""
    clips = [clip for value in values for clip in value.clips]
    others = {clip.id for clip in clips if clip.media.path != path}
    known = (clip.id for clip in clips if clip.media.path == path and clip.id not in others)
    return next(known, None) or fresh_id("clip", [clip.id for clip in clips])


def _paths(shoot: Shoot) -> set[str]:
    return {clip.media.path for clip in shoot.clips}
