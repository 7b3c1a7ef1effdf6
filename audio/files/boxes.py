"""The boxes that MOV and MP4 files are made of (ISO/IEC 14496-12, 4.2; QuickTime File Format: atoms)."""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

FIRST_KINDS = (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip")
"""One of these begins a file of the family."""


@dataclass(frozen=True, slots=True)
class Box:
    """One box, by byte offsets in the file."""

    kind: bytes
    at: int
    """Offset of its header."""
    start: int
    """Offset of its contents."""
    end: int
    """Offset of the first byte after it."""
    open_end: bool = False
    """Its size is written as 0: it extends to the end of the box or file it lies in."""


def boxes(file: BinaryIO, start: int, end: int) -> Iterator[Box]:
    """The boxes between two byte offsets of a file, up to the first malformed one. Raises OSError."""
    while start + 8 <= end:
        file.seek(start)
        head = file.read(16)
        if len(head) < 8:
            return
        size, kind = struct.unpack(">I4s", head[:8])
        body = start + 8
        open_end = size == 0
        if size == 1 and len(head) == 16:
            size, body = struct.unpack(">Q", head[8:])[0], start + 16
        elif open_end:
            size = end - start
        if start + size < body:
            return
        yield Box(kind, start, body, start + size, open_end)
        start += size


def box(kind: bytes, *contents: bytes) -> bytes:
    """A box made of its contents.

    >>> box(b"free", b"ab")
    b'\\x00\\x00\\x00\\nfreeab'
    """
    body = b"".join(contents)
    return struct.pack(">I4s", 8 + len(body), kind) + body
