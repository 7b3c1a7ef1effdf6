"""The place Song: the master with its beats, bars and sections, to be heard and put right."""

from pathlib import Path

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction, QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QSlider, QStackedLayout, QVBoxLayout, QWidget

from app.model.coverage.coverage import song_sections
from app.model.document.shoot import Song, SongMap
from app.model.edits.change import Change
from app.model.song_map.map_grid import Grid, grid_of, metres_along
from app.model.song_map.map_sections import Snap, stepped
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.dialogs import Dialogs
from app.window.parts.drop_down import DropDown
from app.window.parts.empty_page import EmptyPage
from app.window.parts.place import Place
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.play_bar import PlayBar, place_words
from app.window.playing.player import Player
from app.window.session import Session
from app.window.song.map_canvas import NAME as NAME_OF_MAP
from app.window.song.map_canvas import MapCanvas
from app.window.song.map_peaks import MapPeaks
from app.window.song.map_steps import ORIGIN, MapSteps
from app.window.song.song_actions import SongKeys
from app.window.song.song_again import SongAgain
from app.window.song.song_labels import SongLabels
from app.window.song.song_table import LETTER, NAME, SongTable
from app.window.song.song_taps import SongTaps
from app.window.song.song_tools import SongTools
from app.window.work.work import Work

PEAKS_A_SECOND, MOST_PEAKS = 200, 200_000
PEAKS_SLOT = "peaks of the map"
ZOOM_STEPS = 40
DROP_IT = "Drop the song anywhere in this window, or choose it."
CLICKS = ("Clicks on the beats", "No clicks")
CLICKS_KEPT = "player/clicks"


