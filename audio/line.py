"""Song time as a straight line over clip time: the answer of every placement, and the formula behind it."""

from dataclasses import dataclass, replace
from typing import overload

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Line:
    """song time = song_s + speed × (clip time − clip_s), all times in seconds.

    The pair (clip_s, song_s) is the anchor: any moment of the clip and where it lies in the song.

    >>> line = Line(clip_s=10.0, song_s=2.0, speed=2.0)
    >>> line.song_time(11.0), line.clip_time(4.0)
    (4.0, 11.0)
    """

    clip_s: float
    """Clip time of the anchor (s)."""
    song_s: float
    """Song time of the anchor (s)."""
    speed: float
    """Seconds of song in one second of clip (no unit); 1 but for clock drift where nobody changed it."""

    @overload
    def song_time(self, clip_s: float) -> float: ...

    @overload
    def song_time(self, clip_s: NDArray[np.float64]) -> NDArray[np.float64]: ...

    def song_time(self, clip_s: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
        """Song time (s) at one clip time (s) or at several."""
        return self.song_s + (clip_s - self.clip_s) * self.speed

    @overload
    def clip_time(self, song_s: float) -> float: ...

    @overload
    def clip_time(self, song_s: NDArray[np.float64]) -> NDArray[np.float64]: ...

    def clip_time(self, song_s: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
        """Clip time (s) at one song time (s) or at several."""
        return self.clip_s + (song_s - self.song_s) / self.speed

    @overload
    def lag_s(self, clip_s: float, song_s: float) -> float: ...

    @overload
    def lag_s(self, clip_s: float, song_s: NDArray[np.float64]) -> NDArray[np.float64]: ...

    def lag_s(self, clip_s: float, song_s: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
        """How much later in the song (s) a measured position lies than the line has it at that clip time.

        >>> Line(0.0, 10.0, 1.0).lag_s(5.0, 15.25)
        0.25
        """
        return song_s - self.song_time(clip_s)

    def shifted(self, song_s: float) -> "Line":
        """The same line, ``song_s`` seconds later in the song."""
        return Line(self.clip_s, self.song_s + song_s, self.speed)

    def delayed(self, clip_s: float) -> "Line":
        """The same line for a clip that began ``clip_s`` seconds earlier: everything comes later in it.

        >>> Line(0.0, 10.0, 1.0).delayed(3.0).song_time(3.0)
        10.0
        """
        return Line(self.clip_s + clip_s, self.song_s, self.speed)

    def anchored(self, clip_s: float) -> "Line":
        """The same line with its anchor at another clip time (s).

        >>> Line(0.0, 10.0, 2.0).anchored(5.0)
        Line(clip_s=5.0, song_s=20.0, speed=2.0)
        """
        return Line(clip_s, self.song_time(clip_s), self.speed)

    def with_speed(self, speed: float) -> "Line":
        """The line through the same anchor at another speed."""
        return replace(self, speed=speed)
