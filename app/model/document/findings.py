"""What the engine found out about clips: one finding for a clip and a song. Only the engine writes here."""

from dataclasses import dataclass

from app.model.document.verdict import Verdict
from app.model.reasons import NO_REASON, Reason
from app.model.song_line import Line


@dataclass(frozen=True, slots=True)
class Rival:
    """Another place in the song where the same take fits about as well."""

    song_start_s: float
    """Where the take's start would lie."""
    strength: float
    """Support relative to the chosen place: 1 is as good, 0 is nothing."""
    as_well: bool = False
    """By its sound the take fits there as well: nothing rules the place out."""
    computed: bool = False
    """It is the place that was found before a person put the take elsewhere."""


@dataclass(frozen=True, slots=True)
class LagPoint:
    """One measured moment of a take: how far it lies off the take's line."""

    clip_s: float
    lag_s: float
    """Measured song time minus the line's song time."""
    strength: float
    """How far the measurement stands out of chance (no unit)."""


@dataclass(frozen=True, slots=True)
class TakePlacement:
    """Where a stretch of a clip runs in the song, how sure that is, and what else it could be."""

    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float = 1.0
    """Seconds of song to a second of clip."""
    uncertainty_s: float = 0.0
    """Half-width that holds the true place 95 times in 100."""
    verdict: Verdict = Verdict.PLACED
    """PLACED or DOUBTFUL."""
    reason: Reason = NO_REASON
    rivals: tuple[Rival, ...] = ()
    lags: tuple[LagPoint, ...] = ()
    playback_id: str = ""
    """The playback file that was heard; empty where it was the song itself."""

    @property
    def line(self) -> Line:
        """Song time of every moment."""
        return Line(self.song_start_s, self.speed, self.clip_start_s)


@dataclass(frozen=True, slots=True)
class Finding:
    """What hearing a clip on a song gave."""

    clip_id: str
    song_id: str
    song_digest: str
    """The song file that was compared: what was found on another one says nothing of this one."""
    verdict: Verdict
    reason: Reason = NO_REASON
    """Why there is no take; a take tells its own doubt."""
    takes: tuple[TakePlacement, ...] = ()
    """In the clip's order."""
