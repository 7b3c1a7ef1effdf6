"""The pictures of a clip that are looked at: all of a small clip, of a large one a few a second.

Faults in time (flicker, a bump, repeated frames) need consecutive frames; everything else does with far
fewer. So a clip that costs much to decode is read from key frame to key frame, with short bursts of
consecutive frames between.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.video.reformatter import VideoReformatter
from numpy.typing import NDArray

from audio.errors import Stopped, Unreadable
from audio.files.frame_images import Stored, scaled
from audio.files.frame_reader import VideoSource, decode, open_video
from audio.files.key_frames import KeyFrames, frame_stamps
from audio.progress import never

HEIGHT = 72
"""Lines of a picture that is looked at; chosen by hand, enough to tell a set-up and a knock by."""
FINE_LINES = 600
"""A picture looked at closely has no more lines than this: a whole part of the lines that it was stored with,
so that every pixel stands for as many of them."""
FINE_STEP_S = 0.5
"""Pictures are looked at closely about so far apart: focus changes no faster, and it costs most."""
COLOUR_STEP_S = 2.0
"""Pictures in colour are about so far apart."""
WHOLE_PIXELS = 1_500_000_000
"""A clip of no more pixels in all its frames is decoded whole: a few seconds of one core."""
WHOLE_FRAMES = 12_000
"""A clip of more frames is not decoded whole, so that what is kept of each stays small: eight minutes."""
STEP_S = 0.5
"""Key frames no closer than this are read of a large clip; chosen by hand."""
BURST_S = 2.0
"""Length of a stretch of consecutive frames in a large clip: a tenth of a hertz of mains flicker is seen."""
BURST_EVERY_S = 20.0
"""From one such stretch to the next; chosen by hand, for a tenth of the cost of all frames."""
MOST_PIXELS = 150_000_000
"""Pixels of a frame beyond which it is not decoded: a frame of 12K has 80 million."""
MOST_STRETCHED = 12.0
"""Longer side by shorter side beyond which a picture is taken for damaged; chosen by hand."""


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """One picture of a clip: upright, square pixels, full range, with the file's transfer function."""

    clip_s: float
    luma: NDArray[np.uint8]
    """Shape (height, width)."""
    run: int
    """Pictures of consecutive frames share it; it rises after every jump."""
    rgb: NDArray[np.uint8] | None = None
    """Shape (height, width, 3); one about every `COLOUR_STEP_S`."""
    fine: NDArray[np.uint8] | None = None
    """Luma in up to `FINE_LINES` lines; one about every `FINE_STEP_S`."""


def pictures_of(path: Path, *, height: int = HEIGHT, stop: Callable[[], bool] = never) -> Iterator[Picture]:
    """The pictures of a clip to be looked at, in rising clip time; all have one shape.

    Raises Unreadable (also where there is only sound) and Stopped.
    """
    with open_video(path) as video:
        taken = _Taken(video, height)
        for frame, run in frames_of(video):
            if stop():
                raise Stopped("Looking at the clip was stopped.")
            picture = taken.picture(frame, run)
            if picture is not None:
                yield picture
        if taken.shape is None:
            raise video.broken()


def stamps_of(path: Path, *, stop: Callable[[], bool] = never) -> NDArray[np.float64]:
    """Clip time in seconds of every frame shown, rising, shape (n,); nothing is decoded.

    Raises Unreadable and Stopped.
    """
    stamps = []
    with open_video(path) as video:
        for stamp in frame_stamps(video):
            if stop():
                raise Stopped("Looking at the clip was stopped.")
            stamps.append(stamp)
    return np.sort(np.array(stamps, np.float64))


class _Clock:
    """Clip times of stamps, as `VideoSource.clip_s` has them, in whole numbers.

    Steps in fractions take as long as a small picture.
    """

    def __init__(self, video: VideoSource) -> None:
        self._spans: list[tuple[Fraction | None, int, int, int]] = []
        for part in video.parts:
            shift = part.shift_s - video.start_s
            below = video.base.denominator * shift.denominator
            ends = None if part.end_s is None else part.end_s / video.base
            times, more = video.base.numerator * shift.denominator, shift.numerator * video.base.denominator
            self._spans.append((ends, times, more, below))

    def clip_s(self, stamp: int) -> float | None:
        """In seconds; None after the end of what is shown."""
        for ends, times, more, below in self._spans:
            if ends is None or stamp < ends:
                return (stamp * times + more) / below
        return None


