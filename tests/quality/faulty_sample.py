"""The sample shoot with faults put in: copies in another folder, written again, with the truth about them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from audio.files.frame_images import upright
from audio.files.frame_reader import decode, open_video
from tests.quality.made_takes import Fault
from tests.quality.scene_files import encode
from tests.quality.scenes import to_linear, to_srgb

CLIPS = Path(__file__).parents[2] / "sample_media" / "clips"
Bytes = NDArray[np.uint8]
Altered = Callable[[float, Bytes], Bytes]


@dataclass(frozen=True, slots=True)
class Copy:
    """A clip of the extended shoot: what it is made from, what is done to it, and the truth."""

    file: str
    source: str
    end_s: float
    fault: Fault
    altered: Altered | None = None
    missing: tuple[int, ...] = ()
    frozen: tuple[int, int] | None = None
    """Frames from the first to before the last show the first."""


def _soft(sigma: float, start_s: float, end_s: float) -> Altered:
    def altered(clip_s: float, seen: Bytes) -> Bytes:
        if not start_s <= clip_s < end_s:
            return seen
        return np.asarray(Image.fromarray(seen).filter(ImageFilter.GaussianBlur(sigma * len(seen))))

    return altered


def _black(start_s: float, end_s: float) -> Altered:
    return lambda clip_s, seen: np.zeros_like(seen) if start_s <= clip_s < end_s else seen


def _stops(stops: float) -> Altered:
    table = np.rint(255 * to_srgb(to_linear(np.arange(256, dtype=np.float32) / 255) * 2**stops)).astype(
        np.uint8
    )
    return lambda clip_s, seen: table[seen]


def _mains(hertz: float, swing: float, readout_s: float, start_s: float, end_s: float) -> Altered:
    def altered(clip_s: float, seen: Bytes) -> Bytes:
        if not start_s <= clip_s < end_s:
            return seen
        rows_s = readout_s * np.arange(len(seen)) / len(seen)
        gain = (1 + swing * np.cos(2 * np.pi * 2 * hertz * (clip_s + rows_s))) ** 0.45
        return np.clip(seen * gain[:, None, None] + 0.5, 0, 255).astype(np.uint8)

    return altered


def _bump(at_s: float, size: float) -> Altered:
    def altered(clip_s: float, seen: Bytes) -> Bytes:
        after = clip_s - at_s
        if not 0 < after < 2:
            return seen
        swing = size * len(seen) * np.exp(-after / 0.2) * np.sin(2 * np.pi * 4.5 * after)
        pad = len(seen) // 5
        wide = np.pad(seen, ((pad, pad), (pad, pad), (0, 0)), mode="edge")
        moved = Image.fromarray(wide).transform(
            (seen.shape[1], len(seen)),
            Image.Transform.AFFINE,
            (1, 0, pad + 0.5 * swing, 0, 1, pad + swing),
            Image.Resampling.BILINEAR,
        )
        return np.asarray(moved)

    return altered


COPIES = (
    Copy("fiddle/soft.MP4", "fiddle/G0018.MOV", 30, Fault("soft", 12, 17), _soft(0.016, 12, 17)),
    Copy("accordion/black.MP4", "accordion/B0004.MP4", 30, Fault("black", 10, 13), _black(10, 13)),
    Copy("drums/over.MP4", "drums/P0230.MP4", 30, Fault("over", 0, 30), _stops(2.0)),
    Copy(
        "bass/flicker.MP4",
        "bass/O0009.MP4",
        40,
        Fault("flicker", 14, 26),
        _mains(50, 0.06, 0.012, 14, 26),
    ),
    Copy("safety/bump.MP4", "safety/Q0041.MP4", 30, Fault("bump", 15, 15.5), _bump(15, 0.05)),
    Copy(
        "roaming/frozen.MP4",
        "roaming/T0113.MOV",
        30,
        Fault("frozen", 480 * 1001 / 24000, 528 * 1001 / 24000),
        frozen=(480, 528),
    ),
    Copy(
        "roaming/dropped.MP4",
        "roaming/T0112.MOV",
        30,
        Fault("dropped", 300 * 1001 / 24000, 304 * 1001 / 24000),
        missing=(300, 301, 302, 303),
    ),
)


def make(copy: Copy, folder: Path) -> Path:
    """Write one copy into a folder."""
    path = folder / copy.file
    path.parent.mkdir(parents=True, exist_ok=True)
    with open_video(CLIPS / copy.source) as video:
        rate = Fraction(video.stream.average_rate or 25).limit_denominator(1001)

    def frames() -> Iterator[Bytes]:
        held: Bytes | None = None
        with open_video(CLIPS / copy.source) as video:
            for number, frame in enumerate(decode(video)):
                clip_s = float(number / rate)
                if clip_s >= copy.end_s:
                    return
                seen = upright(frame, video.stream.sample_aspect_ratio, frame.height)
                if copy.frozen is not None and copy.frozen[0] <= number < copy.frozen[1]:
                    held = seen if held is None else held
                    seen = held
                yield seen if copy.altered is None else copy.altered(clip_s, seen)

    return encode(path, frames(), rate, missing=copy.missing)
