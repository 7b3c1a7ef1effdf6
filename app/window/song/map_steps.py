"""What a person does to the map, as steps that can be undone."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from app.model.document.change import Change
from app.model.document.shoot import Shoot
from app.model.document.song import SongMap
from app.model.edits import map_edits
from app.model.song_map.map_grid import grid_of
from app.model.song_map.map_sections import Snap, section_index, snapped
from app.window.parts import words
from app.window.session import Session
from app.window.song.song_cursor import SongCursor

ORIGIN = "song"
Edit = Callable[[Shoot], tuple[Shoot, Change]]
NO_FURTHER = "Nothing changed: this edge is already there, or can go no further this way."


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

    def bar(self, *, onward: bool = False) -> None:
        """A bar starts here."""
        here, in_time = self._cursor.song_s, self._cursor.playing
        self._start_bar(
            "Bars From Here On" if onward else "Bar Starts Here",
            lambda shoot: map_edits.downbeat_here(shoot, here, onward=onward, in_time=in_time),
            "Earlier bar lines stayed." if onward else "Bar lines you have not fixed moved along.",
        )

    def bar_one(self) -> None:
        """Bar 1 starts here."""
        here, in_time = self._cursor.song_s, self._cursor.playing
        self._start_bar(
            "Bar 1 Starts Here",
            lambda shoot: map_edits.bar_one_here(shoot, here, in_time=in_time),
            "What comes before it is the lead-in.",
        )

    def metre(self, beats: int) -> None:
        """So many beats per bar from here on."""
        here = self._cursor.song_s
        said = f"{beats} beats per bar from bar {words.bar_at(self.song_map, here) or 1} on"
        if self.do(
            f"{beats} Beats per Bar",
            lambda shoot: map_edits.set_metre(shoot, here, beats),
            unchanged=f"Nothing changed: you have already set {said}.",
        ):
            self.message.emit(f"{said}.")

    def add_beat(self) -> None:
        """Another beat here."""
        here = self._cursor.song_s
        if self.do("Add Beat", lambda shoot: map_edits.add_beat(shoot, here)):
            self.message.emit(f"Added a beat at {words.song_time(here)}.")

    def move_beat_here(self) -> None:
        """The nearest beat is here."""
        self.move_beat(self._cursor.song_s, self._cursor.song_s)

    def nudge_beat(self, by_s: float) -> None:
        """The beat where one is lies a little later; at rest, one stays on it."""
        here, grid = self._cursor.song_s, grid_of(self.song_map)
        near = grid.nearest(here) if grid.beats else 0
        to_s = by_s + (grid.beats[near] if grid.beats else here)
        moved_s = self.move_beat(here, to_s, f"beat {near}")
        if moved_s is not None and not self._cursor.playing:
            self._cursor.go_to(moved_s)

    def move_beat(self, from_s: float, to_s: float, merge_key: str | None = None) -> float | None:
        """The beat nearest to a moment lies elsewhere; tells where, or None if it stayed."""
        before = {*grid_of(self.song_map).beats}
        if not self.do(
            "Move Beat",
            lambda shoot: map_edits.move_beat(shoot, from_s, to_s),
            merge_key,
            unchanged="Nothing changed: the beat is already here, or its neighbours leave no room.",
        ):
            return None
        moved_s = min({*grid_of(self.song_map).beats} - before, default=to_s)
        time, bar = words.song_time(moved_s), _bar(self.song_map, moved_s)
        self.message.emit(
            f"Moved this beat to {time}."
            if bar is None
            else f"Bar {bar} now starts at {time} and is fixed (◆)."
        )
        return moved_s

    def remove_beat(self) -> None:
        """The beat where one is is none."""
        here, before = self._cursor.song_s, self.song_map
        if self.do("Remove Beat", lambda shoot: map_edits.remove_beat(shoot, here)):
            beats = grid_of(before)
            time = words.song_time(beats.beats[beats.nearest(here)])
            line = " and its bar line" if len(self.song_map.bars_s) < len(before.bars_s) else ""
            self.message.emit(f"Removed the beat at {time}{line}.")

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
        if self.do("Shift Half a Beat", map_edits.half_a_beat_on):
            self.message.emit("All beats are now half a beat later.")

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
            self.message.emit(f"Joined: {name} now runs to {words.song_time(one.end_s, 2)}.")

    def rename(self, index: int, name: str) -> None:
        """Name a section."""
        self.do(
            "Rename Section",
            lambda shoot: map_edits.rename(shoot, index, name),
            unchanged="Nothing changed: the section already has that name.",
        )

    def letter(self, index: int, letter: str) -> None:
        """Give a section another letter."""
        self.do(
            "Letter Section",
            lambda shoot: map_edits.set_letter(shoot, index, letter),
            unchanged="Nothing changed: the section already has that letter.",
        )

    def letter_again(self) -> None:
        """Letter all sections in order."""
        self.do(
            "Letter Sections in Order",
            map_edits.letter_again,
            unchanged="Nothing changed: the letters are already in order.",
        )

    def move_edge(self, index: int, song_s: float) -> None:
        """A section starts elsewhere."""
        if self.do(
            "Move Section Edge",
            lambda shoot: map_edits.move_edge(shoot, index, song_s),
            unchanged=NO_FURTHER,
        ):
            self._tell_edge(index)

    def step_edge(self, snap: Snap, by: int, free_s: float) -> None:
        """The chosen section starts a bar, a beat, or so many seconds later or earlier."""
        index = self._cursor.section
        sections = self.song_map.sections

        def edit(shoot: Shoot) -> tuple[Shoot, Change]:
            if snap is Snap.FREE and index < len(sections):
                return map_edits.move_edge(shoot, index, sections[index].start_s + by * free_s)
            return map_edits.step_edge(shoot, index, snap, by)

        if self.do("Move Section Edge", edit, f"edge {index}", unchanged=NO_FURTHER):
            self._tell_edge(index)
            self.section_made.emit(index)

    def do(
        self, label: str, edit: Edit, merge_key: str | None = None, *, unchanged: str = "Nothing changed."
    ) -> bool:
        """Apply an edit; tells whether it changed anything, and in a sentence why it did not."""
        try:
            changed = self._session.apply(label, edit(self._session.shoot), ORIGIN, merge_key)
        except ValueError as error:
            self.message.emit(str(error))
            return False
        self.message.emit("" if changed else unchanged)
        return changed

    def _start_bar(self, label: str, edit: Edit, stay: str) -> None:
        """A bar starts where one is: say which, and what came of it; at rest, go to its bar line."""
        here, old = self._cursor.song_s, grid_of(self.song_map)
        bar = _bar(self.song_map, old.beats[old.nearest(here)]) if old.beats else None
        same = f"Nothing changed: bar {bar} already starts here and is fixed (◆)."
        bars = self.song_map.bars_s
        if not self.do(label, edit, unchanged=same):
            return
        new = grid_of(self.song_map)
        beat_s = new.beats[new.nearest(here)]
        more = len(new.beats) - len(old.beats)
        if self.song_map.bars_s == bars:
            said = f"Bar {bar} already started here. It is now fixed (◆)."
        else:
            at = f"Bar {_bar(self.song_map, beat_s)} now starts here, at {words.song_time(beat_s, 2)}."
            where = "before the first one found" if beat_s < old.beats[0] else "after the last one found"
            added = f"{words.count(more, 'beat')} added {where}." if more else ""
            # Where all that was found stays, there is nothing to say of it.
            moved = stay if not more or not {*bars} <= {*self.song_map.bars_s} else ""
            said = " ".join(filter(None, (at, added, moved)))
        if not self._cursor.playing:
            self._cursor.go_to(beat_s)
        self.message.emit(said)

    def _retime(self, label: str, edit: Edit) -> None:
        if self.do(label, edit):
            tempo = self.song_map.tempo_bpm
            self.message.emit("" if tempo is None else f"Now {tempo:.1f} bpm.")

    def _tell_edge(self, index: int) -> None:
        section = self.song_map.sections[index]
        place = words.bar_words(self.song_map, section.start_s)
        time = words.song_time(section.start_s, 2)
        name = f"{section.letter} {section.name}".strip()
        self.message.emit(f"{name} now starts at {', '.join(filter(None, (place, time)))}.")


def _bar(song_map: SongMap, beat_s: float) -> int | None:
    """The number of the bar that a beat begins; None where it begins none."""
    return song_map.bars_s.index(beat_s) + 1 if beat_s in song_map.bars_s else None
