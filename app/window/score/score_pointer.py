"""The score driven by mouse: choosing bars, ranges and angles, moving staves, zooming, asking for a menu."""

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QHelpEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QToolTip

from app.model.first_pass.fixed_bars import shot_at
from app.window.parts import words
from app.window.score.score_boxes import Hit
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_marks import mark_words
from app.window.score.score_needs import WORDS

WHEEL = 120
"""A notch of a mouse wheel, in eighths of a degree."""


class ScorePointer(QObject):
    """Takes the mouse over a score."""

    pointed = Signal()
    """A bar was pressed, be it the one chosen already: go there."""
    play_wanted = Signal()
    """A bar was pressed twice: play from there, with the chosen take."""
    mark_pressed = Signal(str)
    """A fault or keeper was pressed (its id), or something else (empty)."""
    watch_wanted = Signal(bool)
    """The row of the first pass was pressed (True), or the stave of an angle."""
    menu_wanted = Signal(str, QPoint)
    """A menu for an angle, at a place on the screen."""
    angle_dropped = Signal(str, object)
    """A stave was dragged in front of another one (None: behind all); ids of angles."""

    def __init__(self, canvas: ScoreCanvas) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._pressed: tuple[QPoint, Hit] | None = None
        self._dropping: tuple[str, str | None] | None = None
        """The stave that is being dragged, and before which one it would stand."""
        self._turned = 0
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
        if isinstance(event, QWheelEvent) and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self._turn(event)
            return True
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            canvas = self._canvas
            hit = canvas.hit(event.pos())
            text = self._words(hit, event.pos()) if hit is not None else ""
            QToolTip.showText(event.globalPos(), text or canvas.toolTip(), canvas.viewport())
            return True
        return False

    def _words(self, hit: Hit, at: QPoint) -> str:
        """What lies under the mouse; in the row of the first pass, its shot there."""
        cut = self._canvas.lines.cut
        shot = shot_at(cut.cut, hit.system.song_s(at.x())) if hit.shots and cut.cut is not None else None
        return hit_words(hit) if shot is None else cut.told(shot)

    def _take_mouse(self, event: QMouseEvent) -> bool:
        """Tells whether the event was for this."""
        if event.type() == QEvent.Type.MouseButtonPress:
            self._press(event)
        elif event.type() == QEvent.Type.MouseButtonDblClick:
            self._press_again(event)
        elif event.type() == QEvent.Type.MouseMove:
            self._move(event)
        elif event.type() == QEvent.Type.MouseButtonRelease:
            self._release()
        else:
            return False
        return True

    def _press(self, event: QMouseEvent) -> None:
        canvas, at = self._canvas, event.position().toPoint()
        hit = canvas.hit(at)
        if hit is None or event.button() is not Qt.MouseButton.LeftButton:
            return
        extend = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        self._pressed = None if extend else (at, hit)
        canvas.choose_at_rest(
            hit.bar.coverage.bar.number if hit.bar else canvas.chosen.bar,
            hit.stave.angle.id if hit.stave else None,
            extend=extend and hit.bar is not None,
            take_id=hit.take.take.id if hit.take else None,
        )
        self.mark_pressed.emit(hit.mark.id if hit.mark is not None and not extend else "")
        if (hit.shots or hit.stave is not None) and not extend:
            self.watch_wanted.emit(hit.shots)
        if hit.bar is not None and not extend:
            self.pointed.emit()

    def _press_again(self, event: QMouseEvent) -> None:
        """The second press of a double click."""
        self._press(event)
        hit = self._canvas.hit(event.position().toPoint())
        if event.button() is Qt.MouseButton.LeftButton and hit is not None and hit.bar is not None:
            self.play_wanted.emit()

    def _move(self, event: QMouseEvent) -> None:
        canvas, at = self._canvas, event.position().toPoint()
        if self._pressed is None or not event.buttons() & Qt.MouseButton.LeftButton:
            over = canvas.hit(at)
            name = (
                over is not None and over.stave is not None and over.bar is None and at.x() < over.system.x0
            )
            shape = Qt.CursorShape.OpenHandCursor if name else Qt.CursorShape.ArrowCursor
            if canvas.viewport().cursor().shape() is not shape:
                canvas.viewport().setCursor(shape)
            return
        start, hit = self._pressed
        far = (at - start).manhattanLength() >= QApplication.startDragDistance()
        if hit.bar is None:
            if hit.stave is not None and (far or self._dropping is not None):
                self._drag_stave(hit, at)
            return
        if far or canvas.chosen.span is not None:
            number = canvas.nearest_bar(at)
            if number is not None and number != canvas.chosen.bar:
                canvas.choose_at_rest(number, extend=True)

    def _release(self) -> None:
        self._pressed = None
        dropping, self._dropping = self._dropping, None
        if dropping is not None:
            self._canvas.show_dropping(None)
            self._canvas.viewport().unsetCursor()
            self.angle_dropped.emit(*dropping)

    def _turn(self, event: QWheelEvent) -> None:
        self._turned += event.angleDelta().y()
        steps = int(self._turned / WHEEL)
        self._turned -= steps * WHEEL
        if steps:
            self._canvas.zoom_to(self._canvas.step + steps, event.position().toPoint())
        event.accept()

    def _menu(self, event: QContextMenuEvent) -> None:
        canvas = self._canvas
        hit = canvas.hit(event.pos())
        if event.reason() is QContextMenuEvent.Reason.Keyboard:
            if canvas.chosen.angle_id is not None:
                self.menu_wanted.emit(canvas.chosen.angle_id, canvas.mapToGlobal(QPoint(20, 20)))
        elif hit is not None and hit.stave is not None:
            canvas.choose(hit.bar.coverage.bar.number if hit.bar else canvas.chosen.bar, hit.stave.angle.id)
            self.menu_wanted.emit(hit.stave.angle.id, event.globalPos())

    def _drag_stave(self, hit: Hit, at: QPoint) -> None:
        assert hit.stave is not None
        self._canvas.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        y = at.y() + self._canvas.verticalScrollBar().value()
        before = next((s.angle.id for s in hit.system.staves if y < s.y + s.height / 2), None)
        self._dropping = hit.stave.angle.id, before
        self._canvas.show_dropping(self._dropping)


def hit_words(hit: Hit) -> str:
    """What lies under the mouse, in words."""
    parts = [hit.stave.angle.name] if hit.stave is not None else []
    if hit.take is not None:
        parts.append(words.take_name(hit.take.clip, hit.take.take))
        parts.append(words.take_state(hit.take.take))
        if hit.take.clip.frame_rate is None:
            parts.append("sound only, not counted")
    if hit.mark is not None:
        parts.append(mark_words(hit.mark))
    if hit.need is not None and hit.bar is not None:
        state = hit.need.bars.states.get(hit.bar.coverage.bar.number)
        parts.append(f"{hit.need.bars.subject}: {'not asked for here' if state is None else WORDS[state]}")
    if hit.bar is not None:
        bar = hit.bar.coverage
        parts.append(f"bar {bar.bar.number}, {words.song_time(bar.bar.start_s, 1)}")
        parts.append(words.count(bar.usable_depth, "take") + (", safety only" if bar.safety_only else ""))
    elif hit.stave is not None:
        parts.append("drag to move this row")
    if hit.stave is None:
        # What may be cut where the line is short.
        parts.insert(0, f"{hit.system.section.letter} {hit.system.section.name}".strip())
        parts += hit.system.remarks
    return " · ".join(parts)
