"""The score itself: scrolls, paints what is visible, and is driven by mouse and keys."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractScrollArea, QFrame, QWidget

from app.model.coverage import SectionCoverage
from app.model.shoot import Shoot, SongMap
from app.views.pictures import Pictures
from app.views.score_layout import Hit, Metrics, ScoreLayout, System, lay_out, system_index
from app.views.score_painter import Chosen, ScorePainter
from app.views.theme import Theme


class ScoreCanvas(QAbstractScrollArea):
    """Shows the coverage of a song as a score."""

    chosen_changed = Signal()
    """Another bar or angle was chosen; see `chosen`."""
    view_moved = Signal(float, float)
    """The stretch of the song in view (seconds), for the overview."""
    menu_wanted = Signal(str, QPoint)
    """A menu for an angle, at a place on the screen."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._pictures = theme, pictures
        self._shoot = Shoot()
        self._sections: Sequence[SectionCoverage] = ()
        self._layout = ScoreLayout()
        self._metrics = Metrics(theme.em())
        self._chosen = Chosen()
        self._silent = True
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # Always there, so that the width, and with it the layout, does not depend on the height.
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Score")
        self.setToolTip("Click a bar to see who shows it. Arrow keys go from bar to bar and angle to angle.")
        self.viewport().setAutoFillBackground(False)
        self.verticalScrollBar().setAccessibleName("Scroll the score")
        self.verticalScrollBar().valueChanged.connect(self._moved)
        theme.changed.connect(self.viewport().update)
        pictures.arrived.connect(self.viewport().update)

    @property
    def chosen(self) -> Chosen:
        """The bar and the angle the person is at."""
        return self._chosen

    @property
    def score(self) -> ScoreLayout:
        """The layout in force."""
        return self._layout

    def show_shoot(self, shoot: Shoot, sections: Sequence[SectionCoverage]) -> None:
        """Show a shoot; the chosen bar and angle stay where they still exist."""
        self._shoot, self._sections = shoot, sections
        numbers = [bar.bar.number for section in sections for bar in section.bars]
        bar = self._chosen.bar if self._chosen.bar in numbers else (numbers[0] if numbers else None)
        angles = [angle.id for angle in shoot.angles]
        angle = self._chosen.angle_id if self._chosen.angle_id in angles else None
        self._chosen = Chosen(bar, angle)
        self._lay_out()
        self.chosen_changed.emit()

    def show_silent(self, on: bool) -> None:
        """Show or leave out the staves that have nothing in their section."""
        self._silent = on
        self._lay_out()

    def choose(self, bar: int | None, angle_id: str | None = None) -> None:
        """Choose a bar (and an angle), and bring it into view."""
        self._chosen = Chosen(bar, angle_id if angle_id is not None else self._chosen.angle_id)
        self._reveal()
        self.viewport().update()
        self.chosen_changed.emit()

    def choose_at_rest(self, bar: int) -> None:
        """Choose a bar without scrolling to it."""
        self._chosen = Chosen(bar, self._chosen.angle_id)
        self.viewport().update()
        self.chosen_changed.emit()

    def scroll_to(self, song_s: float) -> None:
        """Bring the line that holds a moment of the song to the top."""
        if self._layout.systems:
            system = self._layout.systems[system_index(self._layout, song_s)]
            self.verticalScrollBar().setValue(round(system.top - self._metrics.margin))

    def hit(self, point: QPoint) -> Hit | None:
        """What lies under a point of the viewport."""
        return self._layout.hit(point.x(), point.y() + self.verticalScrollBar().value())

    def next_thin(self, step: int = 1) -> bool:
        """Go to the next thin place (with -1: the one before), around the end; False where there is none."""
        starts = sorted(place.first_bar for section in self._sections for place in section.thin)
        if not starts:
            return False
        here = self._chosen.bar or 0
        if step > 0:
            bar = next((n for n in starts if n > here), starts[0])
        else:
            bar = next((n for n in reversed(starts) if n < here), starts[-1])
        self.choose(bar)
        return True

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), self._theme.colour("paper"))
        scrolled = self.verticalScrollBar().value()
        painter.translate(0, -scrolled)
        song_map = self._shoot.song.map if self._shoot.song else SongMap()
        pen = ScorePainter(painter, self._theme, self._metrics, self._pictures, song_map, self._chosen)
        top = event.rect().top() + scrolled
        for system in self._layout.visible(top, top + event.rect().height()):
            pen.system(system)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._lay_out()

    def changeEvent(self, event: QEvent) -> None:
        if event.type() == QEvent.Type.FontChange:
            self._lay_out()
        super().changeEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        hit = self.hit(event.position().toPoint())
        if hit is None or event.button() is not Qt.MouseButton.LeftButton:
            return
        bar = hit.bar.coverage.bar.number if hit.bar else self._chosen.bar
        self._chosen = Chosen(bar, hit.stave.angle.id if hit.stave else self._chosen.angle_id)
        self.viewport().update()
        self.chosen_changed.emit()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        hit = self.hit(event.pos())
        if event.reason() is QContextMenuEvent.Reason.Keyboard:
            if self._chosen.angle_id is not None:
                self.menu_wanted.emit(self._chosen.angle_id, self.mapToGlobal(QPoint(20, 20)))
        elif hit is not None and hit.stave is not None:
            self.choose(hit.bar.coverage.bar.number if hit.bar else self._chosen.bar, hit.stave.angle.id)
            self.menu_wanted.emit(hit.stave.angle.id, event.globalPos())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        bars = [bar.bar.number for section in self._sections for bar in section.bars]
        bar = self._chosen.bar
        if not bars or bar not in bars or event.modifiers() not in (_NONE, _KEYPAD):
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            step = 1 if key is Qt.Key.Key_Right else -1
            self.choose(bars[min(max(bars.index(bar) + step, 0), len(bars) - 1)])
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self.choose(bars[0] if key is Qt.Key.Key_Home else bars[-1])
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self._go_section(bar, 1 if key is Qt.Key.Key_PageDown else -1)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._go_angle(1 if key is Qt.Key.Key_Down else -1)
        else:
            super().keyPressEvent(event)

    def _go_section(self, bar: int, step: int) -> None:
        starts = [section.bars[0].bar.number for section in self._sections if section.bars]
        here = max((n for n, start in enumerate(starts) if start <= bar), default=0)
        self.choose(starts[min(max(here + step, 0), len(starts) - 1)])

    def _go_angle(self, step: int) -> None:
        found = self._layout.find_bar(self._chosen.bar or 0)
        angles = [stave.angle.id for stave in found[0].staves] if found else []
        if not angles:
            return
        if self._chosen.angle_id not in angles:
            self.choose(self._chosen.bar, angles[0 if step > 0 else -1])
            return
        index = angles.index(self._chosen.angle_id) + step
        self.choose(self._chosen.bar, angles[min(max(index, 0), len(angles) - 1)])

    def _reveal(self) -> None:
        found = self._layout.find_bar(self._chosen.bar or 0)
        if found is None:
            return
        system, bar = found[0], self.verticalScrollBar()
        margin = self._metrics.margin
        top, bottom = system.top - margin, system.bottom + margin
        if top < bar.value() or bottom - top > self.viewport().height():
            bar.setValue(round(top))
        elif bottom > bar.value() + self.viewport().height():
            bar.setValue(round(bottom - self.viewport().height()))

    def _lay_out(self) -> None:
        chosen_seen, tops = self._chosen_is_seen(), [s.top for s in self._layout.systems]
        first_s = self._seen()[0].start_s if self._seen() else None
        self._metrics = Metrics(self._theme.em(), self.viewport().width())
        self._layout = lay_out(
            self._shoot, self._sections, self.viewport().width(), self._metrics, silent=self._silent
        )
        bar = self.verticalScrollBar()
        bar.setPageStep(self.viewport().height())
        bar.setSingleStep(round(self._metrics.em * 2))
        bar.setRange(0, max(0, round(self._layout.height) - self.viewport().height()))
        # What was in view stays in view: the chosen bar if it was, else the topmost line.
        if first_s is not None and [s.top for s in self._layout.systems] != tops:
            self.scroll_to(first_s)
        if chosen_seen:
            self._reveal()
        self.viewport().update()
        self._moved()

    def _seen(self) -> Sequence[System]:
        top = self.verticalScrollBar().value()
        return self._layout.visible(top, top + self.viewport().height())

    def _chosen_is_seen(self) -> bool:
        found = self._layout.find_bar(self._chosen.bar or 0)
        return found is not None and found[0] in self._seen()

    def _moved(self) -> None:
        seen = self._seen()
        if seen:
            self.view_moved.emit(seen[0].start_s, seen[-1].end_s)
        self.viewport().update()


_NONE = Qt.KeyboardModifier.NoModifier
_KEYPAD = Qt.KeyboardModifier.KeypadModifier