class SongPlace(Place):
    """Tempo, bars and sections."""

    title = "Song"
    space_plays = True

    def __init__(
        self,
        session: Session,
        theme: Theme,
        tasks: Tasks,
        jobs: Jobs,
        work: Work,
        dialogs: Dialogs,
        choose_song: QAction,
        parent: QWidget | None = None,
        *,
        player: Player,
    ) -> None:
        super().__init__(session, theme, parent)
        self._tasks, self._jobs, self._work, self._player = tasks, jobs, work, player
        self._peaks_of = ""
        self._said = ""
        self._grid = Grid(())
        self.canvas = MapCanvas(theme)
        self.table = SongTable(theme)
        self.deeds = MapSteps(session, self._here, self)
        self.again = SongAgain(session, tasks, jobs, work, self.deeds, self._here, self)
        self.labels = SongLabels(session, self.deeds, dialogs, self)
        self.taps = SongTaps(session, player, self.deeds, self)
        self.acts = SongKeys(self)
        self.tools = SongTools(theme, self.acts)
        self.clicks = DropDown(theme)
        self.clicks.addItems(list(CLICKS))
        self.clicks.setAccessibleName("Clicks")
        self.clicks.setToolTip("Click on every beat, higher on the first of a bar (C)")
        self.clicks.setCurrentIndex(int(player.recall(CLICKS_KEPT, "on") == "off"))
        self._name = TextLabel(theme, size=looks.HEADING, bold=True, wrap=False)
        self._figures = TextLabel(theme, size=looks.SMALL, role="dim")
        self._told = TextLabel(theme, size=looks.SMALL)
        self._zoom = QSlider(Qt.Orientation.Horizontal)
        self._arrange(choose_song)
        self._connect()

    @property
    def text(self) -> str:
        """The figures as one line."""
        return self._figures.text()

    @property
    def told(self) -> str:
        """What was last said about a correction."""
        return self._told.text()

    @property
    def end_s(self) -> float:
        """Where the song ends."""
        return self._player.song_end_s

    @property
    def song_map(self) -> SongMap:
        """The song's map as it is now."""
        return self.deeds.song_map

    def keys(self) -> list[tuple[str, str]]:
        return self.acts.table()

    def take_focus(self) -> None:
        self.canvas.setFocus()

    def refresh(self, change: Change) -> None:
        song = self.session.view.song
        self._stack.setCurrentIndex(0 if song is None else 1)
        self.acts.fit(song=song is not None, beats=song is not None and bool(song.map.beats_s))
        if song is None:
            self._peaks_of = ""
            return
        self._name.setText(song.media.path.replace("\\", "/").rpartition("/")[2])
        self._figures.setText(figures(song))
        sections = song_sections(song)
        self._grid = grid_of(song.map)
        self.canvas.show_map(song.map, sections, song.duration_s)
        self.table.show_song(song)
        self._choose(min(self.deeds.chosen, max(0, len(sections) - 1)))
        self._tell(self._said)
        self._fetch_peaks(song)
        self._click()
        self._moved(self._player.song_s)
        self.bar.refresh()  # the same moment may lie in another bar now

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._player.hear_alone(True)
        self._click()
        self._moved(self._player.song_s)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.taps.end()
        self._player.set_clicks((), ())
        self._player.hear_alone(False)

    # What the keys and buttons do.

    def tap(self) -> None:
        """A beat is now."""
        self.taps.tap()

    def go_to(self, song_s: float) -> None:
        """Go to a moment of the song."""
        self._player.seek(song_s)
        self.canvas.reveal(self._player.song_s)

    def step(self, snap: Snap, by: int) -> None:
        """Go to the next bar line or beat."""
        self.go_to(stepped(self.song_map, self._here(), snap, by))

    def step_section(self, by: int) -> None:
        """Go to the start of the next section, or the one before."""
        song = self.session.view.song
        if song is not None:
            sections = song_sections(song)
            index = min(max(self.deeds.chosen + by, 0), len(sections) - 1)
            self._choose(index)
            self.go_to(sections[index].start_s)

    def rename(self) -> None:
        """Type the name of the chosen section."""
        self.table.type_into(NAME)

    def letter(self) -> None:
        """Type the letter of the chosen section."""
        self.table.type_into(LETTER)

    def give_up(self) -> None:
        """Stop looking again, or forget the taps."""
        if self.again.stop():
            self._tell("Stopped. The map is as it was.")
        elif self.taps.forget():
            self._tell("The taps are forgotten.")
        else:
            self._tell("")

    def toggle_clicks(self) -> None:
        """Click on the beats, or not."""
        self.clicks.setCurrentIndex(1 - self.clicks.currentIndex())
        self._clicks_chosen()

    # What follows from that.

    def _here(self) -> float:
        return self._player.position()

    def _choose(self, index: int) -> None:
        self.deeds.chosen = index
        self.canvas.show_chosen(index)
        self.table.choose(index)

    def _row_chosen(self, row: int) -> None:
        self._choose(row)
        song = self.session.view.song
        if song is not None and not self._player.playing:
            self.go_to(song_sections(song)[row].start_s)

    def _section_made(self, index: int) -> None:
        self.catch_up()
        self._choose(index)
        if not self._player.playing and index < len(self.song_map.sections):
            self.go_to(self.song_map.sections[index].start_s)

    def _tapped(self, from_s: float, key: str) -> None:
        """The engine follows the music from the first tap on, at the pace that was tapped."""
        self.again.start(from_s, "Tap Tempo", key)

    def _moved(self, song_s: float) -> None:
        if self.isVisible():
            self.canvas.show_position(song_s, follow=self._player.playing)
            grid = self._grid
            self.tools.show_metre(grid.metre(grid.nearest(song_s)) if grid.ones else None)
            if not self._player.playing:
                # The name is what screen readers say when it changes.
                section = words.section_at(self.song_map, song_s)
                where = [place_words(self.song_map, song_s), "" if section is None else section.letter]
                self.canvas.setAccessibleName(", ".join([NAME_OF_MAP, *filter(None, where)]))

    def _clicks_chosen(self) -> None:
        self._player.keep(CLICKS_KEPT, "off" if self.clicks.currentIndex() else "on")
        self._click()

    def _click(self) -> None:
        song_map = self.song_map
        self.clicks.setEnabled(bool(song_map.beats_s))
        if not self.isVisible():
            return
        bars = set(song_map.bars_s)
        beats = () if self.clicks.currentIndex() else song_map.beats_s
        self._player.set_clicks(beats, [beat in bars for beat in beats])

    def _tell(self, sentence: str) -> None:
        self._said = sentence
        self._told.setText(sentence or self._hint())

    def _heard(self, change: Change, origin: str) -> None:
        if change and origin != ORIGIN:
            self._said = ""  # what was said is no longer about what is there
        super()._heard(change, origin)

    def _hint(self) -> str:
        if not self.song_map.beats_s:
            return "No beats were found: press T on every beat while it plays."
        return "Listen with clicks. Where a bar is wrong, go to its first beat and press O."

    def _tell_empty(self) -> None:
        reading = self._work.reading
        self._empty.lines[0].setText(
            f"{reading} is being read; it will be here in a moment." if reading else DROP_IT
        )

    def _menu(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for group in self.acts.of_menu:
            menu.addActions(list(group))
            menu.addSeparator()
        menu.popup(at)

    def _zoomed(self) -> None:
        self._zoom.blockSignals(True)
        self._zoom.setValue(round(self.canvas.zoom_share() * ZOOM_STEPS))
        self._zoom.blockSignals(False)

    def _fetch_peaks(self, song: Song) -> None:
        key = f"{song.media.path}|{song.media.digest}"
        if key == self._peaks_of:
            return
        self._peaks_of = key
        self.canvas.show_peaks(MapPeaks())
        tasks, path, duration_s = self._tasks, Path(song.media.path), song.duration_s
        count = max(1, min(round(duration_s * PEAKS_A_SECOND), MOST_PEAKS))

        def work(ticket: Ticket) -> MapPeaks:
            peaks = tasks.song_peaks(path, count)
            return MapPeaks([(float(low), float(high)) for low, high in peaks], duration_s)

        # Without its loudness the map still shows letters, bars and beats; what is wrong with the file is
        # told in Clips.
        self._jobs.start(PEAKS_SLOT, work, self.canvas.show_peaks, lambda error: None)

    def _connect(self) -> None:
        canvas, table, deeds = self.canvas, self.table, self.deeds
        canvas.wanted.connect(self._player.seek)
        canvas.section_wanted.connect(self._choose)
        canvas.edge_drawn.connect(deeds.move_edge)
        canvas.menu_wanted.connect(self._menu)
        canvas.zoom_changed.connect(self._zoomed)
        self._zoom.valueChanged.connect(lambda step: canvas.set_zoom_share(step / ZOOM_STEPS))
        table.chosen.connect(self._row_chosen)
        table.renamed.connect(deeds.rename)
        table.lettered.connect(deeds.letter)
        deeds.told.connect(self._tell)
        deeds.section_made.connect(self._section_made)
        self.tools.metre_chosen.connect(deeds.metre)
        self.taps.ended.connect(self._tapped)
        self.clicks.activated.connect(self._clicks_chosen)
        self._player.moved.connect(self._moved)
        self._work.moved.connect(self._tell_empty)

    def _arrange(self, choose_song: QAction) -> None:
        theme, em = self.theme, round(self.theme.em())
        self._zoom.setRange(0, ZOOM_STEPS)
        self._zoom.setPageStep(4)
        self._zoom.setMinimumWidth(round(em * 2.5))
        self._zoom.setMaximumWidth(em * 9)
        self._zoom.setAccessibleName("Size of the map")
        self._zoom.setToolTip("From the whole song to a few seconds (+ and −, Ctrl with the wheel)")
        page = QWidget()
        box = QVBoxLayout(page)
        box.setContentsMargins(em, em // 2, em, em // 2)
        box.setSpacing(em // 2)
        head = QHBoxLayout()
        head.setSpacing(round(em * 0.6))
        head.addWidget(self._name)
        head.addWidget(self._figures, 1)
        head.addWidget(self._zoom)
        head.addWidget(ActionButton(self.acts.whole))
        head.addWidget(ActionButton(choose_song))
        box.addLayout(head)
        box.addWidget(self._told)
        box.addWidget(self.canvas, 3)
        box.addWidget(self.tools)
        self.table.setMaximumWidth(em * 100)
        box.addWidget(self.table, 2)
        self.bar = PlayBar(self._player, theme, alone=self.clicks)
        box.addWidget(self.bar)
        lines = (
            DROP_IT,
            "It is the recording everybody played to; all clips are placed on it.",
            "Its beats, bars and sections are found when it is read.",
        )
        self._stack = QStackedLayout(self)
        self._empty = EmptyPage(theme, "No song yet", lines, [ActionButton(choose_song)])
        self._stack.addWidget(self._empty)
        self._stack.addWidget(page)
        self._tell("")


def figures(song: Song) -> str:
    """Length, tempo, bars and sections in a line."""
    found = song.map
    parts = [words.song_time(song.duration_s, 1)]
    if found.tempo_bpm is None:
        parts.append("no steady tempo found")
    else:
        other = "" if found.other_tempo_bpm is None else f" (or {found.other_tempo_bpm:.1f})"
        parts.append(f"{found.tempo_bpm:.1f} beats a minute{other}")
    if found.bars_s:
        parts.append(words.count(len(found.bars_s), "bar"))
        counted = metres_along(found)
        if len(counted) == 1:
            parts.append(f"{words.count(counted[0][1], 'beat')} a bar")
        elif counted:
            parts.append(f"beats a bar change {words.count(len(counted) - 1, 'time')}")
    else:
        parts.append("no bars found; the score counts by sections")
    parts.append(words.count(len(song_sections(song)), "section"))
    return " · ".join(parts)
