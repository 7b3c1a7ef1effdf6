"""Stretches of clips that are spoilt, or to be used if possible."""

from dataclasses import dataclass
from enum import StrEnum


class MarkKind(StrEnum):
    """What a mark says of a stretch."""

    FAULT = "fault"
    """Not usable."""
    KEEPER = "keeper"
    """To be used if possible."""


class FaultReason(StrEnum):
    """Why a stretch is not usable; OTHER (and a keeper) says why in words."""

    FOCUS = "focus"
    FRAMING = "framing"
    BUMP = "bump"
    LIGHT = "light"
    PERFORMANCE = "performance"
    SOMEONE_IN_SHOT = "someone in shot"
    OTHER = "other"


class MarkState(StrEnum):
    """Whether a mark counts."""

    PROPOSED = "proposed"
    """A check proposes it; it does not count until a person accepts it."""
    SET = "set"
    """A person set or accepted it."""
    DISMISSED = "dismissed"
    """A person dismissed the proposal; it is kept so that it is not made again."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A stretch of a clip, in clip time, that is marked."""

    id: str
    clip_id: str
    kind: MarkKind
    clip_start_s: float
    clip_end_s: float
    reason: FaultReason = FaultReason.OTHER
    words: str = ""
    """The reason in free words."""
    by: str = ""
    """Who says so: empty for a person, else the name of the check that proposed it."""
    state: MarkState = MarkState.SET
    measure: float | None = None
    """The figure on which the check proposed it; None for a person's own."""
