"""Fields below each other that scroll where there is no room for all of them."""

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtWidgets import QFrame, QLayout, QScrollArea, QSizePolicy, QWidget


class FieldsArea(QScrollArea):
    """As high as its fields, or lower where it must be; the field with the keyboard is in sight."""

    def __init__(self, fields: QLayout, least: int) -> None:
        """``least``: pixels in height that it never goes below."""
        super().__init__()
        page = QWidget()
        fields.setContentsMargins(0, 0, 0, 0)
        page.setLayout(fields)
        self.setWidget(page)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.viewport().setAutoFillBackground(False)
        page.setAutoFillBackground(False)
        self._page, self._least = page, least
        for child in page.findChildren(QWidget):
            child.installEventFilter(self)

    def sizeHint(self) -> QSize:
        return self._page.sizeHint()

    def minimumSizeHint(self) -> QSize:
        least = self._page.minimumSizeHint()
        return QSize(least.width(), min(least.height(), self._least))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusIn and isinstance(watched, QWidget):
            self.ensureWidgetVisible(watched, 0, 0)
        return super().eventFilter(watched, event)
