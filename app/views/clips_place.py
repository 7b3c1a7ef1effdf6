"""The place Clips: the song, the files, and what each turned out to be."""

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QMenu, QStackedWidget, QVBoxLayout, QWidget

from app.model import angle_edits, edits
from app.model.change import Change
from app.model.shoot import Clip
from app.model.store import missing
from app.session import Session
from app.views import figures, words
from app.views import theme as looks
from app.views.buttons import ActionButton
from app.views.clips_model import ClipsModel
from app.views.clips_table import ClipsTable
from app.views.dialogs import Dialogs
from app.views.empty_page import EmptyPage
from app.views.ink import Ink
from app.views.place import Place
from app.views.theme import Theme
from app.views.work import Work

LINES = (
    "1.  Drop the song here: the recording everybody played to.",
    "2.  Drop the folder with the clips. Files are only read, never changed.",
    "3.  Wait a little: every clip is placed on the song, or you are told why not.",
)


class ClipsPlace(Place):
    """Which files there are, and what became of them."""

    title = "Clips"

    def __init__(
        self,
        session: Session,
        theme: Theme,
        work: Work,
        dialogs: Dialogs,
        take_in: tuple[QAction, QAction, QAction],
        parent: QWidget | None = None,
    ) -> None:
        """``take_in`` are the window's actions for choosing the song, adding clips and adding a folder."""
        super().__init__(session, theme, parent)
        self._work, self._dialogs = work, dialogs
        self._actions()
        self.model = ClipsModel(theme, self)
        self.table = ClipsTable(self.model, theme)
        self._song = Ink(theme, size=looks.TEXT)
        self._summary = Ink(theme, size=looks.SMALL, role="dim")
        self._empty = EmptyPage(
            theme, "Begin with the song and the clips", LINES, [ActionButton(a) for a in take_in], framed=True
        )
        self._stack = QStackedWidget()
        self._stack.addWidget(self._empty)
        self._stack.addWidget(self._full_page(take_in))
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self._stack)
        self.model.renamed.connect(self._rename)
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.table.customContextMenuRequested.connect(self._menu)
        self.table.selectionModel().selectionChanged.connect(self._enable)
        work.moved.connect(self._show_work)
        self._enable()

    def keys(self) -> list[tuple[str, str]]:
        return [
            ("F2", "type the angle of the clip"),
            ("Ctrl+G", "put the chosen clips on an angle"),
            ("Ctrl+R", "place the chosen clips again"),
            ("Ctrl+P", "place the clips that wait"),
            ("Del", "take the chosen clips out of the shoot"),
        ]

    def take_focus(self) -> None:
        if self.session.shoot.clips:
            self.table.setFocus()
        else:
            self._empty.buttons[0].setFocus()

    def refresh(self, change: Change) -> None:
        shoot = self.session.shoot
        chosen = self.table.selected_ids()
        self.model.show_shoot(shoot)
        self.table.fit_rows()
        if chosen and not self.table.selected_ids():
            self.table.select_ids(chosen)
        self._stack.setCurrentIndex(1 if shoot.clips else 0)
        song = shoot.song
        if song is None:
            self._show_song()
            self._empty.lines[0].setText(LINES[0])
        else:
            name = song.media.path.replace("\\", "/").rpartition("/")[2]
            self._song.setText(
                f"Song: {name}, {words.song_time(song.duration_s, 0)}, {figures.song_figure(shoot)}"
            )
            self._empty.lines[0].setText(f"✓  The song is {name}.")
            self._song.set_role("ink")
        self._summary.setText(figures.clips_summary(shoot))
        gone = missing(shoot)
        self._moved.setVisible(bool(gone))
        self._moved.setText(f"Find {words.count(len(gone), 'Moved File')}…")
        self._show_work()

    def assign_angle(self) -> None:
        """Ask for an angle and put the chosen clips on it."""
        ids = self.table.selected_ids()
        if not ids:
            return
        shoot = self.session.shoot
        old = shoot.angle(shoot.clip(ids[0]).angle_id).name
        what = words.count(len(ids), "clip")
        name = self._dialogs.ask_text("Put on angle", f"Angle of {what}:", old)
        if name is not None:
            self._assign(ids, name)

    def remove(self) -> None:
        """Take the chosen clips out of the shoot."""
        ids = self.table.selected_ids()
        if ids:
            label = f"Remove {words.count(len(ids), 'Clip')}"
            self.session.apply(label, edits.remove_clips(self.session.shoot, ids), "clips")

    def _full_page(self, take_in: tuple[QAction, QAction, QAction]) -> QWidget:
        em = round(self.theme.em())
        page = QWidget()
        box = QVBoxLayout(page)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(em // 2)
        head = QHBoxLayout()
        head.setSpacing(em // 2)
        text = QVBoxLayout()
        text.setSpacing(2)
        text.addWidget(self._song)
        text.addWidget(self._summary)
        head.addLayout(text, 1)
        for action in (self._moved, self._place, *take_in):
            button = ActionButton(action)
            button.setVisible(action.isVisible())
            action.changed.connect(lambda b=button, a=action: b.setVisible(a.isVisible()))
            head.addWidget(button)
        box.addLayout(head)
        box.addWidget(self.table, 1)
        return page

    def _actions(self) -> None:
        self._edit = self.action(
            "Type Angle", "F2", "Type the angle of this clip", lambda: self.table.edit_angle()
        )
        self._assign_action = self.action(
            "Put on Angle…", "Ctrl+G", "Put the chosen clips on one angle", self.assign_angle
        )
        self._again = self.action(
            "Place Again", "Ctrl+R", "Place the chosen clips once more", self._place_again
        )
        self._remove = self.action(
            "Remove from Shoot", "Del", "Take the chosen clips out of the shoot; the files stay", self.remove
        )
        self._place = self.action(
            "Place Waiting Clips", "Ctrl+P", "Place the clips that wait", self._work.place_waiting
        )
        self._place.setVisible(False)
        self._moved = self.action(
            "Find Moved Files…", "Ctrl+M", "Look in a folder for files that were moved", self._work.find_moved
        )
        self._moved.setVisible(False)

    def _enable(self) -> None:
        chosen = bool(self.table.selectionModel().selectedRows())
        for action in (self._assign_action, self._again, self._remove):
            action.setEnabled(chosen)

    def _menu(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addActions([self._edit, self._assign_action, self._again, self._remove])
        menu.popup(self.table.viewport().mapToGlobal(at))

    def _place_again(self) -> None:
        self._work.place_again(self.table.selected_ids())

    def _rename(self, clip_id: str, name: str) -> None:
        """An angle typed in a row: rename it where the clip is alone on it, else move only this clip."""
        self._assign([clip_id], name)

    def _assign(self, ids: list[str], name: str) -> None:
        shoot = self.session.shoot
        on_it = _clips_on(shoot.clips, shoot.clip(ids[0]).angle_id)
        try:
            if on_it == set(ids):
                result = angle_edits.rename_angle(shoot, shoot.clip(ids[0]).angle_id, name)
            else:
                result = angle_edits.assign_angle(shoot, ids, name)
        except ValueError as error:
            self._dialogs.tell("Angle", str(error))
            return
        self.session.apply("Change Angle", result, "clips")

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
        if self.session.shoot.song is None:
            self._show_song()
        self.model.show_progress(self._work.progress)
        waiting = self._work.waiting
        self._place.setVisible(waiting > 0)
        self._place.setText(f"Place {words.count(waiting, 'Waiting Clip')}")


def _clips_on(clips: tuple[Clip, ...], angle_id: str) -> set[str]:
    return {clip.id for clip in clips if clip.angle_id == angle_id}
