"""What a clip's pictures do over time, in two figures a picture: how light it is, and how motion sets in."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from audio.errors import Stopped, Unreadable
from audio.files.frame_reader import open_video
from audio.files.luma_frames import Luma, frames_between
from audio.progress import never

LINES = 72
STEP_S = 0.03
"""Pictures nearer than this to the one before are passed over (s): accents take longer."""
BLOCKS = (9, 8)
"""Rows and columns of blocks in which motion is measured: a hand fills about one."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class SilentSeries:
    """One row for each picture that was looked at."""

    clip_s: Floats
    """When it starts (clip time, s); rising."""
    light: Floats
    """Mean of its brightness as coded, 0 to 255."""
    rise: Floats
    """By how much motion has risen since the picture before, summed over blocks where it has (square root of
    the mean absolute change of a block; changes of the whole picture's brightness left out)."""


def series_of(path: Path, *, stop: Callable[[], bool] = never) -> SilentSeries:
    """Look at a clip from end to end. Raises Unreadable, Stopped."""

    def told(frames: Iterable[tuple[float, Luma]]) -> Iterator[tuple[float, Luma]]:
        for clip_s, luma in frames:
            if stop():
                raise Stopped("Stopped.")
            yield clip_s, luma

    with open_video(path) as video:
        return series_in(told(frames_between(video, 0.0, float("inf"), LINES, every_s=STEP_S)))


def series_in(frames: Iterable[tuple[float, Luma]]) -> SilentSeries:
    """The series of pictures, each with its clip time (s). Raises Unreadable where there are none."""
    times, light, rise = [], [], []
    last: NDArray[np.float32] | None = None
    moved = np.zeros(BLOCKS)
    for clip_s, luma in frames:
        now = luma.astype(np.float32)
        motion = moved if last is None or last.shape != now.shape else _motion(now - last)
        times.append(clip_s)
        light.append(float(now.mean()))
        rise.append(0.0 if len(times) < 3 else float(np.maximum(motion - moved, 0.0).sum()))
        last, moved = now, motion
    if not times:
        raise Unreadable("No picture of the clip can be decoded.")
    return SilentSeries(np.array(times), np.array(light), np.array(rise))


def _motion(change: NDArray[np.float32]) -> Floats:
    """Motion in each block, shape BLOCKS."""
    rows, columns = (max(1, size // count) for size, count in zip(change.shape, BLOCKS, strict=True))
    size = np.abs(change - change.mean())
    size = np.pad(size, ((0, max(0, rows * BLOCKS[0] - len(size))), (0, 0)))
    size = np.pad(size, ((0, 0), (0, max(0, columns * BLOCKS[1] - size.shape[1]))))
    blocks = size[: rows * BLOCKS[0], : columns * BLOCKS[1]].reshape(BLOCKS[0], rows, BLOCKS[1], columns)
    return np.asarray(np.sqrt(blocks.mean((1, 3))), np.float64)
