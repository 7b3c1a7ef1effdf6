"""Frames of a clip as brightness alone: key frames at moments, or every frame of a stretch."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

import av
import numpy as np
from av.video.reformatter import Interpolation, VideoReformatter
from numpy.typing import NDArray

from audio.files.frame_reader import FrameReader, VideoSource, decode

Luma = NDArray[np.uint8]
"""Shape (height, width), as stored: not turned upright, pixels perhaps not square."""


def luma_of(frame: av.VideoFrame, most_lines: int, scaler: VideoReformatter) -> Luma:
    """The brightness of a frame, made smaller where it has more than ``most_lines`` lines."""
    lines = min(frame.height, most_lines)
    width = max(1, round(frame.width * lines / frame.height))
    small = scaler.reformat(frame, width=width, height=lines, format="gray", interpolation=Interpolation.AREA)
    return np.ascontiguousarray(small.to_ndarray())


def key_frames(video: VideoSource, times: Sequence[float], most_lines: int) -> Iterator[tuple[float, Luma]]:
    """Clip time (s) and brightness of a key frame before each of several rising moments (s), each frame once.

    Raises Unreadable.
    """
    reader, scaler, last = FrameReader(video, exact=False), VideoReformatter(), None
    for wanted_s in times:
        frame = reader.frame_at(wanted_s)
        if frame.pts is None or frame.pts == last:
            continue
        last = frame.pts
        clip_s = video.clip_s(frame.pts)
        if clip_s is not None:
            yield float(clip_s), luma_of(frame, most_lines, scaler)


def frames_between(
    video: VideoSource, from_s: float, to_s: float, most_lines: int, *, every_s: float = 0.0
) -> Iterator[tuple[float, Luma]]:
    """Clip time (s) and brightness of every frame that starts in a stretch (s), in their order.

    With ``every_s`` only of the first frame in each step of that length; the others are decoded all the same.
    """
    stamp = int((video.start_s + Fraction(max(0.0, from_s)) - video.parts[0].shift_s) / video.base)
    try:
        video.container.seek(stamp, stream=video.stream)
    except av.error.FFmpegError:
        video.container.seek(video.container.start_time or 0)
    scaler, next_s = VideoReformatter(), from_s
    for frame in decode(video):
        clip_s = None if frame.pts is None else video.clip_s(frame.pts)
        if clip_s is None or clip_s < next_s - 1e-6:
            continue
        if clip_s > to_s:
            return
        if every_s:
            next_s = float(clip_s) + every_s
        yield float(clip_s), luma_of(frame, most_lines, scaler)
