"""A stretch of a recording through which a song runs."""

from dataclasses import dataclass, replace

from audio.line import Line
from audio.placement.reason_codes import Reason

SHORTEST_S = 4.0
"""Shorter pieces are not looked for: nobody plays, or leaves of a song, less."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of a recording (the clip of `Line`) through which a song runs on one line."""

    start_s: float
    """In the recording, as ``end_s``."""
    end_s: float
    line: Line
    uncertainty_s: float
    """Half-width (s of song) that holds the true line 95 times in 100, anywhere in the piece."""
    speed_sd: float
    """Standard deviation of the speed (no unit)."""
    strength: float
    """Standard deviations above chance; comparable among pieces of which the pitch is or is not kept."""
    pitch_kept: bool
    """It was time-stretched: no waveform agrees, and the line is that of its onsets."""
    doubt: Reason | None = None
    """Why the line cannot be told; None where it can."""

    @property
    def sure(self) -> bool:
        """Whether the line can be told."""
        return self.doubt is None

    @property
    def length_s(self) -> float:
        """In the recording."""
        return self.end_s - self.start_s

    def between(self, start_s: float, end_s: float) -> "Piece":
        """The part of it between two moments of the recording.

        >>> whole = Piece(0.0, 60.0, Line(0.0, 5.0, 1.0), 0.001, 1e-6, 90.0, False)
        >>> whole.between(-3.0, 20.0).length_s
        20.0
        """
        return replace(self, start_s=max(self.start_s, start_s), end_s=min(self.end_s, end_s))
