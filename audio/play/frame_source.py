"""A clip that is kept open for viewing: the frame shown at any clip time, and how long it is shown."""

from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import av

from audio.files.frame_images import Picture, upright
from audio.files.frame_reader import FrameReader, open_video


@dataclass(frozen=True, slots=True, eq=False)
class ShownFrame:
    """A frame of a clip and when it is shown."""

    start_s: float
    """Clip time in seconds."""
    end_s: float
    """Clip time in seconds at which the next frame starts; infinity for the last."""
    picture: Picture


class FrameSource:
    """An open clip, for one thread at a time. Raises Unreadable where it has no picture."""

    def __init__(self, path: Path) -> None:
        self._open = ExitStack()
        self._video = self._open.enter_context(open_video(path))
        self._reader = FrameReader(self._video, exact=True)
        self._scaler = av.video.reformatter.VideoReformatter()

    def at(self, clip_s: float, height: int) -> ShownFrame:
        """The frame shown at ``clip_s`` (seconds), scaled to ``height`` lines. Raises Unreadable."""
        frame = self._reader.frame_at(clip_s)
        following = self._reader.following
        start_s = self._clip_s(frame.pts)
        return ShownFrame(
            min(start_s, clip_s),
            self._clip_s(None if following is None else following.pts),
            upright(frame, self._video.stream.sample_aspect_ratio, height, self._scaler),
        )

    def close(self) -> None:
        """Close the file."""
        self._open.close()

    def _clip_s(self, stamp: int | None) -> float:
        found = None if stamp is None else self._video.clip_s(stamp)
        return float("inf") if found is None else float(found)
