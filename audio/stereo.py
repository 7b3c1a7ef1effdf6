"""The song as it is listened to: two channels, whole, at the rate it is played at."""

from collections.abc import Callable
from pathlib import Path
from typing import cast

from numpy.lib.stride_tricks import as_strided

from audio.channels import DEAD_DBFS, AnyFloats
from audio.errors import NoSound
from audio.media import never, unheard
from audio.sound_reader import Room, read_tracks
from audio.sound_rows import gather

ROOM = Room(whole_bytes=250_000_000, most_bytes=400_000_000)
"""Eleven minutes of stereo at 48 kHz in 32 bits; longer songs are kept in 16."""


def read_stereo(
    path: Path,
    rate: int,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = unheard,
) -> AnyFloats:
    """The song's first track, shape (2, n), time 0 at its first decoded sample.

    A single channel comes from both sides; of more than two the first two are taken. Raises Unreadable,
    NoSound, Stopped.
    """
    heard = read_tracks(path, rate, room=ROOM, most_tracks=1, stop=stop, progress=progress)
    track = heard.tracks[0]
    rows = [row for row in track.rows if row is not None][:2]
    if all(meter.level_dbfs < DEAD_DBFS for meter in track.meters):
        raise NoSound("The song is silent: choose another file.")
    samples = gather(rows, [0] * len(rows))
    return samples if len(rows) == 2 else _twice(samples)


def _twice(samples: AnyFloats) -> AnyFloats:
    """The same row for both sides, without a copy."""
    shape, strides = (2, samples.shape[1]), (0, samples.strides[1])
    return cast(AnyFloats, as_strided(samples, shape, strides, writeable=False))
