"""The take that is examined in Check: on which line it is held against the song, and at which moments."""

from bisect import bisect_left, bisect_right
from dataclasses import replace

from app.engine.checking import SLIDE_S, Placed
from app.engine.heard_on_file import played_in
from app.model.check_queue import Entry
from app.model.document.song import SongMap
from app.model.on_song import SongView, Take

MOMENTS = (("start", 0.0), ("¼", 0.25), ("½", 0.5), ("¾", 0.75), ("end", 1.0))
"""Names and shares of a take."""


def moments_of(take: Take, song_map: SongMap) -> tuple[float, ...]:
    """Start, quarters and end of a take (song time), each at the bar line nearest to it, where hits are.

    >>> moments_of(Take("t", 0.0, 16.0, 1.5), SongMap(bars_s=tuple(float(n) for n in range(0, 40, 2))))
    (2.0, 6.0, 10.0, 14.0, 16.0)
    """
    low_s, high_s = take.song_start_s, take.song_end_s
    bars = [bar for bar in song_map.bars_s if low_s <= bar <= high_s]
    reach = (high_s - low_s) / 8
    found = []
    for _, share in MOMENTS:
        at_s = low_s + share * (high_s - low_s)
        near = min(bars, key=lambda bar: abs(bar - at_s), default=at_s)
        found.append(near if abs(near - at_s) <= reach else at_s)
    return tuple(found)


class ExaminedTake:
    """Holds the take that is looked at, and what is tried with it before anything is decided."""

    def __init__(self) -> None:
        self.entry: Entry | None = None
        self.preview: int | None = None
        """The rival that is looked at, without deciding."""
        self.slide_s = 0.0
        """How much later in the song the take is being slid by hand just now."""
        self.moment = 2
        self.bar_s: float | None = None
        """A bar that was chosen beside the five moments."""
        self.mark_s: float | None = None
        """Where a stretch that is being marked begins (clip time)."""
        self.mark_song_s = 0.0
        """The beat that was shown then: where it begins in the song, in a clip without a take."""
        self.moments: tuple[float, ...] = ()
        self._moments_of: tuple[str, int | None, tuple[float, ...]] | None = None
        """Which take, at which place, between which bar lines the moments were chosen."""
        self._line: Take | None = None
        """How that take lay then."""

    @property
    def take(self) -> Take | None:
        """The take as it is held against the song: where it lies, lay when refused, or at a rival."""
        take = None if self.entry is None else self.entry.held
        if take is None or self.preview is None:
            return take
        return replace(take, song_start_s=take.rivals[self.preview].song_start_s, lags=())

    @property
    def song_s(self) -> float:
        """The moment of the song that is looked at."""
        if self.bar_s is not None:
            return self.bar_s
        return self.moments[self.moment] if self.moments else 0.0

    @property
    def all_moments(self) -> tuple[float, ...]:
        """The five moments, and the bar that was chosen."""
        return self.moments if self.bar_s is None else (*self.moments, self.bar_s)

    def look_at(self, entry: Entry | None, song_map: SongMap) -> bool:
        """Look at an entry of the queue; tells whether it is another one than before."""
        other = (None if entry is None else entry.key) != (None if self.entry is None else self.entry.key)
        before, take = None if self.entry is None else self.entry.held, None if entry is None else entry.held
        self.entry = entry
        if other:
            self.start_over()
        if before is None or take is None or before.rivals != take.rivals:
            self.preview = None
        self._set_moments(song_map)
        return other

    def look_at_place(self, preview: int | None, song_map: SongMap) -> None:
        """Look at a rival (None: at where the take lies)."""
        self.preview, self.bar_s = preview, None
        self._set_moments(song_map)

    def start_over(self) -> None:
        """Nothing that was begun goes on."""
        self.preview, self.bar_s, self.mark_s, self.slide_s = None, None, None, 0.0
        self._moments_of = None

    def next_bar(self, by: int, song_map: SongMap) -> bool:
        """Look at a bar line before or after the moment looked at; tells whether there is one."""
        bars = self._bars(song_map)
        if not bars:
            return False
        here = self.song_s
        at = bisect_right(bars, here + 1e-6) - 1 if by > 0 else bisect_left(bars, here - 1e-6)
        self.bar_s = bars[min(max(at + by, 0), len(bars) - 1)]
        return True

    def near(self, song_s: float, song_map: SongMap) -> None:
        """Look at the bar line nearest to a moment, or at the moment where the take has no bars."""
        self.bar_s = min(self._bars(song_map), key=lambda bar: abs(bar - song_s), default=song_s)

    def placed(self, shoot: SongView) -> Placed | None:
        """The take as the engine is asked about it."""
        take = self.take
        if self.entry is None or take is None or shoot.song is None:
            return None
        played = played_in(take, shoot.playbacks, shoot.song.id)
        return Placed.of(shoot.song.media.path, self.entry.clip.media.path, take, played)

    def _bars(self, song_map: SongMap) -> list[float]:
        take = self.take
        if take is None:
            return []
        low_s, high_s = take.song_start_s - 0.01, take.song_end_s + 0.01
        return [bar for bar in song_map.bars_s if low_s <= bar <= high_s]

    def _set_moments(self, song_map: SongMap) -> None:
        """Choose the moments of the take as it lies now.

        One that is nudged is looked at where it was before, as far as it still runs there.
        """
        take = self.take
        if self.entry is None or take is None:
            self.moments, self._moments_of, self._line = (), None, None
            return
        inside = [take.song_start_s <= one <= take.song_end_s for one in self.moments]
        if self.bar_s is not None and self.bar_s not in self._bars(song_map):
            self.bar_s = None
        whose = self.entry.key, self.preview, song_map.bars_s
        new = moments_of(take, song_map)
        if whose == self._moments_of and self._line is not None and _nudged(self._line, take):
            moments = zip(self.moments, new, inside, strict=True)
            self.moments = tuple(old if stays else now for old, now, stays in moments)
        else:
            self._moments_of, self._line, self.moments = whose, take, new


def _nudged(before: Take, now: Take) -> bool:
    """Whether a take lies about where it lay, at both ends."""
    ends = (before.song_start_s, now.song_start_s), (before.song_end_s, now.song_end_s)
    return all(abs(one - other) < SLIDE_S for one, other in ends)
