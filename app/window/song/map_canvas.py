"""The map of the song as it is seen: scrolls, zooms, follows the music.

What is in view is painted once into a picture of its own, so that the playing position costs a narrow strip.
"""

from bisect import bisect_left, bisect_right
from math import log

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPixmap, QResizeEvent
from PySide6.QtWidgets import QAbstractScrollArea, QFrame, QWidget

from app.model.document.song import Section, SongMap
from app.model.song_map.map_grid import grid_of
from app.window.parts.theme import Theme
from app.window.song.map_painter import HEAD, MapPainter, Rows, paint_line
from app.window.song.map_peaks import MapPeaks
from app.window.song.map_scale import STEP, MapScale

NAME = "Map of the song"
REACH = 5
"""An edge or a beat is taken hold of within so many pixels."""
PAGE = 0.1
"""Where the music enters when the view turns the page: share of the width from the left."""


class MapCanvas(QAbstractScrollArea):
    """Shows beats, bars and sections over the song's loudness."""

    zoom_changed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.song_map = SongMap()
        self.sections: tuple[Section, ...] = ()
        self._beats: tuple[float, ...] = ()
        self._peaks = MapPeaks()
        self.scale = MapScale()
        self._painted: QPixmap | None = None
        self._playing_s: float | None = None
        self._drawn_s: float | None = None
        self.chosen = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(NAME)
        self.setToolTip(
            "Click to go there, double-click to play from there. Drag a section's edge to move it: it snaps "
            "to bars, with Shift held to beats, with Ctrl held to nothing. Drag a beat by its tick above the "
            "waveform. ◆ marks what you fixed. Ctrl+wheel zooms, right-click opens a menu."
        )
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.horizontalScrollBar().setAccessibleName("Scroll the song")
        self.horizontalScrollBar().setToolTip("Scroll the song (Page Up and Page Down go section by section)")
        self.setMinimumHeight(round(theme.em() * 7))
        theme.changed.connect(self.repaint_all)

    def sizeHint(self) -> QSize:
        return QSize(600, round(self._theme.em() * 16))

    @property
    def rows(self) -> Rows:
        """The heights in force."""
        return Rows(self._theme.em(), self.viewport().height())

    def edge_at(self, x: float) -> int | None:
        """The section whose start lies at a place; not the first one, whose start is the song's."""
        near = [
            (abs(self.scale.x(section.start_s) - x), number)
            for number, section in enumerate(self.sections)
            if number and abs(self.scale.x(section.start_s) - x) <= REACH
        ]
        return min(near)[1] if near else None

    def beat_at(self, x: float, y: float) -> float | None:
        """The beat whose tick, above the loudness, lies at a place; None where beats are too close to tell
        which is meant."""
        if not self.rows.bars <= y < self.rows.wave:
            return None
        at_s, reach_s = self.scale.left_s + x / self.scale.second, REACH / self.scale.second
        low = bisect_left(self._beats, at_s - 2 * reach_s)
        near = self._beats[low : bisect_right(self._beats, at_s + 2 * reach_s)]
        return near[0] if len(near) == 1 and abs(near[0] - at_s) <= reach_s else None

    def section_at(self, x: float) -> int:
        """The section at a place."""
        song_s = self.scale.song_s(x)
        return max((n for n, s in enumerate(self.sections) if s.start_s <= song_s), default=0)

    def show_map(self, song_map: SongMap, sections: tuple[Section, ...], duration_s: float) -> None:
        """Show a song's map; where one is in it stays where it is."""
        self.song_map, self.sections = song_map, sections
        self._beats = grid_of(song_map).beats
        self.chosen = min(self.chosen, max(0, len(sections) - 1))
        if duration_s != self.scale.duration_s:
            self._take(MapScale(duration_s, self.scale.width).sized(duration_s, self.viewport().width()))
        self.repaint_all()

    def show_peaks(self, peaks: MapPeaks) -> None:
        """Show the song's loudness."""
        self._peaks = peaks
        self.repaint_all()

    def show_chosen(self, index: int) -> None:
        """Show which section is chosen."""
        if index != self.chosen:
            self.chosen = index
            self.repaint_all()

    def show_position(self, song_s: float, *, follow: bool) -> None:
        """Show where the music is; the page turns when it leaves the view."""
        old, self._playing_s = self._playing_s, song_s
        if follow and not self.scale.sees(song_s) and (old is None or self.scale.sees(old) or old > song_s):
            self._take(self.scale.moved(song_s - PAGE * self.scale.width / self.scale.second))
        for moment in (old, song_s):
            if moment is not None:
                x = round(self.scale.x(moment))
                self.viewport().update(x - round(HEAD) - 3, 0, 2 * round(HEAD) + 6, self.viewport().height())

    def reveal(self, song_s: float) -> None:
        """Bring a moment into view, with some of what is around it."""
        margin = 0.08 * self.scale.width / self.scale.second
        if song_s < self.scale.left_s + margin:
            self._take(self.scale.moved(song_s - margin))
        elif song_s > self.scale.right_s - margin:
            self._take(self.scale.moved(song_s + margin - self.scale.width / self.scale.second))

    def zoom_by(self, steps: float, x: float | None = None) -> None:
        """Go closer (or, with negative steps, away); what lies at a place stays there, or the position."""
        if x is None:
            here = self._playing_s
            x = self.scale.x(here) if here is not None and self.scale.sees(here) else self.scale.width / 2
        self._take(self.scale.zoomed(self.scale.second * STEP**steps, x))

    def zoom_whole(self) -> None:
        """Show the whole song; and from there a part around the position."""
        if self.scale.second > self.scale.whole * 1.0001:
            self._take(self.scale.zoomed(self.scale.whole, 0.0))
        else:
            self.zoom_by(5)

    def zoom_share(self) -> float:
        """How close it is, from 0 (the whole song) to 1 (the closest)."""
        most = self.scale.closest / self.scale.whole
        return log(self.scale.second / self.scale.whole) / log(most) if most > 1.0001 else 0.0

    def set_zoom_share(self, share: float) -> None:
        """Go as close as that."""
        most = self.scale.closest / self.scale.whole
        here = self._playing_s
        x = self.scale.x(here) if here is not None and self.scale.sees(here) else self.scale.width / 2
        self._take(self.scale.zoomed(self.scale.whole * most**share, x))

    def repaint_all(self) -> None:
        """Paint everything anew."""
        self._painted = None
        self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._painted is None:
            ratio = self.devicePixelRatioF()
            size = self.viewport().size()
            self._painted = QPixmap(round(size.width() * ratio), round(size.height() * ratio))
            self._painted.setDevicePixelRatio(ratio)
            inner = QPainter(self._painted)
            painter = MapPainter(inner, self._theme, self.scale, self.rows)
            painter.whole(self.song_map, self.sections, self._peaks, self.chosen)
            inner.end()
        p = QPainter(self.viewport())
        p.drawPixmap(0, 0, self._painted)
        if self._drawn_s is not None:
            self._line(p, self._drawn_s, "warm", headed=False)
        if self._playing_s is not None:
            self._line(p, self._playing_s, "ink", headed=True)

    def resizeEvent(self, event: QResizeEvent) -> None:
        seen = self._playing_s is not None and self.scale.sees(self._playing_s)
        self._take(self.scale.sized(self.scale.duration_s, self.viewport().width()))
        if seen and self._playing_s is not None:
            self.reveal(self._playing_s)

    def changeEvent(self, event: QEvent) -> None:
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self.repaint_all()
        super().changeEvent(event)

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        self.scale = self.scale.moved(self.horizontalScrollBar().value() / self.scale.second)
        self.repaint_all()

    def show_drawn(self, song_s: float | None) -> None:
        """Show where an edge or a beat that is being drawn would lie."""
        if song_s != self._drawn_s:
            self._drawn_s = song_s
            self.viewport().update()

    def _line(self, p: QPainter, song_s: float, colour: str, *, headed: bool) -> None:
        paint_line(p, self._theme, self.rows, self.scale.x(song_s), self._theme.colour(colour), headed=headed)

    def _take(self, scale: MapScale) -> None:
        """Show another part of the song."""
        self.scale = scale
        bar = self.horizontalScrollBar()
        bar.blockSignals(True)
        spare = scale.duration_s * scale.second - scale.width
        bar.setRange(0, max(0, round(spare)))
        bar.setPageStep(round(scale.width))
        bar.setSingleStep(round(self._theme.em() * 3))
        bar.setValue(round(scale.left_s * scale.second))
        bar.blockSignals(False)
        bar.update()
        self.repaint_all()
        self.zoom_changed.emit()
