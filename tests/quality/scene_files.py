"""Files of drawn pictures and made sound, as cameras write them."""

from collections.abc import Collection, Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Literal

import av
import numpy as np

from tests.quality.scene_places import Bytes, FloatArray


def encode(
    path: Path,
    shown: Iterable[Bytes],
    rate: Fraction,
    *,
    quality: Literal["good", "poor"] = "good",
    key_every: int = 50,
    sound: FloatArray | None = None,
    sound_rate: int = 48000,
    metadata: dict[str, str] | None = None,
    missing: Collection[int] = (),
) -> Path:
    """Write pictures as H.264 in limited-range BT.709, with sound of shape (n,) or (2, n) if there is some.

    ``good`` is about what cameras write (0.15 bits a pixel), ``poor`` a tenth of it. Sizes must be even.
    Frames whose numbers are ``missing`` are left out, and their time stamps with them.
    """
    iterator = iter(shown)
    first = next(iterator)
    height, width = first.shape[:2]
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=rate)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.bit_rate = round(width * height * float(rate) * (0.15 if quality == "good" else 0.015))
        stream.options = {"preset": "veryfast", "threads": "1"}
        stream.gop_size = key_every
        context = stream.codec_context
        context.color_range, context.colorspace = 1, 1  # limited range, BT.709
        context.color_primaries, context.color_trc = 1, 1
        audio = None
        if sound is not None:
            layout = "mono" if np.atleast_2d(sound).shape[0] == 1 else "stereo"
            audio = out.add_stream("aac", rate=sound_rate, layout=layout)
        out.metadata.update(metadata or {})
        blocks = iter(()) if sound is None else _sound_blocks(sound, sound_rate)
        block = next(blocks, None)
        for n, one in enumerate(_chain(first, iterator)):
            if n in missing:
                continue
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(one), format="rgb24")
            frame = frame.reformat(format="yuv420p", dst_colorspace="ITU709", dst_color_range="MPEG")
            frame.pts, frame.time_base = n, 1 / Fraction(rate)
            out.mux(stream.encode(frame))
            while audio is not None and block is not None and block.time <= n / rate:
                out.mux(audio.encode(block))
                block = next(blocks, None)
        out.mux(stream.encode(None))
        while audio is not None and block is not None:
            out.mux(audio.encode(block))
            block = next(blocks, None)
        if audio is not None:
            out.mux(audio.encode(None))
    return path


def _sound_blocks(sound: FloatArray, rate: int) -> Iterator[av.AudioFrame]:
    rows = np.atleast_2d(sound).astype(np.float32)
    layout = "mono" if rows.shape[0] == 1 else "stereo"
    for start in range(0, rows.shape[1], 1024):
        block = np.ascontiguousarray(rows[:, start : start + 1024])
        frame = av.AudioFrame.from_ndarray(block, "fltp", layout)
        frame.sample_rate, frame.pts, frame.time_base = rate, start, Fraction(1, rate)
        yield frame


def _chain(first: Bytes, rest: Iterator[Bytes]) -> Iterator[Bytes]:
    yield first
    yield from rest
