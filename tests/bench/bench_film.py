"""How quickly a proof film is made: ``python -m tests.bench.bench_film [--angles 9] [--seconds 30]``.

Nine clips of 1280 × 720 with a camera's grain are made from the sample shoot, and of each a proxy of 480
lines. The film tiled from the proxies, with the song, read back and swapped in, is timed against its own
length and against decoding the same proxies in as many threads and doing nothing with their pictures. What
the processors spent is told too, for other programs may run beside.

Nothing fails here for being slow: figures are printed, and a person reads them.
"""

import argparse
import os
import platform
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from app.handoff.filmed.film import Film, write
from app.model.document.angle import Angle
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from audio.files.frame_reader import decode, open_video
from audio.files.proxies import make_proxy
from audio.progress import never, no_progress

MEDIA = Path(__file__).resolve().parents[2] / "sample_media"
SONG_S = 111.6
RATES = (Fraction(25), Fraction(30000, 1001), Fraction(24000, 1001))
GRAIN = 6.0
"""Standard deviation in steps of brightness, as a camera has at night."""


def camera_clip(path: Path, seconds: float, rate: Fraction, seed: int) -> None:
    """A clip of 1280 × 720: the safety's pictures, made large, with grain."""
    chance = np.random.default_rng(seed)
    grains = [chance.normal(0, GRAIN, (720, 1280)).astype(np.int16) for _ in range(8)]
    with av.open(str(path), "w") as out, av.open(str(MEDIA / "clips/safety/Q0041.MP4")) as source:
        stream = out.add_stream("libx264", rate=rate, options={"preset": "ultrafast", "crf": "18"})
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = 1280, 720, "yuv420p"
        for number, frame in enumerate(source.decode(video=0)):
            if number >= seconds * rate:
                break
            large = frame.reformat(1280, 720, "yuv420p").to_ndarray()
            large[:720] = np.clip(large[:720] + grains[number % 8], 16, 235)
            made = av.VideoFrame.from_ndarray(large, "yuv420p")
            made.pts, made.time_base = number, 1 / rate
            out.mux(stream.encode(made))
        out.mux(stream.encode(None))


def made_shoot(folder: Path, angles: int, seconds: float) -> SongView:
    """A shoot of the proxies, each an angle of its own, placed from the song's beginning on."""
    clips, names = [], []
    for number in range(angles):
        rate = RATES[number % len(RATES)]
        original, path = folder / "clip.mp4", folder / f"angle {number + 1}.mov"
        camera_clip(original, seconds + 1, rate, number)
        make_proxy(original, path)
        original.unlink()
        take = Take(f"t{number}", 0.2, seconds + 0.9, 0.0)
        names.append(Angle(f"a{number}", f"Angle {number + 1}"))
        media = MediaRef(str(path), path.stat().st_size, str(number))
        clips.append(
            Clip(f"c{number}", media, f"a{number}", seconds + 1, rate, verdict=Verdict.PLACED, takes=(take,))
        )
    song_map = SongMap(100.0, (), tuple(n * 2.4 for n in range(46)))
    song = Song(MediaRef(str(MEDIA / "song.ogg"), 1, "song"), SONG_S, song_map)
    return SongView("Bench", song, tuple(names), tuple(clips))


def decode_all(shoot: SongView, seconds: float) -> None:
    """Decode what the film shows, and nothing more."""

    def run(clip: Clip) -> None:
        with open_video(Path(clip.media.path)) as video:
            for frame in decode(video):
                if frame.time is not None and frame.time > seconds:
                    return

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(run, shoot.clips))


def spent(work: Callable[[], object]) -> tuple[float, float]:
    """Wall seconds, and seconds of the processors."""
    wall, used = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - used


def main(arguments: Sequence[str] | None = None) -> int:
    """Make, measure, print."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.bench_film", description=(__doc__ or "").split("\n\n")[1]
    )
    parser.add_argument("--angles", type=int, default=9, help="up to nine")
    parser.add_argument("--seconds", type=float, default=30.0, help="length of the film")
    chosen = parser.parse_args(arguments)
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores{load}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shoot = made_shoot(folder, chosen.angles, chosen.seconds)
        size = sum(clip.media.size_bytes for clip in shoot.clips) / chosen.angles / chosen.seconds
        print(f"{chosen.angles} proxies of 480 lines, {size / 1e6:.2f} MB a second each\n")
        film = Film(to_s=chosen.seconds)
        write(
            shoot, folder / "first.mp4", Film(to_s=1.0), stop=never, progress=no_progress
        )  # what loads, loads
        base, base_used = spent(lambda: decode_all(shoot, chosen.seconds))
        whole, whole_used = spent(
            lambda: write(shoot, folder / "film.mp4", film, stop=never, progress=no_progress)
        )
        print(f"{'':<34}{'seconds':>9}{'× real time':>13}{'ratio':>8}{'processors, s':>15}")
        for step, wall, used in (
            ("decoding alone, two threads", base, base_used),
            ("the film, read back", whole, whole_used),
        ):
            print(f"{step:<34}{wall:>9.2f}{chosen.seconds / wall:>13.2f}{wall / base:>8.2f}{used:>15.2f}")
        print(f"{(folder / 'film.mp4').stat().st_size / 1e6:.1f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
