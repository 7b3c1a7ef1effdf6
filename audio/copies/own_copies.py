"""Which files are copies, sounds and films that were written here: they come of clips and are none.

Only a few headers are read, and none of the signal libraries is needed, so a folder of hundreds of clips may
be looked through.
"""

import os
from functools import lru_cache
from pathlib import Path

from audio.copies import iso_stamp, mxf_stamp
from audio.copies.broadcast_extension import is_signed
from audio.copies.wave_chunks import is_wave
from audio.errors import AudioError
from audio.files.boxes import FIRST_KINDS, boxes
from audio.filming.mark import MARK

_MXF_KEY = b"\x06\x0e\x2b\x34"
_MOST_BYTES = 1 << 20
"""Of what stands beside a movie's tracks: names and comments are shorter."""


def is_own_copy(path: Path) -> bool:
    """Tell whether a file is a stamped copy, a conformed sound or a proof film of an earlier hand-off.

    A file that cannot be read is none.
    """
    try:
        facts = os.stat(path)  # noqa: PTH116  (called for every file of a folder)
        return _is_own(path, facts.st_size, facts.st_mtime_ns)
    except (AudioError, OSError, ValueError):
        return False


@lru_cache(maxsize=4096)
def _is_own(path: Path, size: int, _changed_ns: int) -> bool:
    """Kept as long as the file stays as it is, for a watched folder is looked at again and again."""
    if is_wave(path):
        return is_signed(path)
    with path.open("rb") as file:
        start = file.read(8)
    if start[4:] in FIRST_KINDS:
        return iso_stamp.is_marked(path) or _is_film(path, size)
    return start[:4] == _MXF_KEY and mxf_stamp.is_marked(path)


def _is_film(path: Path, size: int) -> bool:
    with path.open("rb") as file:
        for movie in boxes(file, 0, size):
            if movie.kind == b"moov":
                for one in boxes(file, movie.start, movie.end):
                    if one.kind == b"udta":
                        file.seek(one.start)
                        return MARK.encode() in file.read(min(one.end - one.start, _MOST_BYTES))
    return False
