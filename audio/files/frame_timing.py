"""When the first frame of a clip is shown, and its frame rate."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction

import av
import numpy as np
from av.container import InputContainer
from av.packet import Packet
from av.stream import Discard, Disposition
from av.video.stream import VideoStream
from numpy.typing import NDArray

from audio.files.containers import can_decode
from audio.files.edit_lists import Part

NOMINAL_RATES = tuple(
    Fraction(rate)
    for rate in (
        *(
            "8",
            "10",
            "12",
            "12.5",
            "15",
            "16",
            "18",
            "20",
            "24",
            "25",
            "30",
            "48",
            "50",
            "60",
            "72",
            "90",
            "96",
        ),
        *("100", "120", "150", "180", "200", "240", "300", "400", "480", "500", "600", "960", "1000"),
        *("12000/1001", "15000/1001", "24000/1001", "30000/1001", "48000/1001", "60000/1001"),
        *("96000/1001", "120000/1001", "240000/1001", "480000/1001"),
    )
)
"""Frame rates that cameras offer, frames a second; common practice. 24 and 24000/1001 are a thousandth
apart."""

_TOLERANCE = 0.02
"""Relative distance within which a measured rate stands for the nearest nominal one. Chosen by hand: half
the distance from 24 to 25."""
_MOST_PACKETS = 40
"""Packets searched for the earliest stamp after a key frame; above any reordering depth."""
_MOST_BEFORE_KEY = 2000
"""Packets skipped at most while looking for the first key frame; chosen by hand."""
_WINDOW = 2000
"""Frames in each of four samples of a long index; chosen by hand."""
_REORDER = 16
"""Stamps dropped at both ends of a run: the largest reordering depth of H.264 and HEVC."""


def picture_stream(container: InputContainer) -> VideoStream | None:
    """The video stream of a file, the largest if there are several; cover art does not count. None without
    one."""
    streams = [one for one in container.streams.video if not one.disposition & Disposition.attached_pic]
    return max(streams, key=lambda one: one.width * one.height if can_decode(one) else 0, default=None)


def nominal_rate(rate: Fraction) -> Fraction:
    """The nominal rate a measured one stands for; the measured one where none is near.

    >>> nominal_rate(Fraction(2997, 125)), nominal_rate(Fraction(90000, 3753))
    (Fraction(24000, 1001), Fraction(24000, 1001))
    >>> nominal_rate(Fraction(359, 12)), nominal_rate(Fraction(27))
    (Fraction(30000, 1001), Fraction(27, 1))
    """
    nearest = min(NOMINAL_RATES, key=lambda one: abs(one - rate))
    return nearest if abs(nearest / rate - 1) < _TOLERANCE else rate


def first_picture_s(container: InputContainer, stream: VideoStream, parts: Sequence[Part]) -> Fraction | None:
    """Movie time in seconds of the first frame shown; None where there is none. Reads the first few packets.

    It is the stamp of the first key frame, unless earlier frames follow it in the file. Only the decoder
    knows whether those can be shown, so then the first few frames are decoded. Where an edit list begins
    inside a frame, that frame is the first. AVI has no presentation stamps, only decoding order.
    """
    for other in container.streams:
        if other is not stream:
            other.discard = Discard.all
    base = stream.time_base or Fraction(1, 90000)
    begin_s = parts[0].start_s
    begin = float("-inf") if begin_s is None else begin_s / base
    if begin_s is not None and begin_s > 0:
        # Where seeking is not possible, reading starts at the beginning.
        with suppress(av.error.FFmpegError):
            container.seek(round(begin_s / base), stream=stream)
    usual = 1 / ((stream.average_rate or Fraction(25)) * base)
    best = _first_stamp(container.demux(stream), begin, usual)
    return None if best is None else best * base + parts[0].shift_s


def _first_stamp(
    packets: "Iterable[Packet[VideoStream]]", begin: Fraction | float, usual: Fraction
) -> int | None:
    """Stamp of the first frame shown; ``begin`` and the ``usual`` frame duration are in ticks."""
    seen: list[Packet[VideoStream]] = []
    best: int | None = None
    before = 0
    for packet in packets:
        if packet.size == 0:
            break
        if not seen and not packet.is_keyframe and before < _MOST_BEFORE_KEY:
            before += 1
            continue
        if packet.pts is None:
            if not seen:
                return packet.dts
            continue
        seen.append(packet)
        if seen[0].pts is not None and packet.pts < seen[0].pts:
            return _first_decoded(seen, packets, begin, usual)
        if packet.pts + (packet.duration or usual) > begin and (best is None or packet.pts < best):
            best = packet.pts
        if best is not None and (
            (packet.dts is not None and packet.dts >= best) or len(seen) >= _MOST_PACKETS
        ):
            break
    return best


def _first_decoded(
    seen: "Sequence[Packet[VideoStream]]",
    packets: "Iterable[Packet[VideoStream]]",
    begin: Fraction | float,
    usual: Fraction,
) -> int | None:
    """The same, from decoded frames: ``seen`` are packets already read, ``packets`` the following ones."""

    def decoded() -> Iterable[av.VideoFrame]:
        for some in (seen, packets):
            for packet in some:
                try:
                    yield from packet.decode()
                except av.error.InvalidDataError:
                    continue

    for frame in decoded():
        if frame.pts is not None and frame.pts + (frame.duration or usual) > begin:
            return frame.pts
    return None


@dataclass(frozen=True, slots=True)
class FrameRate:
    """The frame rate of a clip."""

    rate: Fraction
    """Nominal, frames a second."""
    variable: bool


def frame_rate_of(stream: VideoStream, stamps: Sequence[NDArray[np.int64]]) -> FrameRate:
    """Frame rate of a stream from its header and from runs of frame stamps (rising, in units of its time
    base).

    The rate is variable where a frame lies more than half a frame off the regular grid of the nominal rate,
    or where one interval differs from the median by more than a quarter. The nominal rate is then that of the
    median interval.
    """
    base = stream.time_base or Fraction(1, 90000)
    nominal = nominal_rate(stream.average_rate or stream.base_rate or Fraction(25))
    runs = [run for run in stamps if run.size >= 3]
    if not runs:
        return FrameRate(nominal, False)
    steps = np.concatenate([np.diff(run) for run in runs])
    usual = float(np.median(steps))
    step = float(1 / (nominal * base))
    # Stamps are rounded to whole ticks, which matters where a frame lasts only a few.
    even = all(float(np.ptp(run - np.arange(run.size) * step)) <= max(0.5 * step, 2.0) for run in runs)
    smooth = float(np.max(np.abs(steps - usual))) <= max(0.25 * usual, 2.0)
    if usual <= 0 or (even and smooth):
        return FrameRate(nominal, False)
    measured = Fraction(1 / (usual * float(base))).limit_denominator(100_000)
    return FrameRate(nominal if abs(usual - step) <= 1 else nominal_rate(measured), True)


def indexed_stamps(stream: VideoStream) -> list[NDArray[np.int64]]:
    """Frame stamps from the index of a MOV or MP4 file, in file order; four runs of a long index.

    These are decoding times; at a constant rate presentation times differ from them by a constant.
    """
    count = len(stream.index_entries)
    starts = [0] if count <= 4 * _WINDOW else [int(n) for n in np.linspace(0, count - _WINDOW, 4)]
    length = count if len(starts) == 1 else _WINDOW
    return [
        np.array([one.timestamp for one in stream.index_entries[start : start + length]], dtype=np.int64)
        for start in starts
        if count
    ]


def leading_stamps(
    container: InputContainer, stream: VideoStream, most_bytes: int
) -> list[NDArray[np.int64]]:
    """Sorted presentation stamps of the first frames, for containers without an index."""
    stamps: list[int] = []
    read = 0
    for packet in container.demux(stream):
        if packet.size == 0 or read > most_bytes or len(stamps) >= 300:
            break
        read += packet.size
        if packet.pts is not None:
            stamps.append(packet.pts)
    # Near both ends some stamps are missing because of reordering.
    return [np.sort(np.array(stamps, dtype=np.int64))[_REORDER:-_REORDER]]
