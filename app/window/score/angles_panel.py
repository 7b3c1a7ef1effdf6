"""The angles of a shoot as a list to order, name, group, merge, hide and mark, beside the score."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QLineEdit,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.model.coverage.staves import stave_order
from app.model.document.angle import Angle
from app.model.on_song import SongView
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.drop_down import DropDown
from app.window.parts.fields_area import FieldsArea
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.score.angle_list import ID, AngleList

SUBJECTS = (
    "singer",
    "whole band",
    "drums",
    "bass",
    "guitar",
    "keys",
    "strings",
    "horns",
    "hands",
    "crowd",
    "room",
)

NO_RANK, MOST_RANK = "none", 9
"""Ranks offered, at least so many."""
LEAST_FIELDS_EM = 6
"""Beside large pictures in large type the fields scroll; so much of them stays in sight."""


class AnglesPanel(QWidget):
    """Edits the angles. What is wished is told by signals; the place makes it a step that can be undone."""

    chosen = Signal(str)
    """Another angle was chosen in the list."""
    renamed = Signal(str, str)
    subject_given = Signal(str, str)
    group_given = Signal(object, str)
    """A group for several angles."""
    place_given = Signal(str, str)
    camera_given = Signal(str, str)
    rank_given = Signal(str, int)
    safety_set = Signal(str, bool)
    hidden_set = Signal(object, bool)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._shoot = SongView()
        self._filling = False
        self.setObjectName("sidePanel")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setAccessibleName("Angles")
        em = round(theme.em())
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(em // 2)
        box.addWidget(TextLabel(theme, "Angles", size=looks.HEADING, bold=True))
        self.list = AngleList(theme)
        self.list.currentItemChanged.connect(self._on_current_changed)
        box.addWidget(self.list, 1)
        self.name = QLineEdit()
        self.name.setAcceptDrops(False)  # files dropped anywhere belong to the window
        self.subject = _combo(theme, "Subject", "Who or what it shows, for example singer or drums (Alt+U)")
        self.group = _combo(theme, "Group", "Angles of one group stay together, with a bracket (Alt+G)")
        self.place = _combo(
            theme, "Place", "Where the camera stands, for example stage left or balcony (Alt+L)"
        )
        self.camera = _combo(
            theme, "Camera", "Which camera and lens it is, for example B with the 85 mm (Alt+C)"
        )
        self.rank = DropDown(theme)
        self.rank.setAccessibleName("Rank")
        self.rank.setToolTip("How much you like this angle: 1 is best (Alt+R)")
        self.name.setAccessibleName("Name")
        self.name.setToolTip(
            "Angle name. If another angle has it already, you are asked whether to merge the two (Alt+N)"
        )
        self.safety = QCheckBox("Sa&fety")
        self.safety.setToolTip("The angle to cut to when the others fail (S in the score, Alt+F here)")
        self.hidden = QCheckBox("H&idden")
        self.hidden.setToolTip("Hidden in the score; its takes still count (H in the score, Alt+I here)")
        grid = QGridLayout()
        grid.setHorizontalSpacing(em // 2)
        for row, (text, field) in enumerate(
            (
                ("&Name", self.name),
                ("S&ubject", self.subject),
                ("&Group", self.group),
                ("P&lace", self.place),
                ("&Camera", self.camera),
                ("&Rank", self.rank),
            )
        ):
            label = TextLabel(theme, text, size=looks.SMALL, role="dim", wrap=False)
            label.setBuddy(field)
            grid.addWidget(label, row, 0)
            grid.addWidget(field, row, 1)
        box.addWidget(FieldsArea(grid, round(em * LEAST_FIELDS_EM)))
        self._below = QGridLayout()
        self._below.addWidget(self.safety, 0, 0)
        self._below.addWidget(self.hidden, 0, 1)
        box.addLayout(self._below)
        self.name.editingFinished.connect(self._on_name_given)
        self.rank.activated.connect(self._on_rank_given)
        for combo, give in (
            (self.subject, self._on_subject_given),
            (self.group, self._on_group_given),
            (self.place, self._on_place_given),
            (self.camera, self._on_camera_given),
        ):
            combo.activated.connect(give)
            edit = combo.lineEdit()
            assert edit is not None
            edit.editingFinished.connect(give)
            edit.installEventFilter(self)
        self.name.installEventFilter(self)
        self.safety.clicked.connect(self._on_safety_clicked)
        self.hidden.clicked.connect(lambda on: self.hidden_set.emit(self.selected(), on))

    def add_buttons(self, actions: Sequence[QAction]) -> None:
        """Put buttons below the fields."""
        for n, action in enumerate(actions):
            self._below.addWidget(ActionButton(action), 1 + n // 2, n % 2)

    def show_angles(self, shoot: SongView, current: str | None) -> None:
        """Show the angles as they are; ``current`` is the one chosen in the score."""
        self._shoot = shoot
        selected = set(self.selected())
        counts: dict[str, int] = {}
        for clip in shoot.clips:
            counts[clip.angle_id] = counts.get(clip.angle_id, 0) + len(clip.takes)
        seen = {clip.angle_id for clip in shoot.clips if clip.frame_rate is not None}
        self._filling = True
        self.list.clear()
        for angle in stave_order(shoot.angles):
            sound_only = angle.id in counts and angle.id not in seen
            item = QListWidgetItem(_line(angle, counts.get(angle.id, 0), sound_only=sound_only))
            item.setData(ID, angle.id)
            item.setToolTip(item.text())
            self.list.addItem(item)
            item.setSelected(angle.id in selected and len(selected) > 1)
        self._filling = False
        self.choose(current)
        _fill(self.subject, [*SUBJECTS, *(", ".join(a.subjects) for a in shoot.angles)])
        _fill(self.group, [a.group for a in shoot.angles])
        _fill(self.place, [a.place for a in shoot.angles])
        _fill(self.camera, [a.camera for a in shoot.angles])
        most = max([MOST_RANK, *(a.rank for a in shoot.angles)])
        _fill(self.rank, [NO_RANK, "1 (best)", *map(str, range(2, most + 1))])
        self._show_fields()

    def choose(self, angle_id: str | None) -> None:
        """Choose the angle in the list too, unless several are chosen there."""
        if len(self.list.selectedItems()) > 1 and angle_id in self.selected():
            return
        for row in range(self.list.count()):
            if self.list.item(row).data(ID) == (angle_id or self.selected_id()):
                self._filling = True
                self.list.setCurrentRow(row)
                self._filling = False
        if self.list.currentRow() < 0 and self.list.count():
            self.list.setCurrentRow(0)
        self._show_fields()

    def selected(self) -> list[str]:
        """Ids of the chosen angles from top to bottom."""
        rows = sorted(self.list.row(item) for item in self.list.selectedItems())
        return [self.list.item(row).data(ID) for row in rows]

    def selected_id(self) -> str | None:
        """Id of the angle the fields belong to."""
        item = self.list.currentItem()
        return None if item is None else str(item.data(ID))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter and Escape in a field go back to the list, with or without what was typed."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() == Qt.Key.Key_Escape:
                self._show_fields()
            if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self.list.setFocus()
                return True
        return super().eventFilter(watched, event)

    def _on_current_changed(self) -> None:
        if not self._filling:
            self._show_fields()
            angle_id = self.selected_id()
            if angle_id is not None:
                self.chosen.emit(angle_id)

    def _show_fields(self) -> None:
        angle = self._angle()
        combos = (self.subject, self.group, self.place, self.camera, self.rank)
        for field in (self.name, *combos, self.safety, self.hidden):
            field.setEnabled(angle is not None)
        angle = angle or Angle("", "")
        self.name.setText(angle.name)
        self.subject.setEditText(", ".join(angle.subjects))
        self.group.setEditText(angle.group)
        self.place.setEditText(angle.place)
        self.camera.setEditText(angle.camera)
        self.rank.setCurrentIndex(angle.rank)
        self.safety.setChecked(angle.safety)
        self.hidden.setChecked(angle.hidden)

    def _angle(self) -> Angle | None:
        wanted = self.selected_id()
        return next((angle for angle in self._shoot.angles if angle.id == wanted), None)

    def _on_safety_clicked(self, on: bool) -> None:
        angle = self._angle()
        if angle is not None:
            self.safety_set.emit(angle.id, on)

    def _on_name_given(self) -> None:
        angle, name = self._angle(), self.name.text()
        if angle is not None and name.strip() != angle.name:
            # The old name stands until the new one is taken: a question may be asked, and left.
            self.name.setText(angle.name)
            self.renamed.emit(angle.id, name)

    def _on_subject_given(self) -> None:
        angle = self._angle()
        if angle is not None and self.subject.currentText().strip() != ", ".join(angle.subjects):
            self.subject_given.emit(angle.id, self.subject.currentText())

    def _on_group_given(self) -> None:
        angle = self._angle()
        if angle is not None and self.group.currentText().strip() != angle.group:
            self.group_given.emit(self.selected() or [angle.id], self.group.currentText())

    def _on_place_given(self) -> None:
        angle = self._angle()
        if angle is not None and self.place.currentText().strip() != angle.place:
            self.place_given.emit(angle.id, self.place.currentText())

    def _on_camera_given(self) -> None:
        angle = self._angle()
        if angle is not None and self.camera.currentText().strip() != angle.camera:
            self.camera_given.emit(angle.id, self.camera.currentText())

    def _on_rank_given(self) -> None:
        angle = self._angle()
        if angle is not None and self.rank.currentIndex() != angle.rank:
            self.rank_given.emit(angle.id, self.rank.currentIndex())


def _line(angle: Angle, takes: int, *, sound_only: bool) -> str:
    parts = [words.count(takes, "take"), *(["sound only"] if sound_only else [])]
    if angle.subjects:
        parts.insert(0, ", ".join(angle.subjects))
    if angle.rank:
        parts.append(f"rank {angle.rank}")
    if angle.group:
        parts.append(f"in {angle.group}")
    if angle.safety:
        parts.append("safety")
    if angle.hidden:
        parts.append("hidden")
    parts += filter(None, (angle.place, angle.camera))
    return f"{angle.name}\n{' · '.join(parts)}"


def _combo(theme: Theme, name: str, tip: str) -> DropDown:
    combo = DropDown(theme)
    combo.setEditable(True)
    line = combo.lineEdit()
    if line is not None:
        line.setAcceptDrops(False)
    combo.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
    combo.setAccessibleName(name)
    combo.setToolTip(tip)
    combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    combo.setMinimumContentsLength(6)
    return combo


def _fill(combo: QComboBox, entries: Sequence[str]) -> None:
    wanted = list(dict.fromkeys(entry for entry in entries if entry))
    if [combo.itemText(n) for n in range(combo.count())] != wanted:
        combo.blockSignals(True)
        combo.clear()
        combo.addItems(wanted)
        combo.blockSignals(False)
