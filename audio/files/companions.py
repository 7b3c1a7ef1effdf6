"""Which files of a memory card are clips, and which are only sidecars, thumbnails or proxies of clips."""

from pathlib import Path

CLIP_SUFFIXES = frozenset(
    {
        *(".mov", ".mp4", ".m4v", ".mts", ".m2ts", ".ts", ".mxf", ".avi", ".mkv", ".webm"),
        *(".mpg", ".mpeg", ".m2t", ".3gp", ".dv", ".wmv", ".asf", ".flv", ".f4v"),
        *(".wav", ".bwf", ".w64", ".rf64", ".aif", ".aiff", ".caf", ".flac", ".mp3"),
        *(".m4a", ".aac", ".ogg", ".oga", ".opus", ".ac3", ".wma", ".au"),
    }
)
"""Suffixes (lower case) of files that can be clips: moving pictures, or sound by itself."""

# Folder names of proxies and of card formats, as cameras write them; common practice, from no standard.
_PROXY_FOLDERS = frozenset({"sub", "proxy"})
_CARD_FOLDERS = frozenset({"m4root", "xdroot", "contents"})


def is_companion(path: Path) -> bool:
    """Whether a file only accompanies clips and is no clip itself, by its name alone.

    True for hidden files (among them ``._C0001.MP4``, which some systems leave beside every file they copy to
    a foreign disk), for files without a suffix of video or sound (thumbnails, lists, low-resolution
    ``.LRV``), and for the proxies that cameras keep in a folder of their card.

    >>> is_companion(Path("CARD/._C0001.MP4")), is_companion(Path("CARD/C0001.MP4"))
    (True, False)
    >>> is_companion(Path("M4ROOT/SUB/C0001S03.MP4")), is_companion(Path("A001.THM"))
    (True, True)
    """
    if path.name.startswith(".") or path.suffix.lower() not in CLIP_SUFFIXES:
        return True
    folder = path.parent
    return folder.name.lower() in _PROXY_FOLDERS and folder.parent.name.lower() in _CARD_FOLDERS
