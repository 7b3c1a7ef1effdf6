"""The shoot: song, clips, takes and angles, as frozen values.

Seconds are floats on the clock their name tells (``clip_…`` counts in the clip from its first presented
picture frame, ``song_…`` in the song from its first sample); frame rates are exact fractions.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction


class Verdict(StrEnum):
    """What became of a clip or a take."""

    WAITING = "waiting"
    """Not looked at yet."""
    PLACED = "placed"
    DOUBTFUL = "doubtful"
    NO_SONG = "no song"
    UNREADABLE = "unreadable"


GLYPHS = {
    Verdict.WAITING: "○",
    Verdict.PLACED: "●",
    Verdict.DOUBTFUL: "?",
    Verdict.NO_SONG: "–",
    Verdict.UNREADABLE: "✕",
}
"""A verdict is told by its glyph and its word together, on screen and on paper."""


class Decision(StrEnum):
    """Who says that a take lies where it lies."""

    COMPUTED = "computed"
    CONFIRMED = "confirmed"
    BY_HAND = "by hand"


class Deed(StrEnum):
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

    deed: Deed
    at: str
    """UTC, ISO 8601 to the second, such as ``2031-05-04T18:20:00Z``."""


@dataclass(frozen=True, slots=True)
class Pin:
    """A moment of a clip that belongs to a moment of the song, as a person said."""

    clip_s: float
    song_s: float


@dataclass(frozen=True, slots=True)
class Refused:
    """A stretch of a clip of which a person said that the song does not run there."""

    clip_start_s: float
    clip_end_s: float
    at: str
    """UTC, as in `Decided`."""
    take: "Take | None" = None
    """The take as it was; None where nobody kept it."""


@dataclass(frozen=True, slots=True)
class MediaRef:
    """A file by place and by content, so that it can be found again after a move."""

    path: str
    """Absolute while in memory; the store writes it relative to the shoot file where possible."""
    size_bytes: int
    digest: str
    """Fingerprint of size and sampled content; see identity.py."""


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of the song with a boxed rehearsal letter."""

    letter: str
    name: str
    start_s: float
    end_s: float
    family: str = ""
    """Sections that sound alike share it, such as ``B`` for all choruses; empty where nobody knows."""
    voice: bool | None = None
    """Whether a lead voice is heard; None where nobody knows."""
    suggested: bool = False
    """The name is a guess from how the section sounds."""
    by_hand: bool = False
    """A person named or joined it: it stays whole, with its name, when the song is looked at again."""
    own_letter: bool = False
    """A person gave the letter: it stays when other sections are lettered anew."""


@dataclass(frozen=True, slots=True)
class Metre:
    """From here on a person counts so many beats to a bar."""

    from_s: float
    """Start of the first bar counted so."""
    beats: int


LEVEL_STEP_S = 0.25
"""Length of the stretches that the song's loudness is known for."""


@dataclass(frozen=True, slots=True)
class SongMap:
    """Tempo, beats, bars and sections of the song (song clock, seconds, rising)."""

    tempo_bpm: float | None = None
    beats_s: tuple[float, ...] = ()
    bars_s: tuple[float, ...] = ()
    """Start of bar 1, 2, 3 …; the last bar ends one bar length later or with the song. An upbeat or a
    count-in comes before bar 1 and has no number."""
    sections: tuple[Section, ...] = ()
    """Without gaps, from 0 to the song's end; at least one."""
    other_tempo_bpm: float | None = None
    """How fast it would be counted the other way, twice or half as fast; None where only one way makes
    sense."""
    levels_db: tuple[float, ...] = ()
    """Loudness of each stretch of `LEVEL_STEP_S` from the song's start, in dBFS; empty where nobody knows."""
    ones_s: tuple[float, ...] = ()
    """Beats that a person said are the first of a bar."""
    metres: tuple[Metre, ...] = ()
    """Where a person said how bars are counted; elsewhere the beats between bar lines tell."""
    edges_s: tuple[float, ...] = ()
    """Edges between sections that a person put there."""
    tempo_by_hand: bool = False
    """A person tapped, halved or doubled the tempo."""


