"""The place Clips: the song, the files, and what each turned out to be."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QMenu, QStackedWidget, QVBoxLayout, QWidget

from app.model.edits.change import Change
from app.window.clips.clips_actions import ClipsActions
from app.window.clips.clips_filter import ClipsFilter
from app.window.clips.clips_model import ClipsModel
from app.window.clips.clips_proxy import Wanted
from app.window.clips.clips_table import ClipsTable
from app.window.clips.first_page import LINES, FirstPage
from app.window.clips.moved_media import MovedMedia
from app.window.clips.watched_folder import WatchedFolder
from app.window.clips.watched_strip import WatchStrip
from app.window.parts import figures, words
from app.window.parts import theme as looks
from app.window.parts.buttons import ActionButton
from app.window.parts.dialogs import Dialogs
from app.window.parts.place import Place
from app.window.parts.recent import Recent
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.session import Session
from app.window.work.work import Work


@dataclass(frozen=True, slots=True)
class WaysIn:
    """The window's actions by which something comes into the shoot."""

    song: QAction
    clips: QAction
    folder: QAction
    watch: QAction
    sample: QAction
    redo: QAction
    """Brings back what was undone, where that left nothing."""
    open_shoot: Callable[[Path], None]


class ClipsPlace(Place):
    """Which files there are, and what became of them."""

    title = "Clips"
    wanted_in_check = Signal(str)
    """The key of the entry of Check that is to be looked at."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        work: Work,
        moved: MovedMedia,
        watch: WatchedFolder,
        recent: Recent,
        dialogs: Dialogs,
        ways_in: WaysIn,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(session, theme, parent)
        self._work, self._moved = work, moved
        self._actions()
        self.model = ClipsModel(theme, self)
        self.table = ClipsTable(self.model, theme)
        self.chosen = ClipsActions(self.action, session, work, dialogs, self.table, self.wanted_in_check.emit)
        # Return belongs to the table alone: in a field it ends the typing.
        self.chosen.check.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
        self.table.addAction(self.chosen.check)
        self._watch_button = ActionButton(ways_in.watch)
        self.filter = ClipsFilter(theme, self._show_all)
        self._song = TextLabel(theme, size=looks.TEXT)
        take_in = (ways_in.song, ways_in.clips, ways_in.folder, ways_in.watch)
        self.first = FirstPage(theme, take_in, ways_in.sample, ways_in.redo, recent, ways_in.open_shoot)
        self._stack = QStackedWidget()
        self._stack.addWidget(self.first)
        self._stack.addWidget(self._full_page(take_in[:3]))
        self.watch_strip = WatchStrip(theme, watch, ways_in.watch)
        self.watch_strip.setContentsMargins(round(theme.em()), round(theme.em() / 2), round(theme.em()), 0)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(self.watch_strip)
        box.addWidget(self._stack)
        self.model.renamed.connect(lambda clip_id, name: self.chosen.put_on_angle([clip_id], name))
        self.model.noted.connect(lambda clip_id, note: self.chosen.note([clip_id], note))
        self.table.opened.connect(self.chosen.look_at)
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.table.customContextMenuRequested.connect(self._menu)
        self.table.selectionModel().selectionChanged.connect(self.chosen.enable)
        self.filter.wanted_changed.connect(self._filter)
        work.moved.connect(self._show_work)
        moved.changed.connect(self._show_moved)
        watch.changed.connect(lambda: self._watch_button.setVisible(watch.folder is None))
        self.chosen.enable()

    def keys(self) -> list[tuple[str, str]]:
        return [
            ("Ctrl+F", "search the clips"),
            ("Ctrl+Shift+V", "show the clips of one verdict"),
            ("Ctrl+Shift+A", "show the clips of one angle"),
            ("Esc", "show every clip again"),
            ("Ctrl+A", "choose every clip that is shown"),
            ("Enter", "look at the clip's take in Check"),
            ("F2", "type the angle of the clip"),
            ("Ctrl+G", "put the chosen clips on an angle"),
            ("Ctrl+E", "write a note to the chosen clips"),
            ("Ctrl+R", "place the chosen clips again"),
            ("Ctrl+D", "the song does not run in the chosen clips"),
            ("Del", "take the chosen clips out of the shoot"),
            ("Ctrl+P", "place the clips that wait"),
            ("Ctrl+M", "find moved files"),
            ("Alt+1 … 4", "open a recent shoot from the first page"),
        ]

    def take_focus(self) -> None:
        if self.session.view.clips:
            self.table.setFocus()
        else:
            self.first.buttons[0].setFocus()

    def refresh(self, change: Change) -> None:
        shoot = self.session.view
        chosen = self.table.selected_ids()
        self.model.show_shoot(shoot)
        self.filter.show_shoot(shoot)
        self.filter.show_count(self.table.shown, len(shoot.clips))
        self.table.fit_rows()
        if chosen and not self.table.selected_ids():
            self.table.select_ids(chosen)
        self.first.show_undone(self.session.redo_label)
        self._turn_page()
        song = shoot.song
        if song is None:
            self._show_song()
            self.first.lines[0].setText(LINES[0])
        else:
            name = song.media.path.replace("\\", "/").rpartition("/")[2]
            self._song.setText(
                f"Song: {name}, {words.song_time(song.duration_s, 0)}, {figures.song_figure(shoot)}"
            )
            self.first.lines[0].setText(f"✓  The song is {name}.")
            self._song.set_role("ink")
        self._show_work()

    def _turn_page(self) -> None:
        """Show the first page or the table."""
        self._stack.setCurrentIndex(1 if self.session.view.clips else 0)

    def _full_page(self, take_in: tuple[QAction, ...]) -> QWidget:
        em = round(self.theme.em())
        page = QWidget()
        box = QVBoxLayout(page)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(em // 2)
        head, row = QHBoxLayout(), QHBoxLayout()
        head.setSpacing(em // 2)
        row.setSpacing(em // 2)
        head.addWidget(self._song, 1)
        for action in (self._place, self._find):
            button = ActionButton(action)
            button.setVisible(action.isVisible())
            action.changed.connect(lambda b=button, a=action: b.setVisible(a.isVisible()))
            head.addWidget(button)
        for action in take_in:
            row.addWidget(ActionButton(action))
        row.addWidget(self._watch_button)
        row.addStretch(1)
        box.addLayout(head)
        box.addLayout(row)
        box.addWidget(self.filter)
        box.addWidget(self.table, 1)
        return page

    def _actions(self) -> None:
        self.action("Search Clips", "Ctrl+F", "Search the clips", lambda: self.filter.search())
        self.action(
            "Show One Verdict",
            "Ctrl+Shift+V",
            "Choose the verdict that is shown",
            lambda: self.filter.verdict.showPopup(),
        )
        self.action(
            "Show One Angle",
            "Ctrl+Shift+A",
            "Choose the angle that is shown",
            lambda: self.filter.angle.showPopup(),
        )
        self._show_all: QAction = self.action(
            "Show All", "Esc", "Show every clip again", self._show_every_clip
        )
        self._show_all.setEnabled(False)
        self._place = self.action(
            "Place Waiting Clips", "Ctrl+P", "Place the clips that wait", self._work.place_waiting
        )
        self._place.setVisible(False)
        self._find = self.action(
            "Find Moved Files…", "Ctrl+M", "Look in a folder for files that were moved", self._moved.find
        )
        self._find.setVisible(False)

    def _menu(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addActions(list(self.chosen.all))
        menu.popup(self.table.viewport().mapToGlobal(at))

    def _show_every_clip(self) -> None:
        self.filter.show_all()
        self.table.setFocus()

    def _filter(self, wanted: Wanted) -> None:
        self._show_all.setEnabled(not wanted.everything)
        self.table.show_wanted(wanted)
        self.filter.show_count(self.table.shown, len(self.session.view.clips))

    def _show_song(self) -> None:
        """Say that there is no song, or that it is just being read."""
        reading = self._work.reading
        if reading:
            self._song.setText(f"{reading} is being read. The clips wait for it.")
        else:
            text = "No song yet: drop it here, or choose it (Ctrl+Shift+O). Clips wait until then."
            self._song.setText(text)
        self._song.set_role("ink" if reading else "warm")

    def _show_work(self) -> None:
        if self.session.view.song is None:
            self._show_song()
        self.model.show_progress(self._work.progress)
        waiting = self._work.waiting
        self._place.setVisible(waiting > 0)
        self._place.setText(f"Place {words.count(waiting, 'Waiting Clip')}")

    def _show_moved(self) -> None:
        gone = self._moved.gone
        self.model.show_gone(gone)
        self._find.setVisible(bool(gone))
        self._find.setText(f"Find {words.count(len(gone), 'Moved File')}…")
