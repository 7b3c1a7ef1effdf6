"""The frame a clip shows at a given time, as an image: upright, with square pixels."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.video.reformatter import Colorspace, Interpolation, VideoReformatter
from numpy.typing import NDArray

from audio.files.frame_reader import FrameReader, open_video

Picture = NDArray[np.uint8]

_HIGH_LINES = 720
"""Lines from which untagged pictures are taken as high definition (ITU-R BT.709); common practice."""
_UNSPECIFIED = 2
"""The library's value for a colour space that is not tagged (ITU-T H.273)."""


def pictures_at(path: Path, times: Sequence[float], height: int, *, exact: bool = True) -> list[Picture]:
    """The frames shown at several clip times in seconds, one for each, RGB, shape (height, width, 3).

    A time shows the last frame that starts at or before it; the first frame before its start, the last after
    the end. The clip is opened once and rising times are decoded in one pass. Without ``exact`` a key frame
    before the time, usually the nearest, is enough, which is faster. Raises Unreadable.
    """
    with open_video(path) as video:
        reader = FrameReader(video, exact=exact)
        shape = video.stream.sample_aspect_ratio
        return [upright(reader.frame_at(clip_s), shape, height) for clip_s in times]


def upright(
    frame: av.VideoFrame,
    pixel_shape: Fraction | None,
    height: int,
    scaler: VideoReformatter | None = None,
) -> Picture:
    """A decoded frame as RGB, shape (height, width, 3): rotated as the file says, square pixels, scaled.

    ``pixel_shape`` is the pixel aspect ratio (width / height; None is square). A ``scaler`` that is kept from
    frame to frame saves setting one up for each.
    """
    return scaled(frame, Stored.of(frame, pixel_shape, height), scaler or VideoReformatter())


@dataclass(frozen=True, slots=True)
class Stored:
    """How a frame is scaled as it is stored, and how often it is then turned by 90° to be upright."""

    width: int
    lines: int
    quarters: int

    @classmethod
    def of(cls, frame: av.VideoFrame, pixel_shape: Fraction | None, height: int) -> "Stored":
        """For pictures of a height; see `upright`."""
        quarters = round(frame.rotation / 90) % 4
        shown = frame.width * (pixel_shape or Fraction(1)), Fraction(frame.height)
        scale = height / shown[1 - quarters % 2]
        width, lines = (max(1, round(one * scale)) for one in shown)
        return cls(width, lines, quarters)


def scaled(
    frame: av.VideoFrame,
    stored: Stored,
    scaler: VideoReformatter,
    *,
    grey: bool = False,
    threads: int | None = None,
) -> Picture:
    """A frame upright and scaled: RGB of shape (height, width, 3), or luma alone of (height, width).

    For small pictures one thread is best: sharing them out takes longer than scaling them.
    """
    # Untagged high-definition pictures use the colours of ITU-R BT.709.
    high = frame.colorspace == _UNSPECIFIED and frame.height >= _HIGH_LINES
    small = scaler.reformat(
        frame,
        width=stored.width,
        height=stored.lines,
        format="gray" if grey else "rgb24",
        src_colorspace=Colorspace.ITU709 if high else None,
        interpolation=Interpolation.AREA if stored.lines < frame.height else Interpolation.BILINEAR,
        threads=threads,
    )
    return np.ascontiguousarray(np.rot90(small.to_ndarray(), stored.quarters))
