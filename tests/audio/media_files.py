"""Small test files, made with PyAV when a test runs: known bursts of noise at known instants of a picture."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]

SOUND_RATE = 48000


def noise(seconds: float, rate: int = SOUND_RATE, *, seed: int = 1, level: float = 0.2) -> FloatArray:
    """White noise of a level (RMS, full scale 1), shape (n,)."""
    values = np.random.default_rng(seed).standard_normal(round(seconds * rate)) * level
    return np.clip(values, -0.99, 0.99).astype(np.float32)


def low_noise(seconds: float, rate: int = SOUND_RATE, *, seed: int = 1, level: float = 0.2) -> FloatArray:
    """Noise below 3 kHz, so that it survives coders and a sample rate of 8 kHz; shape (n,)."""
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(round(seconds * rate)))
    spectrum[np.fft.rfftfreq(round(seconds * rate), 1 / rate) > 3000] = 0
    values = np.fft.irfft(spectrum, round(seconds * rate))
    return np.asarray(np.clip(values * level / values.std(), -0.99, 0.99), dtype=np.float32)


@dataclass(frozen=True)
class Recipe:
    """What a test file is to hold. Streams with a delay start that much later than the other."""

    tracks: Sequence[FloatArray] = ()
    """One sound track each, shape (n,) or (channels, n)."""
    sound_rate: int = SOUND_RATE
    sound_codec: str = "pcm_s16le"
    sound_delay_s: Fraction = Fraction(0)
    picture_s: float = 2.0
    """0 for no picture."""
    picture_codec: str = "mpeg4"
    picture_delay_s: Fraction = Fraction(0)
    frame_rate: Fraction = Fraction(25)
    frame_times_s: Sequence[Fraction] | None = None
    """Own times of the frames, for a variable frame rate."""
    size: tuple[int, int] = (64, 48)
    pixel_shape: Fraction | None = None
    rotation: int = 0
    b_frames: int = 0
    key_every: int = 12
    open_groups: bool = False
    """Let pictures before a key frame lean on those before it, as many cameras do (H.264 only)."""
    timecode: str | None = None
    metadata: Mapping[str, str] = field(default_factory=dict)
    options: Mapping[str, str] = field(default_factory=dict)
    format: str | None = None


def frame_picture(number: int, size: tuple[int, int]) -> NDArray[np.uint8]:
    """A grey picture whose brightness tells its number (modulo 10), left half darker; shape (h, w, 3)."""
    picture = np.full((size[1], size[0], 3), 40 + 20 * (number % 10), dtype=np.uint8)
    picture[:, : size[0] // 2] //= 2
    return picture


def number_in(picture: NDArray[np.uint8]) -> int:
    """The number (modulo 10) that ``frame_picture`` drew, read from the brighter right half."""
    width = picture.shape[1]
    return round((float(picture[:, width * 5 // 8 : width * 7 // 8].mean()) - 40) / 20)


def _sound_frames(values: FloatArray, codec: av.AudioCodecContext, delay_s: Fraction) -> list[av.AudioFrame]:
    rows = np.atleast_2d(values)
    layout = "mono" if rows.shape[0] == 1 else "stereo" if rows.shape[0] == 2 else f"{rows.shape[0]}c"
    if rows.shape[0] > 2:
        layout = {4: "4.0", 6: "5.1", 8: "7.1"}[rows.shape[0]]
    rate = codec.sample_rate
    name = codec.format.name if codec.format else "fltp"
    step = codec.frame_size or 1024
    frames = []
    for start in range(0, rows.shape[1], step):
        part = rows[:, start : start + step]
        if name.startswith("s16"):
            data = np.round(part * 32767).astype(np.int16)
        elif name.startswith("s32"):
            data = np.round(part.astype(np.float64) * (2**31 - 256)).astype(np.int32)
        else:
            data = part.astype(np.float32)
        if not name.endswith("p"):
            data = data.T.reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(data), format=name, layout=layout)
        frame.sample_rate = rate
        frame.time_base = Fraction(1, rate)
        frame.pts = start + round(delay_s * rate)
        frames.append(frame)
    return frames


def _picture_frames(recipe: Recipe, time_base: Fraction, pixel_format: str) -> list[av.VideoFrame]:
    if recipe.frame_times_s is not None:
        times = list(recipe.frame_times_s)
    else:
        count = round(recipe.picture_s * recipe.frame_rate)
        times = [n / recipe.frame_rate for n in range(count)]
    frames = []
    for number, time_s in enumerate(times):
        frame = av.VideoFrame.from_ndarray(frame_picture(number, recipe.size), format="rgb24")
        frame = frame.reformat(format=pixel_format)
        frame.time_base = time_base
        frame.pts = round((time_s + recipe.picture_delay_s) / time_base)
        frames.append(frame)
    return frames


def make(path: Path, recipe: Recipe) -> Path:
    """Write the file and return its path. The container follows the suffix unless the recipe names one."""
    options = {"movie_timescale": "48000"} if path.suffix.lower() in (".mov", ".mp4", ".m4a") else {}
    with av.open(str(path), "w", format=recipe.format, options=options | dict(recipe.options)) as out:
        out.metadata.update(recipe.metadata)
        jobs: list[tuple[av.VideoStream | av.AudioStream, list[av.VideoFrame] | list[av.AudioFrame]]] = []
        if recipe.picture_s:
            video = out.add_stream(recipe.picture_codec, rate=recipe.frame_rate)
            assert isinstance(video, av.VideoStream)
            video.width, video.height = recipe.size
            formats = video.codec_context.codec.video_formats or ()
            names = [one.name for one in formats]
            wanted = "yuvj420p" if recipe.picture_codec == "mjpeg" else "yuv420p"
            video.pix_fmt = wanted if wanted in names else names[0]
            time_base = 1 / recipe.frame_rate
            if recipe.frame_times_s is not None or recipe.picture_delay_s:
                time_base = Fraction(1, 60000 if recipe.frame_rate.denominator == 1 else 30000)
            video.codec_context.time_base = time_base
            video.codec_context.framerate = recipe.frame_rate
            video.codec_context.gop_size = recipe.key_every
            video.codec_context.bit_rate = 2_000_000
            if recipe.b_frames:
                video.codec_context.max_b_frames = recipe.b_frames
            if recipe.picture_codec == "libx264":
                video.options = {"preset": "ultrafast", "bf": str(recipe.b_frames), "sc_threshold": "0"}
                if recipe.open_groups:
                    video.options |= {"x264-params": "open-gop=1:b-adapt=0"}
            if recipe.pixel_shape is not None:
                video.codec_context.sample_aspect_ratio = recipe.pixel_shape
            if recipe.timecode:
                video.metadata["timecode"] = recipe.timecode
            if recipe.rotation:
                video.set_display_rotation(recipe.rotation)
            jobs.append((video, _picture_frames(recipe, time_base, video.pix_fmt)))
        for track in recipe.tracks:
            rows = np.atleast_2d(track)
            sound = out.add_stream(recipe.sound_codec, rate=recipe.sound_rate)
            assert isinstance(sound, av.AudioStream)
            names = [one.name for one in sound.codec_context.codec.audio_formats or ()]
            sound.codec_context.layout = {1: "mono", 2: "stereo", 4: "4.0", 6: "5.1", 8: "7.1"}[rows.shape[0]]
            sound.codec_context.format = names[0]
            if recipe.sound_codec in ("aac", "libmp3lame", "ac3"):
                sound.codec_context.bit_rate = 192000
            sound.codec_context.open()
            jobs.append((sound, _sound_frames(track, sound.codec_context, recipe.sound_delay_s)))
        # In the order of time, as a camera writes.
        frames = [
            (float((frame.pts or 0) * (frame.time_base or 1)), which, frame)
            for which, (_, made) in enumerate(jobs)
            for frame in made
        ]
        for _, which, frame in sorted(frames, key=lambda one: one[:2]):
            stream = jobs[which][0]
            out.mux(stream.encode(frame))  # type: ignore[arg-type]
        for stream, _ in jobs:
            out.mux(stream.encode(None))
    return path
