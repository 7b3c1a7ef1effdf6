"""Which files come from one camera or recorder, and so share one clock."""

import re
from collections.abc import Sequence
from pathlib import Path

from audio.files.media import MediaInfo


def cameras(infos: Sequence[MediaInfo]) -> tuple[tuple[int, ...], ...]:
    """Groups of files that come from one camera, as indices into ``infos``, by their first files.

    One camera writes into one folder, names one make and model, keeps its sound settings and numbers its
    files by one pattern. Picture size and frame rate may change from clip to clip.

    Limits: two cameras of one model whose cards were copied into one folder look like one; whoever uses the
    groups must test whether the clocks agree. Renamed files are a camera each.
    """
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, info in enumerate(infos):
        kind = (
            info.path.parent,
            info.path.suffix.lower(),
            (info.make, info.model),
            (info.sound_tracks, info.sound_rate),
            _pattern(info.path),
        )
        groups.setdefault(kind, []).append(number)
    return tuple(tuple(group) for group in groups.values())


def _pattern(path: Path) -> str:
    """A file's name with its counters left out.

    >>> _pattern(Path("C0009.MP4")), _pattern(Path("GX010123.MP4")), _pattern(Path("wide.mov"))
    ('C#', 'GX#', 'wide')
    """
    return re.sub(r"\d+", "#", path.stem)
