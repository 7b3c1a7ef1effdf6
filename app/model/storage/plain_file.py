"""Files read whole into memory: only plain ones, and none that is larger than what it should be can be."""

import errno
import os
import stat
from pathlib import Path

MOST_LOOKED_AT = 64_000_000
"""Bytes of a file that is only looked at, to see whose it is: our own are smaller."""


class TooLarge(OSError):
    """The file is larger than any file of its kind."""


def read_plain(path: Path, most_bytes: int) -> bytes:
    """All that is in a plain file of at most so many bytes.

    Raises OSError, whose ``strerror`` says why in words: pipes and devices, whose reading might never end
    (and names that no system takes) are errors too. TooLarge for a larger file, of which nothing is read.
    """
    try:
        facts = path.stat()
    except ValueError:  # a NUL in the name, or half a surrogate pair
        raise OSError(errno.EINVAL, "no file can have such a name", str(path)) from None
    if stat.S_ISDIR(facts.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if not stat.S_ISREG(facts.st_mode):
        raise OSError(errno.EINVAL, "it is not a plain file", str(path))
    with path.open("rb") as file:
        data = file.read(most_bytes + 1) if facts.st_size <= most_bytes else None
    if data is None or len(data) > most_bytes:  # it may have grown
        raise TooLarge(errno.EFBIG, f"it is larger than {most_bytes / 1e6:g} MB", str(path))
    return data
