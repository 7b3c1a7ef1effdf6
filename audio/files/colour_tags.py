"""What a file says of its colours, by the codes of ITU-T H.273."""

from dataclasses import dataclass
from pathlib import Path

import av
from av.video.reformatter import ColorRange

from audio.files.frame_reader import decode, open_video

_UNTAGGED = 2
_SAYS_NOTHING = (0, _UNTAGGED, 3)
"""Codes that are reserved, and the one for "unspecified"."""


@dataclass(frozen=True, slots=True)
class ColourTags:
    """The tags of a picture."""

    transfer: int
    """Transfer characteristics (table 3); 2 where the file does not say."""
    full_range: bool
    """Whether values use all codes; else black is at code 16 of 255, and white at 235."""


def colour_tags(path: Path) -> ColourTags:
    """The tags of a clip's first picture. Raises Unreadable."""
    with open_video(path) as video:
        frame: av.VideoFrame | None = next(decode(video), None)
        if frame is None:
            raise video.broken()
        full = frame.color_range == ColorRange.JPEG or frame.format.name.startswith("yuvj")
        # The stream's own tag holds where the container alone tells.
        codes = (int(frame.color_trc), int(video.stream.codec_context.color_trc))
        told = next((code for code in codes if code not in _SAYS_NOTHING), _UNTAGGED)
        return ColourTags(told, full)
