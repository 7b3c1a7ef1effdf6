"""Which part of the song a map shows, and how wide a second is."""

from dataclasses import dataclass, replace

STEP = 1.5
"""How much closer one step of zoom is."""
CLOSEST_S = 3.0
"""As much of the song at least is in view."""


@dataclass(frozen=True, slots=True)
class MapScale:
    """Song time to pixels of the viewport."""

    duration_s: float = 0.0
    width: float = 1.0
    """Of the viewport, in logical pixels."""
    second: float = 1.0
    """Pixels of a second."""
    left_s: float = 0.0
    """What lies at the left edge."""

    @property
    def whole(self) -> float:
        """Pixels of a second at which the whole song is in view."""
        return self.width / self.duration_s if self.duration_s > 0 else 1.0

    @property
    def closest(self) -> float:
        """Pixels of a second at the closest."""
        return max(self.whole, self.width / CLOSEST_S)

    @property
    def right_s(self) -> float:
        """What lies at the right edge."""
        return self.left_s + self.width / self.second

    def x(self, song_s: float) -> float:
        """Where a moment lies."""
        return (song_s - self.left_s) * self.second

    def song_s(self, x: float) -> float:
        """The moment at a place, within the song."""
        return min(max(self.left_s + x / self.second, 0.0), self.duration_s)

    def sees(self, song_s: float) -> bool:
        """Whether a moment is in view."""
        return self.left_s <= song_s <= self.right_s

    def zoomed(self, second: float, x: float) -> "MapScale":
        """Another zoom, at which what lies at a place stays there."""
        second = min(max(second, self.whole), self.closest)
        at_s = self.left_s + x / self.second
        return replace(self, second=second).moved(at_s - x / second)

    def moved(self, left_s: float) -> "MapScale":
        """Scrolled, no farther than the song goes.

        >>> MapScale(100.0, 500.0, 10.0).moved(80.0).left_s
        50.0
        """
        most = max(0.0, self.duration_s - self.width / self.second)
        return replace(self, left_s=min(max(left_s, 0.0), most))

    def sized(self, duration_s: float, width: float) -> "MapScale":
        """For another song or viewport; where the whole song was in view it stays so."""
        was_whole = self.second <= self.whole * 1.0001
        new = replace(self, duration_s=duration_s, width=max(1.0, width))
        second = new.whole if was_whole else min(max(self.second, new.whole), new.closest)
        return replace(new, second=second).moved(self.left_s)
