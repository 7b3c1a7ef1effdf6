"""The place Song: the master with its beats, bars and sections, to be heard and put right."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QAction, QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QSlider, QStackedLayout, QVBoxLayout, QWidget

from app.model.document.change import Change
from app.model.document.song import Song
from app.model.song_map.bar_spans import song_sections
from app.model.song_map.map_grid import Grid, grid_of, metres_along
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.actions import ActionTable
from app.window.parts.buttons import ActionButton
from app.window.parts.dialogs import Dialogs
from app.window.parts.empty_page import EmptyPage
from app.window.parts.flow_layout import FlowBox
from app.window.parts.place import Place
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.play_bar import PlayBar, place_words
from app.window.playing.player import Player
from app.window.session import Session
from app.window.song.clicks_field import ClicksField
from app.window.song.map_canvas import NAME as NAME_OF_MAP
from app.window.song.map_canvas import MapCanvas
from app.window.song.map_peaks import MapPeaks
from app.window.song.map_pointer import MapPointer
from app.window.song.map_steps import ORIGIN, MapSteps
from app.window.song.song_actions import MAP_MENU, song_actions
from app.window.song.song_again import SongAgain
from app.window.song.song_cursor import SongCursor
from app.window.song.song_labels import SongLabels
from app.window.song.song_table import SongTable
from app.window.song.song_taps import SongTaps
from app.window.song.song_tools import SongTools
from app.window.work.running import Running
from app.window.work.work import Work

PEAKS_A_SECOND, MOST_PEAKS = 200, 200_000
PEAKS_SLOT = "peaks of the map"
ZOOM_STEPS = 40
DROP_IT = "Drop the song anywhere in this window, or choose it."
CANVAS_LOW_EM = 8
"""Height of the map, in lines of text, where the place is low: the table of sections is to have some rows."""
NO_LIMIT = 16777215
"""Qt's own largest size of a widget (QWIDGETSIZE_MAX)."""


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
        running: Running,
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
        self.song_cursor = SongCursor(session, player, self)
        self.steps = MapSteps(session, self.song_cursor, self)
        self.again = SongAgain(session, tasks, jobs, running, self.steps, self.song_cursor, self)
        self.taps = SongTaps(session, player, self.steps, self)
        self.clicks = ClicksField(theme, player)
        self._pointer = MapPointer(self.canvas)
        self.action_table = ActionTable(
            self,
            song_actions(
                self.song_cursor,
                self.steps,
                self.taps,
                self.again,
                SongLabels(session, self.steps, dialogs, self),
                self.canvas,
                self.table,
                self.clicks,
            ),
        )
        self.tools = SongTools(theme, self.action_table)
        self._name = TextLabel(theme, size=looks.HEADING, bold=True, wrap=False)
        self._figures = OneLine(theme, size=looks.SMALL, role="dim")
        self._message = TextLabel(theme, size=looks.SMALL)
        self.zoom = QSlider(Qt.Orientation.Horizontal)
        self._arrange(choose_song)
        self._connect()

    @property
    def text(self) -> str:
        """The figures as one line."""
        return self._figures.text()

    @property
    def message(self) -> str:
        """What was last said about a correction."""
        return self._message.text()

    def driven_from(self) -> QWidget:
        return self.canvas

    def refresh(self, change: Change) -> None:
        song = self.session.view.song
        self._stack.setCurrentIndex(0 if song is None else 1)
        self.action_table.refresh()
        if song is None:
            self._peaks_of = ""
            return
        self._name.setText(song.media.path.replace("\\", "/").rpartition("/")[2])
        self._figures.setText(figures(song))
        sections = song_sections(song)
        self._grid = grid_of(song.map)
        self.canvas.show_map(song.map, sections, song.duration_s)
        self.table.show_song(song)
        self.song_cursor.choose(min(self.song_cursor.section, max(0, len(sections) - 1)))
        self._tell(self._said)
        self._fetch_peaks(song)
        self._click()
        self._on_moved(self._player.song_s)
        self.bar.refresh()  # the same moment may lie in another bar now

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._player.hear_alone(True)
        self._click()
        self._on_moved(self._player.song_s)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.tools.row.keep_to_one_line(self.is_low)
        most = round(self.theme.em() * CANVAS_LOW_EM) if self.is_low else NO_LIMIT
        self.canvas.setMaximumHeight(most)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.taps.end()
        self._player.set_clicks((), ())
        self._player.hear_alone(False)

    def concerns(self, change: Change, origin: str) -> Change:
        if change and origin != ORIGIN:
            self._said = ""  # what was said is no longer about what is there
        return change

    def _on_section_chosen(self, index: int) -> None:
        self.canvas.show_chosen(index)
        self.table.choose(index)

    def _on_section_made(self, index: int) -> None:
        self.catch_up()
        self.song_cursor.visit(index)

    def _on_tapped(self, from_s: float, key: str) -> None:
        """The engine follows the music from the first tap on, at the pace that was tapped."""
        self.again.start(from_s, "Tap Tempo", key)

    def _on_moved(self, song_s: float) -> None:
        if self.isVisible():
            self.canvas.show_position(song_s, follow=self._player.playing)
            grid = self._grid
            self.tools.show_metre(grid.metre(grid.nearest(song_s)) if grid.downbeats else None)
            if not self._player.playing:
                # The name is what screen readers say when it changes.
                section = words.section_at(self.song_cursor.song_map, song_s)
                where = [
                    place_words(self.song_cursor.song_map, song_s),
                    "" if section is None else section.letter,
                ]
                self.canvas.setAccessibleName(", ".join([NAME_OF_MAP, *filter(None, where)]))

    def _click(self) -> None:
        song_map = self.song_cursor.song_map
        self.clicks.setEnabled(bool(song_map.beats_s))
        if self.isVisible():
            self._player.set_clicks(*self.clicks.moments(song_map))

    def _tell(self, sentence: str) -> None:
        self._said = sentence
        self._message.setText(sentence or self._hint())

    def _hint(self) -> str:
        if not self.song_cursor.song_map.beats_s:
            return "No beats found. Play the song and tap T on every beat."
        return "Play the song with clicks. Where a bar is wrong, go to its first beat and press O."

    def _tell_empty(self) -> None:
        reading = self._work.reading
        self.empty.lines[0].setText(f"Reading {reading}…" if reading else DROP_IT)

    def _on_menu_wanted(self, at: QPoint) -> None:
        self._menu((), at)

    def _on_more_wanted(self, at: QPoint) -> None:
        """Beside what the menu of the map has, that whose button there is no room for."""
        there = [one for group in MAP_MENU for one in self.action_table.several(*group)]
        self._menu([one for one in self.tools.row.left_out if one not in there], at)

    def _menu(self, first: Sequence[QAction], at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for group in (first, *(self.action_table.several(*names) for names in MAP_MENU)):
            menu.addActions(group)
            menu.addSeparator()
        menu.popup(at)

    def _on_zoomed(self) -> None:
        self.zoom.blockSignals(True)
        self.zoom.setValue(round(self.canvas.zoom_share() * ZOOM_STEPS))
        self.zoom.blockSignals(False)

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
        canvas, pointer, table, steps = self.canvas, self._pointer, self.table, self.steps
        pointer.wanted.connect(self._player.seek)
        pointer.play_wanted.connect(self._player.play)
        pointer.section_wanted.connect(self.song_cursor.choose)
        pointer.edge_drawn.connect(steps.move_edge)
        pointer.beat_drawn.connect(steps.move_beat)
        pointer.menu_wanted.connect(self._on_menu_wanted)
        canvas.zoom_changed.connect(self._on_zoomed)
        self.zoom.valueChanged.connect(lambda step: canvas.set_zoom_share(step / ZOOM_STEPS))
        self.song_cursor.section_chosen.connect(self._on_section_chosen)
        self.song_cursor.gone.connect(canvas.reveal)
        table.chosen.connect(self.song_cursor.visit)
        table.renamed.connect(steps.rename)
        table.lettered.connect(steps.letter)
        steps.message.connect(self._tell)
        steps.section_made.connect(self._on_section_made)
        self.tools.metre_chosen.connect(steps.metre)
        self.tools.more_wanted.connect(self._on_more_wanted)
        self.taps.ended.connect(self._on_tapped)
        self.clicks.changed.connect(self._click)
        self._player.moved.connect(self._on_moved)
        self._work.moved.connect(self._tell_empty)

    def _arrange(self, choose_song: QAction) -> None:
        theme, em = self.theme, round(self.theme.em())
        self.zoom.setRange(0, ZOOM_STEPS)
        self.zoom.setPageStep(4)
        self.zoom.setMinimumWidth(round(em * 2.5))
        self.zoom.setMaximumWidth(em * 9)
        self.zoom.setAccessibleName("Zoom")
        self.zoom.setToolTip("Zoom from the whole song to a few seconds (+ and −, Ctrl+wheel)")
        page = QWidget()
        box = QVBoxLayout(page)
        box.setContentsMargins(em, em // 2, em, em // 2)
        box.setSpacing(em // 2)
        head = QHBoxLayout()
        head.setSpacing(round(em * 0.6))
        head.addWidget(FlowBox(round(em * 0.6), [self._name, self._figures]), 1)
        head.addWidget(self.zoom)
        head.addWidget(ActionButton(self.action_table["whole"]))
        head.addWidget(ActionButton(choose_song))
        box.addLayout(head)
        box.addWidget(self._message)
        box.addWidget(self.canvas, 3)
        box.addWidget(self.tools)
        self.table.setMaximumWidth(em * 100)
        box.addWidget(self.table, 2)
        self.bar = PlayBar(self._player, theme, alone=self.clicks)
        box.addWidget(self.bar)
        lines = (
            DROP_IT,
            "It is the recording everybody plays to. Every clip is placed on it.",
            "Its beats, bars and sections are detected when it is added.",
        )
        self._stack = QStackedLayout(self)
        self.empty = EmptyPage(theme, "No song yet", lines, [ActionButton(choose_song)])
        self._stack.addWidget(self.empty)
        self._stack.addWidget(page)
        self._tell("")
        self._tell_empty()


class OneLine(TextLabel):
    """A label that wants to be one line, and wraps only where it is given less room."""

    def sizeHint(self) -> QSize:
        wide = self.fontMetrics().horizontalAdvance(self.text()) + 2 * self.margin() + 4
        return QSize(wide, self.heightForWidth(wide))


def figures(song: Song) -> str:
    """Length, tempo, bars and sections in a line."""
    found = song.map
    parts = [words.song_time(song.duration_s, 1)]
    if found.tempo_bpm is None:
        parts.append("no steady tempo found")
    else:
        other = "" if found.other_tempo_bpm is None else f" (or {found.other_tempo_bpm:.1f})"
        parts.append(f"{found.tempo_bpm:.1f} bpm{other}")
    if found.bars_s:
        parts.append(words.count(len(found.bars_s), "bar"))
        counted = metres_along(found)
        if len(counted) == 1:
            parts.append(f"{words.count(counted[0][1], 'beat')} per bar")
        elif counted:
            parts.append(f"beats per bar change {words.count(len(counted) - 1, 'time')}")
    else:
        parts.append("no bars found, so the score goes by sections")
    parts.append(words.count(len(song_sections(song)), "section"))
    return " · ".join(parts)
