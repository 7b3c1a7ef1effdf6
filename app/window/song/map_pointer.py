"""The map driven by mouse: go somewhere, choose a section, drag its edge or a beat, zoom, ask for a menu."""

from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QHelpEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QToolTip

from app.model.song_map.map_sections import Snap, snapped
from app.model.song_map.single_beats import room
from app.window.parts import words
from app.window.song.map_canvas import MapCanvas

WHEEL = 120
"""A notch of a mouse wheel, in eighths of a degree."""


def snap_of(held: Qt.KeyboardModifier) -> Snap:
    """What a drawn edge snaps to while these keys are held."""
    if held & Qt.KeyboardModifier.ControlModifier:
        return Snap.FREE
    return Snap.BEAT if held & Qt.KeyboardModifier.ShiftModifier else Snap.BAR


@dataclass(frozen=True, slots=True)
class Held:
    """Where the mouse was pressed, and what it took hold of there."""

    at: QPoint
    edge: int | None = None
    """The start of a section, by its number."""
    beat_s: float | None = None

    @property
    def nothing(self) -> bool:
        """Whether the mouse moves the playhead."""
        return self.edge is None and self.beat_s is None


class MapPointer(QObject):
    """Takes the mouse over a map, and says what a person points at."""

    wanted = Signal(float)
    """A moment of the song was clicked: go there."""
    play_wanted = Signal(float)
    """A moment was clicked twice: play from there."""
    section_wanted = Signal(int)
    """A section was clicked, by its number from 0."""
    edge_drawn = Signal(int, float)
    """The start of a section was dragged to a moment."""
    beat_drawn = Signal(float, float)
    """A beat was dragged to a moment."""
    menu_wanted = Signal(QPoint)
    """A menu for where one is, at a place on the screen."""

    def __init__(self, canvas: MapCanvas) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._pressed: Held | None = None
        self._drawing = False
        # Held on to: events still come while the canvas is taken down, when it cannot be asked any more.
        self._viewport = canvas.viewport()
        self._viewport.setMouseTracking(True)
        self._viewport.installEventFilter(self)
        canvas.installEventFilter(self)  # a menu that is asked for by its key

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QContextMenuEvent):
            self._menu(event)
            return True
        if watched is not self._viewport:
            return False
        if isinstance(event, QMouseEvent):
            return self._take_mouse(event)
        if isinstance(event, QWheelEvent):
            self._turn(event)
            return True
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            canvas, at = self._canvas, event.pos()
            known = canvas.scale.duration_s > 0 and at.y() < canvas.rows.wave
            text = self._about(at.x(), at.y()) if known else canvas.toolTip()
            QToolTip.showText(event.globalPos(), text, canvas.viewport())
            return True
        return False

    def _take_mouse(self, event: QMouseEvent) -> bool:
        """Tells whether the event was for this."""
        if event.type() == QEvent.Type.MouseButtonPress:
            self._press(event)
        elif event.type() == QEvent.Type.MouseMove:
            self._move(event)
        elif event.type() == QEvent.Type.MouseButtonRelease:
            self._release(event)
        elif event.type() == QEvent.Type.MouseButtonDblClick:
            self._press_again(event)
        else:
            return False
        return True

    def _press(self, event: QMouseEvent) -> None:
        canvas, at = self._canvas, event.position().toPoint()
        if event.button() is Qt.MouseButton.LeftButton and canvas.scale.duration_s > 0:
            self._pressed = held = self._held(at)
            self.section_wanted.emit(canvas.section_at(at.x()) if held.edge is None else held.edge)
            if held.nothing:
                self.wanted.emit(canvas.scale.song_s(at.x()))

    def _press_again(self, event: QMouseEvent) -> None:
        """The second press of a double click."""
        canvas, at = self._canvas, event.position().toPoint()
        known = canvas.scale.duration_s > 0 and self._held(at).nothing
        if event.button() is Qt.MouseButton.LeftButton and known:
            self.play_wanted.emit(canvas.scale.song_s(at.x()))

    def _held(self, at: QPoint) -> Held:
        """What the mouse takes hold of at a place: in the row of ticks a beat, elsewhere an edge."""
        beat_s = self._canvas.beat_at(at.x(), at.y())
        return Held(at, None if beat_s is not None else self._canvas.edge_at(at.x()), beat_s)

    def _move(self, event: QMouseEvent) -> None:
        canvas, at = self._canvas, event.position().toPoint()
        if self._pressed is None:
            over = not self._held(at).nothing
            shape = Qt.CursorShape.SplitHCursor if over else Qt.CursorShape.ArrowCursor
            if canvas.viewport().cursor().shape() is not shape:
                canvas.viewport().setCursor(shape)
            return
        held = self._pressed
        if held.nothing:
            self.wanted.emit(canvas.scale.song_s(at.x()))
        elif self._drawing or (at - held.at).manhattanLength() >= QApplication.startDragDistance():
            self._drawing = True
            to_s = self._target(held, event)
            canvas.show_drawn(to_s)
            QToolTip.showText(event.globalPosition().toPoint(), self._where(to_s), canvas.viewport())

    def _release(self, event: QMouseEvent) -> None:
        held, self._pressed = self._pressed, None
        drawing, self._drawing = self._drawing, False
        self._canvas.show_drawn(None)
        if held is None or held.nothing:
            return
        if held.beat_s is not None:
            if drawing:
                self.beat_drawn.emit(held.beat_s, self._target(held, event))
            else:
                self.wanted.emit(held.beat_s)
        elif held.edge is not None:
            if drawing:
                self.edge_drawn.emit(held.edge, self._target(held, event))
            else:
                self.wanted.emit(self._canvas.sections[held.edge].start_s)

    def _turn(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y() or event.angleDelta().x()
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self._canvas.zoom_by(turned / WHEEL, event.position().x())
        else:
            bar = self._canvas.horizontalScrollBar()
            bar.setValue(bar.value() - round(turned / WHEEL * bar.singleStep()))
        event.accept()

    def _menu(self, event: QContextMenuEvent) -> None:
        canvas = self._canvas
        if event.reason() is QContextMenuEvent.Reason.Mouse:
            self.section_wanted.emit(canvas.section_at(event.pos().x()))
            self.wanted.emit(canvas.scale.song_s(event.pos().x()))
            self.menu_wanted.emit(event.globalPos())
        else:
            self.menu_wanted.emit(canvas.mapToGlobal(QPoint(20, 20)))

    def _target(self, held: Held, event: QMouseEvent) -> float:
        """The moment to which what is held is dragged."""
        canvas, song_map = self._canvas, self._canvas.song_map
        song_s = canvas.scale.song_s(event.position().x())
        if held.beat_s is None:
            return snapped(song_map, song_s, snap_of(event.modifiers()))
        low, high = room(song_map, held.beat_s, canvas.scale.duration_s)
        return min(max(song_s, low), high)

    def _where(self, song_s: float) -> str:
        bar, time = words.bar_words(self._canvas.song_map, song_s), words.song_time(song_s, 2)
        return f"{bar}, {time}" if bar else time

    def _about(self, x: float, y: float) -> str:
        """What lies at a place, in words."""
        canvas = self._canvas
        song_s = canvas.scale.song_s(x)
        beat_s = canvas.beat_at(x, y)
        edge = None if beat_s is not None else canvas.edge_at(x)
        parts = [self._where(song_s)]
        if canvas.sections:
            section = canvas.sections[canvas.section_at(x) if edge is None else edge]
            guess = " (a guess)" if section.suggested and section.name else ""
            parts.insert(0, f"{section.letter} {section.name}".strip() + guess)
        if edge is not None:
            parts.append("drag this edge to move it")
        elif beat_s is not None:
            parts.append("drag this tick to move the beat")
        return " · ".join(parts)
