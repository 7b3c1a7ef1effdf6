"""A song's map from a label file made elsewhere, for the commands."""

from dataclasses import replace
from pathlib import Path

from app.model.labels import LabelError, from_labels
from app.model.shoot import Song, SongMap
from app.telling import Unusable


def read_labels(path: Path) -> str:
    """The text of a label file; asked for before the song is read, which takes longer. Raises Unusable."""
    try:
        return path.read_text("utf-8")
    except UnicodeDecodeError as error:
        raise Unusable(f"{path.name} is no label file: it holds bytes that are no text (UTF-8).") from error
    except OSError as error:
        raise Unusable(f"{path} cannot be read: {error.strerror}.") from error


def labelled(path: Path, text: str, song: Song) -> SongMap:
    """The map in the text of a label file, with the loudness known of the song. Raises Unusable."""
    try:
        read = from_labels(text, song.duration_s)
    except LabelError as error:
        raise Unusable(f"{path.name} is no map of this song. {error}") from error
    return replace(read, levels_db=song.map.levels_db)
