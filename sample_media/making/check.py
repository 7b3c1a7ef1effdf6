"""Does a finished clip hold what its truth says? Sound against the dry song at the told delay."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from making.camera_sound import Source
from making.instruments import Wave
from making.shots import Run


@dataclass(frozen=True, slots=True)
class Decoded:
    """Sound of a file on the clip's clock: ``samples[0]`` at ``start_s`` after the first shown picture."""

    samples: Wave
    rate: int
    start_s: float
    pictures: int
    picture_end_s: float


def decode(path: Path) -> Decoded:
    """Decode all of a file; every sound frame at its own time stamp."""
    with av.open(str(path), options={"advanced_editlist": "0"}, metadata_errors="replace") as file:
        first: Fraction | None = None
        last = Fraction(0)
        count = 0
        blocks: list[tuple[Fraction, NDArray[np.float32]]] = []
        rate = 0
        for packet in file.demux(*file.streams.video, *file.streams.audio):
            for frame in packet.decode():
                assert isinstance(frame, av.VideoFrame | av.AudioFrame)
                assert frame.pts is not None
                assert frame.time_base is not None
                time = frame.pts * frame.time_base
                if isinstance(frame, av.VideoFrame):
                    length = frame.duration * frame.time_base
                    if time + length > 0:
                        first = time if first is None else min(first, time)
                        last, count = max(last, time + length), count + 1
                else:
                    rate = frame.sample_rate
                    data = frame.to_ndarray().reshape(-1)
                    scale = 32768.0 if data.dtype == np.int16 else 1.0
                    blocks.append((time, (data / scale).astype(np.float32)))
    zero = first if first is not None else (blocks[0][0] if blocks else Fraction(0))
    if not blocks:
        return Decoded(np.zeros(0), 0, 0.0, count, float(last - zero))
    start = blocks[0][0]
    end = max(round((time - start) * rate) + len(data) for time, data in blocks)
    samples = np.zeros(end)
    for time, data in blocks:
        place = round((time - start) * rate)
        samples[place : place + len(data)] = data
    return Decoded(samples, rate, float(start - zero), count, float(last - zero))


def worst_error_s(sound: Decoded, run: Run, song: Source, block_s: float = 10.0) -> tuple[float, int]:
    """Largest lag found between clip and song at the told delay, over blocks of the take, and their number.

    Phase-transform correlation within ±20 ms of the told place, read to a twentieth of a sample. Blocks in
    which no peak stands 8 times over the median are left out.
    """
    worst, used = 0.0, 0
    end = min(run.clip_end_s, sound.start_s + len(sound.samples) / sound.rate)
    block_s = min(block_s, end - run.clip_start_s - 0.5)
    time = run.clip_start_s + 0.3
    while time + block_s < end:
        first = round((time - sound.start_s) * sound.rate)
        count = int(block_s * sound.rate)
        if first < 0:
            time += 0.5
            continue
        block = sound.samples[first : first + count]
        clip_times = sound.start_s + (first + np.arange(count)) / sound.rate
        dry = song.at(run.song_times(clip_times))
        taper = np.hanning(count)
        size = 2 * count
        cross = np.fft.rfft(block * taper, size) * np.conj(np.fft.rfft(dry * taper, size))
        hertz = np.fft.rfftfreq(size, 1 / sound.rate)
        cross = np.where((hertz > 250) & (hertz < 5000), cross / (np.abs(cross) + 1e-12), 0)
        reach = int(0.02 * sound.rate)
        fine = np.fft.irfft(np.concatenate((cross, np.zeros(3 * (size // 2)))), 4 * size)
        near = np.concatenate((fine[-4 * reach :], fine[: 4 * reach + 1]))
        top = int(np.argmax(near))
        if near[top] > 8 * np.median(np.abs(near)) and 0 < top < len(near) - 1:
            a, b, c = near[top - 1 : top + 2]
            lag = (top - 4 * reach + 0.5 * (a - c) / (a - 2 * b + c)) / (4 * sound.rate)
            worst, used = max(worst, abs(float(lag))), used + 1
        time += block_s / 2
    return worst, used
