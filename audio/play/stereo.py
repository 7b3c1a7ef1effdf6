"""The song as it is listened to: two channels, whole, at the rate it is played at."""

from collections.abc import Callable
from pathlib import Path
from typing import cast

import numpy as np
import soundfile
import soxr
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from audio.errors import NoSound, Stopped
from audio.files.channels import DEAD_DBFS, AnyFloats
from audio.files.containers import check_file, library_name
from audio.files.sound_reader import Room, read_tracks
from audio.files.sound_rows import gather
from audio.progress import never, no_progress

ROOM = Room(whole_bytes=250_000_000, most_bytes=400_000_000)
"""Eleven minutes of stereo at 48 kHz in 32 bits; longer songs are kept in 16."""
_EASY = {("WAV", ""), ("WAVEX", ""), ("RF64", ""), ("AIFF", ""), ("FLAC", ""), ("OGG", "VORBIS")}
"""Formats, with the coding where it matters, whose first sample is the same to every reader."""
_STRETCH = 1 << 19


def read_stereo(
    path: Path,
    rate: int,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> AnyFloats:
    """The song's first track, shape (2, n), time 0 at its first decoded sample.

    A single channel comes from both sides; of more than two the first two are taken. Raises Unreadable,
    NoSound, Stopped.
    """
    check_file(path)
    samples: AnyFloats | None = _easily(path, rate, stop, progress)
    if samples is None:
        heard = read_tracks(path, rate, room=ROOM, most_tracks=1, stop=stop, progress=progress)
        rows = [row for row in heard.tracks[0].rows if row is not None][:2]
        samples = gather(rows, [0] * len(rows))
    if samples.size == 0 or float(np.abs(samples).max()) < 10 ** (DEAD_DBFS / 20):
        raise NoSound("The song is silent: choose another file.")
    return samples if len(samples) == 2 else _twice(samples)


def _easily(
    path: Path, rate: int, stop: Callable[[], bool], progress: Callable[[float], None]
) -> NDArray[np.float32] | None:
    """The song in a few long reads, where its format allows that; None elsewhere.

    Packet by packet the song takes some ten thousand turns on the interpreter, and beside other work of the
    window each of them waits: seconds until the first sound.
    """
    try:
        with soundfile.SoundFile(library_name(path)) as file:
            kind = (file.format, file.subtype if file.format == "OGG" else "")
            whole = file.frames
            if kind not in _EASY or not 0 < whole * 8 * rate / file.samplerate < ROOM.whole_bytes:
                return None
            parts = []
            done = 0
            while done < whole:
                if stop():
                    raise Stopped("Reading was stopped.")
                part = file.read(_STRETCH, dtype="float32", always_2d=True)[:, :2]
                if not len(part):
                    return None  # cut off: the other reader knows what to say
                parts.append(part)
                done += len(part)
                progress(done / whole)
            native = file.samplerate
    except (soundfile.SoundFileError, OSError):
        return None
    samples = np.concatenate(parts)
    if native != rate:
        samples = soxr.resample(samples, native, rate, quality="HQ")
    return np.ascontiguousarray(samples.T, dtype=np.float32)


def _twice(samples: AnyFloats) -> AnyFloats:
    """The same row for both sides, without a copy."""
    shape, strides = (2, samples.shape[1]), (0, samples.strides[1])
    return cast(AnyFloats, as_strided(samples, shape, strides, writeable=False))
