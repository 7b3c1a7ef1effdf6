"""What the engine answers on a clip: its takes, their lines and rivals, and a verdict with its reason."""

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import NamedTuple

from audio.line import Line
from audio.placement.reason_codes import Reason, sway_figures


class PlaceVerdict(StrEnum):
    """What became of a clip or take.

    ``placed``: one line fits, far above chance, and is decided against every rival. ``doubtful``: something
    fits, but weakly or in several places; a person chooses. ``no song``: nothing in the clip is this song.
    """

    PLACED = "placed"
    DOUBTFUL = "doubtful"
    NO_SONG = "no song"


class PlaceRival(NamedTuple):
    """Another place in the song for the same take."""

    song_start_s: float
    """Song time of the take's start there (s)."""
    strength: float
    """Share of the take's own fit (no unit); 1 is as good."""
    open: bool
    """The clip's own sound does not rule it out."""


@dataclass(frozen=True, slots=True)
class TakeFit:
    """One take."""

    line: Line
    """Where it runs in the song; anchored at the take's start."""
    clip_end_s: float
    """Clip time at which it ends (s)."""
    uncertainty_s: float
    """Half-width (s) that holds the true position about 95 times in 100, anywhere in the take."""
    speed_sd: float
    """Standard deviation of the speed (no unit)."""
    verdict: PlaceVerdict
    reason: Reason | None
    """None where there is nothing to say."""
    strength: float
    """Standard deviations above chance."""
    rivals: tuple[PlaceRival, ...]
    lags: tuple[tuple[float, float, float], ...]
    """Measured moments: clip time (s), lag off the line (s of song), standard deviations above chance."""
    heard_on: str = ""
    """Key of the playback file on which it was found (see `audio.references`); empty for the song itself."""

    @property
    def clip_start_s(self) -> float:
        """Clip time at which it starts (s)."""
        return self.line.clip_s

    @property
    def song_start_s(self) -> float:
        """Song time of its start (s)."""
        return self.line.song_s

    @property
    def speed(self) -> float:
        """Seconds of song in one second of clip (no unit)."""
        return self.line.speed

    @property
    def clip_length_s(self) -> float:
        """How long it is in the clip (s)."""
        return self.clip_end_s - self.clip_start_s

    @property
    def sways(self) -> bool:
        """Whether its lag sways about the line: the way to the microphone changed."""
        return bool(sway_figures(self.reason))

    def reaching(self, start_s: float, end_s: float, uncertainty_s: float) -> "TakeFit":
        """The same take on the same line with other ends (clip s), its rivals moved along."""
        line = self.line.anchored(start_s)
        moved = line.song_s - self.song_start_s
        rivals = tuple(rival._replace(song_start_s=rival.song_start_s + moved) for rival in self.rivals)
        return replace(self, line=line, clip_end_s=end_s, uncertainty_s=uncertainty_s, rivals=rivals)


@dataclass(frozen=True, slots=True)
class Placement:
    """The answer for one clip."""

    verdict: PlaceVerdict
    reason: Reason | None
    takes: tuple[TakeFit, ...]
    channel: int
    """Row of the sound that carried the song best."""