class _Taken:
    """Makes pictures of frames."""

    def __init__(self, video: VideoSource, height: int) -> None:
        self._video, self._height = video, height
        # A scaler sets itself up anew whenever it is asked for something else.
        self._luma, self._colour, self._closely = (VideoReformatter() for _ in range(3))
        self._clock = _Clock(video)
        self._last_s = -1.0
        self._colour_s = self._fine_s = -np.inf
        self._skipped = 0
        self._stored: dict[tuple[int, int, int], tuple[Stored, Stored]] = {}
        self.shape: tuple[int, ...] | None = None
        """Of the pictures so far."""

    def picture(self, frame: av.VideoFrame, run: int) -> Picture | None:
        """The picture of a frame; None where it is not shown, came before, or has another shape."""
        at_s = None if frame.pts is None else self._clock.clip_s(frame.pts)
        if at_s is None or at_s < 0 or at_s <= self._last_s or frame.is_corrupt:
            self._skipped += 1
            return None
        stored, closely = self._sizes(frame)
        luma = scaled(frame, stored, self._luma, grey=True, threads=1)
        self.shape = self.shape or luma.shape
        if luma.shape != self.shape:
            self._skipped += 1
            return None
        self._last_s = now_s = at_s
        rgb = fine = None
        if now_s >= self._colour_s + COLOUR_STEP_S:
            self._colour_s, rgb = now_s, scaled(frame, stored, self._colour, threads=1)
        if now_s >= self._fine_s + FINE_STEP_S:
            self._fine_s, fine = now_s, scaled(frame, closely, self._closely, grey=True, threads=1)
        return Picture(now_s, luma, run + self._skipped, rgb, fine)

    def _sizes(self, frame: av.VideoFrame) -> tuple[Stored, Stored]:
        """How a frame becomes a small and a fine picture."""
        key = frame.width, frame.height, frame.rotation
        if key not in self._stored:
            check_size(frame.width, frame.height, self._video)
            shape = self._video.stream.sample_aspect_ratio
            shown = Stored.of(frame, shape, self._height)
            lines = frame.width if shown.quarters % 2 else frame.height
            self._stored[key] = shown, Stored.of(frame, shape, lines // -(-lines // FINE_LINES))
        return self._stored[key]


def check_size(width: int, height: int, video: VideoSource) -> None:
    """Refuse frames of absurd size or shape, which may be damage or malice. Raises Unreadable."""
    shown = width * float(video.stream.sample_aspect_ratio or 1)
    if width * height > MOST_PIXELS:
        raise Unreadable(
            f"Its pictures are {width} × {height} pixels, too large to look at: convert a copy to a "
            "smaller size."
        )
    if not 1 / MOST_STRETCHED <= shown / max(height, 1) <= MOST_STRETCHED:
        raise Unreadable(
            f"Its pictures are {shown:.0f} × {height} pixels, which is no usual shape: "
            "check that the clip plays, or copy it again from the card."
        )


def frames_of(video: VideoSource) -> Iterator[tuple[av.VideoFrame, int]]:
    """The frames to be looked at with their runs."""
    stream = video.stream
    check_size(stream.width, stream.height, video)
    length_s = _length_s(video)
    count = stream.frames or length_s * float(stream.average_rate or 25)
    if length_s <= 0 or (count <= WHOLE_FRAMES and count * stream.width * stream.height <= WHOLE_PIXELS):
        stream.codec_context.thread_count = 1
        yield from ((frame, 0) for frame in decode(video))
        return
    yield from _sparse(video, length_s)


def _sparse(video: VideoSource, length_s: float) -> Iterator[tuple[av.VideoFrame, int]]:
    keys = KeyFrames(video)
    run, target_s, burst_s = 0, 0.0, BURST_EVERY_S / 2
    last_s = -1.0
    while target_s < length_s:
        at_s = keys.go(target_s)
        if at_s is None:
            return
        if at_s <= last_s:  # a container that leads backwards
            target_s += STEP_S
            continue
        run += 1
        last_s = at_s
        if at_s >= burst_s:
            for frame in keys.onward():
                clip_s = None if frame.pts is None else video.clip_s(frame.pts)
                if clip_s is None or clip_s >= at_s + BURST_S:
                    break
                if clip_s >= at_s:  # those before the key frame lean on what was not decoded
                    yield frame, run
                    last_s = float(clip_s)
            burst_s = at_s + BURST_EVERY_S
        else:
            frame_alone = keys.alone()
            if frame_alone is not None:
                yield frame_alone, run
        target_s = max(target_s, last_s) + STEP_S


def _length_s(video: VideoSource) -> float:
    """About how long the picture is (s); 0 where nothing tells."""
    if video.stream.duration:
        return float(video.stream.duration * video.base)
    return (video.container.duration or 0) / 1e6
