"""Proxies: small copies of a clip's pictures, intra-frame only.

Nine clips of high resolution cannot be decoded at once, and seeking in long-GOP video is slow. A proxy has
few lines and only key frames (Motion JPEG in a MOV file). Its frame times are those of the original to the
tick, counted from its first frame.
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
from audio.files.frame_images import upright
from audio.files.frame_reader import VideoSource, decode, open_video
from audio.progress import never, no_progress

LINES = 480
"""Length of the shorter side in pixels; a smaller clip keeps its size. Chosen by hand: enough for a tile of a
wall of angles."""
QUALITY = 5
"""Quantiser of the Motion JPEG coder, from 2 (best) to 31. Chosen by hand, between file size and
artefacts."""
_MOST_TICKS = 1_000_000
"""Ticks a second beyond which times are rounded: the container stores times in 32 bits."""


def make_proxy(
    path: Path,
    target: Path,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> None:
    """Write the proxy of a clip to ``target``, by a neighbour file that is swapped in when it is complete.

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
    with open_video(path) as video, ExitStack() as written:
        stream = video.stream
        # Leave one processor for the window and for playing pictures.
        stream.codec_context.thread_count = max(1, (os.cpu_count() or 2) - 1)
        whole_s = float(stream.duration * video.base) if stream.duration else 0.0
        writer: _Writer | None = None
        for frame in decode(video):
            if stop():
                raise Stopped("Making the proxy was stopped.")
            clip_s = None if frame.pts is None else video.clip_s(frame.pts)
            if clip_s is None:
                break
            if clip_s < 0:
                continue
            if writer is None:
                writer = _Writer(part, frame, video)
                written.callback(writer.close)
            writer.add(frame, clip_s)
            if whole_s > 0:
                progress(min(1.0, float(clip_s) / whole_s))
        if writer is None:
            raise video.broken()


class _Writer:
    """Writes the proxy file."""

    def __init__(self, part: Path, frame: av.VideoFrame, video: VideoSource) -> None:
        self._shape = video.stream.sample_aspect_ratio
        sides = [float(frame.width * (self._shape or 1)), float(frame.height)]
        rotated = round(frame.rotation / 90) % 2 == 1
        self._lines = max(2, round(sides[0 if rotated else 1] * min(1.0, LINES / min(sides)) / 2) * 2)
        steps = [(one.shift_s - video.start_s).denominator for one in video.parts]
        self._ticks = min(lcm(video.base.denominator, *steps), _MOST_TICKS)
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
        """Write a frame at ``clip_s`` seconds."""
        at = round(clip_s * self._ticks)
        if at <= self._last:
            return  # two frames with one stamp: the first is never visible
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
