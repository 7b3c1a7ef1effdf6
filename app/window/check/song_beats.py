"""A few seconds of the song, drawn with its beats."""

from bisect import bisect_right
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Signal
from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.model.document.song import SongMap
from app.window.parts import theme as looks
from app.window.parts.theme import Theme
from app.window.playing.play_bar import place_words

AROUND_S = 4.0
"""As much of the song is drawn on either side of the beat."""


class SongBeats(QWidget):
    """A few seconds of the song with its beats; a click chooses the nearest beat."""

    wanted = Signal(float)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._map = SongMap()
        self._at_s = 0.0
        self._loud: Sequence[float] = ()
        self._middle_s = 0.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(round(theme.em() * 3.5))
        self.setAccessibleName("Beats of the song")
        self.setToolTip("The song around the beat; long lines are bars. Click to select a beat")
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        em = self._theme.em()
        return QSize(round(em * 34), round(em * 8))

    def show_beat(self, song_map: SongMap, song_s: float) -> None:
        """Show the song around a beat."""
        self._map, self._at_s = song_map, song_s
        self.setAccessibleDescription(place_words(song_map, song_s))
        self.update()

    def show_loudness(self, middle_s: float, loud: Sequence[float]) -> None:
        """How loud the song is from twice AROUND_S before a moment to as much after it, 0 to 1."""
        self._middle_s, self._loud = middle_s, loud
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        share = event.position().x() / max(1, self.width())
        self.wanted.emit(self._at_s + (2 * share - 1) * AROUND_S)

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        theme, em, rect = self._theme, self._theme.em(), QRectF(self.rect())
        p.fillRect(rect, theme.colour("panel"))
        middle = rect.center().y()
        p.setPen(QPen(theme.mixed(theme.colour("ink"), 0.55, "panel"), 1))
        for column in range(self.width()):
            song_s = self._at_s + (2 * column / max(1, self.width()) - 1) * AROUND_S
            place = int((song_s - self._middle_s + 2 * AROUND_S) / (4 * AROUND_S) * len(self._loud))
            if 0 <= place < len(self._loud):
                half = self._loud[place] * rect.height() * 0.4
                p.drawLine(QPointF(column + 0.5, middle - half), QPointF(column + 0.5, middle + half))
        bars = set(self._map.bars_s)
        p.setFont(theme.font(looks.SMALL))
        for beat in self._map.beats_s:
            x = round((beat - self._at_s + AROUND_S) / (2 * AROUND_S) * self.width()) + 0.5
            if not 0 <= x <= self.width():
                continue
            bar = beat in bars
            p.setPen(QPen(theme.colour("ink" if bar else "edge"), 1))
            high = rect.height() / 2 if bar else rect.height() * 0.25
            p.drawLine(QPointF(x, middle - high), QPointF(x, middle + high))
            if bar:
                number = str(bisect_right(self._map.bars_s, beat))
                p.drawText(QPointF(x + em * 0.25, rect.top() + em * 0.9), number)
        p.setPen(QPen(theme.colour("warm"), 2))
        p.drawLine(QPointF(rect.center().x(), rect.top()), QPointF(rect.center().x(), rect.bottom()))
        p.setPen(QPen(theme.colour("rule"), 1))
        p.drawRect(rect.adjusted(0.5, 0.5, -0.5, -0.5))
