"""A sound file from its first sample to its last, as it is or as it decodes, to be written anew."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from audio.files.containers import check_file, library_name
from audio.files.media import probe
from audio.files.sound_reader import Room, read_tracks
from audio.files.sound_rows import gather
from audio.progress import never, no_progress

Block = NDArray[np.int32] | NDArray[np.float32]
"""Shape (n, channels): 32-bit numbers with the sample in their upper bits, or floats of full scale 1.0."""

_ROOM = Room(whole_bytes=2_000_000_000, most_bytes=2_000_000_000)
_STEP = 1 << 16


class Coding(Enum):
    """How samples are written: bits, and whether as floats."""

    PCM_16 = 16
    PCM_24 = 24
    PCM_32 = 32
    FLOAT = -32


_EXACT = {
    "PCM_S8": Coding.PCM_16,
    "PCM_U8": Coding.PCM_16,
    "PCM_16": Coding.PCM_16,
    "PCM_24": Coding.PCM_24,
    "PCM_32": Coding.PCM_32,
}
"""Codings of files that are read without loss, and how they are written."""


@dataclass(frozen=True, slots=True)
class WholeSound:
    """An open sound file."""

    rate: int
    channels: int
    frames: int
    coding: Coding
    blocks: Iterator[Block]


@contextmanager
def whole_sound(path: Path) -> Iterator[WholeSound]:
    """Open a file for reading from end to end; its first track. Raises Unreadable, NoSound."""
    check_file(path)
    try:
        file = soundfile.SoundFile(library_name(path))
    except (soundfile.SoundFileError, OSError):
        file = None
    exact = file is not None and file.subtype in _EXACT
    if file is not None and (exact or file.subtype in ("FLOAT", "VORBIS")):
        with file:
            coding = _EXACT.get(file.subtype, Coding.FLOAT)
            yield WholeSound(file.samplerate, file.channels, file.frames, coding, _read(file, exact))
        return
    if file is not None:
        file.close()
    rate = probe(path).sound_rate or 48000
    heard = read_tracks(path, rate, room=_ROOM, most_tracks=1, stop=never, progress=no_progress)
    rows = [row for row in heard.tracks[0].rows if row is not None]
    samples = gather(rows, [0] * len(rows)).T
    parts = (samples[at : at + _STEP].astype(np.float32) for at in range(0, len(samples), _STEP))
    yield WholeSound(rate, samples.shape[1], len(samples), Coding.FLOAT, parts)


def _read(file: soundfile.SoundFile, exact: bool) -> Iterator[Block]:
    while True:
        part: Block = file.read(_STEP, dtype="int32" if exact else "float32", always_2d=True)
        if not len(part):
            return
        yield part


def encoded(block: Block, coding: Coding) -> bytes:
    """Samples as they stand in a WAVE file, little-endian.

    >>> encoded(np.array([[1 << 8, -1 << 8]], np.int32), Coding.PCM_24).hex()
    '010000ffffff'
    """
    if coding is Coding.FLOAT:
        return np.ascontiguousarray(block, "<f4").tobytes()
    whole = np.ascontiguousarray(block, "<i4")
    if coding is Coding.PCM_32:
        return whole.tobytes()
    if coding is Coding.PCM_16:
        return (whole >> 16).astype("<i2").tobytes()
    return whole.view(np.uint8).reshape(-1, 4)[:, 1:].tobytes()
