"""Reading a few frames of a long clip: from key frame to key frame, decoding nothing between."""

from collections.abc import Iterator
from typing import cast

import av
from av.packet import Packet
from av.video.stream import VideoStream

from audio.files.frame_reader import VideoSource, decode_packets

_MOST_BEFORE_KEY = 2000
"""Packets skipped at most while looking for a key frame after a seek; chosen by hand."""


class KeyFrames:
    """The key frames of a clip, reached by seeking.

    Frames are decoded on the calling thread: with several, a decoder holds frames back until more have come.
    """

    def __init__(self, video: VideoSource) -> None:
        self._video = video
        self._context = video.stream.codec_context
        self._context.thread_count = 1
        self._packets: Iterator[Packet[VideoStream]] = iter(())
        self._key: Packet[VideoStream] | None = None
        self._at_start = True
        """Nothing was read yet."""

    def go(self, clip_s: float) -> float | None:
        """Go to the first key frame at or after a clip time (seconds), and tell its clip time.

        None where there is none. A container that can seek backwards only may lead to one before the time.
        """
        target = round(self._video.stamp(clip_s))
        for backward in (False, True):
            # In a transport stream no seek leads back to the very first frame.
            if clip_s > 0 or not self._at_start:
                try:
                    self._video.container.seek(target, stream=self._video.stream, backward=backward)
                except av.error.FFmpegError:
                    continue
            self._at_start = False
            self._packets = self._video.container.demux(self._video.stream)
            self._key = self._next_key()
            if self._key is not None:
                stamp = _stamp(self._key)
                at_s = None if stamp is None else self._video.clip_s(stamp)
                return None if at_s is None else float(at_s)
        return None

    def alone(self) -> av.VideoFrame | None:
        """The key frame by itself; None where it cannot be decoded."""
        if self._key is None:
            return None
        # The packet without a payload makes the decoder give what it holds back.
        ending = cast("Packet[VideoStream]", Packet())
        ending.stream = self._video.stream
        return next(decode_packets([self._key, ending]), None)

    def onward(self) -> Iterator[av.VideoFrame]:
        """The key frame and all frames after it, in presentation order; damaged packets are skipped."""
        if self._key is not None:
            yield from decode_packets([self._key])
            yield from decode_packets(self._packets)

    def _next_key(self) -> "Packet[VideoStream] | None":
        for number, packet in enumerate(self._packets):
            if packet.size == 0 or number > _MOST_BEFORE_KEY:
                break
            if packet.is_keyframe and not packet.is_corrupt:
                return packet
        return None


def frame_stamps(video: VideoSource) -> Iterator[float]:
    """Clip time in seconds of every frame shown, in the order of the file, from the packets."""
    for packet in video.container.demux(video.stream):
        stamp = _stamp(packet)
        if packet.size and stamp is not None and not packet.is_discard:
            at_s = video.clip_s(stamp)
            if at_s is not None and at_s >= 0:
                yield float(at_s)


def _stamp(packet: "Packet[VideoStream]") -> int | None:
    return packet.dts if packet.pts is None else packet.pts
