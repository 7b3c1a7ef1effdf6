"""What the songs of a shoot are called where several are told beside each other: no two the same."""

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import PurePath

from app.model.document.song import Song


def song_names(songs: Sequence[Song]) -> Mapping[str, str]:
    """A name for each song by its id: what it is called where no other is called so, else more of its path.

    >>> from app.model.document.media_ref import MediaRef
    >>> paths = ("day/reel.wav", "mixes/rough/reel.wav", "mixes/rough/reel.flac", "air.wav")
    >>> songs = [Song(MediaRef(path, "", 0), 9.0, id=str(number)) for number, path in enumerate(paths)]
    >>> list(song_names(songs).values())
    ['day/reel', 'rough/reel', 'reel.flac', 'air']
    """
    names = {song.id: song.called for song in songs}
    for more in (_file, _in_folder):
        doubled = _doubled(names)
        tried = names | {song.id: more(song) for song in songs if song.id in doubled}
        names |= {key: name for key, name in tried.items() if key not in _doubled(tried)}
    for number, song in enumerate(songs, 1):
        if song.id in _doubled(names):
            names[song.id] = f"{song.called} ({number})"
    return names


def _doubled(names: Mapping[str, str]) -> set[str]:
    """Ids of songs that share their name with another: capitals count for nothing, as in names of files."""
    seen = Counter(name.casefold() for name in names.values())
    return {key for key, name in names.items() if seen[name.casefold()] > 1}


def _file(song: Song) -> str:
    return PurePath(song.media.path).name


def _in_folder(song: Song) -> str:
    path = PurePath(song.media.path)
    return f"{path.parent.name}/{path.stem}"
