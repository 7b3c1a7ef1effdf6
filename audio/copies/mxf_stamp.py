"""A start timecode for an MXF file, as changes to a copy of it.

The timecode is in the Timecode Component sets of the header metadata, which may be repeated in the footer
(SMPTE ST 377-1: partition packs in 7, local sets in 9.3, the component in B.17; keys and tags from memory,
checked against files that libav wrote and reads). Timecode inside the frames themselves stays as it is.
"""

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from audio.copies.changes import Changes
from audio.copies.timecode_track import Stamp
from audio.errors import CannotStamp

_PARTITION = bytes.fromhex("060e2b34020501010d01020101")
_COMPONENT = bytes.fromhex("060e2b34025301010d01010101011400")
_FILL = bytes.fromhex("060e2b34010101010301021001000000")
_START, _BASE, _DROP = 0x1501, 0x1502, 0x1503
"""Local tags of the component: start timecode, rounded timecode base, drop-frame."""
_MARK = b"stamped copy by Anglebook"
_MOST_PARTITIONS = 10_000
"""A bound against damaged files."""
_RUN_IN = 65536
"""Bytes that may come before the first partition (SMPTE ST 377-1)."""


def changes(path: Path, stamp: Stamp) -> Changes:
    """The changes that give the file a start timecode. Raises CannotStamp, OSError."""
    patches: list[tuple[int, bytes]] = []
    found = False
    with path.open("rb") as file:
        for start, end in _metadata(file, path.stat().st_size):
            for key, at, length in _items(file, start, end):
                if _alike(key, _FILL):
                    if length >= len(_MARK) and not any(data == _MARK for _, data in patches):
                        patches.append((at, _MARK))
                elif _alike(key, _COMPONENT):
                    patches += _component(file, at, length, stamp)
                    found = True
    if not found:
        raise CannotStamp("No timecode was found in its header: use the timeline instead.")
    note = "counters inside its frames, if there are any, stay as they were; programs go by the file's own."
    return Changes(tuple(sorted(patches)), b"", note)


def is_marked(path: Path) -> bool:
    """Whether a file is a copy that was stamped here. Raises OSError."""
    with path.open("rb") as file:
        for start, end in _metadata(file, path.stat().st_size):
            for key, at, length in _items(file, start, end):
                if _alike(key, _FILL) and length >= len(_MARK):
                    file.seek(at)
                    if file.read(len(_MARK)) == _MARK:
                        return True
    return False


def _component(file: BinaryIO, at: int, length: int, stamp: Stamp) -> list[tuple[int, bytes]]:
    """The changes to the fields of one timecode component."""
    file.seek(at)
    data = file.read(length)
    fields: dict[int, tuple[int, bytes]] = {}
    place = 0
    while place + 4 <= len(data):
        tag, size = struct.unpack_from(">HH", data, place)
        fields[tag] = (at + place + 4, data[place + 4 : place + 4 + size])
        place += 4 + size
    base = fields.get(_BASE, (0, b""))[1]
    if _START not in fields or base != struct.pack(">H", round(stamp.rate)):
        raise CannotStamp("Its timecode counts at another rate than its pictures: use the timeline instead.")
    patches = [(fields[_START][0], struct.pack(">q", stamp.count()))]
    if _DROP in fields:
        patches.append((fields[_DROP][0], bytes([stamp.drop_frame])))
    return patches


def _alike(key: bytes, wanted: bytes) -> bool:
    """Whether two keys are equal except for the version of the register (the eighth byte)."""
    return key[:7] + key[8:] == wanted[:7] + wanted[8:]


def _items(file: BinaryIO, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Key, byte offset and length of every item between two offsets (SMPTE ST 336: lengths in BER)."""
    while start + 17 <= end:
        file.seek(start)
        head = file.read(25)
        if len(head) < 17:
            return
        length, size = head[16], 17
        if length & 0x80:
            size += length & 0x7F
            if size > 25 or len(head) < size:
                return
            length = int.from_bytes(head[17:size], "big")
        yield head[:16], start + size, length
        start += size + length


def _metadata(file: BinaryIO, size: int) -> Iterator[tuple[int, int]]:
    """Start and end (byte offsets) of the header metadata in every partition that has it."""
    run_in = file.read(_RUN_IN).find(_PARTITION[:7])
    if run_in < 0:
        return
    waiting = [run_in]
    seen: set[int] = set()
    while waiting and len(seen) < _MOST_PARTITIONS:
        at = waiting.pop()
        if at in seen or not run_in <= at < size:
            continue
        seen.add(at)
        key, start, length = next(_items(file, at, size), (b"", 0, 0))
        if not key.startswith(_PARTITION) or length < 48:
            continue
        file.seek(start)
        _, _, _, _, before, footer, held = struct.unpack(">HHIQQQQ", file.read(40))
        waiting += [run_in + one for one in (before, footer) if one]
        if held:
            first = start + length
            key, filled, many = next(_items(file, first, size), (b"", 0, 0))
            if _alike(key, _FILL):
                first = filled + many
            yield start + length, min(first + held, size)