@dataclass(frozen=True, slots=True)
class Song:
    """The master everybody performed to."""

    media: MediaRef
    duration_s: float
    map: SongMap = field(default_factory=SongMap)


@dataclass(frozen=True, slots=True)
class Rival:
    """Another place in the song where the same take fits about as well."""

    song_start_s: float
    """Where the take's start would lie."""
    strength: float
    """Support relative to the chosen place: 1 is as good, 0 is nothing."""
    computed: bool = False
    """It is the place that was found before a person put the take elsewhere."""


@dataclass(frozen=True, slots=True)
class LagPoint:
    """One measured moment of a take: how far it lies off the take's line."""

    clip_s: float
    lag_s: float
    """Measured song time minus the line's song time."""
    strength: float


@dataclass(frozen=True, slots=True)
class Take:
    """A stretch of a clip through which the song runs.

    Song time = ``song_start_s + (clip time - clip_start_s) * speed``.
    """

    id: str
    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float = 1.0
    uncertainty_s: float = 0.0
    """Half-width that holds the true place 95 times in 100."""
    verdict: Verdict = Verdict.PLACED
    """PLACED or DOUBTFUL."""
    reason: str = ""
    decision: Decision = Decision.COMPUTED
    rivals: tuple[Rival, ...] = ()
    lags: tuple[LagPoint, ...] = ()
    decided: Decided | None = None
    """None where nobody decided."""
    pins: tuple[Pin, ...] = ()
    """The moments by which it was placed by hand; none, one or two."""
    shift_x: float = 0.0
    shift_y: float = 0.0
    """Where a frame guide lies in the picture: shares of the room there is, from -1 (left, up) to 1."""

    @property
    def song_end_s(self) -> float:
        """Song time at the take's end."""
        return self.song_time(self.clip_end_s)

    def song_time(self, clip_s: float) -> float:
        """Song time of a moment of the clip."""
        return self.song_start_s + (clip_s - self.clip_start_s) * self.speed

    def clip_time(self, song_s: float) -> float:
        """Moment of the clip at a song time."""
        return self.clip_start_s + (song_s - self.song_start_s) / self.speed


@dataclass(frozen=True, slots=True)
class Angle:
    """What a camera was set up to show; its takes share a stave."""

    id: str
    name: str
    safety: bool = False
    subject: str = ""
    """Who or what it shows, such as ``singer``; empty where nobody said."""
    group: str = ""
    """Angles of one group stand together; empty for none."""
    hidden: bool = False
    """Left out of the score's staves; its takes count all the same."""


@dataclass(frozen=True, slots=True)
class Clip:
    """One file off a camera or recorder."""

    id: str
    media: MediaRef
    angle_id: str
    duration_s: float = 0.0
    frame_rate: Fraction | None = None
    """None for a sound-only file."""
    variable_frame_rate: bool = False
    width: int = 0
    height: int = 0
    start_timecode: str | None = None
    make: str | None = None
    model: str | None = None
    created: str | None = None
    verdict: Verdict = Verdict.WAITING
    reason: str = ""
    warnings: tuple[str, ...] = ()
    takes: tuple[Take, ...] = ()
    recording: str | None = None
    """Id of the first clip of the recording this file continues or begins; None where it stands alone."""
    decision: Decision = Decision.COMPUTED
    """BY_HAND where a person said that the song does not run here."""
    decided: Decided | None = None
    """The record of that."""
    refused: tuple[Refused, ...] = ()
    """Takes of it that a person refused."""
    note: str = ""
    """What the maker wants to remember about it."""


@dataclass(frozen=True, slots=True)
class Shoot:
    """The whole document."""

    name: str = ""
    song: Song | None = None
    angles: tuple[Angle, ...] = ()
    """In stave order; safeties are shown last whatever their order."""
    clips: tuple[Clip, ...] = ()

    def clip(self, clip_id: str) -> Clip:
        """The clip of that id. Raises KeyError."""
        for clip in self.clips:
            if clip.id == clip_id:
                return clip
        raise KeyError(clip_id)

    def angle(self, angle_id: str) -> Angle:
        """The angle of that id. Raises KeyError."""
        for angle in self.angles:
            if angle.id == angle_id:
                return angle
        raise KeyError(angle_id)


SongView = Shoot
