"""The proof film, for checking by eye: all angles tiled in sync with the song, with bar and section burnt in.

A tile shows the frame that its clip shows at the middle of each frame of the film. So a picture is at most
half a frame early or late, like a take on a timeline of whole frames. The file is an MP4 with H.264 (ITU-T
H.264), or MPEG-4 Part 2 if the library lacks it, and AAC; colours are tagged as ITU-R BT.709. The encoder
delay of the sound is cut by the file's edit list.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, lcm
from pathlib import Path

import av
import numpy as np
from av.audio.stream import AudioStream
from av.container import OutputContainer
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter
from av.video.stream import VideoStream
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.filming.burnt_in import Picture
from audio.filming.film_foot import Foot, Stretch
from audio.filming.mark import MARK
from audio.filming.tiles import GROUND, Tile, TilePlan, grid, letters
from audio.progress import never, no_progress

FloatArray = NDArray[np.float32]
SoundMaker = Callable[[int, int], FloatArray]
"""Gives ``count`` frames of sound from sound frame ``first`` of the film on, shape (count, 2), full scale
1.0."""

SOUND_RATE = 48_000
"""Sound frames a second."""
SOUND_BITS = 256_000
"""Bits a second of the AAC stream: no loss that matters for checking."""
_SOUND_CODER = {"aac_coder": "fast"}
"""Half the work of the encoder's other method; 256 kbit a second leave room enough for the difference."""
CODERS = {
    "libx264": {"preset": "veryfast", "crf": "21", "threads": "2"},
    "mpeg4": {"qmin": "3", "qmax": "5", "threads": "1"},
}
"""Encoders, the better first, at constant quality. The number of threads is fixed because the output depends
on it: the same film must give the same bytes."""
_MOST_TICKS = 1_000_000
"""Ticks a second of the file's clock at most: lengths are stored in 32 bits."""
_BT709 = 1
"""ITU-T H.273 code of ITU-R BT.709."""
_LIMITED = 1
"""The library's value for limited range."""
_KEY_EVERY_S = 2
"""Seconds between key frames. Chosen by hand: more key frames make seeking faster and files larger."""
_BATCH_BYTES = 40_000_000
"""Bytes of frames per batch. Two batches are in memory; larger ones only delay stopping."""
_WORKERS = 2
"""Threads that decode tiles; chosen by hand, the encoder needs the others."""


@dataclass(frozen=True, slots=True)
class ProofFilm:
    """What the film shows."""

    angles: tuple[TilePlan, ...]
    """One to nine."""
    sections: tuple[Stretch, ...]
    bars: tuple[Stretch, ...]
    from_s: float
    """Song time of its start, in seconds."""
    frames: int
    rate: Fraction
    """Frames a second."""
    width: int
    height: int
    """In pixels; both even, as the coding needs."""
    title: str = ""
    """Title tag of the file."""

    @property
    def duration_s(self) -> Fraction:
        """Length in seconds, exact."""
        return self.frames / self.rate

    @property
    def sound_frames(self) -> int:
        """Frames of sound: as long as the picture."""
        return round(self.duration_s * SOUND_RATE)

    def foot(self) -> Foot:
        """The strip below the tiles."""
        return Foot(self.sections, self.bars, self.height)

    def middle_s(self, frame: int) -> float:
        """Song time in seconds of the middle of a frame."""
        return float(Fraction(self.from_s) + (frame + Fraction(1, 2)) / self.rate)


