"""Source ids (reel names) of clips: up to eight characters, as every event list takes, unique per clip.

The length is that of old lists; that SMPTE ST 258 itself sets this limit is from memory.
"""

import re
import unicodedata
from pathlib import PurePath

from app.model.on_song import SongView

LENGTH = 8
_TAKEN = frozenset(("BL", "AX"))
"""Ids with a meaning of their own in lists: black, and a source without timecode (common practice)."""


def source_ids(shoot: SongView) -> dict[str, str]:
    """Source ids by clip id: the file name in capitals and digits; a number at the end makes it unique.

    >>> from app.model.document.media_ref import MediaRef
    >>> from app.model.on_song import Clip
    >>> clips = [Clip(str(n), MediaRef(f"/{n}/take_one é.mov", 0, ""), "") for n in range(2)]
    >>> source_ids(SongView(clips=tuple(clips)))
    {'0': 'TAKEONEE', '1': 'TAKEON02'}
    """
    found: dict[str, str] = {}
    used = set(_TAKEN)
    for clip in shoot.clips:
        stem = unicodedata.normalize("NFKD", PurePath(clip.media.path).stem).upper()
        base = re.sub(r"[^A-Z0-9]", "", stem) or "CLIP"
        name, number = base[:LENGTH], 1
        while name in used:
            number += 1
            tail = f"{number:02}"
            name = base[: LENGTH - len(tail)] + tail
        used.add(name)
        found[clip.id] = name
    return found
