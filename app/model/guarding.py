"""The guard of a shoot: its clips, songs and playback files, and the folders of its clips."""

import os
from collections.abc import Iterable
from pathlib import Path

from app.model.document.shoot import Shoot
from app.model.on_song import SongView
from app.model.storage.guard import Guard


def guard_of(
    shoot: Shoot | SongView,
    *,
    clips: Iterable[str | Path] = (),
    folders: Iterable[Path] = (),
    songs: Iterable[Path] = (),
) -> Guard:
    """The guard of a shoot's media, and of clips, folders of clips and songs that are not in it yet.

    The folder of a song is no folder of clips: shoot file and song often lie side by side.
    """
    known = [*(Path(clip.media.path) for clip in shoot.clips), *map(Path, clips)]
    parents = [path.parent for path in known]
    parents += [Path(os.path.realpath(path)).parent for path in known if path.is_symlink()]
    if isinstance(shoot, Shoot):
        own = [Path(song.media.path) for song in shoot.songs]
    else:
        own = [] if shoot.song is None else [Path(shoot.song.media.path)]
    own += [Path(playback.media.path) for playback in shoot.playbacks]
    own += [Path(master.media.path) for master in shoot.masters]
    return Guard(tuple(dict.fromkeys([*own, *songs, *known])), tuple(dict.fromkeys([*parents, *folders])))
