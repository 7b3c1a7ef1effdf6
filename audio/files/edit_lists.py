"""Edit lists and orientation of MOV and MP4 tracks: which part of the media is shown, and how it is rotated.

Boxes ``tkhd``, ``mdhd``, ``elst`` as in ISO/IEC 14496-12 and the QuickTime File Format. Only headers are
read; the media library finds the packets.
"""

import struct
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO

from audio.files.boxes import Box, boxes

_MOST_EDITS = 10_000
"""Edits read of one track; a bound against damaged counts, far above real edit lists."""


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of a track that is shown, in seconds on the clock of the packets (see open_media)."""

    start_s: Fraction | None = None
    """None: from the beginning."""
    end_s: Fraction | None = None
    """None: to the end."""
    shift_s: Fraction = Fraction(0)
    """Movie time minus packet time, seconds."""


WHOLE = (Part(),)
"""The parts of a track without an edit list."""


@dataclass(frozen=True, slots=True)
class IsoTrack:
    """One track of a MOV or MP4 file."""

    parts: tuple[Part, ...] = WHOLE
    quarter_turned: bool = False
    """Shown rotated by 90 or 270 degrees, so that width and height swap."""
    in_order: bool = True
    """False if the edit list goes back in the media; then only its first part is used."""


def _inside(file: BinaryIO, box: Box, size: int) -> dict[bytes, Box]:
    return {one.kind: one for one in boxes(file, box.start, min(box.end, size))}


def _read(file: BinaryIO, box: Box, most: int) -> bytes:
    file.seek(box.start)
    return file.read(min(box.end - box.start, most))


def _timescale(data: bytes) -> int:
    (scale,) = struct.unpack_from(">I", data, 20 if data[0] == 1 else 12)
    return int(scale)


def _quarter_turned(data: bytes) -> bool:
    a, _, _, _, d = struct.unpack_from(">5i", data, 52 if data[0] == 1 else 40)
    return bool(a == 0 and d == 0)


def _parts(data: bytes, movie_scale: int, media_scale: int) -> tuple[tuple[Part, ...], bool]:
    wide = data[0] == 1
    (count,) = struct.unpack_from(">I", data, 4)
    step = 20 if wide else 12
    movie = Fraction(0)
    first: tuple[Fraction, Fraction] | None = None
    parts: list[Part] = []
    for number in range(min(count, _MOST_EDITS)):
        length, media = struct.unpack_from(">Qq" if wide else ">Ii", data, 8 + number * step)
        duration = Fraction(length, movie_scale)
        if media >= 0:
            media_s = Fraction(media, media_scale)
            first = first or (media_s, movie)
            start = media_s - first[0] + first[1]
            if parts and (parts[-1].end_s is None or start < parts[-1].end_s):
                return (parts[0],), False
            parts.append(Part(start, start + duration if length else None, movie - start))
        movie += duration
    return tuple(parts) or WHOLE, True


def iso_tracks(path: Path) -> dict[int, IsoTrack]:
    """The tracks of a MOV or MP4 file by track number; empty for other or damaged files. Raises OSError."""
    size = path.stat().st_size
    tracks: dict[int, IsoTrack] = {}
    with path.open("rb") as file:
        movie = next((box for box in boxes(file, 0, size) if box.kind == b"moov"), None)
        if movie is None:
            return {}
        try:
            scale = _timescale(_read(file, _inside(file, movie, size)[b"mvhd"], 32))
            for box in boxes(file, movie.start, min(movie.end, size)):
                if box.kind == b"trak":
                    number, track = _track(file, box, size, scale)
                    tracks[number] = track
        except (KeyError, IndexError, struct.error, ZeroDivisionError):
            pass
    return tracks


def _track(file: BinaryIO, box: Box, size: int, movie_scale: int) -> tuple[int, IsoTrack]:
    inside = _inside(file, box, size)
    header = _read(file, inside[b"tkhd"], 100)
    (number,) = struct.unpack_from(">I", header, 20 if header[0] == 1 else 12)
    media_scale = _timescale(_read(file, _inside(file, inside[b"mdia"], size)[b"mdhd"], 32))
    parts: tuple[Part, ...] = WHOLE
    in_order = True
    if b"edts" in inside:
        edits = _inside(file, inside[b"edts"], size).get(b"elst")
        if edits is not None:
            parts, in_order = _parts(_read(file, edits, 8 + 20 * _MOST_EDITS), movie_scale, media_scale)
    return number, IsoTrack(parts, _quarter_turned(header), in_order)


def missing_bytes(path: Path) -> int:
    """Bytes that a MOV, MP4, WAV, AVI or AIFF file is shorter than its headers say. Raises OSError.

    By its outermost boxes or chunks; 0 where nothing is missing or the container does not say.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] in (b"RIFF", b"FORM"):
            order = "<I" if head[:4] == b"RIFF" else ">I"
            start = 0
            while len(head) >= 8 and head[:4] in (b"RIFF", b"FORM"):
                (length,) = struct.unpack(order, head[4:8])
                if length in (0, 0xFFFFFFFF):
                    return 0
                start += 8 + length + length % 2
                file.seek(start)
                head = file.read(12)
            return max(0, start - 1 - size)
        if head[4:8] == b"ftyp" or head[4:8] in (b"moov", b"mdat", b"wide", b"free", b"skip"):
            return max(0, max((box.end for box in boxes(file, 0, size)), default=0) - size)
    return 0
