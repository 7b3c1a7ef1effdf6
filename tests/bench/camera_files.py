"""Files as cameras write them, of any length, without the time and the disk that real ones take.

Sound is encoded once and its packets are repeated; the picture is one second of H.264, each frame filled up
to the size it would have with filler data (ITU-T H.264: a NAL unit of type 12, which decoders pass over).
Filler is zeros, and zeros are left out on disk as a hole, so that 3 GB take little room. Nobody who wants the
sound reads them anyway: indexes, interleaving and offsets are those of the real thing.
"""

import heapq
import io
import itertools
import struct
from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
from av.audio.stream import AudioStream
from av.container import OutputContainer
from av.video.stream import VideoStream
from numpy.typing import NDArray

from tests.audio.media_files import Recipe, make

UHD = (3840, 2160)
FRAMES = 25
"""Frames a second, and frames from key to key."""
FILLER = 12
PAGE = 1 << 14
"""Bytes looked at together for nothing but zeros: few beside a frame."""


class _WithHoles(io.FileIO):
    """A file in which what is nothing but zeros takes no room."""

    def write(self, data: bytes) -> int:  # type: ignore[override]
        for at in range(0, len(data), PAGE):
            page = data[at : at + PAGE]
            if page.count(0) == len(page):
                self.seek(len(page), io.SEEK_CUR)
            else:
                super().write(page)
        return len(data)

    def close(self) -> None:
        if not self.closed:
            self.truncate(max(self.seek(0, io.SEEK_END), self.tell()))
        super().close()


def camera_file(
    path: Path, sound: NDArray[np.float32], rate: int, seconds: float, *, megabits: float = 100.0
) -> Path:
    """Write an MP4 of UHD pictures and AAC sound, shape (n,) or (channels, n), repeated until it is long
    enough."""
    loop = make(path.with_name(f"{path.stem}-sound.mp4"), Recipe([sound], rate, "aac", picture_s=0))
    reel = make(
        path.with_name(f"{path.stem}-picture.mp4"),
        Recipe(picture_s=1.0, picture_codec="libx264", size=UHD, key_every=FRAMES),
    )
    frame_bytes = int(megabits * 1e6 / 8 / FRAMES)
    try:
        with (
            av.open(str(loop)) as heard,
            av.open(str(reel)) as seen,
            _WithHoles(path, "w") as file,
            av.open(file, "w", format="mp4") as out,
        ):
            picture = _copied(seen.streams.video[0], out, frame_bytes)
            tone = _copied(heard.streams.audio[0], out, 0)
            # By time, as a camera writes.
            for at_s, packet in heapq.merge(picture, tone, key=lambda one: one[0]):
                if at_s >= seconds:
                    break
                out.mux(packet)
    finally:
        loop.unlink()
        reel.unlink()
    return path


def _copied(
    stream: VideoStream | AudioStream, out: OutputContainer, least_bytes: int
) -> Iterator[tuple[float, av.Packet]]:
    """The packets of a stream over and over, made for a new file, with the second at which each begins."""
    new = out.add_stream_from_template(stream)
    pieces = [
        (_filled(bytes(packet), least_bytes), packet.pts or 0, packet.is_keyframe)
        for packet in stream.container.demux(stream)
        if packet.size
    ]
    tick = stream.time_base
    assert tick is not None
    length = pieces[-1][1] - pieces[0][1] + (pieces[-1][1] - pieces[-2][1])

    def packets() -> Iterator[tuple[float, av.Packet]]:
        for begins in itertools.count(0, length):
            for data, at, key in pieces:
                packet = av.Packet(data)
                packet.stream, packet.time_base = new, tick
                packet.pts = packet.dts = begins + at
                packet.is_keyframe = key
                yield float(packet.pts * tick), packet

    return packets()


def _filled(data: bytes, least: int) -> bytes:
    """A frame with filler behind it, as MP4 has it: each unit after its length (ISO/IEC 14496-15)."""
    room = least - len(data) - 5
    return data + struct.pack(">IB", room + 1, FILLER) + bytes(room) if room > 0 else data
