"""Stand-ins: small copies of a clip's pictures in which every picture stands for itself.

A clip of many lines cannot be decoded nine times at once, and where pictures build on each other none can be
had quickly. A stand-in has few lines, only whole pictures (Motion JPEG in a MOV file), and the times of the
original to the tick, counted from its first picture.
"""

import os
from collections.abc import Callable
from contextlib import ExitStack
from fractions import Fraction
from math import lcm
from pathlib import Path

import av
import numpy as np
from av.video.reformatter import ColorRange, Colorspace, VideoReformatter

from audio.errors import Stopped
from audio.files.pictures import upright
from audio.files.reels import Footage, decode, open_footage
from audio.progress import never, no_progress

LINES = 480
"""Of the shorter side; a clip of fewer lines keeps its own."""
QUALITY = 5
"""The coder's scale from 2 (best) to 31."""
_MOST_TICKS = 1_000_000
"""Ticks a second beyond which times are rounded, for the container holds them in 32 bits."""


def make_stand_in(
    path: Path,
    target: Path,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> None:
    """Write the stand-in of a clip to ``target`` (by a neighbour that is swapped in when it is whole).

    Raises Unreadable, Stopped, and OSError where the target cannot be written.
    """
    part = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        _write(path, part, stop, progress)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
    progress(1.0)


def _write(path: Path, part: Path, stop: Callable[[], bool], progress: Callable[[float], None]) -> None:
    with open_footage(path) as footage, ExitStack() as written:
        stream = footage.stream
        # One processor is left to the window and to what is being watched.
        stream.codec_context.thread_count = max(1, (os.cpu_count() or 2) - 1)
        whole_s = float(stream.duration * footage.base) if stream.duration else 0.0
        writer: _Writer | None = None
        for frame in decode(footage):
            if stop():
                raise Stopped("Making the stand-in was stopped.")
            clip_s = None if frame.pts is None else footage.clip_s(frame.pts)
            if clip_s is None:
                break
            if clip_s < 0:
                continue
            if writer is None:
                writer = _Writer(part, frame, footage)
                written.callback(writer.close)
            writer.add(frame, clip_s)
            if whole_s > 0:
                progress(min(1.0, float(clip_s) / whole_s))
        if writer is None:
            raise footage.broken()


class _Writer:
    """The file that is written."""

    def __init__(self, part: Path, frame: av.VideoFrame, footage: Footage) -> None:
        self._shape = footage.stream.sample_aspect_ratio
        sides = [float(frame.width * (self._shape or 1)), float(frame.height)]
        turned = round(frame.rotation / 90) % 2 == 1
        self._lines = max(2, round(sides[0 if turned else 1] * min(1.0, LINES / min(sides)) / 2) * 2)
        steps = [(one.shift_s - footage.start_s).denominator for one in footage.parts]
        self._ticks = min(lcm(footage.base.denominator, *steps), _MOST_TICKS)
        self._file = av.open(
            str(part), "w", format="mov", options={"video_track_timescale": str(self._ticks)}
        )
        self._stream = self._file.add_stream("mjpeg", rate=25)
        self._stream.pix_fmt = "yuvj420p"
        self._stream.time_base = self._stream.codec_context.time_base = Fraction(1, self._ticks)
        self._stream.codec_context.qmin = self._stream.codec_context.qmax = QUALITY
        self._stream.codec_context.thread_count = 1
        self._scaler = VideoReformatter()
        self._last = -1

    def add(self, frame: av.VideoFrame, clip_s: Fraction) -> None:
        """Put a frame there."""
        at = round(clip_s * self._ticks)
        if at <= self._last:
            return  # two frames with one stamp: the first is shown for no time
        self._last = at
        pixels = upright(frame, self._shape, self._lines, self._scaler)
        pixels = pixels[:, : pixels.shape[1] // 2 * 2]
        if self._stream.width != pixels.shape[1]:
            self._stream.width, self._stream.height = pixels.shape[1], pixels.shape[0]
        small = av.VideoFrame.from_ndarray(np.ascontiguousarray(pixels), "rgb24").reformat(
            format="yuvj420p", dst_colorspace=Colorspace.ITU601, dst_color_range=ColorRange.JPEG
        )
        small.pts, small.time_base = at, Fraction(1, self._ticks)
        self._file.mux(self._stream.encode(small))

    def close(self) -> None:
        """Finish the file."""
        self._file.mux(self._stream.encode(None))
        self._file.close()
