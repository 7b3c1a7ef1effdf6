"""Playback files that were made here become known to the shoot, with their exact lines."""

from collections.abc import Sequence
from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.ids import fresh_id
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot


def add_made(shoot: Shoot, made: Sequence[PlaybackFile]) -> tuple[Shoot, Change]:
    """Add playback files; ids are given here. A file of the same name that was made before is replaced."""
    if not made:
        return shoot, NOTHING
    paths = {one.media.path for one in made}
    kept = tuple(one for one in shoot.playbacks if one.media.path not in paths)
    for one in made:
        known = next((old.id for old in shoot.playbacks if old.media.path == one.media.path), None)
        taken = [old.id for old in (*shoot.playbacks, *kept)]
        kept = (*kept, replace(one, id=known or fresh_id("playback", taken)))
    return replace(shoot, playbacks=kept), Change.PLAYBACK


def free_hour(shoot: Shoot, song_id: str, *, own_speed: bool) -> int:
    """The hour of timecode for a new playback file.

    All files at the song's own speed have that of the song, its number in the shoot, so that labels tell song
    time. Others have one of their own from 10 on, so that a label names its file; after 23 they begin again.
    """
    if own_speed:
        return next(number for number, song in enumerate(shoot.songs, 1) if song.id == song_id) % 10 or 10
    taken = {one.timecode.label[:2] for one in shoot.playbacks if one.timecode is not None}
    return next((hour for hour in range(10, 24) if f"{hour:02}" not in taken), 10)
