"""What looking at pictures costs: ``python -m tests.bench.bench_look [--seconds 60] [--uhd] [--sparse]``.

Clips of several sizes and coders are made from the sample shoot, with a camera's grain. Looking at one (its
frames' time stamps, the pictures that are sampled, the trace made of them) is set against decoding the very
same pictures and doing nothing with them: processor time of both, and their ratio. Then a clip is looked at
that is eight times as long, and the peak of memory of both is told.

Nothing fails here for being slow: figures are printed, and a person reads them.
"""

import argparse
import multiprocessing
import resource
import tempfile
import time
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from audio.files.frame_reader import open_video
from audio.pictures import sampling
from audio.pictures.faults import proposals
from audio.pictures.sampling import frames_of, pictures_of, stamps_of
from audio.pictures.trace import trace_of
from tests.quality.faulty_sample import COPIES, make

MEDIA = Path(__file__).resolve().parents[2] / "sample_media"
RATE = Fraction(25)
GRAIN = 4.0
"""Standard deviation in steps of brightness, as a camera has indoors."""


@dataclass(frozen=True)
class Kind:
    """A kind of clip."""

    name: str
    size: tuple[int, int]
    codec: str
    pixels: str
    options: dict[str, str]
    key_every: int = 25


KINDS = (
    Kind("320 × 180 H.264", (320, 180), "libx264", "yuv420p", {"preset": "fast", "crf": "22"}),
    Kind("640 × 360 H.264", (640, 360), "libx264", "yuv420p", {"preset": "fast", "crf": "22"}),
    Kind("1280 × 720 H.264", (1280, 720), "libx264", "yuv420p", {"preset": "veryfast", "crf": "20"}),
    Kind("1920 × 1080 H.264", (1920, 1080), "libx264", "yuv420p", {"preset": "veryfast", "crf": "20"}),
    Kind("1920 × 1080 ProRes", (1920, 1080), "prores_ks", "yuv422p10le", {"profile": "2"}, 1),
)
UHD = Kind("3840 × 2160 HEVC", (3840, 2160), "libx265", "yuv420p10le", {"preset": "ultrafast"})


def camera_film(path: Path, kind: Kind, seconds: float) -> None:
    """A clip of the roaming camera's pictures, made large, with grain."""
    wide, high = kind.size
    chance = np.random.default_rng(1)
    grains = [chance.normal(0, GRAIN, (high, wide)).astype(np.int16) for _ in range(4)]
    source = sorted((MEDIA / "clips/roaming").glob("*.MOV"))[0]
    with av.open(str(path), "w") as out:
        stream = out.add_stream(kind.codec, rate=RATE, options=kind.options)
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = wide, high, kind.pixels
        stream.codec_context.gop_size = kind.key_every
        number = 0
        while number < seconds * RATE:
            with av.open(str(source)) as film:
                for frame in film.decode(video=0):
                    if number >= seconds * RATE:
                        break
                    large = frame.reformat(wide, high, "yuv420p").to_ndarray()
                    large[:high] = np.clip(large[:high] + grains[number % 4], 16, 235)
                    made = av.VideoFrame.from_ndarray(large, "yuv420p").reformat(format=kind.pixels)
                    made.pts, made.time_base = number, 1 / RATE
                    out.mux(stream.encode(made))
                    number += 1
        out.mux(stream.encode(None))


def decoded(path: Path) -> int:
    """Decode the pictures that are sampled, and do nothing with them."""
    with open_video(path) as video:
        return sum(1 for _ in frames_of(video))


def looked(path: Path) -> int:
    """Look at a clip."""
    return len(trace_of(pictures_of(path), stamps_of(path)).clip_s)


def parts(path: Path) -> str:
    """What the parts of looking cost."""
    begun = time.process_time()
    stamps = stamps_of(path)
    stamped = time.process_time()
    for _ in pictures_of(path):
        pass
    pictured = time.process_time()
    trace_of(pictures_of(path), stamps)
    traced = time.process_time() - pictured
    pictured -= stamped
    return (
        f"stamps {stamped - begun:.2f} s, pictures decoded and made small {pictured:.2f} s, "
        f"trace of them {traced - pictured:.2f} s"
    )


def peak_mb(path: Path) -> float:
    """The most memory that a process of its own took to look at a clip."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_peak, (path,))


def _peak(path: Path) -> float:
    looked(path)
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Make clips, look at them, print figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--uhd", action="store_true", help="a clip of 3840 × 2160 too (slow to make)")
    parser.add_argument("--sparse", action="store_true", help="what is found where a clip is read in bursts")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        for kind in KINDS + ((UHD,) if options.uhd else ()):
            path = Path(made, "clip.mov")
            camera_film(path, kind, options.seconds)
            costs = {}
            for name, work in (("decode", decoded), ("look", looked), ("decode", decoded), ("look", looked)):
                begun = time.process_time()
                count = work(path)
                costs[name] = min(costs.get(name, np.inf), time.process_time() - begun)
            print(
                f"{kind.name}, {options.seconds:.0f} s: {count} pictures, decoding {costs['decode']:.2f} s, "
                f"looking {costs['look']:.2f} s: ratio {costs['look'] / costs['decode']:.2f} ({parts(path)})",
                flush=True,
            )
        if options.sparse:
            told(Path(made))
        for kind in (KINDS[0], KINDS[2]):
            peaks = []
            for times in (1, 8):
                path = Path(made, f"{times}.mov")
                camera_film(path, kind, times * options.seconds)
                peaks.append(peak_mb(path))
                path.unlink()
            print(
                f"Peak of memory, {kind.name}: {peaks[0]:.0f} MB, eight times as long {peaks[1]:.0f} MB",
                flush=True,
            )


def told(folder: Path) -> None:
    """What is found of faults in a clip that is read in bursts, against the same clip read whole."""
    whole = sampling.WHOLE_PIXELS
    for copy in COPIES:
        path = make(copy, folder)
        told = []
        for bound in (whole, 0):
            sampling.WHOLE_PIXELS = bound
            seen = trace_of(pictures_of(path), stamps_of(path))
            right = [
                one
                for one in proposals(seen, (), ())
                if one.reason == copy.fault.reason
                and one.clip_start_s < copy.fault.end_s
                and one.clip_end_s > copy.fault.start_s
            ]
            told.append("found" if right else "missed")
        sampling.WHOLE_PIXELS = whole
        print(f"{copy.fault.reason}: {told[0]} in the whole clip, {told[1]} in bursts", flush=True)


if __name__ == "__main__":
    main()
