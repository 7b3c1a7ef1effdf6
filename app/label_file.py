"""A song's map from a label file made elsewhere, for the commands."""

from dataclasses import replace
from pathlib import Path

from app.model.labels import LabelError, from_labels
from app.model.shoot import Song, SongMap
from app.telling import Unusable


def read_labels(path: Path, song: Song) -> SongMap:
    """The map in a label file, with the loudness known of the song. Raises Unusable."""
    try:
        read = from_labels(path.read_text("utf-8"), song.duration_s)
    except (LabelError, UnicodeDecodeError) as error:
        raise Unusable(f"{path.name} is no map of this song. {error}") from error
    except OSError as error:
        raise Unusable(f"{path} cannot be read: {error.strerror}.") from error
    return replace(read, levels_db=song.map.levels_db)
