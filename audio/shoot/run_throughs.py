"""Which takes may be of one run-through, by the clocks that files were recorded with.

Clocks of cameras are off by minutes and hours, each by an offset of its own. But every placed take fixes
when, on its camera's clock, the song began. Between two cameras that filmed the same run-throughs these
moments differ by one offset, again and again. That is a hint which clips to compare, and nothing more.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations

from audio.files.media import MediaInfo
from audio.files.media_tags import timecode_frames
from audio.line import Line
from audio.placement.answer import Placement, PlaceVerdict
from audio.shoot.cameras import cameras

SAME_OFFSET_S = 2.5
"""Offsets closer than this are one: both cameras write whole seconds, and their clocks drift apart in a day.
Chosen by hand."""
LEAST_RUN_THROUGHS = 3
"""So many run-throughs must show the same offset, or half of all that there can be. Chosen by hand."""


@dataclass(frozen=True, slots=True)
class Answered:
    """A file and the engine's answer on it."""

    info: MediaInfo
    placement: Placement


@dataclass(frozen=True, slots=True)
class TogetherHint:
    """Two takes that were recorded at one time, if the cameras' clocks are right."""

    one: tuple[int, int]
    other: tuple[int, int]
    """Index of the clip, index of the take."""
    apart_s: float
    """How much later in the song the placements have the first take, against the second, than the clocks do:
    about 0 where all is well."""
    shared_s: float
    """How long both recorded at once (s)."""
    times: int
    """How many run-throughs show the offset of the two clocks; one alone proves nothing."""


def together(clips: Sequence[Answered]) -> tuple[TogetherHint, ...]:
    """Find the takes of different cameras that seem to have been recorded at one time.

    Returns
    -------
    tuple of TogetherHint
        Longest together first; empty where no clock can be made out.
    """
    groups = cameras([clip.info for clip in clips])
    out: list[TogetherHint] = []
    for one, other in combinations(groups, 2):
        # Time of recording may be that of the start or of the end; timecode may stand still between takes.
        kinds = [
            (first, second)
            for first in _KINDS
            for second in _KINDS
            if (first == "timecode") == (second == "timecode")
        ]
        found = [_between(clips, one, other, first, second) for first, second in kinds]
        _, hints = max(found, key=lambda result: result[0])
        out.extend(hints)
    return tuple(sorted(out, key=lambda hint: -hint.shared_s))


_KINDS = ("timecode", "created at start", "created at end")


@dataclass(frozen=True, slots=True)
class _TimedTake:
    """A take on its camera's clock."""

    number: tuple[int, int]
    """Index of the clip, index of the take."""
    is_placed: bool
    line: Line
    """On camera time, anchored at the take's start."""
    end_s: float
    """Camera time at which it ends (s)."""

    @property
    def start_s(self) -> float:
        """Camera time at which it starts (s)."""
        return self.line.clip_s

    @property
    def song_began_s(self) -> float:
        """Camera time at which the song began (s)."""
        return self.line.clip_time(0.0)


def _between(
    clips: Sequence[Answered], one: Sequence[int], other: Sequence[int], first: str, second: str
) -> tuple[int, list[TogetherHint]]:
    """How many run-throughs show the commonest offset of two cameras' clocks, and the hints by it."""
    here, there = _timed_takes(clips, one, first), _timed_takes(clips, other, second)
    placed_here, placed_there = (
        [piece.song_began_s for piece in pieces if piece.is_placed] for pieces in (here, there)
    )
    offsets = sorted(a - b for a in placed_here for b in placed_there)
    best: list[float] = []
    for number, low in enumerate(offsets):
        near = [value for value in offsets[number:] if value <= low + SAME_OFFSET_S]
        if len(near) > len(best):
            best = near
    possible = min(len(placed_here), len(placed_there))
    if len(best) < min(LEAST_RUN_THROUGHS, max(1, (possible + 1) // 2)):
        return 0, []
    apart = best[len(best) // 2]
    hints = []
    for a in here:
        for b in there:
            shared = min(a.end_s, b.end_s + apart) - max(a.start_s, b.start_s + apart)
            if shared > 2 * SAME_OFFSET_S:
                off = b.song_began_s + apart - a.song_began_s
                hints.append(TogetherHint(a.number, b.number, off, shared, len(best)))
    return len(best), hints


def _timed_takes(clips: Sequence[Answered], numbers: Sequence[int], kind: str) -> list[_TimedTake]:
    out = []
    for number in numbers:
        begun = _recorded_s(clips[number].info, kind)
        if begun is not None:
            for position, take in enumerate(clips[number].placement.takes):
                placed = take.verdict is PlaceVerdict.PLACED
                line = take.line.delayed(begun)
                out.append(_TimedTake((number, position), placed, line, begun + take.clip_end_s))
    return out


def _recorded_s(info: MediaInfo, kind: str) -> float | None:
    """Camera time of a file's time 0 (s from a fixed moment); None where the file does not say."""
    if kind == "timecode":
        if info.time_reference is not None and info.sound_rate:
            return info.time_reference / info.sound_rate
        if info.start_timecode is None or info.frame_rate is None:
            return None
        frames = timecode_frames(info.start_timecode, info.frame_rate)
        return None if frames is None else float(frames / info.frame_rate)
    if info.created is None:
        return None
    try:
        created = datetime.fromisoformat(info.created)
    except ValueError:
        return None
    # Clocks without a time zone are compared as they stand: the offset absorbs it.
    seconds = (created.replace(tzinfo=None) - datetime(2000, 1, 1)).total_seconds()
    return seconds if kind == "created at start" else seconds - info.duration_s
