"""The picture a clip shows at a moment, upright and in its true shape."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.stream import Discard
from av.video.reformatter import Colorspace, Interpolation
from av.video.stream import VideoStream
from numpy.typing import NDArray

from audio.containers import can_decode, copy_again, is_iso, open_media
from audio.edit_lists import WHOLE, Part, iso_tracks
from audio.errors import Unreadable
from audio.picture_clock import first_picture_s, picture_stream

Picture = NDArray[np.uint8]

_HOP_S = 2.0
"""Further ahead than this, going to the nearest key frame is quicker than decoding up to it."""
_BACK_S = (0.0, 1.0, 4.0, 16.0)
"""How much earlier to start where a container went to a later place than it was asked for."""
_HIGH_LINES = 720
_UNTOLD = 2


def picture_at(path: Path, clip_s: float, height: int) -> Picture:
    """The picture shown at a moment of the clip as RGB, shape (height, width, 3). Raises Unreadable."""
    return pictures_at(path, [clip_s], height)[0]


def pictures_at(path: Path, times: Sequence[float], height: int, *, exact: bool = True) -> list[Picture]:
    """The pictures shown at several moments of a clip, one for each, RGB, shape (height, width, 3).

    A moment shows the last frame that starts at or before it; before the first frame the first stands, and
    after the end the last. The clip is opened once, and rising times are met in one run. With ``exact`` off
    a key frame before the moment will do, as a rule the nearest, which is quicker. Raises Unreadable.
    """
    tracks = iso_tracks(path) if path.is_file() and is_iso(path) else {}
    with open_media(path) as container:
        stream = picture_stream(container)
        if stream is None:
            raise Unreadable("The file has no picture, only sound.")
        if not can_decode(stream):
            raise Unreadable(
                "The picture is coded in a way that is not known here: convert a copy to see it."
            )
        parts = tracks[stream.id].parts if stream.id in tracks else WHOLE
        start_s = first_picture_s(container, stream, parts)
    if start_s is None:
        raise Unreadable("The file has a picture track, but no picture is in it: " + copy_again(path))
    with open_media(path) as container:
        stream = picture_stream(container)
        assert stream is not None
        reel = _Reel(container, stream, parts, exact)
        pictures = []
        for clip_s in times:
            frame = reel.frame_at(start_s + Fraction(max(0.0, clip_s)))
            if frame is None:
                raise Unreadable("No picture of the clip can be decoded: " + copy_again(path))
            pictures.append(upright(frame, stream.sample_aspect_ratio, height))
        return pictures


class _Reel:
    """Runs through the pictures of an open file and stops at moments of movie time."""

    def __init__(
        self, container: InputContainer, stream: VideoStream, parts: Sequence[Part], exact: bool
    ) -> None:
        self._container = container
        self._stream = stream
        self._parts = parts
        self._exact = exact
        self._base = stream.time_base or Fraction(1, 90000)
        self._shown: av.VideoFrame | None = None
        self._next: av.VideoFrame | None = None
        self._frames = self._decode()
        stream.codec_context.thread_type = "AUTO"
        if not exact:
            stream.codec_context.skip_frame = "NONKEY"
        for other in container.streams:
            if other is not stream:
                other.discard = Discard.all

    def frame_at(self, movie_s: Fraction) -> av.VideoFrame | None:
        """The last frame that starts at or before a moment, else the first; None where there is none."""
        target = self._stamp(movie_s)
        shown = self._stamp_of(self._shown)
        if shown is None or not self._exact or not 0 <= (target - shown) * self._base <= _HOP_S:
            self._go(target)
        while self._exact:
            following = self._stamp_of(self._next)
            if following is None or following > target:
                break
            self._shown, self._next = self._next, next(self._frames, None)
        return self._shown

    def _stamp(self, movie_s: Fraction) -> Fraction:
        """A moment on the clock of the stream's packets, in its units; beyond the end it is the end."""
        for part in self._parts:
            if part.end_s is None or movie_s < part.end_s + part.shift_s:
                break
        stamp_s = movie_s - part.shift_s
        if part.end_s is not None:
            stamp_s = min(stamp_s, part.end_s)
        return stamp_s / self._base

    @staticmethod
    def _stamp_of(frame: av.VideoFrame | None) -> int | None:
        return None if frame is None else frame.pts

    def _go(self, target: Fraction) -> None:
        """Go to a key frame at or before a stamp; to the first frame where there is none."""
        for back_s in _BACK_S:
            if self._start_at(int(target - Fraction(back_s) / self._base)):
                stamp = self._stamp_of(self._shown)
                if stamp is not None and stamp <= target:
                    return
        self._start_at(None)

    def _start_at(self, stamp: int | None) -> bool:
        """Decode from the key frame before a stamp on, or from the beginning; False where nothing comes."""
        try:
            if stamp is None:
                self._container.seek(self._container.start_time or 0)
            else:
                self._container.seek(stamp, stream=self._stream)
        except av.error.FFmpegError:
            if stamp is not None:
                return False
        self._frames = self._decode()
        self._shown = next(self._frames, None)
        self._next = next(self._frames, None) if self._exact else None
        return self._shown is not None

    def _decode(self) -> Iterator[av.VideoFrame]:
        for packet in self._container.demux(self._stream):
            try:
                frames = packet.decode()
            except av.error.InvalidDataError:
                continue
            yield from (
                frame for frame in frames if isinstance(frame, av.VideoFrame) and frame.pts is not None
            )


def upright(frame: av.VideoFrame, pixel_shape: Fraction | None, height: int) -> Picture:
    """A decoded frame as RGB, shape (height, width, 3): turned as the file says, pixels square, scaled."""
    quarters = round(frame.rotation / 90) % 4
    shown = frame.width * (pixel_shape or Fraction(1)), Fraction(frame.height)
    scale = height / shown[1 - quarters % 2]
    width, lines = (max(1, round(one * scale)) for one in shown)
    # High-definition pictures that do not tell their colours use those of ITU-R BT.709.
    high = frame.colorspace == _UNTOLD and frame.height >= _HIGH_LINES
    small = frame.reformat(
        width=width,
        height=lines,
        format="rgb24",
        src_colorspace=Colorspace.ITU709 if high else None,
        interpolation=Interpolation.AREA if lines < frame.height else Interpolation.BILINEAR,
    )
    return np.ascontiguousarray(np.rot90(small.to_ndarray(), quarters))
