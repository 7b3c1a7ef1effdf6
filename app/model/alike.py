"""What the looks of clips say of their set-ups, as far as they are sure; see `app.model.document.looks`."""

from collections.abc import Sequence

from app.model.camera_groups import Filed, ran_together
from app.model.document.clip import FileFacts
from app.model.on_song import Clip

SURE = 0.8
"""From here on looks decide whether a camera was set up anew: four of five must be right, for a person looks
at what comes of it, and joins it again by leaving a name empty."""
VERY_SURE = 0.9
"""From here on two angles are proposed to be one."""


def by_looks(one: Clip, other: Clip) -> bool | None:
    """Whether two clips look like one set-up; None where nobody looked, or it is not sure."""
    if one.look is None or other.look is None or min(one.look.sure, other.look.sure) < SURE:
        return None
    if not one.look.group or not other.look.group:
        return None
    return one.look.group == other.look.group


def how_sure(clips: Sequence[Clip]) -> float:
    """How sure it is that clips look like one set-up: as the least sure of them; 0 where they do not."""
    looks = [clip.look for clip in clips]
    groups = {look.group for look in looks if look is not None}
    if None in looks or len(groups) != 1 or "" in groups:
        return 0.0
    return min(look.sure for look in looks if look is not None)


def shared_look(clips: Sequence[Clip], others: Sequence[Clip]) -> float:
    """How sure it is that the clips of two angles are one set-up of one camera; 0 where nothing says so.

    Looks alone do not do: two cameras may stand side by side. So make, model and size must agree, and no two
    of the clips may have run at the same time.
    """
    both = [*clips, *others]
    if len({(clip.make, clip.model, clip.width, clip.height) for clip in both}) > 1:
        return 0.0
    sure = how_sure(both)
    if sure < VERY_SURE or ran_together([filed(one) for one in clips], [filed(one) for one in others]):
        return 0.0
    return sure


def filed(clip: Clip) -> Filed:
    """What grouping by camera reads of a clip."""
    return Filed(clip.media.path, FileFacts(duration_s=clip.duration_s, created=clip.created))
