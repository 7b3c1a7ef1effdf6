"""Earlier masters of a song: how each ran against the one after it, and what found no place there."""

from dataclasses import dataclass

from app.model.document.decisions import TakeRecord
from app.model.document.media_ref import MediaRef
from app.model.song_line import Line


@dataclass(frozen=True, slots=True)
class MasterPiece:
    """A stretch of an earlier master that lives on in the next one."""

    old_start_s: float
    """Time in the earlier master, as `old_end_s`."""
    old_end_s: float
    new_start_s: float
    """Where it begins in the next master."""
    speed: float = 1.0
    """Seconds of the next master to a second of the earlier one."""
    uncertainty_s: float = 0.0
    """Half-width of new time that holds the true place 95 times in 100."""
    again: bool = False
    """The same stretch lives on in another piece too, which comes earlier in the list."""

    @property
    def line(self) -> Line:
        """New time of every moment, with old time in the place of the clip's."""
        return Line(self.new_start_s, self.speed, self.old_start_s)


@dataclass(frozen=True, slots=True)
class Left:
    """Something of a person's or the machine's that the next master has no place for."""

    kind: str
    """``take``, ``section``, ``need``, ``set-up``, ``lock``, ``lyric``, ``beat`` or ``metre``."""
    what: str
    """In words: what it was."""
    old_start_s: float | None = None
    """Time in the earlier master; None where it has none."""
    old_end_s: float | None = None
    clip_id: str = ""
    """Of a take."""
    take: TakeRecord | None = None
    """The take as it stood; without an id where nobody had decided about it."""


@dataclass(frozen=True, slots=True)
class EarlierMaster:
    """A master that was followed by another, oldest first in the shoot."""

    song_id: str
    media: MediaRef
    duration_s: float
    at: str
    """UTC, ISO 8601: when the next one took its place."""
    pieces: tuple[MasterPiece, ...] = ()
    """In the order of old time; those that are there `again` behind the first of them."""
    left: tuple[Left, ...] = ()
