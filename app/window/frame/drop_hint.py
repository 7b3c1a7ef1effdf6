"""The hint that lies over the window while files are dragged over it."""

from PySide6.QtCore import QEvent, QObject, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.window.parts import theme as looks
from app.window.parts.theme import Theme


class DropHint(QWidget):
    """Lies over the window while files are dragged over it, and says what dropping them does."""

    def __init__(self, theme: Theme, over: QWidget) -> None:
        super().__init__(over)
        self._theme, self._over, self._text = theme, over, ""
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.hide()
        over.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.Resize and watched is self._over:
            self.setGeometry(self._over.rect())
        return super().eventFilter(watched, event)

    @property
    def text(self) -> str:
        """What is said; empty while nothing is dragged."""
        return self._text if self.isVisible() else ""

    def tell(self, text: str) -> None:
        """Cover the window and say something."""
        self._text = text
        self.setAccessibleName(text)
        self.raise_()
        self.show()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme, em = self._theme, self._theme.em()
        ground = theme.colour("paper")
        ground.setAlphaF(0.96)
        p.fillRect(self.rect(), ground)
        p.setPen(QPen(theme.colour("warm"), 3, Qt.PenStyle.DashLine))
        p.drawRoundedRect(QRectF(self.rect()).adjusted(em, em, -em, -em), em * 0.6, em * 0.6)
        p.setPen(theme.colour("ink"))
        p.setFont(theme.font(looks.HEADING, bold=True))
        room = self.rect().adjusted(round(em * 3), 0, -round(em * 3), 0)
        p.drawText(room, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self._text)
