"""The place Clips: the song, the files, and what each turned out to be."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QMenu, QStackedWidget, QVBoxLayout, QWidget

from app.model.document.change import Change
from app.model.song_names import song_names
from app.model.songs_of_clips import standings
from app.window.clips.clip_panel import ClipPanel
from app.window.clips.clip_steps import ClipSteps
from app.window.clips.clips_actions import CLIP_MENU, HEAD_BUTTONS, clips_actions
from app.window.clips.clips_filter import ClipsFilter
from app.window.clips.clips_model import ClipsModel
from app.window.clips.clips_proxy_model import Wanted
from app.window.clips.clips_table import ClipsTable
from app.window.clips.first_page import LINES, FirstPage
from app.window.clips.moved_media import MovedMedia
from app.window.clips.naming_offer import NamingOffer
from app.window.clips.naming_page import NamingPage
from app.window.clips.watched_folder import WatchedFolder
from app.window.clips.watched_strip import WatchStrip
from app.window.parts import figures, words
from app.window.parts import theme as looks
from app.window.parts.actions import ActionTable, KeyLine
from app.window.parts.buttons import ActionButton
from app.window.parts.clip_pictures import Pictures
from app.window.parts.dialogs import Dialogs
from app.window.parts.place import Place
from app.window.parts.recent import Recent
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.clip_player import ClipPlayer
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
    name: QAction
    """Opens the page on which angles are named."""
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
        pictures: Pictures,
        clip_player: ClipPlayer,
        ways_in: WaysIn,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(session, theme, parent)
        self._work, self._moved = work, moved
        self._is_naming = False
        self.model = ClipsModel(theme, self)
        self.table = ClipsTable(self.model, theme, pictures)
        self.steps = ClipSteps(session, work, dialogs, self.table, self.wanted_in_check.emit)
        self.filter = ClipsFilter(theme)
        self.player = clip_player
        self.panel = ClipPanel(theme, pictures, clip_player)
        self.panel.hide()
        self.action_table = ActionTable(
            self, clips_actions(self, self.steps, self.filter, work, self.table.columns)
        )
        self.panel.add_button(self.action_table["larger"])
        self.table.addAction(self.action_table["check"])
        self._watch_button = ActionButton(ways_in.watch)
        self.filter.add_button(self.action_table["show all"])
        self._song = TextLabel(theme, size=looks.TEXT)
        take_in = (ways_in.song, ways_in.clips, ways_in.folder, ways_in.watch)
        self.first = FirstPage(theme, take_in, ways_in.sample, ways_in.redo, recent, ways_in.open_shoot)
        self._stack = QStackedWidget()
        self._stack.addWidget(self.first)
        self.offer = NamingOffer(theme, ways_in.name)
        self._stack.addWidget(self._full_page(take_in[:3]))
        self.naming = NamingPage(session, theme, pictures, lambda text: dialogs.tell("Angle", text))
        self.naming.left.connect(self._leave_naming)
        self._stack.addWidget(self.naming)
        self.watch_strip = WatchStrip(theme, watch, ways_in.watch)
        self.watch_strip.setContentsMargins(round(theme.em()), round(theme.em() / 2), round(theme.em()), 0)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(self.watch_strip)
        box.addWidget(self._stack)
        self.model.renamed.connect(self.steps.typed_angle)
        self.model.noted.connect(lambda clip_id, note: self.steps.note([clip_id], note))
        self.table.opened.connect(self.steps.look_at)
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.table.customContextMenuRequested.connect(self._on_menu_wanted)
        self.table.selectionModel().selectionChanged.connect(self._on_selection_changed)
        self.table.columns.chosen_changed.connect(self.action_table.refresh)
        self.filter.wanted_changed.connect(self._on_wanted_changed)
        work.moved.connect(self._show_work)
        moved.changed.connect(self._show_moved)
        watch.changed.connect(lambda: self._watch_button.setVisible(watch.folder is None))

    @property
    def is_naming(self) -> bool:
        """Whether the page is open on which angles are named."""
        return self._is_naming

    def name_angles(self) -> None:
        """Open the page on which angles are named."""
        if not self.is_naming:
            self._turn_to_naming()
        self.take_focus()

    def key_lines(self) -> list[KeyLine]:
        return [*super().key_lines(), *self.naming.action_table.page]

    def concerns(self, change: Change, origin: str) -> Change:
        if origin == "open":
            self.offer.forget(self.session.view)
            self.naming.forget()
            self._leave_naming()
        return change

    def driven_from(self) -> QWidget:
        if self.is_naming:
            return self.naming.driven_from()
        return self.table if self.session.view.clips else self.first.buttons[0]

    @property
    def larger(self) -> bool:
        """Whether the selected clip is shown larger."""
        return not self.panel.isHidden()

    def toggle_larger(self) -> None:
        """Show the selected clip larger below the table, or no more."""
        had_keyboard = self.panel.isAncestorOf(self.focusWidget()) if self.focusWidget() else False
        self.panel.setVisible(not self.larger)
        self._show_selected()
        if had_keyboard:
            self.take_focus()
        self.action_table.refresh()

    def toggle_own(self) -> bool:
        """Play or pause the selected clip by itself, and show it; without one the song is played."""
        if self.is_naming or (not self.player.playing and self.table.selected_clip is None):
            return False
        if not self.larger:
            self.toggle_larger()
        self.player.toggle()
        return True

    def skip(self, seconds: float) -> None:
        """Go on, or back, in the clip that is shown larger."""
        self.player.seek(self.player.position() + seconds)

    def refresh(self, change: Change) -> None:
        shoot = self.session.everywhere
        chosen = self.table.selected_ids()
        several = len(self.session.songs) > 1
        if several:
            called = tuple(song_names(self.session.songs).values())
            self.model.show_shoot(shoot, standings(self.session.views), called)
        else:
            self.model.show_shoot(shoot)
        self.filter.show_shoot(shoot)
        self.filter.show_songs(several=several)
        self.filter.show_count(self.table.shown, len(shoot.clips))
        self.table.fit_rows()
        if chosen and not self.table.selected_ids():
            self.table.select_ids(chosen)
        self._show_selected()
        self.first.show_undone(self.session.redo_label)
        self.offer.show_shoot(shoot)
        if self.is_naming:
            self.naming.show_shoot()
        self._turn_page()
        song = shoot.song
        if song is None:
            self._show_song()
            self.first.lines[0].setText(LINES[0])
        else:
            name = song.media.path.replace("\\", "/").rpartition("/")[2]
            songs = self.session.songs
            if len(songs) > 1:
                told = f"{len(songs)} songs: {', '.join(song_names(songs).values())}"
                self._song.setText(told)
                self.first.lines[0].setText(f"✓  {told}.")
            else:
                self.first.lines[0].setText(f"✓  The song is {name}.")
                self._song.setText(
                    f"Song: {name}, {words.song_time(song.duration_s, 0)}, {figures.song_figure(shoot)}"
                )
            self._song.set_role("ink")
        self._show_work()

    def _turn_page(self) -> None:
        """Show the first page or the table; while angles are named, that page stays."""
        self._is_naming &= bool(self.session.view.clips)
        self._stack.setCurrentIndex(2 if self.is_naming else 1 if self.session.view.clips else 0)

    def _turn_to_naming(self) -> None:
        self._is_naming = True
        self.naming.show_shoot()
        self._turn_page()
        self.action_table.refresh()

    def _leave_naming(self) -> None:
        if self.is_naming:
            self._is_naming = False
            self._turn_page()
            self.action_table.refresh()
            if self.isVisible():
                self.take_focus()

    def _ask_for_names(self) -> None:
        """Open the page by itself once clips were placed, unless something is being typed."""
        typing = isinstance(self.window().focusWidget(), QLineEdit) and self.isVisible()
        if self._work.placing or typing or self.is_naming or not self.offer.is_due(self.session.view):
            return
        if self.isVisible():
            self.name_angles()
        else:
            self._turn_to_naming()
            self._work.message.emit(f"{self.offer.text[3:]} Name them in Clips (Ctrl+Shift+N).")

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
        for action in self.action_table.several(*HEAD_BUTTONS):
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
        box.addWidget(self.offer)
        box.addWidget(self.filter)
        box.addWidget(self.table, 3)
        box.addWidget(self.panel, 2)
        return page

    def _on_menu_wanted(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addActions(self.action_table.several(*CLIP_MENU))
        menu.popup(self.table.viewport().mapToGlobal(at))

    def _on_selection_changed(self) -> None:
        self._show_selected()
        self.action_table.refresh()

    def _show_selected(self) -> None:
        """Have the larger view follow the table."""
        if self.larger:
            self.panel.show_clip(self.table.selected_clip, self.session.everywhere)

    def show_every_clip(self) -> None:
        """Leave no clip out any more."""
        self.filter.show_all()
        self.table.setFocus()

    def _on_wanted_changed(self, wanted: Wanted) -> None:
        self.action_table.refresh()
        self.table.show_wanted(wanted)
        self.filter.show_count(self.table.shown, len(self.session.view.clips))

    def _show_song(self) -> None:
        """Say that there is no song, or that it is just being read."""
        reading = self._work.reading
        if reading:
            self._song.setText(f"Reading {reading}. The clips are waiting for it.")
        else:
            text = "No song yet: drop it here or choose it (Ctrl+Shift+O). The clips wait until then."
            self._song.setText(text)
        self._song.set_role("ink" if reading else "warm")

    def _show_work(self) -> None:
        if self.session.view.song is None:
            self._show_song()
        self.model.show_progress(self._work.progress)
        self.action_table.refresh()
        self._ask_for_names()

    def _show_moved(self) -> None:
        self.model.show_gone(self._moved.gone)
