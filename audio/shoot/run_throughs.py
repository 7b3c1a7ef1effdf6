"""Which takes may be of one run-through, by the clocks that files were recorded with.

Clocks of cameras are off by minutes and hours, each by an amount of its own. But every placed take tells
when, on its camera's clock, the song began; between two cameras that filmed the same run-throughs these
moments differ by the same amount again and again. That is a hint where to listen, and nothing more.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations

from audio.files.media import MediaInfo
from audio.files.media_tags import timecode_frames
from audio.placement.align import Placement, PlaceVerdict, TakeFit
from audio.shoot.cameras import cameras

SECONDS = 2.5
"""Times of recording are told in whole seconds, at both cameras, by clocks that run apart in a day."""
AGAIN = 3
"""So many run-throughs must show the same difference, or half of all that there can be."""


@dataclass(frozen=True, slots=True)
class Answered:
    """A file and the answer on it."""

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
    """For how long both ran."""
    times: int
    """How many run-throughs show the difference of the two clocks; with one, nothing speaks for it but that
    one."""


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
class _Stretch:
    """A take on its camera's clock (s)."""

    place: tuple[int, int]
    take: TakeFit
    start_s: float
    end_s: float

    @property
    def song_s(self) -> float:
        """When the song began."""
        return self.start_s - self.take.song_start_s / self.take.speed


def _between(
    clips: Sequence[Answered], one: Sequence[int], other: Sequence[int], first: str, second: str
) -> tuple[int, list[TogetherHint]]:
    """How many run-throughs show the best difference of two cameras' clocks, and the hints by it."""
    here, there = _stretches(clips, one, first), _stretches(clips, other, second)
    placed_here, placed_there = (
        [piece.song_s for piece in pieces if piece.take.verdict is PlaceVerdict.PLACED]
        for pieces in (here, there)
    )
    differences = sorted(a - b for a in placed_here for b in placed_there)
    best: list[float] = []
    for number, low in enumerate(differences):
        near = [value for value in differences[number:] if value <= low + SECONDS]
        if len(near) > len(best):
            best = near
    possible = min(len(placed_here), len(placed_there))
    if len(best) < min(AGAIN, max(1, (possible + 1) // 2)):
        return 0, []
    apart = best[len(best) // 2]
    hints = []
    for a in here:
        for b in there:
            shared = min(a.end_s, b.end_s + apart) - max(a.start_s, b.start_s + apart)
            if shared > 2 * SECONDS:
                off = b.song_s + apart - a.song_s
                hints.append(TogetherHint(a.place, b.place, off, shared, len(best)))
    return len(best), hints


def _stretches(clips: Sequence[Answered], numbers: Sequence[int], kind: str) -> list[_Stretch]:
    out = []
    for number in numbers:
        begun = _recorded_s(clips[number].info, kind)
        if begun is not None:
            for place, take in enumerate(clips[number].placement.takes):
                out.append(
                    _Stretch((number, place), take, begun + take.clip_start_s, begun + take.clip_end_s)
                )
    return out


def _recorded_s(info: MediaInfo, kind: str) -> float | None:
    """When a file's time 0 was, on its camera's clock (s from some moment)."""
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
        told = datetime.fromisoformat(info.created)
    except ValueError:
        return None
    # Clocks that tell no zone are compared as they stand: the difference takes it up.
    seconds = (told.replace(tzinfo=None) - datetime(2000, 1, 1)).total_seconds()
    return seconds if kind == "created at start" else seconds - info.duration_s
