"""The shoot: the document, as one frozen value in which three hands write.

The engine writes findings, looks, matches and facts of files; people write songs' maps, angles, decisions,
marks, the plan and what they fix in the first pass; checks propose marks. None overwrites what another wrote.
Seconds are floats on the clock their name tells (``clip_…`` counts in the clip from its first presented
picture frame, ``song_…`` in the song from its first sample); frame rates are exact fractions. Readers ask for
one song's view of it: `app.model.on_song`.
"""

from dataclasses import dataclass, field

from app.model.document.angle import Angle
from app.model.document.clip import ClipRecord
from app.model.document.cut import Cut
from app.model.document.decisions import Decisions
from app.model.document.findings import Finding
from app.model.document.looks import Look, Match
from app.model.document.marks import Mark
from app.model.document.masters import EarlierMaster
from app.model.document.plan import Plan
from app.model.document.playback_file import PlaybackFile
from app.model.document.song import Song


@dataclass(frozen=True, slots=True)
class Shoot:
    """The whole document."""

    name: str = ""
    songs: tuple[Song, ...] = ()
    angles: tuple[Angle, ...] = ()
    """In stave order; safeties are shown last whatever their order."""
    clips: tuple[ClipRecord, ...] = ()
    findings: tuple[Finding, ...] = ()
    """At most one for a clip and a song."""
    decisions: Decisions = field(default_factory=Decisions)
    marks: tuple[Mark, ...] = ()
    plan: Plan = field(default_factory=Plan)
    looks: tuple[Look, ...] = ()
    """At most one for a clip."""
    matches: tuple[Match, ...] = ()
    """At most one for a stretch of a clip."""
    cut: Cut = field(default_factory=Cut)
    playbacks: tuple[PlaybackFile, ...] = ()
    """What was played on set beside the songs themselves."""
    masters: tuple[EarlierMaster, ...] = ()
    """Of all songs, oldest first."""

    def song(self, song_id: str | None = None) -> Song | None:
        """The song of that id, the first without an id; None where there is none yet. Raises KeyError."""
        if song_id is None:
            return self.songs[0] if self.songs else None
        for song in self.songs:
            if song.id == song_id:
                return song
        raise KeyError(song_id)

    def clip(self, clip_id: str) -> ClipRecord:
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
