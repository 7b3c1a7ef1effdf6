"""Fonts, static-out words and brushes of the score, made once and used for every line."""

from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPen, QPixmap, QStaticText

from app.window.parts.theme import Theme

MANY = 4000
"""TakeSpan-out words kept."""


class ScorePalette:
    """What painting the score needs besides its layout; good for one scheme, one font and one screen."""

    def __init__(self, theme: Theme, ratio: float, *, final: bool = True) -> None:
        """``final``: no clip is still to be placed, so that what is thin wants attention."""
        self.theme, self.ratio = theme, ratio
        self.ink, self.dim = theme.colour("ink"), theme.colour("dim")
        self.rule, self.warm, self.edge = theme.colour("rule"), theme.colour("warm"), theme.colour("edge")
        self.thin = self.warm if final else self.dim
        self.paper, self.panel = theme.colour("paper"), theme.colour("panel")
        self.over = QColor(self.ink)
        self.over.setAlpha(30)
        self.hatch = self._hatching(5, self.edge)
        self.struck = self._hatching(7, self.ink, falling=True)
        """What is spoilt: wider apart, darker and the other way than rests."""
        self.veil = QColor(self.paper)
        self.veil.setAlpha(150)
        self._fonts: dict[tuple[float, bool, bool], tuple[QFont, QFontMetricsF]] = {}
        self._texts: dict[tuple[str, float, bool, bool], QStaticText] = {}
        self._elided: dict[tuple[str, float, float, bool, bool], str] = {}
        self._mixed: dict[tuple[int, float], QColor] = {}

    def font(self, size: float, *, bold: bool = False, italic: bool = False) -> tuple[QFont, QFontMetricsF]:
        """A font of a relative size and its measures."""
        key = (size, bold, italic)
        if key not in self._fonts:
            font = self.theme.font(size, bold=bold, italic=italic)
            self._fonts[key] = font, QFontMetricsF(font)
        return self._fonts[key]

    def width(self, text: str, size: float, *, bold: bool = False, italic: bool = False) -> float:
        """How wide some words are."""
        return self._text(text, size, bold, italic).size().width()

    def elided(self, text: str, room: float, size: float, *, bold: bool = False, italic: bool = False) -> str:
        """The words, cut to a room."""
        key = (text, round(room), size, bold, italic)
        if key not in self._elided:
            if len(self._elided) > MANY:
                self._elided.clear()
            metrics = self.font(size, bold=bold, italic=italic)[1]
            self._elided[key] = metrics.elidedText(text, Qt.TextElideMode.ElideRight, room)
        return self._elided[key]

    def draw(
        self,
        p: QPainter,
        place: tuple[float, float, float, float],
        text: str,
        size: float,
        colour: QColor,
        *,
        bold: bool = False,
        italic: bool = False,
        along: float = 0.0,
    ) -> float:
        """Write words into a place (left, top, width, height), in its middle from top to bottom.

        ``along`` puts them at the left (0), in the middle (0.5) or at the right (1). Gives their width.
        """
        static = self._text(text, size, bold, italic)
        x, y, width, height = place
        wide = static.size().width()
        p.setFont(self.font(size, bold=bold, italic=italic)[0])
        p.setPen(colour)
        p.drawStaticText(
            QPointF(round(x + (width - wide) * along), round(y + (height - static.size().height()) / 2)),
            static,
        )
        return wide

    def tint(self, colour: QColor, share: float) -> QColor:
        """That share of a colour on the paper."""
        key = (colour.rgb(), share)
        if key not in self._mixed:
            self._mixed[key] = self.theme.mixed(colour, share)
        return self._mixed[key]

    def _text(self, text: str, size: float, bold: bool, italic: bool) -> QStaticText:
        key = (text, size, bold, italic)
        static = self._texts.get(key)
        if static is None:
            if len(self._texts) > MANY:
                self._texts.clear()
            static = QStaticText(text)
            static.setTextFormat(Qt.TextFormat.PlainText)
            static.setPerformanceHint(QStaticText.PerformanceHint.AggressiveCaching)
            static.prepare(font=self.font(size, bold=bold, italic=italic)[0])
            self._texts[key] = static
        return static

    def _hatching(self, apart: int, colour: QColor, *, falling: bool = False) -> QBrush:
        """Diagonal lines as a brush of device pixels, so that they stay fine on any screen."""
        side = max(4, round(apart * self.ratio))
        tile = QPixmap(side, side)
        tile.fill(QColor(0, 0, 0, 0))
        pen = QPainter(tile)
        pen.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen.setPen(QPen(colour, (1.6 if falling else 1.0) * max(1.0, self.ratio)))
        low, high = (0, side) if falling else (side, 0)
        for shift in (-side, 0, side):
            pen.drawLine(QLineF(shift, low, side + shift, high))
        pen.end()
        tile.setDevicePixelRatio(self.ratio)
        return QBrush(tile)
