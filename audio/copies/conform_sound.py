"""A take's sound conformed to the song's clock: as long as the song, with silence around the take.

The best channel of the clip is read at its own sample rate and interpolated once at the times of the song's
samples, so that speed and drift are followed to a fraction of a sample, and, where that is wanted, the smooth
lag of a moving camera. Its level is unchanged, and samples are floats, so nothing can clip. Where the take
starts or ends inside the song, it fades over 5 ms, so that it does not click.
"""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np
import scipy.interpolate
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.play.interpolation import reach, read_at
from audio.play.playback import Line
from audio.play.sound_piece import Piece, channel_rate, choose_channel, read_piece
from audio.progress import never, no_progress

FloatArray = NDArray[np.float32]

_STEP = 1 << 16
"""Samples interpolated at a time."""
_PIECE_S = 120.0
"""Seconds of the clip read at a time. Chosen by hand: shorter pieces cost more seeks, longer ones memory."""
_EDGE_S = 0.005
"""Seconds of fade at both ends of the take; chosen by hand."""
_CHOSEN_BY_S = 30.0
"""Seconds in the middle of the take by which the channel is chosen; chosen by hand."""


def conformed(
    path: Path,
    line: Line,
    frames: int,
    rate: int,
    lags: Sequence[tuple[float, float]] = (),
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> Iterator[FloatArray]:
    """The take's sound in blocks of shape (n, 1), ``frames`` samples in all, ``rate`` per second of song
    time.

    ``line`` places the take on the song; ``lags`` are moments (clip time, s) in order and how much later in
    the song than the line the sound then is (s): they are followed smoothly. Raises Unreadable, NoSound,
    Stopped.
    """
    middle_s = (line.clip_start_s + line.clip_end_s) / 2
    channel = choose_channel(
        path,
        max(line.clip_start_s, middle_s - _CHOSEN_BY_S / 2),
        min(line.clip_end_s, middle_s + _CHOSEN_BY_S / 2),
    )
    native = channel_rate(path, channel)
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
        clip_s = _along(clip_s, line.speed, lags)
        within = np.minimum(clip_s - line.clip_start_s, line.clip_end_s - clip_s)
        inside = np.flatnonzero(within > 0)
        out = np.zeros(count, np.float32)
        if inside.size:
            wanted = clip_s[inside]
            if wanted[-1] + around_s > read_to_s:
                first_s = max(0.0, float(wanted[0]) - around_s)
                read_to_s = max(float(wanted[-1]), min(first_s + _PIECE_S, line.clip_end_s)) + around_s
                piece = read_piece(path, channel, first_s, read_to_s, native)
            edge = np.clip(within[inside] / _EDGE_S, 0, 1).astype(np.float32)
            out[inside] = read_at(piece.samples, (wanted - piece.start_s) * native, step) * edge
        progress((at + count) / frames)
        yield out[:, None]


def _along(
    clip_s: NDArray[np.float64], speed: float, lags: Sequence[tuple[float, float]]
) -> NDArray[np.float64]:
    """Clip times (s) on a line, moved to where the lag about it has the same moments of the song."""
    if len(lags) < 2:
        return clip_s
    at_s, lag_s = np.transpose(lags)
    # Monotone between the moments: a cubic that overshoots would be heard as a wobble.
    curve = scipy.interpolate.PchipInterpolator(at_s, lag_s)
    moved = clip_s
    for _ in range(3):  # the lag changes by thousandths of the time in which it does
        moved = clip_s - curve(np.clip(moved, at_s[0], at_s[-1])) / speed
    return np.asarray(moved)
