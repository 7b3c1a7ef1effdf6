"""A take's sound on the song's clock, as long as the song: read off its line, silence around it.

One channel of the clip, the best to listen to, is read at the rate it was recorded at and read off between
its samples where the song's samples fall, once. So speed and drift are followed to a part of a sample. Its
level stays as it is; samples are floats, so nothing can clip. Where the take is cut off inside the song, it
fades over 5 ms, that it does not click.
"""

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.play.between import reach, read_at
from audio.play.playback import Line
from audio.play.sound_piece import Piece, choose_voice, read_piece, voice_rate
from audio.progress import never, no_progress

FloatArray = NDArray[np.float32]

_STEP = 1 << 16
"""Samples read off at once."""
_PIECE_S = 120.0
"""A clip's sound is read in pieces of about this length."""
_EDGE_S = 0.005
_CHOSEN_BY_S = 30.0
"""The channel is chosen by as much from the middle of the take."""


def conformed(
    path: Path,
    line: Line,
    frames: int,
    rate: int,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> Iterator[FloatArray]:
    """The take's sound in blocks, shape (n, 1), ``frames`` in all, at ``rate`` samples a second of song.

    Raises Unreadable, NoSound, Stopped.
    """
    middle_s = (line.clip_start_s + line.clip_end_s) / 2
    voice = choose_voice(
        path,
        max(line.clip_start_s, middle_s - _CHOSEN_BY_S / 2),
        min(line.clip_end_s, middle_s + _CHOSEN_BY_S / 2),
    )
    native = voice_rate(path, voice)
    step = native / (rate * line.speed)
    around_s = reach(step) / native
    piece = Piece(0.0, np.zeros(0, np.float32))
    read_to_s = float("-inf")
    for at in range(0, frames, _STEP):
        if stop():
            raise Stopped("Reading was stopped.")
        count = min(_STEP, frames - at)
        song_s = np.arange(at, at + count) / rate
        clip_s = line.clip_start_s + (song_s - line.song_start_s) / line.speed
        within = np.minimum(clip_s - line.clip_start_s, line.clip_end_s - clip_s)
        inside = np.flatnonzero(within > 0)
        out = np.zeros(count, np.float32)
        if inside.size:
            wanted = clip_s[inside]
            if wanted[-1] + around_s > read_to_s:
                first_s = max(0.0, float(wanted[0]) - around_s)
                read_to_s = max(float(wanted[-1]), min(first_s + _PIECE_S, line.clip_end_s)) + around_s
                piece = read_piece(path, voice, first_s, read_to_s, native)
            edge = np.clip(within[inside] / _EDGE_S, 0, 1).astype(np.float32)
            out[inside] = read_at(piece.samples, (wanted - piece.start_s) * native, step) * edge
        progress((at + count) / frames)
        yield out[:, None]
