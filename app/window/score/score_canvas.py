"""The score as it is seen: scrolls, zooms, follows the music, paints what is in view and what is chosen."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractScrollArea, QFrame, QWidget

from app.model.coverage.coverage import SectionCoverage
from app.model.coverage.need_bars import SubjectBars
from app.model.on_song import SongView
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme
from app.window.score.chosen import Chosen
from app.window.score.score_boxes import Hit, ScoreLayout, System
from app.window.score.score_layout import Content, content, lay_out
from app.window.score.score_lines import EDGE, ScoreLines
from app.window.score.score_metrics import Metrics
from app.window.score.score_overlay import Overlay, paint_over, position_strip
from app.window.score.score_shown import Shown
from app.window.score.score_staves import Part
from app.window.score.score_zoom import Zoom, zoom_of

PICTURES_MS = 120
"""Pictures that arrive are shown so often."""
AHEAD_MS = 30
"""After so long without painting, a line next to the view is painted."""


class ScoreCanvas(QAbstractScrollArea):
    """Shows the coverage of a song as a score, and which bar, range and angle a person is at."""

    chosen_changed = Signal()
    """Another bar, range or angle was chosen; see `chosen`."""

    view_moved = Signal(float, float)
    """The stretch of the song in view (seconds), for the overview."""
    zoom_changed = Signal()
    """Another step of zoom, or other steps there are; see `zoom` and `step`."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._shoot = SongView()
        self._sections: Sequence[SectionCoverage] = ()
        self._content = Content()
        self._layout = ScoreLayout()
        self._metrics = Metrics(theme.em())
        self.needs: tuple[SubjectBars, ...] = ()
        """How the plan stands."""
        self.shown = Shown()
        """What is left out; see `show_only`."""
        self._over = Overlay()
        self.lines = ScoreLines(theme, pictures)
        self.step = 0
        self._whole = False
        self.zoom = Zoom(0, 0, self._metrics, self._metrics, self._metrics)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Score")
        self.setToolTip(
            "Click a bar to go there, double-click to play from there; drag over bars to select a range. "
            "Arrow keys go from bar to bar and angle to angle; Enter plays."
        )
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # Always there, so that the width, and with it the layout, does not depend on the height.
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.viewport().setAutoFillBackground(False)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.verticalScrollBar().setAccessibleName("Scroll the score")
        self.verticalScrollBar().setToolTip("Scroll the score (Page Up and Page Down go section by section)")
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(PICTURES_MS)
        self._late.timeout.connect(self._on_late)
        self._ahead = QTimer(self)
        self._ahead.setSingleShot(True)
        self._ahead.setInterval(AHEAD_MS)
        self._ahead.timeout.connect(self._paint_ahead)
        theme.changed.connect(self._on_theme_changed)
        pictures.arrived.connect(self._on_pictures_arrived)

    @property
    def score(self) -> ScoreLayout:
        """The layout in force."""
        return self._layout

    @property
    def parts(self) -> Sequence[Part]:
        """The angles that have a stave, from top to bottom."""
        return self._content.parts

    @property
    def metrics(self) -> Metrics:
        """The measures in force."""
        return self._metrics

    @property
    def chosen(self) -> Chosen:
        """The bar, range and angle the person is at."""
        return self._over.chosen

    def show_shoot(
        self,
        shoot: SongView,
        sections: Sequence[SectionCoverage],
        needs: tuple[SubjectBars, ...] = (),
    ) -> None:
        """Show a shoot and how its plan stands; the chosen bar and angle stay where they still exist."""
        self._shoot, self._sections, self.needs = shoot, sections, needs
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
        self.lines.show_shoot(shoot)
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
        before = old.take_id if angle_id == old.angle_id else None
        chosen = Chosen(bar, angle_id, anchor, take_id if take_id is not None else before)
        if chosen == old:
            return
        self._over = replace(self._over, chosen=chosen)
        self._update_bars(old, chosen)
        self.chosen_changed.emit()

    def hit(self, point: QPoint) -> Hit | None:
        """What lies under a point of the viewport."""
        return self._layout.hit(point.x(), point.y() + self.verticalScrollBar().value())

    def nearest_bar(self, point: QPoint) -> int | None:
        """Number of the bar nearest to a point of the viewport; None where there are no bars."""
        bar = self._layout.nearest_bar(point.x(), point.y() + self.verticalScrollBar().value())
        return None if bar is None else bar.coverage.bar.number

    def show_dropping(self, dropping: tuple[str, str | None] | None) -> None:
        """Show where a stave that is dragged would stand: its angle, and the one behind it; None: no more."""
        self._over = replace(self._over, dropping=dropping)
        self.viewport().update()

    def show_only(self, shown: Shown) -> None:
        """Leave out what a filter does; a bar that was in view stays there."""
        if shown != self.shown:
            self.shown = shown
            self._take_content()

    def show_mark(self, mark_id: str) -> None:
        """Frame a fault or keeper; none by an empty id."""
        if mark_id != self._over.mark_id:
            self._over = replace(self._over, mark_id=mark_id)
            self.viewport().update()

    def zoom_to(self, step: int, at: QPoint | None = None) -> None:
        """Go to a step of zoom; what lies under a point of the viewport stays at its height.

        Without a point, that is the chosen bar where it is in view, else what is in the middle.
        """
        step = min(max(step, self.zoom.lowest), self.zoom.highest)
        if step == self.step:
            return
        moment = self._moment(at)
        self.step = step
        self._whole = step == self.zoom.lowest < 0
        self._lay_out(moment)
        self.zoom_changed.emit()

    def zoom_whole(self) -> None:
        """Show the whole song on one screen; and from there the usual size."""
        self.zoom_to(0 if self.step == self.zoom.lowest else self.zoom.lowest)

    def scroll_to(self, song_s: float) -> None:
        """Bring the line that holds a moment of the song to the top."""
        system = self._layout.at(song_s)
        if system is not None:
            self.verticalScrollBar().setValue(round(system.top - self._metrics.margin))

    def show_position(self, song_s: float | None, *, follow: bool) -> None:
        """Show where the music is. Where it was in view and leaves it, the view follows."""
        old = self._over.playing_s
        if song_s == old:
            return
        was_seen = old is None or self._sees(old)
        for moment in (old, song_s):
            system = self._layout.at(moment) if moment is not None else None
            if system is not None and moment is not None:
                strip = position_strip(self._metrics, system, moment)
                strip.translate(0, -self.verticalScrollBar().value())
                self.viewport().update(strip.toAlignedRect())
        self._over = replace(self._over, playing_s=song_s)
        if follow and song_s is not None and was_seen and not self._sees(song_s):
            self.scroll_to(song_s)

    @property
    def heard_id(self) -> str | None:
        """The take marked as the one that is heard."""
        return self._over.heard_id

    def show_heard(self, take_id: str | None, loop: tuple[float, float] | None) -> None:
        """Mark the take that is heard, and what is looped."""
        if (take_id, loop) != (self._over.heard_id, self._over.loop):
            self._over = replace(self._over, heard_id=take_id, loop=loop)
            self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        rect = event.rect()
        painter.fillRect(rect, self._theme.colour("paper"))
        scrolled = self.verticalScrollBar().value()
        painter.translate(0, -scrolled)
        top = rect.top() + scrolled
        ratio = self.devicePixelRatioF()
        for systems in self._between(top - EDGE, top + rect.height() + EDGE):
            painter.drawPixmap(QPointF(0, systems[0].top - EDGE), self.lines.picture(systems, ratio))
        names = self.lines.painter(painter, ratio)
        for system in self._layout.visible(top, top + rect.height() + EDGE):
            paint_over(painter, self.lines.palette, self._metrics, names, system, self._over)
        painter.end()
        self._ahead.start()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        self.viewport().scroll(0, dy)
        self._moved()

    def resizeEvent(self, event: QResizeEvent) -> None:
        found = self._layout.find_bar(self.chosen.bar or 0)
        seen = found is not None and self._sees(found[1].coverage.bar.start_s, event.oldSize().height())
        self._measure()
        if seen:
            self._reveal()  # a window that gets small must not leave the chosen bar behind

    def changeEvent(self, event: QEvent) -> None:
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._measure()
        super().changeEvent(event)

    def hideEvent(self, event: QEvent) -> None:
        self._late.stop()
        self._ahead.stop()

    def _take_content(self) -> None:
        self._content = content(self._shoot, self._sections, self.needs, self.shown)
        self._measure()

    def _measure(self) -> None:
        """Find the steps of zoom for this content and screen, and lay out."""
        size = self.viewport().size()
        before = self.zoom
        wide = QFontMetricsF(self._theme.font(bold=True)).horizontalAdvance
        name = max((wide(part.angle.name) for part in self.parts), default=0.0)
        shown = self._content
        usual = Metrics(self._theme.em(), size.width(), name=name, counted=shown.counted, cut=shown.cut)
        usual = replace(usual, needs=len(shown.needs), sung=bool(shown.lyrics))
        self.zoom = zoom_of(self._content, usual, size.height())
        self.step = (
            self.zoom.lowest if self._whole else min(max(self.step, self.zoom.lowest), self.zoom.highest)
        )
        self.lines.start_over()
        self._lay_out(self._moment(None) if self._layout.systems else None)
        if self.zoom != before:
            self.zoom_changed.emit()

    def _lay_out(self, keep: tuple[float, float, float] | None) -> None:
        """Lay out anew; ``keep`` is a moment of the song, how far down its line it lies, and at what height
        of the viewport that is to stay."""
        self._metrics = self.zoom.metrics(self.step)
        self._layout = lay_out(self._content, self.viewport().width(), self._metrics)
        self.lines.fit(self._metrics, self.viewport().width(), self.viewport().height())
        bar = self.verticalScrollBar()
        bar.setPageStep(self.viewport().height())
        bar.setSingleStep(round(self._metrics.em * 2))
        spare = 0 if self.step == self.zoom.lowest < 0 else self._layout.height - self.viewport().height()
        bar.setRange(0, max(0, round(spare)))
        system = self._layout.at(keep[0]) if keep is not None else None
        if keep is not None and system is not None:
            _, share, height = keep
            bar.setValue(round(system.top + share * (system.bottom - system.top) - height))
        self.viewport().update()
        self._moved()

    def _moment(self, at: QPoint | None) -> tuple[float, float, float] | None:
        """A moment to hold on to: song time, how far down its line it lies, height in the viewport."""
        scrolled = self.verticalScrollBar().value()
        if at is None:
            found = self._layout.find_bar(self.chosen.bar or 0)
            if found is not None and self._sees(found[1].coverage.bar.start_s):
                at = QPoint(round(found[1].x0 + 1), round(found[0].top - scrolled))
            else:
                at = QPoint(self.viewport().width() // 2, self.viewport().height() // 2)
                if scrolled == 0 or found is None:
                    at.setY(0)
        y = at.y() + scrolled
        bar = self._layout.nearest_bar(at.x(), y)
        if bar is None:
            return None
        system = self._layout.places[bar.coverage.bar.number][0]
        share = min(max((y - system.top) / max(1.0, system.bottom - system.top), 0.0), 1.0)
        x = min(max(float(at.x()), bar.x0), bar.x1 - 0.01)
        return system.song_s(x), share, at.y()

    def _sees(self, song_s: float, height: float | None = None) -> bool:
        """Whether a moment is in view, or was while the viewport was so high."""
        system = self._layout.at(song_s)
        top = self.verticalScrollBar().value()
        height = self.viewport().height() if height is None else height
        return system is not None and system.bottom > top and system.top < top + height * 0.9

    def _reveal(self) -> None:
        found = self._layout.find_bar(self.chosen.bar or 0)
        if found is None:
            return
        system, bar = found[0], self.verticalScrollBar()
        margin = self._metrics.margin
        top, bottom = system.top - margin, system.bottom + margin
        if top < bar.value() or bottom - top > self.viewport().height():
            bar.setValue(round(top))
        elif bottom > bar.value() + self.viewport().height():
            bar.setValue(round(bottom - self.viewport().height()))

    def _moved(self) -> None:
        top = self.verticalScrollBar().value()
        seen = self._layout.visible(top, top + self.viewport().height())
        if seen:
            self.view_moved.emit(seen[0].start_s, seen[-1].end_s)

    def _between(self, top: float, bottom: float) -> Iterator[Sequence[System]]:
        """The lines between two heights, each as the systems that share it."""
        line: list[System] = []
        for system in self._layout.visible(top, bottom):
            if line and system.top != line[0].top:
                yield line
                line = []
            line.append(system)
        if line:
            yield line

    def _on_theme_changed(self) -> None:
        self.lines.start_over()
        self.viewport().update()

    def _on_pictures_arrived(self) -> None:
        if self.isVisible() and not self._late.isActive():
            self._late.start()

    def _on_late(self) -> None:
        self.lines.forget_unfinished()
        self.viewport().update()

    def _paint_ahead(self) -> None:
        """Paint the line below and the one above the view, so that they are there when one scrolls."""
        top, height = self.verticalScrollBar().value(), self.viewport().height()
        for start, end in ((top + height, top + 1.5 * height), (top - 0.5 * height, top)):
            for systems in self._between(start, end):
                if not self.lines.has(systems):
                    self.lines.picture(systems, self.devicePixelRatioF())
                    self._ahead.start()
                    return

    def _update_bars(self, *chosen: Chosen) -> None:
        """Repaint the lines on which choices lie."""
        scrolled = self.verticalScrollBar().value()
        bars = {b for one in chosen for b in (*(one.span or ()), one.bar) if b is not None}
        if any(one.span for one in chosen) or len({one.angle_id for one in chosen}) > 1:
            self.viewport().update()
            return
        for number in bars:
            found = self._layout.find_bar(number)
            if found is not None:
                system, bar = found
                area = QRectF(bar.x0 - 4, system.top, bar.x1 - bar.x0 + 8, system.bottom - system.top + 4)
                self.viewport().update(area.translated(0, -scrolled).toAlignedRect())
