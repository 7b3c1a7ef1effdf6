"""What is said of files that were dropped: what was left out or here already, why there is nothing new."""

from collections.abc import Collection, Sequence
from pathlib import Path


def nothing_new(paths: Sequence[Path], known: bool) -> str:
    """Why nothing came of adding these: all of it is here already (``known``), or there is nothing in it.

    >>> nothing_new([Path("/card"), Path("/b")], known=True)
    'All clips in card and 1 more are already in this shoot.'
    """
    where = paths[0].name or str(paths[0])
    if len(paths) > 1:
        where += f" and {len(paths) - 1} more"
    elif known and paths[0].is_file():
        return f"{where} is already in this shoot."
    if known:
        return f"All clips in {where} are already in this shoot."
    return (
        f"No clips found in {where} or its subfolders: there are no video or sound files. "
        "Drop the folder you copied the cards to."
    )


def here_already(paths: Collection[Path]) -> str:
    """That clips which were dropped again are in the shoot; empty for none.

    >>> here_already({Path("/a/A001.mov")}), here_already({Path("/a/1.mov"), Path("/a/2.mov")})
    ('A001.mov is already in this shoot.', '2 clips are already in this shoot.')
    """
    if len(paths) == 1:
        return f"{next(iter(paths)).name} is already in this shoot."
    return f"{len(paths)} clips are already in this shoot." if paths else ""


def left_out(paths: Sequence[Path]) -> str:
    """That files which were named are no clips; empty for none.

    >>> left_out([Path("/a/notes.json")])
    'notes.json is not a video or sound file, so it was left out.'
    """
    if len(paths) == 1:
        return f"{paths[0].name} is not a video or sound file, so it was left out."
    return f"{len(paths)} files were left out: they are not video or sound." if paths else ""
