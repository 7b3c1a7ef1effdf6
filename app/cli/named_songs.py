"""The songs and playback files that a command names, put into a shoot."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from app.cli.output import Unusable, tell, words_of
from app.engine import tasks
from app.model.document.identity import media_ref
from app.model.document.ids import fresh_id
from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.edits.shoot_edits import relink, set_song
from app.model.edits.song_edits import add_song
from audio.errors import AudioError


def with_songs(shoot: Shoot, paths: Sequence[Path], *, use_cache: bool) -> Shoot:
    """The shoot with these songs; one that it has already keeps its map.

    The first of them takes the place of the shoot's first song, where the shoot has it not. Raises Unusable.
    """
    for number, path in enumerate(paths):
        try:
            if shoot.songs and _is_known(shoot.songs, found := media_ref(path)):
                shoot, _ = relink(shoot, _moved(shoot.songs, found))
                continue
            tell(f"Reading {path.name}…")
            song = tasks.song_from_file(path, use_cache=use_cache)
        except OSError as error:
            raise Unusable(f"The song {path} cannot be opened: {error.strerror}.") from error
        except AudioError as error:
            raise Unusable(f"The song {path.name} cannot be used. {words_of(error)}") from error
        shoot, _ = add_song(shoot, song) if number else set_song(shoot, song)
    return shoot


def with_playbacks(shoot: Shoot, paths: Sequence[Path], *, use_cache: bool) -> Shoot:
    """The shoot with these playback files; one that it has already keeps its map. Raises Unusable."""
    for path in paths:
        try:
            if shoot.playbacks and _is_known(shoot.playbacks, found := media_ref(path)):
                shoot, _ = relink(shoot, _moved(shoot.playbacks, found))
                continue
            tell(f"Reading {path.name}…")
            made = tasks.playback_from_file(shoot.songs, path, use_cache=use_cache)
        except OSError as error:
            raise Unusable(f"The playback file {path} cannot be opened: {error.strerror}.") from error
        except AudioError as error:
            raise Unusable(f"The playback file {path.name} cannot be used. {words_of(error)}") from error
        own = replace(made, id=fresh_id("playback", [one.id for one in shoot.playbacks]))
        names = {song.id: song.title or Path(song.media.path).name for song in shoot.songs}
        runs = ", ".join(dict.fromkeys(names[piece.song_id] for piece in own.pieces))
        tell(f"{path.name}: {runs or 'none of the songs was found in it'}")
        shoot = replace(shoot, playbacks=(*shoot.playbacks, own))
    return shoot


def _is_known(ones: Sequence[Song | PlaybackFile], found: MediaRef) -> bool:
    return any(one.media.digest == found.digest for one in ones)


def _moved(ones: Sequence[Song | PlaybackFile], found: MediaRef) -> dict[str, MediaRef]:
    """Where the file of that content was, and where it is now."""
    return {one.media.path: found for one in ones if one.media.digest == found.digest}
