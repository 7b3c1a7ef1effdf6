"""Sound files that know where they lie: Broadcast Wave with a time reference (EBU Tech 3285).

A WAVE file is copied with its samples untouched, a file of another kind is decoded; what was written is read
back and compared. Files of more than 4 GB become RF64 (EBU Tech 3306).
"""

import hashlib
import os
import struct
from collections.abc import Callable, Iterable
from pathlib import Path

from audio.copies.broadcast_extension import (
    Facts,
    extension,
    history_line,
    restamped,
    restamped_ixml,
    time_reference,
)
from audio.copies.wave_chunks import Chunk, chunk_bytes, content, head, is_wave, read_chunks
from audio.copies.whole_sound import Block, Coding, encoded, whole_sound
from audio.errors import CannotStamp, Stopped
from audio.progress import never, no_progress

_STEP = 1 << 22
_WRITTEN = 0.7
"""Share of the work that is the writing; the rest is reading back."""
_PLACE = (b"fmt ", b"data", b"bext", b"ds64")
_WRONG = "The sound file does not read back as it was written, so it was not kept: check the disk."


def stamp_sound(
    source: Path,
    target: Path,
    facts: Facts,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> bool:
    """Write a Broadcast Wave file with the sound of another file; tells whether it had to be decoded.

    The target must not be there yet; it is the caller's to remove when this fails. Raises CannotStamp,
    Unreadable, NoSound, Stopped, OSError.
    """
    decoded = not is_wave(source)
    if decoded:
        with whole_sound(source) as sound:
            write_wave(
                target,
                sound.blocks,
                facts,
                rate=sound.rate,
                channels=sound.channels,
                frames=sound.frames,
                coding=sound.coding,
                words=f"decoded from {source.suffix.lstrip('.').upper()[:8]}",
                stop=stop,
                progress=progress,
            )
    else:
        _copy(source, target, facts, stop, progress)
    told = source.stat()
    os.utime(target, ns=(told.st_atime_ns, told.st_mtime_ns))
    return decoded


def write_wave(
    target: Path,
    blocks: Iterable[Block],
    facts: Facts,
    *,
    rate: int,
    channels: int,
    frames: int,
    coding: Coding,
    words: str,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> None:
    """Write ``frames`` samples, shape (n, channels), to a file that is not there yet, and read it back.

    Raises CannotStamp, Stopped, OSError.
    """
    bits = abs(coding.value)
    align = channels * bits // 8
    history = history_line(rate, bits, channels, words)
    before = [(b"bext", extension(facts, history)), (b"fmt ", _format(rate, channels, coding))]
    if coding is Coding.FLOAT:
        before.append((b"fact", struct.pack("<I", min(frames, 0xFFFFFFFF))))
    seal = hashlib.blake2b()
    done = 0
    with target.open("xb") as file:
        file.write(head(before, frames * align, frames, 0))
        for block in blocks:
            if stop():
                raise Stopped("Writing was stopped.")
            data = encoded(block, coding)
            seal.update(data)
            file.write(data)
            done += len(block)
            progress(_WRITTEN * min(1.0, done / max(1, frames)))
        file.write(bytes(frames * align % 2))
    if done != frames:
        raise CannotStamp("The sound is not as long as the file says: copy it again from the card.")
    _check(target, seal.digest(), facts, stop)
    progress(1.0)


def _format(rate: int, channels: int, coding: Coding) -> bytes:
    bits = abs(coding.value)
    align = channels * bits // 8
    kind = 3 if coding is Coding.FLOAT else 1
    plain = struct.pack("<HIIHH", channels, rate, rate * align, align, bits)
    if channels <= 2:
        return struct.pack("<H", kind) + plain + (b"\0\0" if kind == 3 else b"")
    # More channels than two want the long form: bits used, no loudspeakers named, the kind as a number of 16
    # bytes (Microsoft, WAVEFORMATEXTENSIBLE).
    sub = struct.pack("<IHH", kind, 0, 16) + bytes.fromhex("800000aa00389b71")
    return struct.pack("<H", 0xFFFE) + plain + struct.pack("<HHI", 22, bits, 0) + sub


def _copy(
    source: Path, target: Path, facts: Facts, stop: Callable[[], bool], progress: Callable[[float], None]
) -> None:
    """A WAVE file with another time reference; all other chunks and every sample stay as they are."""
    chunks = read_chunks(source)
    form = content(source, next(one for one in chunks if one.kind == b"fmt "))
    channels, rate, _, align, bits = struct.unpack_from("<HIIHH", form, 2)
    sound = next(one for one in chunks if one.kind == b"data")
    size = sound.size - sound.size % max(1, align)
    history = history_line(rate, bits, channels, "stamped copy")
    old = next((content(source, one) for one in chunks if one.kind == b"bext"), None)
    mark = extension(facts, history) if old is None else restamped(old, facts.time_reference, history)
    before, after = [(b"bext", mark), (b"fmt ", form)], b""
    for one in chunks:
        if one.kind not in _PLACE:
            data = content(source, one)
            if one.kind == b"iXML":
                data = restamped_ixml(data, facts.time_reference)
            if one.start < sound.start:
                before.append((one.kind, data))
            else:
                after += chunk_bytes(one.kind, data)
    seal = hashlib.blake2b()
    with source.open("rb") as original, target.open("xb") as file:
        file.write(head(before, size, size // max(1, align), len(after)))
        original.seek(sound.start)
        left = size
        while left:
            if stop():
                raise Stopped("Copying was stopped.")
            data = original.read(min(_STEP, left))
            if not data:
                raise CannotStamp("The file became shorter while it was copied: copy it again from the card.")
            seal.update(data)
            file.write(data)
            left -= len(data)
            progress(_WRITTEN * (1 - left / size))
        file.write(bytes(size % 2) + after)
    _check(target, seal.digest(), facts, stop)
    progress(1.0)


def _check(target: Path, seal: bytes, facts: Facts, stop: Callable[[], bool]) -> None:
    """The samples and the time reference as they lie on disk have to be those that were meant."""
    sound: Chunk = next(one for one in read_chunks(target) if one.kind == b"data")
    found = hashlib.blake2b()
    with target.open("rb") as file:
        file.seek(sound.start)
        left = sound.size
        while left:
            if stop():
                raise Stopped("Copying was stopped.")
            data = file.read(min(_STEP, left))
            if not data:
                break
            found.update(data)
            left -= len(data)
    if found.digest() != seal or time_reference(target) != facts.time_reference:
        raise CannotStamp(_WRONG)
