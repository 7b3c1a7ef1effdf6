"""The map driven by mouse: go somewhere, choose a section, draw its edge."""

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QHelpEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from app.model.song_map.map_sections import Snap, snapped
from app.window.parts import words
from app.window.parts.theme import Theme
from app.window.song.map_view import MapView

NAME = "Map of the song"
REACH = 5
"""An edge is taken hold of within so many pixels."""
WHEEL = 120
"""A notch of a mouse wheel, in eighths of a degree."""


def snap_of(held: Qt.KeyboardModifier) -> Snap:
    """What a drawn edge snaps to while these keys are held."""
    if held & Qt.KeyboardModifier.ControlModifier:
        return Snap.FREE
    return Snap.BEAT if held & Qt.KeyboardModifier.ShiftModifier else Snap.BAR


class MapCanvas(MapView):
    """Shows the map, and lets a person point at things in it."""

    wanted = Signal(float)
    """A moment of the song was clicked."""
    section_wanted = Signal(int)
    """A section was clicked, by its number from 0."""
    edge_drawn = Signal(int, float)
    """The start of a section was drawn to a moment."""
    menu_wanted = Signal(QPoint)
    """A menu for where one is, at a place on the screen."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, parent)
        self._pressed: tuple[QPoint, int | None] | None = None
        self._drawing = False
        self._turned = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(NAME)
        self.setToolTip(
            "Click to go there. Drag a section's edge: it snaps to bars, with Shift to beats, with Ctrl to "
            "nothing. ◆ is what you fixed. Ctrl with the wheel zooms; the right button opens a menu."
        )
        self.viewport().setMouseTracking(True)

    def edge_at(self, x: float) -> int | None:
        """The section whose start lies at a place; not the first one, whose start is the song's."""
        near = [
            (abs(self.scale.x(section.start_s) - x), number)
            for number, section in enumerate(self._sections)
            if number and abs(self.scale.x(section.start_s) - x) <= REACH
        ]
        return min(near)[1] if near else None

    def section_at(self, x: float) -> int:
        """The section at a place."""
        song_s = self.scale.song_s(x)
        return max((n for n, s in enumerate(self._sections) if s.start_s <= song_s), default=0)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = event.position().toPoint()
        if event.button() is Qt.MouseButton.LeftButton and self.scale.duration_s > 0:
            edge = self.edge_at(at.x())
            self._pressed = at, edge
            self.section_wanted.emit(self.section_at(at.x()) if edge is None else edge)
            if edge is None:
                self.wanted.emit(self.scale.song_s(at.x()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = event.position().toPoint()
        if self._pressed is None:
            over = self.edge_at(at.x()) is not None
            shape = Qt.CursorShape.SplitHCursor if over else Qt.CursorShape.ArrowCursor
            if self.viewport().cursor().shape() is not shape:
                self.viewport().setCursor(shape)
            return
        start, edge = self._pressed
        if edge is None:
            self.wanted.emit(self.scale.song_s(at.x()))
        elif self._drawing or (at - start).manhattanLength() >= QApplication.startDragDistance():
            self._drawing = True
            self.show_drawn(self._to(event))
            QToolTip.showText(event.globalPosition().toPoint(), self._where(self._to(event)), self.viewport())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        pressed, self._pressed = self._pressed, None
        drawing, self._drawing = self._drawing, False
        self.show_drawn(None)
        if pressed is None or pressed[1] is None:
            return
        if drawing:
            self.edge_drawn.emit(pressed[1], self._to(event))
        else:
            self.wanted.emit(self._sections[pressed[1]].start_s)

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y() or event.angleDelta().x()
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom_by(turned / WHEEL, event.position().x())
        else:
            bar = self.horizontalScrollBar()
            bar.setValue(bar.value() - round(turned / WHEEL * bar.singleStep()))
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            at = event.pos()
            known = self.scale.duration_s > 0 and at.y() < self.rows.wave
            text = self._about(at.x()) if known else self.toolTip()
            QToolTip.showText(event.globalPos(), text, self.viewport())
            return True
        return super().viewportEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        if event.reason() is QContextMenuEvent.Reason.Mouse:
            self.section_wanted.emit(self.section_at(event.pos().x()))
            self.wanted.emit(self.scale.song_s(event.pos().x()))
            self.menu_wanted.emit(event.globalPos())
        else:
            self.menu_wanted.emit(self.mapToGlobal(QPoint(20, 20)))

    def _to(self, event: QMouseEvent) -> float:
        return snapped(self._map, self.scale.song_s(event.position().x()), snap_of(event.modifiers()))

    def _where(self, song_s: float) -> str:
        bar = words.bar_at(self._map, song_s)
        time = words.song_time(song_s, 2)
        return f"bar {bar}, {time}" if bar is not None and song_s >= self._map.bars_s[0] else time

    def _about(self, x: float) -> str:
        """What lies at a place, in words."""
        song_s = self.scale.song_s(x)
        edge = self.edge_at(x)
        section = self._sections[self.section_at(x) if edge is None else edge] if self._sections else None
        parts = [self._where(song_s)]
        if section is not None:
            guess = " (a guess)" if section.suggested and section.name else ""
            parts.insert(0, f"{section.letter} {section.name}".strip() + guess)
        if edge is not None:
            parts.append("drag this edge to move it")
        return " · ".join(parts)
