"""Where one is in the song, and which section is chosen."""

from PySide6.QtCore import QObject, Signal

from app.model.document.song import SongMap
from app.model.song_map.bar_spans import song_sections
from app.model.song_map.map_reach import stepped_on
from app.model.song_map.map_sections import Snap
from app.window.playing.player import Player
from app.window.session import Session


class SongCursor(QObject):
    """Goes from beat to beat, bar to bar, section to section; the player stands where it stands."""

    section_chosen = Signal(int)
    """A section was chosen, be it the one chosen already."""
    gone = Signal(float)
    """It went somewhere by itself: what is there is to be seen."""

    def __init__(self, session: Session, player: Player, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session, self._player = session, player
        self.section = 0
        """The section that is worked on, counted from 0."""

    @property
    def song_map(self) -> SongMap:
        """The song's map; an empty one without a song."""
        song = self._session.view.song
        return SongMap() if song is None else song.map

    @property
    def song_s(self) -> float:
        """Where it is (song time)."""
        return self._player.position()

    @property
    def end_s(self) -> float:
        """Where the song ends."""
        return self._player.song_end_s

    @property
    def playing(self) -> bool:
        """Whether the song plays, so that a key pressed to it comes a little late."""
        return self._player.playing

    def choose(self, index: int) -> None:
        """Choose a section without going there."""
        self.section = index
        self.section_chosen.emit(index)

    def go_to(self, song_s: float) -> None:
        """Go to a moment of the song."""
        self._player.seek(song_s)
        self.gone.emit(self._player.song_s)

    def step(self, snap: Snap, by: int) -> None:
        """Go to the next bar line or beat; beyond those found, to where it would be."""
        self.go_to(stepped_on(self.song_map, self.song_s, snap, by, self.end_s))

    def step_section(self, by: int) -> None:
        """Choose the next section, or the one before, and go to its start."""
        song = self._session.view.song
        if song is not None:
            sections = song_sections(song)
            index = min(max(self.section + by, 0), len(sections) - 1)
            self.choose(index)
            self.go_to(sections[index].start_s)

    def visit(self, index: int) -> None:
        """Choose a section; at rest, go to its start."""
        self.choose(index)
        song = self._session.view.song
        sections = () if song is None else song_sections(song)
        if not self._player.playing and index < len(sections):
            self.go_to(sections[index].start_s)
