"""A note that lies over the foot of another widget: it comes and goes without moving anything."""

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class FloatingNote(QFrame):
    """Shows some lines; lets the mouse through to what is below it."""

    def __init__(self, theme: Theme, over: QWidget) -> None:
        super().__init__(over)
        self._over, self._em = over, round(theme.em())
        self.setObjectName("floatingNote")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.label = TextLabel(theme, "")
        box = QVBoxLayout(self)
        box.setContentsMargins(self._em // 2, self._em // 3, self._em // 2, self._em // 3)
        box.addWidget(self.label)
        over.installEventFilter(self)
        self.hide()

    def tell(self, text: str) -> None:
        """Show a text; go away where there is none."""
        if text != self.label.text():
            self.label.setText(text)
            self.label.setAccessibleName(text)
        self.setVisible(bool(text))
        if text:
            self._fit()
            self.raise_()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize and not self.isHidden():
            self._fit()
        return False

    def _fit(self) -> None:
        """At the foot, as wide as its longest line, in several lines where there is no room."""
        margin = self._em // 2
        room = max(4 * self._em, self._over.width() - 3 * margin - self._em)
        lines = self.label.text().split("\n")
        wide = max((self.label.fontMetrics().horizontalAdvance(line) for line in lines), default=0)
        width = min(room, wide + 2 * self._em)
        height = self.heightForWidth(width)
        height = self.sizeHint().height() if height < 0 else height
        self.setGeometry(margin, max(0, self._over.height() - height - margin), width, height)
