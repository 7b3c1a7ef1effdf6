"""A film for looking once more: all angles tiled in step with the song, with bar and section burnt in.

Of every frame the middle counts: a tile shows the picture that its clip shows at that moment, so a picture is
at most half a frame early or late, as a take is that is laid on a timeline of whole frames. H.264 (ITU-T
H.264) or, where the library lacks it, MPEG-4 Part 2, with AAC sound in an MP4 file; colours are those of
ITU-R BT.709 and tagged so. What the sound coder puts before the first sample is cut by the file's edit list.
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
from audio.filming.tiles import GROUND, Tile, TilePlan, grid, letters
from audio.progress import never, no_progress

FloatArray = NDArray[np.float32]
SoundMaker = Callable[[int, int], FloatArray]
"""Gives ``count`` frames of sound from frame ``first`` of the film on, shape (count, 2), full scale 1.0."""

SOUND_RATE = 48_000
SOUND_BITS = 256_000
MARK = "Anglebook proof film"
"""Comment in the file, by which it is known again."""
_SOUND_CODER = {"aac_coder": "fast"}
"""Half the work of the other one; at this bit rate 256 kbit a second leave it room enough."""
CODERS = {
    "libx264": {"preset": "veryfast", "crf": "21", "threads": "2"},
    "mpeg4": {"qmin": "3", "qmax": "5", "threads": "1"},
}
"""Those of the library, the better first, with steady quality. Threads are told, for what is written depends
on their number, and the same film shall be the same bytes."""
_MOST_TICKS = 1_000_000
"""Of the file's clock in a second: lengths in it are held in 32 bits."""
_BT709 = 1
_LIMITED = 1
_KEY_EVERY_S = 2
_BATCH_BYTES = 40_000_000
_WORKERS = 2


@dataclass(frozen=True, slots=True)
class ProofFilm:
    """What the film is to show."""

    angles: tuple[TilePlan, ...]
    """One to nine."""
    sections: tuple[Stretch, ...]
    bars: tuple[Stretch, ...]
    from_s: float
    """Song time of its beginning."""
    frames: int
    rate: Fraction
    width: int
    height: int
    """Even numbers both."""
    title: str = ""
    """As the file tells it to players."""

    @property
    def duration_s(self) -> Fraction:
        """Exact."""
        return self.frames / self.rate

    @property
    def sound_frames(self) -> int:
        """As much sound as there is picture."""
        return round(self.duration_s * SOUND_RATE)

    def foot(self) -> Foot:
        """The strip below the tiles."""
        return Foot(self.sections, self.bars, self.height)

    def middle_s(self, frame: int) -> float:
        """Song time of the middle of a frame."""
        return float(Fraction(self.from_s) + (frame + Fraction(1, 2)) / self.rate)


def make_proof_film(
    target: Path,
    film: ProofFilm,
    sound: SoundMaker,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> dict[str, str]:
    """Write the film to ``target``, whatever its suffix; gives what could not be shown, by name of file.

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
    """Options of the file: its table first, and a clock in which frames and samples are whole numbers."""
    ticks = lcm(rate.numerator, SOUND_RATE)
    if ticks > _MOST_TICKS:
        ticks = rate.numerator * ceil(1000 / rate.numerator)
    return {"movflags": "+faststart", "fflags": "+bitexact", "movie_timescale": str(ticks)}


def _batch(film: ProofFilm) -> int:
    """Frames made at a time."""
    return max(1, min(round(film.rate / 2), _BATCH_BYTES // (film.width * film.height * 3)))


def _batches(
    film: ProofFilm, tiles: Sequence[Tile], stop: Callable[[], bool]
) -> Iterator[tuple[int, list[list[Picture]]]]:
    """First frame of each batch and the pictures of all tiles; the next batch is made while one is used."""
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
    """The file that is written."""

    def __init__(self, file: OutputContainer, film: ProofFilm) -> None:
        self._file = file
        self._film = film
        self._heard = 0
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
        """Put a frame there."""
        frame = self._to_video.reformat(
            av.VideoFrame.from_ndarray(canvas, "rgb24"),
            format="yuv420p",
            dst_colorspace=Colorspace.ITU709,
            dst_color_range=ColorRange.MPEG,
            # Nothing is scaled but the colours, and theirs are still the mean of two pixels side by side:
            # half the work of the next better way.
            interpolation=Interpolation.POINT,
        )
        frame.pts, frame.time_base = number, 1 / self._film.rate
        self._file.mux(self._video.encode(frame))

    def sound_up_to(self, frame: int, sound: SoundMaker) -> None:
        """Put the sound there that belongs to the pictures before a frame."""
        end = min(round(frame / self._film.rate * SOUND_RATE), self._film.sound_frames)
        if end <= self._heard:
            return
        samples = np.ascontiguousarray(sound(self._heard, end - self._heard).T, np.float32)
        part = av.AudioFrame.from_ndarray(samples, "fltp", "stereo")
        part.sample_rate = SOUND_RATE
        part.pts, part.time_base = self._heard, Fraction(1, SOUND_RATE)
        self._file.mux(self._audio.encode(part))
        self._heard = end

    def finish(self) -> None:
        """Write what the coders still hold."""
        self._file.mux(self._video.encode(None))
        self._file.mux(self._audio.encode(None))


def _has(coder: str) -> bool:
    try:
        av.codec.Codec(coder, "w")
    except av.codec.codec.UnknownCodecError:
        return False
    return True
