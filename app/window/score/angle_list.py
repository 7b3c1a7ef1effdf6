"""A list of angles that can be dragged up and down."""

from PySide6.QtCore import QPoint, QRect, Qt, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractItemView, QApplication, QFrame, QListWidget

from app.window.parts.theme import Theme

ID = Qt.ItemDataRole.UserRole
"""Of an entry: the id of its angle."""


class AngleList(QListWidget):
    """The angles in stave order; they can be dragged up and down."""

    dropped = Signal(str, object)
    """An angle was dragged in front of another one (None: behind all); ids of angles."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._pressed: tuple[QPoint, str] | None = None
        self._line: int | None = None
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        # Dragged by hand rather than as data: files that are dropped belong to the window.
        self.setDragDropMode(QAbstractItemView.DragDropMode.NoDragDrop)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Angles")
        self.setToolTip(
            "The rows of the score from top to bottom. Drag one, or move it with Alt+Up and Alt+Down; "
            "Shift+Up and Shift+Down select several."
        )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        super().mousePressEvent(event)
        item = self.itemAt(event.position().toPoint())
        plain = event.button() is Qt.MouseButton.LeftButton and not event.modifiers()
        self._pressed = (event.position().toPoint(), item.data(ID)) if item is not None and plain else None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = event.position().toPoint()
        if self._pressed is None:
            super().mouseMoveEvent(event)
        elif (at - self._pressed[0]).manhattanLength() >= QApplication.startDragDistance():
            middles = [self.visualItemRect(self.item(row)).center().y() for row in range(self.count())]
            self._line = next((row for row, y in enumerate(middles) if at.y() < y), self.count())
            self.viewport().update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        pressed, line = self._pressed, self._line
        self._pressed = self._line = None
        if pressed is not None and line is not None:
            self.viewport().update()
            self.dropped.emit(pressed[1], self.item(line).data(ID) if line < self.count() else None)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if self._line is not None and self.count():
            last = self.visualItemRect(self.item(self.count() - 1)).bottom()
            y = self.visualItemRect(self.item(self._line)).top() if self._line < self.count() else last
            painter = QPainter(self.viewport())
            painter.fillRect(QRect(0, y - 1, self.viewport().width(), 3), self._theme.colour("ink"))
