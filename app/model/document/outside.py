"""Where a shoot leads to outside the folder of its file."""

import os
from pathlib import Path, PurePath

from app.model.document.shoot import Shoot


def folders_outside(shoot: Shoot, folder: Path) -> tuple[str, ...]:
    """The folders of media that lie outside the folder of the shoot's file, each once, in order.

    So does what is reached by a link that leads out of it, and what lies in a hidden folder of it: programs
    keep their secrets there. Of what lies outside by its name nothing is looked at, for a mere look at a
    network share tells its owner who looks.
    """
    top = os.path.abspath(folder)  # noqa: PTH100  (links are not followed)
    real = os.path.realpath(top)
    media = [clip.media.path for clip in shoot.clips]
    media += [song.media.path for song in shoot.songs]
    media += [playback.media.path for playback in shoot.playbacks]
    media += [master.media.path for master in shoot.masters]
    return tuple(sorted({str(PurePath(path).parent) for path in media if not _inside(path, top, real)}))


def _inside(path: str, top: str, real: str) -> bool:
    try:
        parts = PurePath(path).relative_to(top).parts
    except ValueError:
        return False
    if any(part.startswith(".") for part in parts):
        return False
    try:
        return PurePath(os.path.realpath(path)).is_relative_to(real)
    except (OSError, ValueError):
        return False
