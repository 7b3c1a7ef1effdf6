"""A layout that sets its items side by side and goes on in another line where there is no more room."""

from PySide6.QtCore import QMargins, QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QSizePolicy, QWidget


class FlowLayout(QLayout):
    """Lines of items, each as wide as it wants to be, and no wider than the layout."""

    def __init__(self, gap: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._gap = gap
        self._heights: dict[int, int] = {}
        """Heights by width, until something changes: the layout around asks dozens of times at a showing."""
        self.setContentsMargins(QMargins(0, 0, 0, 0))

    def addItem(self, item: QLayoutItem) -> None:
        self._items.append(item)

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        if width not in self._heights:
            self._heights[width] = self._lay(QRect(0, 0, width, 0), move=False)
        return self._heights[width]

    def invalidate(self) -> None:
        self._heights.clear()
        super().invalidate()

    def sizeHint(self) -> QSize:
        return self.minimumSize()

    def minimumSize(self) -> QSize:
        sizes = [item.sizeHint() for item in self._shown()]
        return QSize(
            max((size.width() for size in sizes), default=0),
            max((size.height() for size in sizes), default=0),
        )

    def setGeometry(self, rect: QRect) -> None:
        super().setGeometry(rect)
        self._lay(rect, move=True)

    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _lay(self, rect: QRect, *, move: bool) -> int:
        """Lay lines from the top; gives the height they take. What is lower than its line stands in its
        middle."""
        y = rect.y()
        line: list[QLayoutItem] = []
        for item in [*self._shown(), None]:
            wide = sum(_size(one, rect.width()).width() + self._gap for one in line)
            if item is not None and (not line or wide + item.sizeHint().width() <= rect.width()):
                line.append(item)
                continue
            high = max((_size(one, rect.width()).height() for one in line), default=0)
            x = rect.x()
            for one in line if move else ():
                size = _size(one, rect.width())
                one.setGeometry(QRect(QPoint(x, y + (high - size.height()) // 2), size))
                x += size.width() + self._gap
            y += high + self._gap if line else 0
            line = [] if item is None else [item]
        return max(0, y - self._gap - rect.y())


def _size(item: QLayoutItem, width: int) -> QSize:
    """The size of an item in lines of a width: what is too wide is narrower and, where it wraps, higher."""
    size = item.sizeHint()
    if size.width() <= width or not item.hasHeightForWidth():
        return QSize(min(size.width(), width), size.height())
    return QSize(width, item.heightForWidth(width))


class FlowBox(QWidget):
    """A widget whose height follows from its width, laid out by a `FlowLayout`."""

    def __init__(self, gap: int, widgets: list[QWidget], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._flow = FlowLayout(gap, self)
        for widget in widgets:
            self.add(widget)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def add(self, widget: QWidget) -> None:
        """Set another widget behind the last."""
        self._flow.addWidget(widget)
