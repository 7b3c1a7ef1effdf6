"""The line on which a take lies: song time = start + speed × (clip time − from)."""

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Line:
    """Maps moments of a clip to moments of the song, both in seconds.

    >>> line = Line(song_start_s=30.0, speed=0.5, clip_from_s=4.0)
    >>> line.song_time(6.0), line.clip_time(31.0)
    (31.0, 6.0)
    """

    song_start_s: float
    """Song time at ``clip_from_s``."""
    speed: float = 1.0
    """Seconds of song to a second of clip."""
    clip_from_s: float = 0.0

    def song_time(self, clip_s: float) -> float:
        """Song time of a moment of the clip."""
        return self.song_start_s + (clip_s - self.clip_from_s) * self.speed

    def clip_time(self, song_s: float) -> float:
        """Moment of the clip at a song time."""
        return self.clip_from_s + (song_s - self.song_start_s) / self.speed

    def begun_at(self, clip_s: float) -> "Line":
        """The same line, told from another moment of the clip."""
        return replace(self, song_start_s=self.song_time(clip_s), clip_from_s=clip_s)
