"""The score driven by mouse and keys: choosing bars, ranges and angles, moving staves, playing."""

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QHelpEvent, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from app.model.coverage.coverage import SectionCoverage
from app.model.document.shoot import SongView
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme
from app.window.score.chosen import Chosen
from app.window.score.score_boxes import Hit
from app.window.score.score_view import ScoreView

WHEEL = 120
"""A notch of a mouse wheel, in eighths of a degree."""


class ScoreCanvas(ScoreView):
    """Shows the coverage of a song as a score, and lets a person go about in it."""

    chosen_changed = Signal()
    """Another bar, range or angle was chosen; see `chosen`."""
    menu_wanted = Signal(str, QPoint)
    """A menu for an angle, at a place on the screen."""
    pointed = Signal()
    """A bar was pressed, be it the one chosen already."""
    play_wanted = Signal()
    """Play from the chosen bar, with the chosen take."""
    escaped = Signal()
    """The range and what is looped are to end."""
    angle_dropped = Signal(str, object)
    """A stave was dragged in front of another one (None: behind all); ids of angles."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(theme, pictures, parent)
        self._pressed: tuple[QPoint, Hit] | None = None
        self._dragging = ""
        self._turned = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Score")
        self.setToolTip(
            "Click a take to play from that bar; drag over bars to choose a range. "
            "Arrow keys go from bar to bar and angle to angle, Enter plays."
        )
        self.viewport().setMouseTracking(True)

    def show_shoot(self, shoot: SongView, sections: Sequence[SectionCoverage]) -> None:
        """Show a shoot; the chosen bar and angle stay where they still exist."""
        self._shoot, self._sections = shoot, sections
        numbers = {bar.bar.number for section in sections for bar in section.bars}
        first = min(numbers, default=None)
        old = self.chosen
        angles = [angle.id for angle in shoot.angles if not angle.hidden]
        chosen = Chosen(
            old.bar if old.bar in numbers else first,
            old.angle_id if old.angle_id in angles else None,
            old.anchor if old.anchor in numbers else None,
            old.take_id,
        )
        self._over = replace(self._over, chosen=chosen)
        self._take_content()
        self.chosen_changed.emit()

    def choose(self, bar: int | None, angle_id: str | None = None, *, extend: bool = False) -> None:
        """Choose a bar (and an angle), and bring it into view; ``extend`` lets the range reach to it."""
        self.choose_at_rest(bar, angle_id, extend=extend)
        self._reveal()

    def choose_at_rest(
        self,
        bar: int | None,
        angle_id: str | None = None,
        *,
        extend: bool = False,
        take_id: str | None = None,
    ) -> None:
        """Choose a bar without scrolling to it; ``take_id`` is the take pointed at."""
        old = self.chosen
        anchor = (old.anchor if old.anchor is not None else old.bar) if extend else None
        angle_id = angle_id if angle_id is not None else old.angle_id
        kept = old.take_id if angle_id == old.angle_id else None
        chosen = Chosen(bar, angle_id, anchor, take_id if take_id is not None else kept)
        if chosen == old:
            return
        self._over = replace(self._over, chosen=chosen)
        self._update_bars(old, chosen)
        self.chosen_changed.emit()

    def hit(self, point: QPoint) -> Hit | None:
        """What lies under a point of the viewport."""
        return self._layout.hit(point.x(), point.y() + self.verticalScrollBar().value())

    def next_thin(self, step: int = 1) -> bool:
        """Go to the next thin place (with -1: the one before), around the end; False where there is none."""
        starts = sorted(place.first_bar for section in self._sections for place in section.thin)
        if not starts:
            return False
        here = self.chosen.bar or 0
        if step > 0:
            bar = next((n for n in starts if n > here), starts[0])
        else:
            bar = next((n for n in reversed(starts) if n < here), starts[-1])
        self.choose(bar)
        return True

    def play(self) -> None:
        """Play from the chosen bar (the first of a range) with the chosen take."""
        if self.chosen.bar is not None:
            self.play_wanted.emit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = event.position().toPoint()
        hit = self.hit(at)
        if hit is None or event.button() is not Qt.MouseButton.LeftButton:
            return
        extend = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        self._pressed = None if extend else (at, hit)
        bar = hit.bar.coverage.bar.number if hit.bar else self.chosen.bar
        self.choose_at_rest(
            bar,
            hit.stave.angle.id if hit.stave else None,
            extend=extend and hit.bar is not None,
            take_id=hit.take.take.id if hit.take else None,
        )
        self.pointed.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = event.position().toPoint()
        if self._pressed is None or not event.buttons() & Qt.MouseButton.LeftButton:
            hit = self.hit(at)
            name = hit is not None and hit.stave is not None and hit.bar is None and at.x() < hit.system.x0
            shape = Qt.CursorShape.OpenHandCursor if name else Qt.CursorShape.ArrowCursor
            if self.viewport().cursor().shape() is not shape:
                self.viewport().setCursor(shape)
            return
        start, hit = self._pressed
        far = (at - start).manhattanLength() >= QApplication.startDragDistance()
        if hit.bar is None:
            if hit.stave is not None and (far or self._dragging):
                self._drag_stave(hit, at)
            return
        if far or self.chosen.span is not None:
            bar = self._layout.nearest_bar(at.x(), at.y() + self.verticalScrollBar().value())
            if bar is not None and bar.coverage.bar.number != self.chosen.bar:
                self.choose_at_rest(bar.coverage.bar.number, extend=True)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        pressed, self._pressed = self._pressed, None
        dropping, dragging = self._over.dropping, self._dragging
        if dragging:
            self._dragging = ""
            self._over = replace(self._over, dropping=None)
            self.viewport().unsetCursor()
            self.viewport().update()
            if dropping is not None:
                self.angle_dropped.emit(*dropping)
        elif pressed is not None and pressed[1].take is not None and self.chosen.span is None:
            self.play()

    def wheelEvent(self, event: QWheelEvent) -> None:
        if not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            super().wheelEvent(event)
            return
        self._turned += event.angleDelta().y()
        steps = int(self._turned / WHEEL)
        self._turned -= steps * WHEEL
        if steps:
            self.zoom_to(self.step + steps, event.position().toPoint())
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            hit = self.hit(event.pos())
            text = self._about(hit) if hit is not None else ""
            QToolTip.showText(event.globalPos(), text or self.toolTip(), self.viewport())
            return True
        return super().viewportEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        hit = self.hit(event.pos())
        if event.reason() is QContextMenuEvent.Reason.Keyboard:
            if self.chosen.angle_id is not None:
                self.menu_wanted.emit(self.chosen.angle_id, self.mapToGlobal(QPoint(20, 20)))
        elif hit is not None and hit.stave is not None:
            self.choose(hit.bar.coverage.bar.number if hit.bar else self.chosen.bar, hit.stave.angle.id)
            self.menu_wanted.emit(hit.stave.angle.id, event.globalPos())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, held = Qt.Key(event.key()), event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        extend = held == Qt.KeyboardModifier.ShiftModifier
        bars = [bar.bar.number for section in self._sections for bar in section.bars]
        bar = self.chosen.bar
        if not bars or bar not in bars or not (extend or held == Qt.KeyboardModifier.NoModifier):
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not extend:
            self.play()
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            step = 1 if key is Qt.Key.Key_Right else -1
            self.choose(bars[min(max(bars.index(bar) + step, 0), len(bars) - 1)], extend=extend)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self.choose(bars[0] if key is Qt.Key.Key_Home else bars[-1], extend=extend)
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self._go_section(bar, 1 if key is Qt.Key.Key_PageDown else -1, extend)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and not extend:
            self._go_angle(1 if key is Qt.Key.Key_Down else -1)
        elif key is Qt.Key.Key_Escape:
            self.choose(bar)
            self.escaped.emit()
        else:
            super().keyPressEvent(event)

    def _drag_stave(self, hit: Hit, at: QPoint) -> None:
        assert hit.stave is not None
        self._dragging = hit.stave.angle.id
        self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        y = at.y() + self.verticalScrollBar().value()
        before = next((s.angle.id for s in hit.system.staves if y < s.y + s.height / 2), None)
        self._over = replace(self._over, dropping=(self._dragging, before))
        self.viewport().update()

    def _go_section(self, bar: int, step: int, extend: bool) -> None:
        starts = [section.bars[0].bar.number for section in self._sections if section.bars]
        here = max((n for n, start in enumerate(starts) if start <= bar), default=0)
        self.choose(starts[min(max(here + step, 0), len(starts) - 1)], extend=extend)

    def _go_angle(self, step: int) -> None:
        found = self._layout.find_bar(self.chosen.bar or 0)
        angles = [stave.angle.id for stave in found[0].staves] if found else []
        if not angles:
            return
        if self.chosen.angle_id not in angles:
            self.choose(self.chosen.bar, angles[0 if step > 0 else -1])
            return
        index = angles.index(self.chosen.angle_id) + step
        self.choose(self.chosen.bar, angles[min(max(index, 0), len(angles) - 1)])

    def _about(self, hit: Hit) -> str:
        """What lies under the mouse, in words."""
        parts = [hit.stave.angle.name] if hit.stave is not None else []
        if hit.take is not None:
            parts.append(words.take_name(hit.take.clip, hit.take.take))
            parts.append(words.take_state(hit.take.take))
            if hit.take.clip.frame_rate is None:
                parts.append("sound only, not counted")
        if hit.bar is not None:
            bar = hit.bar.coverage
            parts.append(f"bar {bar.bar.number}, {words.song_time(bar.bar.start_s, 1)}")
            parts.append(words.count(bar.depth, "take") + (", safety only" if bar.safety_only else ""))
        elif hit.stave is not None:
            parts.append("drag to move the stave")
        if hit.stave is None:
            # What may be cut where the line is short.
            parts.insert(0, f"{hit.system.section.letter} {hit.system.section.name}".strip())
            parts += [place.words for place in hit.system.thin]
        return " · ".join(parts)
