"""A start timecode for a MOV or MP4 file, as changes to a copy of it.

If the file has a timecode track, its frame count and sample description are overwritten: a few bytes. If not,
one is added: the ``moov`` box with the new track is written at the end of the file, and the old ``moov``
becomes free space. Either way every byte of sound and picture, and every offset that refers to it, stays as
it was.
"""

import struct
from io import BytesIO
from pathlib import Path

from audio.copies.changes import Changes
from audio.copies.timecode_track import DESCRIPTION_AT, Stamp, description, find, inside, track, tracks
from audio.errors import CannotStamp
from audio.files.boxes import Box, box, boxes

_LARGEST_MOOV = 1 << 30
"""Bytes of a ``moov`` box that are read into memory at most; chosen by hand, far above real ones."""
MARK = b"stamped copy by Anglebook"
"""Starts the free space at the end of a copy, by which a copy is recognised."""
_LONGEST_MARK = 4096
"""Bytes; a larger free box at the end of a file is not ours."""


def changes(path: Path, stamp: Stamp, picture: int, frames: int, late_frames: int) -> Changes:
    """The changes that give the file a start timecode. Raises CannotStamp, OSError.

    ``picture`` is the track number of the picture, ``frames`` its length. A timecode track counts from the
    start of the movie, and the picture begins ``late_frames`` later.
    """
    try:
        return _changes(path, stamp, picture, frames, late_frames)
    except (LookupError, struct.error, ValueError) as error:
        raise CannotStamp(
            "Its table of contents is damaged: use the timeline instead, or copy it again from the card."
        ) from error


def _changes(path: Path, stamp: Stamp, picture: int, frames: int, late_frames: int) -> Changes:
    size = path.stat().st_size
    with path.open("rb") as file:
        outer = list(boxes(file, 0, size))
        whole = [one for one in outer if one.end <= size]
        found = [one for one in whole if one.kind == b"moov"]
        if len(found) != 1 or whole != outer:
            raise CannotStamp(
                "The file is not complete, so no timecode can be written: copy it again from the card."
            )
        (movie,) = found
        if movie.end - movie.at > _LARGEST_MOOV:
            raise CannotStamp("Its table of contents is too large to be read: use the timeline instead.")
        file.seek(movie.at)
        moov = file.read(movie.end - movie.at)
    first = next(iter(outer))
    quicktime = first.kind != b"ftyp" or _brand(path, first) == b"qt  "
    if (
        movie.start - movie.at == 16
    ):  # a 64-bit header that is not needed; offsets here count from a short one
        moov = struct.pack(">I4s", len(moov) - 8, b"moov") + moov[16:]
    shift = movie.start - 8
    closing = _closing(outer[-1], size)
    own = [one for one, _, kind in tracks(moov) if kind == b"tmcd"]
    patches: list[tuple[int, bytes]] = []
    if own:
        for one in own:
            timecode = find(moov, one)
            patches.append((shift + timecode.entry + DESCRIPTION_AT, description(stamp)))
            if timecode.edits is not None:
                patches.append((shift + timecode.edits + 4, b"free"))
            for at, later_s in timecode.samples:
                count = stamp.count(round(later_s * stamp.rate) - late_frames)
                patches.append((at, struct.pack(">I", count)))
        if any(at + len(data) > size for at, data in patches):
            raise CannotStamp("Its timecode is outside the file: copy it again from the card.")
        return Changes(tuple(sorted(closing + patches)), box(b"free", MARK))
    if any(one.kind == b"moof" for one in outer) or b"mvex" in _kinds(moov):
        raise CannotStamp(
            "It was recorded in fragments, which leave no room for a timecode track: lay it by the timeline "
            "file, or copy it into a plain MP4 first."
        )
    if b"cmov" in _kinds(moov):
        raise CannotStamp("Its table of contents is packed: use the timeline instead.")
    sample = box(b"mdat", struct.pack(">I", stamp.count(-late_frames)))
    new = _with_track(moov, stamp, picture, frames, size + 8, quicktime)
    patches.append((movie.at + 4, b"free"))
    return Changes(tuple(sorted(closing + patches)), sample + new + box(b"free", MARK))


