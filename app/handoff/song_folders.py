"""What folders and files are called where several songs are handed off.

Files of several songs never share a name, although they lie in folders of their own: an editing program lists
timelines by name alone.
"""

from collections.abc import Sequence

from app.handoff.names import FreeNames, safe_name

LONGEST_BYTES = 90
"""Of the shoot's name and of the song's each, so that neither is lost."""


def files_called(shoot: str, songs: Sequence[str]) -> tuple[str, ...]:
    """What the files of each song are called, no two the same, from the names of the shoot and of its songs.

    >>> files_called("Evening", ["Reel"]), files_called("Evening", ["Reel", "Air"])
    (('Evening',), ('Evening - Reel', 'Evening - Air'))
    >>> files_called("Reel", ["Reel", "Air"])
    ('Reel', 'Air')
    """
    if len(songs) < 2:
        return (shoot,)
    names = FreeNames()
    # A shoot that nobody gave a name is called after its song.
    before = "" if shoot in ("", *songs) else f"{safe_name(shoot, LONGEST_BYTES)} - "
    return tuple(names.free(before + safe_name(song, LONGEST_BYTES, otherwise="song")) for song in songs)


def folders_called(songs: Sequence[str]) -> tuple[str, ...]:
    """The folder of each song in that of the hand-off; none where there is only one song.

    >>> folders_called(["Reel"]), folders_called(["Air/1", "AIR-1"])
    (('',), ('Air-1', 'AIR-1 2'))
    """
    if len(songs) < 2:
        return ("",) * len(songs)
    names = FreeNames()
    return tuple(names.free(safe_name(song, LONGEST_BYTES, otherwise="song")) for song in songs)
