"""Edits of a song's lyrics."""

from collections.abc import Sequence
from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine


def set_lyrics(shoot: Shoot, lines: Sequence[LyricLine], song_id: str | None = None) -> tuple[Shoot, Change]:
    """Give the song (the first without an id) these lyrics, none to take them away.

    Raises ValueError where there is no song, KeyError for an unknown one.
    """
    song = shoot.song(song_id)
    if song is None:
        raise ValueError("There is no song yet. Choose the song first; then its lyrics can be pasted.")
    if song.lyrics == tuple(lines):
        return shoot, NOTHING
    new = replace(song, lyrics=tuple(lines))
    songs = tuple(new if one.id == song.id else one for one in shoot.songs)
    return replace(shoot, songs=songs), Change.MAP
