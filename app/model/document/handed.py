"""What was handed off last, frame by frame, so that the next hand-off can tell what moved since."""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class HandedTake:
    """Where a take lay in the timeline."""

    clip_id: str
    clip_start_s: float
    clip_end_s: float
    first_frame: int
    """Of the timeline, counted from its first one."""
    frames: int


@dataclass(frozen=True, slots=True)
class Handed:
    """The last hand-off of a song; the next one takes its place."""

    song_id: str
    song_digest: str
    frame_rate: Fraction
    at: str
    """UTC, ISO 8601."""
    takes: tuple[HandedTake, ...] = ()