def is_marked(path: Path) -> bool:
    """Whether a file is a copy that was stamped here. Raises OSError."""
    size = path.stat().st_size
    with path.open("rb") as file:
        for one in boxes(file, 0, size):
            if one.kind == b"free" and one.end == size and one.end - one.start <= _LONGEST_MARK:
                file.seek(one.start)
                return file.read(len(MARK)) == MARK
    return False


def counts(path: Path) -> list[int]:
    """The frame counts in the timecode tracks of a file. Raises CannotStamp, OSError."""
    size = path.stat().st_size
    held = []
    with path.open("rb") as file:
        for movie in boxes(file, 0, size):
            if movie.kind == b"moov":
                file.seek(movie.start)
                moov = struct.pack(">I4s", 0, b"moov") + file.read(movie.end - movie.start)
                for one, _, kind in tracks(moov):
                    if kind == b"tmcd":
                        for at, _ in find(moov, one).samples:
                            file.seek(at)
                            held.append(int.from_bytes(file.read(4), "big"))
    return held


def _kinds(moov: bytes) -> set[bytes]:
    return {one.kind for one in boxes(BytesIO(moov), 8, len(moov))}


def _brand(path: Path, first: Box) -> bytes:
    with path.open("rb") as file:
        file.seek(first.start)
        return file.read(4)


def _closing(last: Box, size: int) -> list[tuple[int, bytes]]:
    """Write the size of a last box that extends to the end of the file: else it would include what is
    appended."""
    if not last.open_end:
        return []
    if size - last.at > 0xFFFFFFFF:
        raise CannotStamp("Where its media ends cannot be determined: use the timeline instead.")
    return [(last.at, struct.pack(">I", size - last.at))]


def _with_track(
    moov: bytes, stamp: Stamp, picture: int, frames: int, sample_at: int, quicktime: bool
) -> bytes:
    """The ``moov`` box with a timecode track, to which the picture's track refers."""
    header = inside(moov, Box(b"moov", 0, 8, len(moov)))[b"mvhd"]
    wide = moov[header.start] == 1
    (duration,) = struct.unpack_from(">Q" if wide else ">I", moov, header.start + (24 if wide else 16))
    numbers = [number for _, number, _ in tracks(moov)]
    number = max(numbers) + 1
    parts: list[bytes] = []
    last = 8
    for one, its_number, _ in tracks(moov):
        parts.append(moov[last : one.at])
        whole = moov[one.at : one.end]
        parts.append(_referring(whole, number) if its_number == picture else whole)
        last = one.end
    parts.append(track(number, duration, frames, stamp, sample_at, quicktime=quicktime))
    parts.append(moov[last:])
    body = bytearray(b"".join(parts))
    # Set the number of the next track in the movie header, wherever that header is.
    at = next(one for one in boxes(BytesIO(body), 0, len(body)) if one.kind == b"mvhd").end - 4
    body[at : at + 4] = struct.pack(">I", number + 1)
    return box(b"moov", bytes(body))


def _referring(whole: bytes, number: int) -> bytes:
    """A track with a reference to its timecode track before its media; other references stay."""
    start = 16 if whole[:4] == b"\x00\x00\x00\x01" else 8
    kept, before, after = b"", b"", b""
    last = start
    for one in boxes(BytesIO(whole), start, len(whole)):
        data = whole[one.at : one.end]
        last = one.end
        if one.kind == b"tref":
            kept = b"".join(
                whole[ref.at : ref.end]
                for ref in boxes(BytesIO(whole), one.start, one.end)
                if ref.kind != b"tmcd"
            )
        elif one.kind == b"mdia" or after:
            after += data
        else:
            before += data
    return box(
        b"trak", before, box(b"tref", kept, box(b"tmcd", struct.pack(">I", number))), after, whole[last:]
    )
