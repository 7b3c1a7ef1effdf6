"""Playback files: what was played on set, and how each of them runs through the songs.

Clips are heard on playback files as well as on songs; what is found on one is told in song time. So a clip
shot to a stretched file is placed exactly, although its sound is not that of the song.
"""

from dataclasses import dataclass
from fractions import Fraction

from app.model.document.media_ref import MediaRef
from app.model.song_line import Line


@dataclass(frozen=True, slots=True)
class PlaybackPiece:
    """A stretch of a playback file through which a song runs."""

    song_id: str
    start_s: float
    """In the playback file, as `end_s`."""
    end_s: float
    song_start_s: float
    """Song time at `start_s`."""
    speed: float = 1.0
    """Seconds of song to a second of playback."""
    uncertainty_s: float = 0.0
    """Half-width of song time that holds the true place 95 times in 100; 0 where the file was made here."""

    @property
    def line(self) -> Line:
        """Song time of every moment of the piece, with playback time in the place of the clip's."""
        return Line(self.song_start_s, self.speed, self.start_s)


@dataclass(frozen=True, slots=True)
class PlaybackTimecode:
    """Linear timecode that a playback file carries; it runs on the clock of the file, whatever its speed."""

    label: str
    """``HH:MM:SS:FF``, or with ``;`` before the frames for drop-frame."""
    frame_rate: Fraction
    at_s: float = 0.0
    """When in the file that label begins; it may lie before the file's start."""


@dataclass(frozen=True, slots=True)
class PlaybackFile:
    """One recording that was played on set."""

    id: str
    media: MediaRef
    duration_s: float
    pieces: tuple[PlaybackPiece, ...] = ()
    """In the file's order, without overlap; empty where no song was found in it."""
    pitch_kept: bool = False
    """Its tempo differs from the song's, and its pitch does not: no waveform of it is the song's."""
    made: bool = False
    """It was made here, so its pieces are exact."""
    by_hand: bool = False
    """A person corrected its pieces: they are not found anew."""
    note: str = ""
    """What it is for, such as ``from B, 4 bars lead-in``."""
    timecode: PlaybackTimecode | None = None
