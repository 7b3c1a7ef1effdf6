"""What earlier hand-offs left in a folder: named before and after writing, and never removed.

A hand-off under another name, or with other choices, does not replace what lies there from before, and an
editing program may be fed the old files by mistake. They are told by name, and removing them is left to the
person. A format knows what was once written here; it cannot know that nobody changed the file since, or that
it is no hand-off of another song that is still wanted. Replacing a file of the very same name is asked for;
what has another name is nobody's to delete.
"""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path

from app.handoff.outcome import Planned, Stop, count, never, plain
from app.handoff.registry import is_ours

MOST_NAMES = 3
"""Most files named in one sentence."""


def leftovers(folder: Path, planned: Sequence[Planned], *, stop: Stop = never) -> tuple[str, ...]:
    """Names of what earlier hand-offs wrote into a folder and the planned one does not replace, sorted.

    Files in a folder that is written again are named with it (``Evening stamped/b.mov``), and so are those
    in the folders of songs. Only formats' own files count. What cannot be read counts for nothing. ``stop``
    ends the search with what was found.
    """
    new: dict[str, set[str]] = {"": set()}
    for one in planned:
        song, _, name = one.name.rpartition("/")
        new.setdefault(song, set()).add(name.casefold())
        new[""].add(song.casefold())
    found = [
        f"{song}/{name}" if song else name
        for song, names in new.items()
        for name in _ours(folder / song, names, stop)
    ]
    for one in planned:
        if one.inside:
            held = {name.casefold() for name in one.inside}
            found += [f"{one.name}/{name}" for name in _ours(folder / one.name, held, stop)]
    return tuple(sorted(found))


def left_words(names: Sequence[str]) -> str:
    """A sentence about leftovers; empty without any.

    >>> left_words(["a.edl", "b.edl"])[:78]
    'This folder also holds 2 files from an earlier hand-off: a.edl, b.edl. They st'
    """
    if not names:
        return ""
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    they = ("It stays", "it") if len(names) == 1 else ("They stay", "them")
    return (
        f"This folder also holds {count(len(names), 'file')} from an earlier hand-off: "
        f"{', '.join(map(plain, names[:MOST_NAMES]))}{more}. {they[0]} there; delete {they[1]} if you no "
        f"longer need {they[1]}."
    )


def _ours(folder: Path, but: set[str], stop: Stop) -> Iterator[str]:
    try:
        names = sorted(os.listdir(folder))  # noqa: PTH208  (names only, in a folder that may be large)
    except OSError:
        return
    for name in names:
        if stop():
            return
        if name.startswith(".") or name.casefold() in but:
            continue
        path = folder / name
        if not path.is_symlink() and is_ours(path) and not _is_empty(path):
            yield name


def _is_empty(path: Path) -> bool:
    try:
        return path.is_dir() and not any(path.iterdir())
    except OSError:
        return True
