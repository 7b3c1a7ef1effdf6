"""The song for playback: two channels, whole, at the playback rate."""

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
from audio.files.sample_buffers import gather
from audio.files.sound_reader import MemoryBudget, read_tracks
from audio.progress import never, no_progress

MEMORY = MemoryBudget(float32_bytes=250_000_000, most_bytes=400_000_000)
"""Eleven minutes of stereo at 48 kHz in 32 bits; longer songs are stored in 16. Chosen by hand: the song
stays in memory as long as it is open."""
_EXACT_START = {("WAV", ""), ("WAVEX", ""), ("RF64", ""), ("AIFF", ""), ("FLAC", ""), ("OGG", "VORBIS")}
"""Formats (and codings, where they matter) whose first sample is the same for every decoder: no encoder
delay."""
_STRETCH = 1 << 19
"""Frames read at a time; ``stop`` is asked in between."""


def read_stereo(
    path: Path,
    rate: int,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> AnyFloats:
    """The song's first track at ``rate`` samples a second, shape (2, n), full scale 1.0.

    Song time 0 is its first decoded sample. A mono song has two equal channels; of more than two channels,
    the first two are used. Raises Unreadable, NoSound, Stopped.
    """
    check_file(path)
    samples: AnyFloats | None = _read_at_once(path, rate, stop, progress)
    if samples is None:
        decoded = read_tracks(path, rate, memory=MEMORY, most_tracks=1, stop=stop, progress=progress)
        rows = [row for row in decoded.tracks[0].rows if row is not None][:2]
        samples = gather(rows, [0] * len(rows))
    if samples.size == 0 or float(np.abs(samples).max()) < 10 ** (DEAD_DBFS / 20):
        raise NoSound("The song is silent: choose another file.")
    return samples if len(samples) == 2 else _both_sides(samples)


def _read_at_once(
    path: Path, rate: int, stop: Callable[[], bool], progress: Callable[[float], None]
) -> NDArray[np.float32] | None:
    """The song in a few long reads, shape (2 or 1, n), where its format allows that; else None.

    Packet by packet, a song takes some ten thousand steps of the interpreter. Each of them competes with the
    threads of a window, which adds up to seconds before the first sound.
    """
    try:
        with soundfile.SoundFile(library_name(path)) as file:
            kind = (file.format, file.subtype if file.format == "OGG" else "")
            whole = file.frames
            if kind not in _EXACT_START or not 0 < whole * 8 * rate / file.samplerate < MEMORY.float32_bytes:
                return None
            parts = []
            done = 0
            while done < whole:
                if stop():
                    raise Stopped("Reading was stopped.")
                part = file.read(_STRETCH, dtype="float32", always_2d=True)[:, :2]
                if not len(part):
                    return None  # truncated: the other reader has the message
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


def _both_sides(samples: AnyFloats) -> AnyFloats:
    """One channel as two equal ones, shape (2, n), without a copy."""
    shape, strides = (2, samples.shape[1]), (0, samples.strides[1])
    return cast(AnyFloats, as_strided(samples, shape, strides, writeable=False))
