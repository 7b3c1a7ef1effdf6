"""The songs and playback files that a command names: put into a shoot, or found in it."""

from collections.abc import Sequence
from pathlib import Path, PurePath

from app.cli.output import Unusable, tell, words_of
from app.engine import tasks
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.edits.playback_edits import add_playbacks
from app.model.edits.shoot_edits import relink, set_song
from app.model.edits.song_edits import add_song
from app.model.song_names import song_names
from audio.errors import AudioError

ONE_SONG = "which song of the shoot, by its name or that of its file (default: the first)"


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
        names = song_names(shoot.songs)
        runs = ", ".join(dict.fromkeys(names[piece.song_id] for piece in made.pieces))
        told = "; ".join(filter(None, (runs, made.note)))
        tell(f"{path.name}: {told or 'none of the songs was found in it'}")
        shoot, _ = add_playbacks(shoot, [made])
    return shoot


def song_named(shoot: Shoot, name: str) -> Song:
    """The song that somebody means by its name or that of its file. Raises Unusable."""
    names = song_names(shoot.songs)
    exact = [song for song in shoot.songs if names[song.id] == name]
    meant = exact or [song for song in shoot.songs if name in (song.called, PurePath(song.media.path).name)]
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise Unusable(f"Several songs are called {name}. Say {' or '.join(names[one.id] for one in meant)}.")
    raise Unusable(f"The shoot has no song {name}. It has {', '.join(names.values()) or 'none yet'}.")


def _is_known(ones: Sequence[Song | PlaybackFile], found: MediaRef) -> bool:
    return any(one.media.digest == found.digest for one in ones)


def _moved(ones: Sequence[Song | PlaybackFile], found: MediaRef) -> dict[str, MediaRef]:
    """Where the file of that content was, and where it is now."""
    return {one.media.path: found for one in ones if one.media.digest == found.digest}
