"""The chunks of WAVE files, including those over 4 GB (EBU Tech 3306, ITU-R BS.2088: RF64, BW64)."""

import struct
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from audio.errors import Unreadable

MOST = 0xFFFFFFFF
"""Largest size in 32 bits, bytes; larger files are written as RF64."""
_HEADS = (b"RIFF", b"RF64", b"BW64")
_MOST_CHUNKS = 10_000
"""A bound against damaged files."""


@dataclass(frozen=True, slots=True)
class Chunk:
    """One chunk, by its place in the file."""

    kind: bytes
    start: int
    """Byte offset of its contents."""
    size: int
    """Bytes of its contents."""


def is_wave(path: Path) -> bool:
    """Whether a file begins like a WAVE file. Raises OSError."""
    with path.open("rb") as file:
        head = file.read(12)
    return head[:4] in _HEADS and head[8:] == b"WAVE"


def read_chunks(path: Path) -> tuple[Chunk, ...]:
    """The chunks of a WAVE file; sizes end where a truncated file ends. Raises Unreadable, OSError."""
    size = path.stat().st_size
    found: list[Chunk] = []
    data_size = 0
    with path.open("rb") as file:
        at = 12
        while at + 8 <= size and len(found) < _MOST_CHUNKS:
            file.seek(at)
            kind, length = struct.unpack("<4sI", file.read(8))
            if kind == b"ds64":
                (data_size,) = struct.unpack("<8xQ", file.read(16))
            if kind == b"data" and length in (0, MOST):
                # The size is in ds64, or a recorder was cut off before it wrote one: to the end.
                length = data_size or size - at - 8
            length = min(length, size - at - 8)
            found.append(Chunk(kind, at + 8, length))
            at += 8 + length + length % 2
    if not {b"fmt ", b"data"} <= {one.kind for one in found}:
        raise Unreadable("The WAVE file is not complete: copy it again from the card.")
    return tuple(found)


def content(path: Path, chunk: Chunk) -> bytes:
    """The contents of a chunk. Raises OSError."""
    with path.open("rb") as file:
        file.seek(chunk.start)
        return file.read(chunk.size)


def chunk_bytes(kind: bytes, data: bytes) -> bytes:
    """A chunk with its header, padded to a whole word."""
    return struct.pack("<4sI", kind, len(data)) + data + bytes(len(data) % 2)


def head(before: Sequence[tuple[bytes, bytes]], data_size: int, frames: int, after: int) -> bytes:
    """Start of a file up to its samples: the chunks ``before`` and the header of ``data``.

    ``data_size`` are the bytes of the samples, ``after`` those that follow them and their padding.
    """
    chunks = b"".join(chunk_bytes(kind, data) for kind, data in before)
    size = 4 + len(chunks) + 8 + data_size + data_size % 2 + after
    if size <= MOST:
        start = struct.pack("<4sI4s", b"RIFF", size, b"WAVE")
        return start + chunks + struct.pack("<4sI", b"data", data_size)
    large = chunk_bytes(b"ds64", struct.pack("<QQQI", size + 36, data_size, frames, 0))
    start = struct.pack("<4sI4s", b"RF64", 0xFFFFFFFF, b"WAVE")
    return start + large + chunks + struct.pack("<4sI", b"data", 0xFFFFFFFF)
