"""How long a stamped copy takes: ``python -m tests.bench.bench_stamping [--megabytes 600] [--rounds 5]``.

An MP4 of that size is made in a temporary folder, with and without a timecode track. It is stamped, which
includes the comparison with the source, and held against a plain copy of the same bytes in the same run, both
forced to disk. The two take turns, and the median of each is told; wanted is a ratio of 1.6 at most.

Nothing fails here for being slow: figures are printed, and a person reads them.
"""

import argparse
import os
import shutil
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from statistics import median

import av
import numpy as np

from app.model.storage.files import make_whole
from app.model.storage.guard import NO_CLIPS
from audio.copies.stamping import stamp_copy
from audio.copies.timecode_track import Stamp
from tests.bench.spent import Spent, rows_text

RATE = Fraction(25)
SIZE = (1920, 1080)


def picture() -> bytes:
    """One frame of noise, coded; a camera's frames are about as hard to open."""
    codec = av.VideoCodecContext.create("mjpeg", "w")
    codec.width, codec.height = SIZE
    codec.pix_fmt, codec.time_base = "yuvj420p", 1 / RATE
    noise = np.random.default_rng(5).integers(0, 256, (SIZE[1], SIZE[0], 3), np.uint8)
    frame = av.VideoFrame.from_ndarray(noise, format="rgb24").reformat(format="yuvj420p")
    frame.pts = 0
    return b"".join(bytes(packet) for packet in [*codec.encode(frame), *codec.encode(None)])


def large_file(path: Path, megabytes: int, *, timecode: bool) -> Path:
    """An MP4 of one such frame after the other; no byte of it can be left out on disk."""
    coded = picture()
    with av.open(str(path), "w") as out:
        stream = out.add_stream("mjpeg", rate=RATE)
        stream.width, stream.height, stream.pix_fmt = *SIZE, "yuvj420p"
        stream.codec_context.framerate = RATE
        stream.time_base = 1 / RATE
        if timecode:
            stream.metadata["timecode"] = "10:00:00:00"
        for number in range(megabytes * 1_000_000 // len(coded)):
            packet = av.Packet(coded)
            packet.stream, packet.time_base = stream, 1 / RATE
            packet.pts = packet.dts = number
            packet.is_keyframe = True
            out.mux(packet)
    return path


def copied(source: Path, target: Path) -> None:
    """A plain copy, forced to disk."""
    shutil.copyfile(source, target)
    with target.open("rb+") as file:
        os.fsync(file.fileno())


def stamped(source: Path, target: Path) -> None:
    """A stamped copy, as the hand-off writes it."""
    make_whole(target, lambda neighbour: stamp_copy(source, neighbour, Stamp(90_000, RATE)), NO_CLIPS)


def seconds(work: Callable[[Path, Path], None], source: Path, target: Path) -> float:
    """Wall time of one piece of work, on a name that is free."""
    target.unlink(missing_ok=True)
    os.sync()
    begun = time.perf_counter()
    work(source, target)
    return time.perf_counter() - begun


def main() -> None:
    parser = argparse.ArgumentParser(description="How long a stamped copy takes beside a plain one.")
    parser.add_argument("--megabytes", type=int, default=600)
    parser.add_argument("--rounds", type=int, default=5)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for timecode in (False, True):
            source = large_file(Path(folder, "clip.mp4"), wanted.megabytes, timecode=timecode)
            target = Path(folder, "copy.mp4")
            plain, proved = [], []
            for _ in range(wanted.rounds):
                plain.append(seconds(copied, source, target))
                proved.append(seconds(stamped, source, target))
            print(
                f"\n{source.stat().st_size / 1e6:.0f} MB, timecode track {'there' if timecode else 'added'}:"
            )
            rows = [
                Spent("stamped and compared", (median(proved),)),
                Spent("plain copy", (median(plain),), baseline=True),
            ]
            print(rows_text(rows))


if __name__ == "__main__":
    main()
