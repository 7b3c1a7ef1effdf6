"""The page on which the maker names what each camera shot: a picture of each, once for all of them."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.model.edits.naming_edits import name_angles
from app.model.naming import Draft, Entry, Key, entries
from app.window.clips.naming_clips import dropped_ids
from app.window.clips.naming_row import NamingRow
from app.window.parts import theme as looks
from app.window.parts.actions import Action, ActionTable, Line
from app.window.parts.buttons import ActionButton
from app.window.parts.clip_pictures import Pictures
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.session import Session

HEADING = "What does each camera show?"
HELP = (
    "Type a name for each, then press Enter. Drag clips to the angle they belong to, or choose them and "
    "press Alt+Up or Alt+Down. The same name twice makes one angle; for a row left empty the grey words hold."
)
NEW = "Drop clips here to make another angle of them (Alt+Ins)"


class NewAngle(TextLabel):
    """A line on which clips are dropped to make an angle of their own."""

    dropped = Signal(object)

    def __init__(self, theme: Theme) -> None:
        super().__init__(theme, NEW, role="dim", italic=True)
        self.setAcceptDrops(True)
        self.setMinimumHeight(round(theme.em() * 3))
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        event.setAccepted(bool(dropped_ids(event)))

    def dropEvent(self, event: QDropEvent) -> None:
        event.setDropAction(Qt.DropAction.CopyAction)
        event.accept()
        self.dropped.emit(dropped_ids(event))


class NamingPage(QWidget):
    """Shows the angles to be named while the shoot goes on changing below it."""

    left = Signal()
    """The names were accepted, or put off."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        pictures: Pictures,
        tell: Callable[[str], None],
        parent: QWidget | None = None,
    ) -> None:
        """``tell`` says what is wrong, in a sentence."""
        super().__init__(parent)
        self._session, self._theme, self._pictures, self._tell = session, theme, pictures, tell
        self._draft = Draft()
        self._rows: dict[Key, NamingRow] = {}
        self._entries: tuple[Entry, ...] = ()
        em = round(theme.em())
        self.setAccessibleName(HEADING)
        self.action_table = ActionTable(self, self._actions())
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(em // 2)
        head = QHBoxLayout()
        head.addWidget(TextLabel(theme, HEADING, size=looks.HEADING, bold=True), 1)
        head.addWidget(ActionButton(self.action_table["later"]))
        head.addWidget(ActionButton(self.action_table["accept"], main=True))
        box.addLayout(head)
        box.addWidget(TextLabel(theme, HELP))
        page = QWidget()
        self._list = QVBoxLayout(page)
        self._list.setContentsMargins(0, 0, em // 2, 0)
        self._list.setSpacing(em)
        new = NewAngle(theme)
        new.dropped.connect(lambda ids: self._move(ids, self._draft.added))
        self._list.addWidget(new)
        self._list.addStretch(1)
        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setWidget(page)
        box.addWidget(self._scroll, 1)

    def forget(self) -> None:
        """Begin anew: what was typed and dragged was for other angles, or was taken over."""
        self._draft = Draft()
        for row in self._rows.values():
            row.field.clear()

    def show_shoot(self) -> None:
        """Show the shoot as it is now; what was typed and dragged stays."""
        shoot = self._session.view
        self._entries = entries(shoot, self._draft)
        keys = [entry.key for entry in self._entries]
        for key in [key for key in self._rows if key not in keys]:
            row = self._rows.pop(key)
            self._list.removeWidget(row)
            row.hide()
            row.deleteLater()
        names = [angle.name for angle in shoot.angles if angle.named]
        for n, entry in enumerate(self._entries):
            row = self._rows.get(entry.key) or self._new_row(entry.key)
            if self._list.indexOf(row) != n:
                self._list.insertWidget(n, row)
            row.show_entry(entry, names)
            row.show()
        fields = [row.field for row in self._in_order()]
        for row in self._in_order():
            self.setTabOrder(row.field, row.clips)
        for one, following in zip(self._in_order(), fields[1:], strict=False):
            self.setTabOrder(one.clips, following)
        self._fit_pictures()
        self.action_table.refresh()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_pictures()

    def driven_from(self) -> QWidget:
        """The first field without a name."""
        rows = self._in_order()
        return next((row.field for row in rows if not row.field.text()), rows[0].field if rows else self)

    def accept(self) -> None:
        """Take the names over as one step."""
        for key, row in self._rows.items():
            self._type(key, row.field.text())  # what a list completed was never typed
        named = [(entry.shown_name, [clip.id for clip in entry.clips]) for entry in self._entries]
        try:
            result = name_angles(self._session.shoot, named)
        except (ValueError, KeyError) as error:
            self._tell(str(error))
            return
        self.forget()
        self._session.apply("Name Angles", result, "naming")
        self.left.emit()

    def _actions(self) -> tuple[Line, ...]:
        return (
            Line(
                "accept the names of the angles",
                Action(
                    "Use These Names",
                    "Ctrl+Return",
                    "Give the angles these names; what is empty keeps its name",
                    self.accept,
                    name="accept",
                    enabled=lambda: bool(self._entries),
                ),
            ),
            Line(
                "name the angles later",
                Action("Not Now", "Esc", "Back to the clips; ask again later", self.left.emit, name="later"),
            ),
            Line(
                "move the selected clips to the angle above or below",
                Action(
                    "To Angle Above",
                    "Alt+Up",
                    "Move the selected clips to the angle above",
                    partial(self._step, -1),
                ),
                Action(
                    "To Angle Below",
                    "Alt+Down",
                    "Move the selected clips to the angle below",
                    partial(self._step, 1),
                ),
            ),
            Line(
                "make another angle of the selected clips",
                Action("To New Angle", "Alt+Ins", "Make another angle of the selected clips", self._to_new),
            ),
        )

    def _in_order(self) -> list[NamingRow]:
        return [self._rows[entry.key] for entry in self._entries if entry.key in self._rows]

    def _fit_pictures(self) -> None:
        """Make the pictures as large as lets all rows be seen at once."""
        rows = self._in_order()
        for row in rows:
            row.fit_picture(self._scroll.height() / (len(rows) + 1) - self._list.spacing())

    def _new_row(self, key: Key) -> NamingRow:
        row = NamingRow(self._theme, self._pictures)
        row.typed.connect(lambda name: self._type(key, name))
        row.done.connect(lambda: self._next(row))
        row.dropped.connect(lambda ids: self._move(ids, key))
        self._rows[key] = row
        return row

    def _type(self, key: Key, name: str) -> None:
        self._draft = self._draft.named(key, name)
        self._entries = entries(self._session.view, self._draft)

    def _next(self, row: NamingRow) -> None:
        """Go to the field below; from the last one, accept."""
        rows = self._in_order()
        n = rows.index(row) + 1
        if n == len(rows):
            self.accept()
            return
        rows[n].field.setFocus()
        self._scroll.ensureWidgetVisible(rows[n])

    def _chosen(self) -> tuple[int, list[str]]:
        """The row that has the keyboard, and what is chosen in it."""
        for n, row in enumerate(self._in_order()):
            if row.clips.hasFocus():
                return n, row.clips.chosen_ids()
        return -1, []

    def _step(self, step: int) -> None:
        n, ids = self._chosen()
        if ids and 0 <= n + step < len(self._entries):
            self._move(ids, self._entries[n + step].key)

    def _to_new(self) -> None:
        _, ids = self._chosen()
        if ids:
            self._move(ids, self._draft.added)

    def _move(self, ids: list[str], key: Key) -> None:
        self._draft = self._draft.with_moved(ids, key)
        self.show_shoot()
        row = self._rows.get(key)
        if row is not None:
            row.clips.setFocus()
            for n in range(row.clips.count()):
                row.clips.item(n).setSelected(row.clips.item(n).data(Qt.ItemDataRole.UserRole) in ids)
            self._scroll.ensureWidgetVisible(row)
