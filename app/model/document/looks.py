"""What the pictures of clips tell. Only the engine writes here; what a person makes of it are marks."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Measure:
    """A figure that pictures gave."""

    name: str
    """What was measured, such as ``blocked``; see `audio.pictures`."""
    value: float


@dataclass(frozen=True, slots=True)
class Look:
    """What looking at a clip gave."""

    clip_id: str
    digest: str
    """The file that was looked at: what was seen in another one says nothing of this one."""
    group: str = ""
    """A word that clips of one set-up share; empty where the pictures tell of none."""
    sure: float = 0.0
    """How likely it is that the clip belongs to its group, from 0 to 1."""
    measures: tuple[Measure, ...] = ()


@dataclass(frozen=True, slots=True)
class Match:
    """What brings a take near the reference take: an ASC CDL, and how far the two sit apart."""

    clip_id: str
    clip_start_s: float
    clip_end_s: float
    """The take's stretch of the clip as it was when they were compared (clip clock)."""
    reference_clip_id: str
    reference_start_s: float
    reference_end_s: float
    """The reference take's stretch (its clip's clock)."""
    slope: tuple[float, ...]
    """For red, green and blue."""
    offset: tuple[float, ...]
    power: tuple[float, ...]
    saturation: float
    stops: float
    """The take is so many stops brighter than the reference, before the match."""
    warm: float
    """How much warmer it is than the reference: ratio of red to blue against the reference's, in stops."""
    green: float
    """How much greener: ratio of green to the mean of red and blue against the reference's, in stops."""
    stops_after: float
    warm_after: float
    green_after: float
    """The same after the match."""
    transfer: str = ""
    """The transfer function by which pictures were made linear; empty where it is not known."""
    doubts: tuple[str, ...] = ()
    """Why the match must not be trusted, as words such as ``clipped``; see `audio.pictures`."""
    uncertainty: float = 0.0
    """Standard error of the distance before the match, in stops."""
