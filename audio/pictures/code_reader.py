"""Slate codes in a clip: a few pictures are looked at, and where one shows a code, every frame around it."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import zxingcpp
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.files.frame_reader import open_video
from audio.files.luma_frames import Luma, frames_between, key_frames
from audio.pictures.slate_code import SlateCode, decode
from audio.progress import never, no_progress

LINES = 1080
"""Lines at which pictures are looked at: a code a sixth as high still has five of them to a module."""
LOOK_S = 0.5
"""Seconds from look to look: a slate held for two seconds is met four times."""
MOST_LOOKS = 400
SOUND_LOOKS_S = (0.5, 1.5, 2.5, 4.0, 6.0, 9.0)
"""Where a clip with sound is looked at: slates come first, and its sound will do without one."""
SPARSE_S = 1.0
"""Where key frames lie further apart than this, frames between them are looked at too …"""
SPARSE_MOST_S = 120.0
"""… as far as this from the clip's start, in seconds."""
APART_S = 5.0
"""Seconds without a code that part one showing of the slate from the next."""
MOST_SHOWINGS = 6
MOST_FRAMES = 600
"""Frames read at either end of a showing; in a longer one, those between tell nothing more."""
_ROOM = 0.6
"""How far around the last code the next is looked for, in its own widths."""
_LOST = 3
"""Frames without a code from one search of the whole picture to the next."""

Box = tuple[int, int, int, int]
"""Top, bottom, left and right, in pixels."""


@dataclass(frozen=True, slots=True)
class FrameRead:
    """One frame of a stretch that was read frame by frame."""

    clip_s: float
    """Clip time at which the frame starts."""
    code: SlateCode | None
    """What it shows; None where nothing could be read, as in a blend of two codes."""


def codes_of(
    path: Path,
    duration_s: float,
    *,
    thorough: bool = True,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> tuple[FrameRead, ...]:
    """Read the slate codes of a clip of this length (s); empty where it shows none.

    ``thorough`` looks at the whole clip, twice a second; else only at six pictures near its start. Frames
    are given in order; where two follow each other in the answer but not in the clip, other frames lie
    between. Raises Unreadable, Stopped.
    """
    found = sorted(_looked(path, duration_s, thorough, stop, lambda fraction: progress(0.7 * fraction)))
    reads: dict[float, FrameRead] = {}
    for begin_s, end_s in _showings(found)[:MOST_SHOWINGS]:
        for read in _showing(path, begin_s, end_s, stop):
            reads[read.clip_s] = read
    progress(1.0)
    return tuple(reads[clip_s] for clip_s in sorted(reads))


def codes_in(luma: Luma) -> list[tuple[SlateCode, Box]]:
    """The slate codes in one picture, shape (height, width), with where they are; others are passed over."""
    out = []
    # Made each time: one that is kept is told of as a leak when a worker ends.
    formats = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
    for found in zxingcpp.read_barcodes(luma, formats=formats):
        code = decode(found.text)
        if code is not None:
            place = found.position
            corners = (place.top_left, place.top_right, place.bottom_right, place.bottom_left)
            rows, columns = [corner.y for corner in corners], [corner.x for corner in corners]
            out.append((code, (min(rows), max(rows), min(columns), max(columns))))
    return out


def read_frames(frames: Iterable[tuple[float, Luma]]) -> Iterator[FrameRead]:
    """Read consecutive frames (clip time in s, picture); the code is looked for where it was last."""
    box: Box | None = None
    lost = 0
    for clip_s, luma in frames:
        found = [] if box is None else _near(luma, box)
        # Searching a whole picture for what is not in it takes longest.
        if not found and lost % _LOST == (0 if box is None else _LOST - 1):
            found = codes_in(luma)
        lost = 0 if found else lost + 1
        if found:
            box = found[0][1]
        # Two screens in one picture may show two times: then neither is believed.
        said = {code for code, _ in found}
        yield FrameRead(clip_s, said.pop() if len(said) == 1 else None)


def _near(luma: Luma, box: Box) -> list[tuple[SlateCode, Box]]:
    top, bottom, left, right = box
    room = round(_ROOM * max(bottom - top, right - left))
    first, begin = max(0, top - room), max(0, left - room)
    part: NDArray[np.uint8] = np.ascontiguousarray(luma[first : bottom + room, begin : right + room])
    return [
        (code, (up + first, down + first, start + begin, end + begin))
        for code, (up, down, start, end) in codes_in(part)
    ]


def _looked(
    path: Path,
    duration_s: float,
    thorough: bool,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> list[float]:
    """Clip times (s) of the pictures looked at that show a code."""
    times: Sequence[float] = [at_s for at_s in SOUND_LOOKS_S if at_s < duration_s]
    if thorough:
        times = np.arange(0.0, max(duration_s, LOOK_S), max(LOOK_S, duration_s / MOST_LOOKS)).tolist()
    found, seen = [], [0.0]

    def look(clip_s: float, luma: Luma) -> None:
        if stop():
            raise Stopped("Stopped.")
        if codes_in(luma):
            found.append(clip_s)
        progress(min(clip_s / max(duration_s, LOOK_S), 1.0))

    with open_video(path) as video:
        for clip_s, luma in key_frames(video, times, LINES):
            seen.append(clip_s)
            look(clip_s, luma)
    if thorough:
        seen.append(duration_s)
        gaps = [(a, b) for a, b in pairwise(seen) if b - a > SPARSE_S and a < SPARSE_MOST_S]
        if gaps:
            with open_video(path) as video:
                for begin_s, end_s in gaps:
                    begin_s, end_s = begin_s + LOOK_S, min(end_s, SPARSE_MOST_S)
                    for clip_s, luma in frames_between(video, begin_s, end_s, LINES, every_s=LOOK_S):
                        look(clip_s, luma)
    return found


def _showings(found: Sequence[float]) -> list[tuple[float, float]]:
    """First and last moment (s) of each stretch in which codes are near each other."""
    out: list[tuple[float, float]] = []
    for clip_s in found:
        if out and clip_s - out[-1][1] <= APART_S:
            out[-1] = out[-1][0], clip_s
        else:
            out.append((clip_s, clip_s))
    return out


def _showing(path: Path, begin_s: float, end_s: float, stop: Callable[[], bool]) -> list[FrameRead]:
    """Every frame from the first of a showing to its last; of a long one, those at both ends."""

    def stretch(from_s: float, to_s: float) -> Iterator[tuple[float, Luma]]:
        with open_video(path) as video:
            for one in frames_between(video, from_s, to_s, LINES):
                if stop():
                    raise Stopped("Stopped.")
                yield one

    # Further than this on both sides a picture was looked at that has no code.
    from_s, to_s = max(0.0, begin_s - SPARSE_S), end_s + SPARSE_S
    out = []
    for read in read_frames(stretch(from_s, to_s)):
        out.append(read)
        if len(out) >= MOST_FRAMES:
            break
    else:
        return out
    step_s = (out[-1].clip_s - out[0].clip_s) / (len(out) - 1)
    tail_s = max(out[-1].clip_s + step_s / 2, to_s - MOST_FRAMES * step_s)
    return out + list(read_frames(stretch(tail_s, to_s)))
