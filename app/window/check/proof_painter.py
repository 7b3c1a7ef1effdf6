"""How song and take around a moment are drawn: the song above, the take below, on one time axis."""

from dataclasses import dataclass
from math import ceil, floor
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from app.engine.checking import SHOWN_S, SLIDE_S, STEP_S
from app.model.edits.pins import frame_s
from app.model.on_song import Clip, Take
from app.window.parts import theme as looks
from app.window.parts.theme import Theme

if TYPE_CHECKING:
    from app.engine.checking import Proof

FIT_FULL = 20.0
"""Standard deviations that fill the fit's band, at least."""


@dataclass(frozen=True, slots=True)
class Held:
    """A take as it is held against the song at a moment."""

    clip: Clip
    take: Take
    song_s: float
    """The moment."""
    slide_s: float = 0.0
    """How much later in the song it is being slid just now."""

    @property
    def clip_s(self) -> float:
        """What of the clip lies at the moment."""
        return self.take.clip_time(self.song_s - self.slide_s)

    @property
    def frame(self) -> int:
        """The frame that is shown at the moment, counted from 0."""
        return floor(self.clip_s / frame_s(self.clip) + 1e-6)


class ProofPainter:
    """Paints into a rectangle whose width is the time shown."""

    def __init__(self, painter: QPainter, theme: Theme, rect: QRectF, colour: QColor) -> None:
        self._p, self._theme, self._rect, self._colour = painter, theme, rect, colour

    def x(self, off_s: float) -> float:
        """Where a moment lies, given in seconds of song from the middle."""
        return self._rect.left() + (off_s + SHOWN_S) / (2 * SHOWN_S) * self._rect.width()

    def curves(self, proof: "Proof", slide_s: float) -> None:
        """Song above, take below a thin line."""
        rect, ink = self._rect, self._theme.mixed(self._theme.colour("ink"), 0.8, "panel")
        middle, room = rect.center().y(), rect.height() / 2 - 2
        self._p.save()
        self._p.setClipRect(rect)
        self._hill([float(v) for v in proof.song], -SHOWN_S, middle - 1, -room, ink)
        first = -SHOWN_S - SLIDE_S + slide_s
        self._hill([float(v) for v in proof.take], first, middle + 1, room, self._colour)
        self._p.restore()

    def frames(self, held: Held, top: float, bottom: float, *, named: bool) -> None:
        """The frames of the clip: edges, and below them their numbers from the one shown at the moment."""
        p, theme = self._p, self._theme
        length, now = frame_s(held.clip), held.frame
        edge = theme.colour("edge")
        font = theme.font(looks.SMALL)
        p.setFont(font)
        wide = length * held.take.speed / (2 * SHOWN_S) * self._rect.width()
        every = max(1, ceil(p.fontMetrics().horizontalAdvance("−00") * 1.2 / max(wide, 1.0)))
        count = ceil(SHOWN_S / (length * held.take.speed)) + 1
        p.save()
        p.setClipRect(QRectF(self._rect.left(), top - 1, self._rect.width(), bottom - top + 1))
        for number in range(now - count, now + count + 1):
            left = self.x(held.take.song_time(number * length) + held.slide_s - held.song_s)
            p.setPen(QPen(edge, 1))
            p.drawLine(QPointF(round(left) + 0.5, top), QPointF(round(left) + 0.5, top + 5))
            if not named or number < 0 or (number - now) % every:
                continue
            text = "0" if number == now else f"{number - now:+d}".replace("-", "−")
            p.setPen(theme.colour("ink" if number == now else "dim"))
            where = QRectF(left, top + 3, wide, bottom - top - 3)
            if number == now and p.fontMetrics().horizontalAdvance("this frame") < wide * 1.6:
                text = "this frame"
                where.adjust(-wide, 0, wide, 0)
            p.drawText(where, Qt.AlignmentFlag.AlignCenter, text)
        p.restore()

    def this_frame(self, held: Held) -> None:
        """The ground under the frame that is shown at the moment, on the take's side."""
        length = frame_s(held.clip)
        left, right = (
            self.x(held.take.song_time((held.frame + n) * length) + held.slide_s - held.song_s)
            for n in (0, 1)
        )
        rect = self._rect
        span = QRectF(left, rect.center().y(), right - left, rect.height() / 2).intersected(rect)
        self._p.fillRect(span, self._theme.mixed(self._colour, 0.14, "panel"))

    def moment(self, top: float, bottom: float) -> None:
        """The moment itself."""
        self._p.setPen(QPen(self._theme.colour("warm"), 1.5))
        x = self.x(0.0)
        self._p.drawLine(QPointF(x, top), QPointF(x, bottom))

    def fit(self, proof: "Proof", rect: QRectF) -> None:
        """How well the take would fit if it were slid: a hill where it belongs."""
        values = [float(v) for v in proof.fit]
        most = max(FIT_FULL, *values)
        self._p.save()
        self._p.setClipRect(rect)
        ground = self._theme.colour("edge")
        self._hill([v / most for v in values], -SLIDE_S, rect.bottom(), -rect.height() * 0.62, ground)
        self._p.restore()

    def _hill(self, values: list[float], first_s: float, ground: float, height: float, ink: QColor) -> None:
        scale = self._rect.width() / (2 * SHOWN_S)
        left = self.x(first_s)
        low = max(0, floor((self._rect.left() - left) / scale / STEP_S) - 1)
        high = min(len(values), ceil((self._rect.right() - left) / scale / STEP_S) + 2)
        if high - low < 2:
            return
        step = STEP_S * scale
        points = [QPointF(left + low * step, ground)]
        points += [QPointF(left + n * step, ground + min(values[n], 1.0) * height) for n in range(low, high)]
        points.append(QPointF(left + (high - 1) * step, ground))
        self._p.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._p.setPen(Qt.PenStyle.NoPen)
        self._p.setBrush(ink)
        self._p.drawPolygon(QPolygonF(points))
        self._p.setRenderHint(QPainter.RenderHint.Antialiasing, False)
