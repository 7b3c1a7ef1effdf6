"""The ``bext`` chunk of Broadcast Wave files: originator, and time of the first sample.

Layout after EBU Tech 3285 version 2 (2011), written as version 1, without loudness; lines of the coding
history after EBU R 98.
"""

import re
import struct
from dataclasses import dataclass
from pathlib import Path

from audio.copies.wave_chunks import content, is_wave, read_chunks

_FIXED = struct.Struct("<256s32s32s10s8sIIH64s190x")
_REFERENCE_AT = 338
"""Byte offset of the time reference in the chunk."""
_SIGNED = b"T=Anglebook"
"""Text in the coding history by which files written here are recognised."""
_STAMPS = re.compile(rb"(<TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_(HI|LO)>)\s*\d*\s*(</)")


@dataclass(frozen=True, slots=True)
class Facts:
    """Contents of the chunk: time reference, description and date."""

    time_reference: int
    """Samples from midnight to the first sample."""
    description: str
    date: str
    """Date of the recording, ``yyyy-mm-dd``."""
    time: str
    """Time of the recording, ``hh:mm:ss``."""


def extension(facts: Facts, history: str) -> bytes:
    """Contents of a new ``bext`` chunk; characters outside ASCII become question marks."""
    low, high = facts.time_reference & 0xFFFFFFFF, facts.time_reference >> 32
    fixed = _FIXED.pack(
        _ascii(facts.description, 256),
        b"Anglebook",
        b"",
        _ascii(facts.date, 10),
        _ascii(facts.time, 8),
        low,
        high,
        1,
        b"",
    )
    return _even(fixed + _line(history))


def restamped(old: bytes, time_reference: int, history: str) -> bytes:
    """Contents of an existing ``bext`` chunk with a new time reference and one more line of coding
    history."""
    data = bytearray(old.ljust(_FIXED.size, b"\0"))
    struct.pack_into("<II", data, _REFERENCE_AT, time_reference & 0xFFFFFFFF, time_reference >> 32)
    before = bytes(data[_FIXED.size :]).rstrip(b"\0")
    if before and not before.endswith(b"\r\n"):
        before += b"\r\n"
    return _even(bytes(data[: _FIXED.size]) + before + _line(history))


def restamped_ixml(old: bytes, time_reference: int) -> bytes:
    """Contents of an ``iXML`` chunk, which may repeat the time reference, with the new one."""
    parts = {b"HI": time_reference >> 32, b"LO": time_reference & 0xFFFFFFFF}
    return _STAMPS.sub(lambda found: found[1] + str(parts[found[2]]).encode() + found[3], old)


def history_line(rate: int, bits: int, channels: int, words: str) -> str:
    """A line of coding history (EBU R 98).

    >>> history_line(48000, 24, 2, "stamped copy")
    'A=PCM,F=48000,W=24,M=stereo,T=Anglebook; stamped copy'
    """
    mode = {1: "mono", 2: "stereo"}.get(channels, "multichannel")
    return f"A=PCM,F={rate},W={bits},M={mode},T=Anglebook; {words}"


def time_reference(path: Path) -> int | None:
    """Time reference of a WAVE file in samples since midnight; None without one. Raises Unreadable,
    OSError."""
    for one in read_chunks(path):
        if one.kind == b"bext" and one.size >= _FIXED.size:
            low, high = struct.unpack_from("<II", content(path, one), _REFERENCE_AT)
            return int(low) | int(high) << 32
    return None


def is_signed(path: Path) -> bool:
    """Whether a WAVE file was written here. Raises Unreadable, OSError."""
    return is_wave(path) and any(
        one.kind == b"bext" and _SIGNED in content(path, one)[_FIXED.size :] for one in read_chunks(path)
    )


def _ascii(text: str, most: int) -> bytes:
    return text.encode("ascii", errors="replace")[:most]


def _line(history: str) -> bytes:
    return history.encode("ascii", errors="replace") + b"\r\n"


def _even(data: bytes) -> bytes:
    """Pad to whole words: some readers of RF64 forget that odd chunks are padded."""
    return data + bytes(len(data) % 2)