def make_proof_film(
    target: Path,
    film: ProofFilm,
    sound: SoundMaker,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> dict[str, str]:
    """Write the film to ``target``, whatever its suffix; gives why something could not be shown, by name of
    file.

    The caller swaps the file in, or removes it. Raises Stopped, OSError.
    """
    foot = film.foot()
    boxes = grid(len(film.angles), film.width, film.height - foot.lines)
    size = letters(film.height)
    tiles = [Tile(angle, box, size) for angle, box in zip(film.angles, boxes, strict=True)]
    canvas = np.full((film.height, film.width, 3), GROUND, np.uint8)
    try:
        with av.open(str(target), "w", format="mp4", options=_container(film.rate)) as file:
            file.metadata.update({"title": film.title, "comment": MARK})
            writer = _Writer(file, film)
            for first, pictures in _batches(film, tiles, stop):
                count = len(pictures[0])
                for number in range(count):
                    if stop():
                        raise Stopped("Making the film was stopped.")
                    for tile, shown in zip(tiles, pictures, strict=True):
                        box = tile.box
                        canvas[box.y : box.y + box.height, box.x : box.x + box.width] = shown[number]
                    foot.paint(canvas, film.middle_s(first + number))
                    writer.picture(canvas, first + number)
                writer.sound_up_to(first + count, sound)
                progress((first + count) / film.frames)
            writer.finish()
    finally:
        for tile in tiles:
            tile.close()
    return {name: why for tile in tiles for name, why in tile.troubles.items()}


def _container(rate: Fraction) -> dict[str, str]:
    """Container options: the index first, and a time scale in which frames and samples are whole numbers."""
    ticks = lcm(rate.numerator, SOUND_RATE)
    if ticks > _MOST_TICKS:
        ticks = rate.numerator * ceil(1000 / rate.numerator)
    return {"movflags": "+faststart", "fflags": "+bitexact", "movie_timescale": str(ticks)}


def _batch(film: ProofFilm) -> int:
    """Frames per batch."""
    return max(1, min(round(film.rate / 2), _BATCH_BYTES // (film.width * film.height * 3)))


def _batches(
    film: ProofFilm, tiles: Sequence[Tile], stop: Callable[[], bool]
) -> Iterator[tuple[int, list[list[Picture]]]]:
    """First frame of each batch and the pictures of all tiles; the next batch is decoded meanwhile."""
    leaving = False

    def made(tile: Tile, moments: Sequence[float]) -> list[Picture]:
        pictures = []
        for picture in tile.pictures(moments):
            if leaving or stop():
                raise Stopped("Making the film was stopped.")
            pictures.append(picture)
        return pictures

    with ThreadPoolExecutor(min(_WORKERS, os.cpu_count() or 1), "proof film") as pool:

        def begin(first: int) -> list[Future[list[Picture]]]:
            end = min(first + _batch(film), film.frames)
            moments = [film.middle_s(frame) for frame in range(first, end)]
            return [pool.submit(made, tile, moments) for tile in tiles]

        ahead = begin(0)
        try:
            for first in range(0, film.frames, _batch(film)):
                pictures = [one.result() for one in ahead]
                ahead = begin(first + _batch(film))
                yield first, pictures
        finally:
            leaving = True


class _Writer:
    """Writes the file."""

    def __init__(self, file: OutputContainer, film: ProofFilm) -> None:
        self._file = file
        self._film = film
        self._sound_frames = 0
        name = next(one for one in CODERS if _has(one))
        video = file.add_stream(name, rate=film.rate, options=dict(CODERS[name]))
        assert isinstance(video, VideoStream)
        self._video = video
        self._video.width, self._video.height = film.width, film.height
        self._video.pix_fmt = "yuv420p"
        coder = self._video.codec_context
        coder.time_base = 1 / film.rate
        coder.gop_size = max(1, round(film.rate * _KEY_EVERY_S))
        coder.color_primaries = coder.color_trc = coder.colorspace = _BT709
        coder.color_range = _LIMITED
        self._audio: AudioStream = file.add_stream(
            "aac", rate=SOUND_RATE, layout="stereo", options=dict(_SOUND_CODER)
        )
        self._audio.bit_rate = SOUND_BITS
        self._to_video = VideoReformatter()

    def picture(self, canvas: Picture, number: int) -> None:
        """Write frame ``number``."""
        frame = self._to_video.reformat(
            av.VideoFrame.from_ndarray(canvas, "rgb24"),
            format="yuv420p",
            dst_colorspace=Colorspace.ITU709,
            dst_color_range=ColorRange.MPEG,
            # Only the chroma planes are scaled, and they are still the mean of two neighbouring pixels: half
            # the work of the next better method.
            interpolation=Interpolation.POINT,
        )
        frame.pts, frame.time_base = number, 1 / self._film.rate
        self._file.mux(self._video.encode(frame))

    def sound_up_to(self, frame: int, sound: SoundMaker) -> None:
        """Write the sound up to the start of a frame."""
        end = min(round(frame / self._film.rate * SOUND_RATE), self._film.sound_frames)
        if end <= self._sound_frames:
            return
        samples = np.ascontiguousarray(sound(self._sound_frames, end - self._sound_frames).T, np.float32)
        part = av.AudioFrame.from_ndarray(samples, "fltp", "stereo")
        part.sample_rate = SOUND_RATE
        part.pts, part.time_base = self._sound_frames, Fraction(1, SOUND_RATE)
        self._file.mux(self._audio.encode(part))
        self._sound_frames = end

    def finish(self) -> None:
        """Flush the encoders."""
        self._file.mux(self._video.encode(None))
        self._file.mux(self._audio.encode(None))


def _has(coder: str) -> bool:
    try:
        av.codec.Codec(coder, "w")
    except av.codec.codec.UnknownCodecError:
        return False
    return True
