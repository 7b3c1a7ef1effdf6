"""The timecode track of MOV and MP4 files: its layout, and where to change it in a file.

The media of a ``tmcd`` track is a frame count of 32 bits; its sample description says how the count becomes a
label (QuickTime File Format: Timecode Media).
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO

from audio.errors import CannotStamp
from audio.files.boxes import Box, box, boxes

_DROP, _DAY = 1, 2
"""Flags of the sample description: drop-frame; labels wrap after 24 hours."""
_IN_MOVIE = 3
"""Flags of a track: enabled, part of the movie."""
_MATRIX = struct.pack(">9i", 1 << 16, 0, 0, 0, 1 << 16, 0, 0, 0, 1 << 30)
"""Unity transformation matrix (ISO/IEC 14496-12)."""
_MOST_SAMPLES = 10_000
"""A bound against damaged counts; real tracks have one sample, or one per recording."""
_ODD = "Its timecode track is of an unknown kind: use the timeline instead."


@dataclass(frozen=True, slots=True)
class Stamp:
    """A start timecode."""

    frame: int
    """Frame count of the first picture, from 00:00:00:00."""
    rate: Fraction
    """Frames per second."""
    drop_frame: bool = False

    @property
    def day(self) -> int:
        """Frames in 24 hours of labels."""
        base = round(self.rate)
        return 86400 * base - (base // 15 * (1440 - 144) if self.drop_frame else 0)

    def count(self, frames_later: int = 0) -> int:
        """Frame count ``frames_later``, within the day.

        >>> Stamp(-1, Fraction(25)).count(), Stamp(0, Fraction(30000, 1001), True).day
        (2159999, 2589408)
        """
        return (self.frame + frames_later) % self.day


@dataclass(frozen=True, slots=True)
class TimecodeTrack:
    """Where a timecode track of a file is stored."""

    samples: tuple[tuple[int, Fraction], ...]
    """Byte offset of each sample in the file, and seconds of media before it."""
    entry: int
    """Byte offset of its sample description within ``moov``."""
    edits: int | None
    """Byte offset of its edit list within ``moov``; None without one."""


def inside(moov: bytes, outer: Box) -> dict[bytes, Box]:
    """The boxes in a box of ``moov`` by kind; of several of a kind, the last."""
    return {one.kind: one for one in boxes(BytesIO(moov), outer.start, min(outer.end, len(moov)))}


def tracks(moov: bytes) -> Iterator[tuple[Box, int, bytes]]:
    """Every track of a movie: its box, its track number, the kind of its media."""
    for track in boxes(BytesIO(moov), 8, len(moov)):
        if track.kind == b"trak":
            parts = inside(moov, track)
            header = parts[b"tkhd"].start
            (number,) = struct.unpack_from(">I", moov, header + (20 if moov[header] == 1 else 12))
            kind = inside(moov, parts[b"mdia"])[b"hdlr"].start + 8
            yield track, number, moov[kind : kind + 4]


def find(moov: bytes, track: Box) -> TimecodeTrack:
    """Find where a timecode track is stored. Raises CannotStamp."""
    try:
        parts = inside(moov, track)
        media = inside(moov, parts[b"mdia"])
        table = inside(moov, inside(moov, media[b"minf"])[b"stbl"])
        entry = table[b"stsd"].start + 8
        (scale,) = struct.unpack_from(
            ">I", moov, media[b"mdhd"].start + (20 if moov[media[b"mdhd"].start] else 12)
        )
        size, count = struct.unpack_from(">II", moov, table[b"stsz"].start + 4)
        known = moov[entry + 4 : entry + 8] == b"tmcd" and size == 4 and 0 < count <= _MOST_SAMPLES
        if not known:
            raise CannotStamp(_ODD)
        places = _places(moov, table, count)
        times = _times(moov, table[b"stts"].start, count)
        edits = parts.get(b"edts")
        return TimecodeTrack(
            tuple((at, Fraction(ticks, scale)) for at, ticks in zip(places, times, strict=True)),
            entry,
            None if edits is None else edits.at,
        )
    except (KeyError, IndexError, struct.error, ZeroDivisionError, ValueError) as error:
        raise CannotStamp(_ODD) from error


def _places(moov: bytes, table: dict[bytes, Box], count: int) -> list[int]:
    """Byte offsets of the samples in the file, by their chunks."""
    wide = b"co64" in table
    chunks = table[b"co64" if wide else b"stco"].start
    (number,) = struct.unpack_from(">I", moov, chunks + 4)
    (runs,) = struct.unpack_from(">I", moov, table[b"stsc"].start + 4)
    starts = [struct.unpack_from(">III", moov, table[b"stsc"].start + 8 + 12 * n)[:2] for n in range(runs)]
    places: list[int] = []
    for chunk in range(1, min(number, _MOST_SAMPLES) + 1):
        (at,) = struct.unpack_from(
            ">Q" if wide else ">I", moov, chunks + 8 + (8 if wide else 4) * (chunk - 1)
        )
        held = next(many for first, many in reversed(starts) if first <= chunk)
        places += [at + 4 * n for n in range(min(held, count - len(places)))]
    return places


def _times(moov: bytes, start: int, count: int) -> list[int]:
    """Ticks of media before each sample."""
    (runs,) = struct.unpack_from(">I", moov, start + 4)
    times: list[int] = []
    at = 0
    for n in range(runs):
        many, length = struct.unpack_from(">II", moov, start + 8 + 8 * n)
        for _ in range(min(many, count - len(times))):
            times.append(at)
            at += length
    return times


def description(stamp: Stamp) -> bytes:
    """A sample description from its flags on: flags, ticks per second, ticks per frame, frames per second."""
    rate = stamp.rate
    flags = _DAY | (_DROP if stamp.drop_frame else 0)
    return struct.pack(">IIIB", flags, rate.numerator, rate.denominator, round(rate))


DESCRIPTION_AT = 20
"""Byte offset of that part in the entry of a sample description."""


def track(
    number: int, movie_ticks: int, frames: int, stamp: Stamp, sample_at: int, *, quicktime: bool
) -> bytes:
    """A new timecode track, as long as the movie, with its one count at byte offset ``sample_at`` of the
    file.

    ``movie_ticks`` is the length of the movie in its time scale, ``frames`` that of the picture.
    """
    most = 0xFFFFFFFF
    ticks = min(frames * stamp.rate.denominator, most)
    named = b"\x08Timecode" if quicktime else b"Timecode\x00"
    handler = struct.pack(">I4s4s12x", 0, b"mhlr" if quicktime else bytes(4), b"tmcd") + named
    header = box(
        b"tkhd",
        struct.pack(">IIIIII", _IN_MOVIE, 0, 0, number, 0, min(movie_ticks, most)),
        bytes(16),
        _MATRIX,
        bytes(8),
    )
    entry = box(b"tmcd", bytes(6), struct.pack(">HI", 1, 0), description(stamp), b"\x00")
    if sample_at > most:
        place = box(b"co64", struct.pack(">IIQ", 0, 1, sample_at))
    else:
        place = box(b"stco", struct.pack(">III", 0, 1, sample_at))
    table = box(
        b"stbl",
        box(b"stsd", struct.pack(">II", 0, 1), entry),
        box(b"stts", struct.pack(">IIII", 0, 1, 1, ticks)),
        box(b"stsc", struct.pack(">IIIII", 0, 1, 1, 1, 1)),
        box(b"stsz", struct.pack(">III", 0, 4, 1)),
        place,
    )
    # QuickTime requires how a timecode is drawn: font, face, size, colours, no font name.
    drawn = box(b"tcmi", struct.pack(">IHHHH3H3HB", 0, 0, 0, 12, 0, 0, 0, 0, *(0xFFFF,) * 3, 0))
    base = box(b"gmin", struct.pack(">IHHHHHH", 0, 0x40, 0x8000, 0x8000, 0x8000, 0, 0))
    kind = box(b"gmhd", base, box(b"tmcd", drawn)) if quicktime else box(b"nmhd", bytes(4))
    here = box(b"dinf", box(b"dref", struct.pack(">II", 0, 1), box(b"url ", struct.pack(">I", 1))))
    media = box(
        b"mdia",
        box(b"mdhd", struct.pack(">IIIIIHH", 0, 0, 0, stamp.rate.numerator, ticks, 0x55C4, 0)),
        box(b"hdlr", handler),
        box(b"minf", kind, here, table),
    )
    return box(b"trak", header, media)
