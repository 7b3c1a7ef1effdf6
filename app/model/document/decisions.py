"""What people decided about clips and takes. Only people write here.

A decision is anchored by clip and clip time, and names the song and the song file it was made on. So it
stays when clips are placed again, the song is mapped again, files move or another song file comes.
"""

from dataclasses import dataclass
from enum import StrEnum

from app.model.document.findings import TakePlacement


class Decision(StrEnum):
    """Who says that a take lies where it lies."""

    COMPUTED = "computed"
    CONFIRMED = "confirmed"
    BY_HAND = "by hand"


class Action(StrEnum):
    """What a person did to decide where a take lies."""

    CONFIRMED = "confirmed"
    CHOSE_RIVAL = "chose a rival"
    MOVED = "moved"
    SETTLED = "settled"
    """Moved to the nearest good fit."""
    PINNED = "pinned"
    """Placed by moments that belong together."""
    MARKED = "marked"
    """Marked a stretch of a clip as a take of its own."""
    REFUSED = "refused"
    """Said that the song does not run here."""


@dataclass(frozen=True, slots=True)
class Decided:
    """The record of a person's last decision."""

    action: Action
    at: str
    """UTC, ISO 8601 to the second, such as ``2031-05-04T18:20:00Z``."""


@dataclass(frozen=True, slots=True)
class Pin:
    """A moment of a clip that belongs to a moment of the song, as a person said."""

    clip_s: float
    song_s: float


@dataclass(frozen=True, slots=True)
class TakeRecord:
    """A take as a person left it."""

    id: str
    placement: TakePlacement
    decision: Decision = Decision.COMPUTED
    decided: Decided | None = None
    """None where nobody decided: a computed take that was refused, or whose refusal was taken back."""
    pins: tuple[Pin, ...] = ()
    """The moments by which it was placed by hand; none, one or two."""


@dataclass(frozen=True, slots=True)
class TakeDecision:
    """Where a person says that a take lies."""

    clip_id: str
    song_id: str
    song_digest: str
    """The song file that it was decided on."""
    take: TakeRecord


@dataclass(frozen=True, slots=True)
class Refusal:
    """A stretch of a clip of which a person said that the song does not run there."""

    clip_id: str
    song_id: str
    song_digest: str
    """The song file that it was said of."""
    clip_start_s: float
    clip_end_s: float
    at: str
    """UTC, as in `Decided`."""
    take: TakeRecord | None = None
    """The take as it was; None where nobody kept it."""


@dataclass(frozen=True, slots=True)
class ClipRefusal:
    """A clip in which the song does not run, as a person said."""

    clip_id: str
    song_id: str
    song_digest: str
    """The song file that it was said of."""
    decided: Decided | None = None
    """None where an old file kept no record of it."""


@dataclass(frozen=True, slots=True)
class TakeSettings:
    """What a person set on a take, wherever in the song it lies; the defaults where nobody set anything."""

    shift_x: float = 0.0
    shift_y: float = 0.0
    """Where a frame guide lies in the picture: shares of the room there is, from -1 (left, up) to 1."""
    transfer: str = ""
    """The transfer function it was shot with, as in `audio.pictures.transfer`; empty: as the file says."""
    power: bool = False
    saturation: bool = False
    """Whether its match finds power and saturation beside slope and offset."""


@dataclass(frozen=True, slots=True)
class SetTake:
    """The settings of the take that runs through a stretch of a clip."""

    clip_id: str
    clip_start_s: float
    clip_end_s: float
    settings: TakeSettings


@dataclass(frozen=True, slots=True)
class Reference:
    """The take whose pictures all others are compared with: the one through this stretch of a clip."""

    clip_id: str
    clip_start_s: float
    clip_end_s: float


@dataclass(frozen=True, slots=True)
class Decisions:
    """All that people decided about the takes of a shoot."""

    takes: tuple[TakeDecision, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    clip_refusals: tuple[ClipRefusal, ...] = ()
    settings: tuple[SetTake, ...] = ()
    reference: Reference | None = None
