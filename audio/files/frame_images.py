"""The picture a clip shows at a moment, upright and in its true shape."""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.video.reformatter import Colorspace, Interpolation, VideoReformatter
from numpy.typing import NDArray

from audio.files.frame_reader import Reel, open_footage

Picture = NDArray[np.uint8]

_HIGH_LINES = 720
_UNTOLD = 2


def picture_at(path: Path, clip_s: float, height: int) -> Picture:
    """The picture shown at a moment of the clip as RGB, shape (height, width, 3). Raises Unreadable."""
    return pictures_at(path, [clip_s], height)[0]


def pictures_at(path: Path, times: Sequence[float], height: int, *, exact: bool = True) -> list[Picture]:
    """The pictures shown at several moments of a clip, one for each, RGB, shape (height, width, 3).

    A moment shows the last frame that starts at or before it; before the first frame the first stands, and
    after the end the last. The clip is opened once, and rising times are met in one run. With ``exact`` off
    a key frame before the moment will do, as a rule the nearest, which is quicker. Raises Unreadable.
    """
    with open_footage(path) as footage:
        reel = Reel(footage, exact=exact)
        shape = footage.stream.sample_aspect_ratio
        return [upright(reel.frame_at(clip_s), shape, height) for clip_s in times]


def upright(
    frame: av.VideoFrame,
    pixel_shape: Fraction | None,
    height: int,
    scaler: VideoReformatter | None = None,
) -> Picture:
    """A decoded frame as RGB, shape (height, width, 3): turned as the file says, pixels square, scaled.

    A ``scaler`` of one's own, kept from frame to frame, saves setting it up for each.
    """
    quarters = round(frame.rotation / 90) % 4
    shown = frame.width * (pixel_shape or Fraction(1)), Fraction(frame.height)
    scale = height / shown[1 - quarters % 2]
    width, lines = (max(1, round(one * scale)) for one in shown)
    # High-definition pictures that do not tell their colours use those of ITU-R BT.709.
    high = frame.colorspace == _UNTOLD and frame.height >= _HIGH_LINES
    small = (scaler or VideoReformatter()).reformat(
        frame,
        width=width,
        height=lines,
        format="rgb24",
        src_colorspace=Colorspace.ITU709 if high else None,
        interpolation=Interpolation.AREA if lines < frame.height else Interpolation.BILINEAR,
    )
    return np.ascontiguousarray(np.rot90(small.to_ndarray(), quarters))
