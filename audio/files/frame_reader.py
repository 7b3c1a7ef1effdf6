"""Reading frames of a video stream at given clip times."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
from av.container import InputContainer
from av.packet import Packet
from av.stream import Discard
from av.video.stream import VideoStream

from audio.errors import Unreadable
from audio.files.containers import can_decode, copy_again, is_iso, open_media
from audio.files.edit_lists import WHOLE, Part, iso_tracks
from audio.files.frame_timing import first_picture_s, picture_stream

_HOP_S = 2.0
"""Seconds ahead beyond which seeking to a key frame is faster than decoding up to it; chosen by hand, about a
GOP."""
_BACK_S = (0.0, 1.0, 4.0, 16.0)
"""Seconds to seek further back where a container lands after the time it was asked for; chosen by hand."""


@dataclass(frozen=True, slots=True)
class VideoSource:
    """The video stream of an open file."""

    path: Path
    container: InputContainer
    stream: VideoStream
    parts: Sequence[Part]
    start_s: Fraction
    """Movie time in seconds of the first frame, which is clip time 0."""

    @property
    def base(self) -> Fraction:
        """Seconds per tick of the stream's stamps."""
        return self.stream.time_base or Fraction(1, 90000)

    def clip_s(self, stamp: int) -> Fraction | None:
        """Clip time of a stamp in seconds; None after the end of what is shown."""
        at_s = stamp * self.base
        for part in self.parts:
            if part.end_s is None or at_s < part.end_s:
                return at_s + part.shift_s - self.start_s
        return None

    def stamp(self, clip_s: float) -> Fraction:
        """The stamp of a clip time in seconds (ticks, not rounded); times beyond the end are its end."""
        movie_s = self.start_s + Fraction(max(0.0, clip_s))
        for part in self.parts:
            if part.end_s is None or movie_s < part.end_s + part.shift_s:
                break
        stamp_s = movie_s - part.shift_s
        if part.end_s is not None:
            stamp_s = min(stamp_s, part.end_s)
        return stamp_s / self.base

    def broken(self) -> Unreadable:
        """The error to raise where no frame can be decoded."""
        return Unreadable("No picture of the clip can be decoded: " + copy_again(self.path))


@contextmanager
def open_video(path: Path) -> Iterator[VideoSource]:
    """Open the video stream of a clip; the other streams are not read. Raises Unreadable."""
    tracks = iso_tracks(path) if path.is_file() and is_iso(path) else {}
    with open_media(path) as container:
        stream = picture_stream(container)
        if stream is None:
            raise Unreadable("The file has no picture, only sound.")
        if not can_decode(stream):
            raise Unreadable("The picture has an unknown encoding: convert a copy to see it.")
        parts = tracks[stream.id].parts if stream.id in tracks else WHOLE
        start_s = first_picture_s(container, stream, parts)
    if start_s is None:
        raise Unreadable("The file has a picture track, but no picture is in it: " + copy_again(path))
    # Opened again, because finding the first frame has moved the read position.
    with open_media(path) as container:
        stream = picture_stream(container)
        assert stream is not None
        for other in container.streams:
            if other is not stream:
                other.discard = Discard.all
        stream.codec_context.thread_type = "AUTO"
        yield VideoSource(path, container, stream, parts, start_s)


def decode(video: VideoSource) -> Iterator[av.VideoFrame]:
    """The frames from the read position on, in presentation order; damaged packets are skipped."""
    yield from decode_packets(video.container.demux(video.stream))


def decode_packets(packets: "Iterable[Packet[VideoStream]]") -> Iterator[av.VideoFrame]:
    """The frames of packets, in presentation order; damaged packets are skipped."""
    for packet in packets:
        try:
            frames = packet.decode()
        except av.error.InvalidDataError:
            continue
        yield from (frame for frame in frames if isinstance(frame, av.VideoFrame) and frame.pts is not None)


class FrameReader:
    """Reads the frames shown at given clip times, seeking only where needed."""

    def __init__(self, video: VideoSource, *, exact: bool) -> None:
        self._video = video
        self._exact = exact
        self._base = video.base
        self.shown: av.VideoFrame | None = None
        self.following: av.VideoFrame | None = None
        """The frame after the one shown, if ``exact``."""
        self._frames = decode(video)
        if not exact:
            video.stream.codec_context.skip_frame = "NONKEY"

    def frame_at(self, clip_s: float) -> av.VideoFrame:
        """The last frame that starts at or before ``clip_s`` (seconds), else the first. Raises Unreadable."""
        target = self._video.stamp(clip_s)
        shown = self._stamp_of(self.shown)
        if shown is None or not self._exact or not 0 <= (target - shown) * self._base <= _HOP_S:
            self._go(target)
        while self._exact:
            following = self._stamp_of(self.following)
            if following is None or following > target:
                break
            self.shown, self.following = self.following, next(self._frames, None)
        if self.shown is None:
            raise self._video.broken()
        return self.shown

    @staticmethod
    def _stamp_of(frame: av.VideoFrame | None) -> int | None:
        return None if frame is None else frame.pts

    def _go(self, target: Fraction) -> None:
        """Seek to a key frame at or before a stamp; to the first frame where there is none."""
        for back_s in _BACK_S:
            if self._start_at(int(target - Fraction(back_s) / self._base)):
                stamp = self._stamp_of(self.shown)
                if stamp is not None and stamp <= target:
                    return
        self._start_at(None)

    def _start_at(self, stamp: int | None) -> bool:
        """Decode from the key frame before a stamp, or from the beginning; False where no frame comes."""
        try:
            if stamp is None:
                self._video.container.seek(self._video.container.start_time or 0)
            else:
                self._video.container.seek(stamp, stream=self._video.stream)
        except av.error.FFmpegError:
            if stamp is not None:
                return False
        self._frames = decode(self._video)
        self.shown = next(self._frames, None)
        self.following = next(self._frames, None) if self._exact else None
        return self.shown is not None
