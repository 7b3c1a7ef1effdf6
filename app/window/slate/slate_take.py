"""Takes on the slate page: their number, what is played for them, and where the song is by now."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from app.model.document.song import Section, Song
from app.model.kit.played import Played
from app.model.song_map.bar_spans import section_words, song_sections
from app.window.slate.slate_sound import SlateSound

NEAR_S = 0.01
"""A first beat is not missed for that much (s)."""


class State(Enum):
    """What a take is at."""

    READY = "ready"
    PLAYING = "playing"
    BY_HAND = "started by hand"
    DONE = "done"


@dataclass
class TakeNumbers:
    """Counts the takes of each song, for as long as the window is open."""

    numbers: dict[str, int]

    def of(self, song_id: str) -> int:
        """The number of the take that is next, or runs."""
        return self.numbers.setdefault(song_id, 1)

    def count(self, song_id: str, by: int) -> None:
        """Go on by so many; there is none before the first."""
        self.numbers[song_id] = max(1, self.of(song_id) + by)


class SlateTake:
    """The take that the page shows."""

    def __init__(
        self,
        song: Song,
        sound: SlateSound,
        numbers: TakeNumbers,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.song, self.sound = song, sound
        self._numbers, self._clock = numbers, clock
        self.state = State.READY
        self.played: Played | None = None
        self.section: Section | None = None
        """It begins there; with the song, or the file, where None."""
        self._begun_s = 0.0
        self._from_s = 0.0

    @property
    def number(self) -> int:
        """Its number."""
        return self._numbers.of(self.song.id)

    @property
    def running(self) -> bool:
        """Whether song time runs on the page."""
        return self.state in (State.PLAYING, State.BY_HAND)

    @property
    def where(self) -> str:
        """Where in the song it begins."""
        if self.section is not None:
            return f"from {section_words(self.section)}"
        return "from the start" if self.played is None or self.played.is_song else self.played.called

    def choose(self, played: Played) -> None:
        """Play another file; it begins where it begins."""
        if not self.running:
            self.played, self.section = played, None
            self.sound.load(played.path)

    def next_section(self, step: int) -> None:
        """Begin with the next section, or the one before; before the first is the song's start."""
        if self.running or self.played is None or not self.played.is_song:
            return
        places: list[Section | None] = [None, *song_sections(self.song)]
        at = next((n for n, one in enumerate(places) if one == self.section), 0)
        self.section = places[max(0, min(len(places) - 1, at + step))]

    def count(self, by: int) -> None:
        """Count the number up or down; what ran is over."""
        self.stop()
        self._numbers.count(self.song.id, by)
        self.state = State.READY

    def start(self) -> None:
        """Play; a take that was played before is counted."""
        if self.played is None or not self.sound.ready:
            return
        self._begin(State.PLAYING)
        self.sound.start(self._from_s if self.played.is_song else 0.0)

    def start_by_hand(self) -> None:
        """The song begins to play elsewhere just now."""
        if self.played is None:
            return
        self._begin(State.BY_HAND)
        self._begun_s = self._clock()

    def stop(self) -> None:
        """End the take."""
        if self.running:
            self.sound.stop()
            self.state = State.DONE

    def song_s(self) -> float | None:
        """The song time that is heard now (s); None where the song does not run."""
        if self.played is None:
            return None
        if self.state is State.BY_HAND:
            song_s = self._from_s + (self._clock() - self._begun_s) * float(self.played.speed)
            return song_s if song_s < self.song.duration_s else None
        if self.state is State.PLAYING:
            file_s = self.sound.position()
            return None if file_s is None else self.played.song_s(file_s)
        return None

    @property
    def over(self) -> bool:
        """Whether a running take came to the end of what is played."""
        if self.state is State.BY_HAND:
            return self.song_s() is None
        file_s = self.sound.position() if self.state is State.PLAYING else None
        return file_s is not None and self.played is not None and file_s >= self.played.duration_s

    @property
    def first_beat_s(self) -> float | None:
        """Song time of the first downbeat of the take; None where the song has no bars there."""
        return next((bar for bar in self.song.map.bars_s if bar >= self._from_s - NEAR_S), None)

    def _begin(self, state: State) -> None:
        assert self.played is not None
        if self.state is not State.READY:
            self.stop()
            self._numbers.count(self.song.id, 1)
        self._from_s = self.section.start_s if self.section is not None else self.played.first_song_s
        self.state = state
