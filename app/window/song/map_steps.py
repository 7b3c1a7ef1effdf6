"""What a person does to the map, as steps that can be undone."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from app.model.document.change import Change
from app.model.document.shoot import Shoot
from app.model.document.song import SongMap
from app.model.edits import map_edits
from app.model.song_map.map_sections import Snap, section_index, snapped
from app.window.parts import words
from app.window.session import Session
from app.window.song.song_cursor import SongCursor

ORIGIN = "song"
Edit = Callable[[Shoot], tuple[Shoot, Change]]


class MapSteps(QObject):
    """Applies edits of the map at the place where one is, and to the section that is chosen."""

    message = Signal(str)
    """A sentence about what was done, or why it was not; empty to say no more."""
    section_made = Signal(int)
    """Another section is the one to go on with."""

    def __init__(self, session: Session, cursor: SongCursor, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session, self._cursor = session, cursor

    @property
    def has_song(self) -> bool:
        """Whether there is a song."""
        return self._session.view.song is not None

    @property
    def song_map(self) -> SongMap:
        """The song's map; an empty one without a song."""
        return self._cursor.song_map

    def one(self, *, onward: bool = False) -> None:
        """This is one."""
        here = self._cursor.song_s
        label = "One From Here On" if onward else "This Is One"
        if self.do(label, lambda shoot: map_edits.downbeat_here(shoot, here, onward=onward)):
            bar = words.bar_at(self.song_map, here)
            stay = "Bar lines before it stayed." if onward else "Bar lines that nobody fixed moved along."
            self.message.emit(f"Bar {bar} begins here. {stay}")

    def metre(self, beats: int) -> None:
        """So many beats a bar from here on."""
        here = self._cursor.song_s
        if self.do(f"{beats} Beats a Bar", lambda shoot: map_edits.set_metre(shoot, here, beats)):
            self.message.emit(f"{beats} beats a bar from bar {words.bar_at(self.song_map, here)} on.")

    def half(self, *, onward: bool = False) -> None:
        """Half the tempo."""
        from_s = self._cursor.song_s if onward else None
        self._retime("Half Tempo", lambda shoot: map_edits.half_tempo(shoot, from_s))

    def double(self, *, onward: bool = False) -> None:
        """Twice the tempo."""
        from_s = self._cursor.song_s if onward else None
        self._retime("Double Tempo", lambda shoot: map_edits.double_tempo(shoot, from_s))

    def half_a_beat_on(self) -> None:
        """All beats half a beat later."""
        self.do("Off the Beat", map_edits.half_a_beat_on)

    def nudge(self, by_s: float) -> None:
        """All beats a little later."""
        self.do("Nudge Beats", lambda shoot: map_edits.nudge(shoot, by_s), "nudge")

    def split(self, snap: Snap) -> None:
        """Another section begins here."""
        here = self._cursor.song_s
        if self.do("Split Section", lambda shoot: map_edits.split(shoot, here, snap)):
            index = section_index(self.song_map, snapped(self.song_map, here, snap))
            self.section_made.emit(index)
            self._tell_edge(index)

    def join(self) -> None:
        """The chosen section and the one before it are one."""
        index = self._cursor.section
        if self.do("Join Sections", lambda shoot: map_edits.join(shoot, index)):
            self.section_made.emit(index - 1)
            one = self.song_map.sections[index - 1]
            name = f"{one.letter} {one.name}".strip()
            self.message.emit(f"{name} is one section with what came after it now.")

    def rename(self, index: int, name: str) -> None:
        """Name a section."""
        self.do("Rename Section", lambda shoot: map_edits.rename(shoot, index, name))

    def letter(self, index: int, letter: str) -> None:
        """Give a section another letter."""
        self.do("Letter Section", lambda shoot: map_edits.set_letter(shoot, index, letter))

    def letter_again(self) -> None:
        """Letter all sections in order."""
        self.do("Letter Sections in Order", map_edits.letter_again)

    def move_edge(self, index: int, song_s: float) -> None:
        """A section begins elsewhere."""
        if self.do("Move Section Edge", lambda shoot: map_edits.move_edge(shoot, index, song_s)):
            self._tell_edge(index)

    def step_edge(self, snap: Snap, by: int, free_s: float) -> None:
        """The chosen section begins a bar, a beat, or so many seconds later or earlier."""
        index = self._cursor.section
        sections = self.song_map.sections
        if snap is Snap.FREE and index < len(sections):
            song_s = sections[index].start_s + by * free_s
            done = self.do(
                "Move Section Edge", lambda shoot: map_edits.move_edge(shoot, index, song_s), f"edge {index}"
            )
        else:
            done = self.do(
                "Move Section Edge",
                lambda shoot: map_edits.step_edge(shoot, index, snap, by),
                f"edge {index}",
            )
        if done:
            self._tell_edge(index)
            self.section_made.emit(index)

    def do(self, label: str, edit: Edit, merge_key: str | None = None) -> bool:
        """Apply an edit; tells whether it could be done, and in a sentence why it could not."""
        try:
            self._session.apply(label, edit(self._session.shoot), ORIGIN, merge_key)
        except ValueError as error:
            self.message.emit(str(error))
            return False
        self.message.emit("")
        return True

    def _retime(self, label: str, edit: Edit) -> None:
        if self.do(label, edit):
            tempo = self.song_map.tempo_bpm
            self.message.emit("" if tempo is None else f"{tempo:.1f} beats a minute now.")

    def _tell_edge(self, index: int) -> None:
        section = self.song_map.sections[index]
        place = words.place_in_song(self.song_map, section.start_s)
        self.message.emit(f"{place}, {words.song_time(section.start_s, 2)}: it begins here now.")
