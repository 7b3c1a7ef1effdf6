"""Paints takes: their ground, their pictures, and what is in doubt about them."""

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from app.model.check_queue import fitting
from app.model.coverage.staves import colour_round
from app.model.document.song import SongMap
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.score.score_boxes import BarBox, Stave, System, TakeBox
from app.window.score.score_marks import MarkPainter
from app.window.score.score_metrics import Metrics
from app.window.score.score_palette import ScorePalette

HEIGHTS = (24, 36, 54, 80, 120, 180, 270, 400)
"""Pictures are fetched in these heights (device pixels), so that steps of zoom share them."""


class TakePainter:
    """Paints the takes of staves."""

    def __init__(
        self,
        painter: QPainter,
        palette: ScorePalette,
        metrics: Metrics,
        pictures: Pictures,
        song_map: SongMap,
    ) -> None:
        self._p, self._palette, self._m = painter, palette, metrics
        self._pictures, self._map = pictures, song_map
        self._marks = MarkPainter(painter, palette)
        self.missing = 0

    def take(self, system: System, stave: Stave, box: TakeBox) -> None:
        """Paint a take, as far as it runs through a system."""
        p, palette = self._p, self._palette
        colour = palette.theme.angle_colour(stave.angle)
        area = QRectF(box.x0, box.y, max(1.0, box.x1 - box.x0), box.height)
        p.fillRect(area, palette.tint(colour, 0.34 if box.slim or box.height < palette.theme.em() else 0.17))
        pictures = not box.slim and box.height >= 1.3 * self._m.em
        if pictures and box.clip.frame_rate is not None:
            self._pictures_of(system, box, area)
        elif (pictures or box.slim) and not box.doubtful:  # a doubt says what it is by itself
            self._name(box, area)
        self._marks.marks(box, area)
        thick = 2.0 if box.height >= 8 else 1.0
        if not box.doubtful:
            self._edges(stave, box, area, QPen(colour, thick))
            return
        p.setPen(QPen(palette.warm, min(1.5, thick), Qt.PenStyle.DashLine))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRect(area.adjusted(0.75, 0.75, -0.75, -0.75))
        if box.begins or system.first:
            self._doubt(box, area)

    def _edges(self, stave: Stave, box: TakeBox, area: QRectF, pen: QPen) -> None:
        """A line below the take, and one where it begins and ends.

        Where the colour was given before, there is one line more each time (dots where that has no room), and
        the angle's letters: colour alone would not tell the two apart.
        """
        p, thick, again = self._p, pen.widthF(), colour_round(stave.angle.id)
        count = min(1 + again, max(1, int(area.height() // 8)))
        p.setPen(pen)
        edges = []
        if box.begins:
            edges.append(QLineF(area.left() + 1, area.top(), area.left() + 1, area.bottom()))
        if box.ends:
            edges.append(QLineF(area.right() - 1, area.top(), area.right() - 1, area.bottom()))
        if again and count == 1:
            p.drawLines(edges)
            edges = []
            p.setPen(QPen(pen.color(), thick, Qt.PenStyle.DotLine))
        for up in (thick / 2 + 2 * thick * n for n in range(count)):
            edges.append(QLineF(area.left(), area.bottom() - up, area.right(), area.bottom() - up))
        p.drawLines(edges)
        if again and not box.slim:
            self._letters(stave, area, 2 * thick * count)

    def _letters(self, stave: Stave, area: QRectF, over: float) -> None:
        """The angle's name, or two letters of it where the take has no room for more."""
        palette, high = self._palette, self._palette.font(looks.SMALL)[1].height()
        for text in (stave.angle.name, letters(stave.angle.name)):
            wide = palette.width(text, looks.SMALL, bold=True) + 6
            if area.width() >= 2 * wide:
                break
        if area.height() < high + over or area.width() < 2 * wide:
            return
        plate = (area.right() - wide - 8, area.bottom() - over - high, wide, high)
        self._p.fillRect(QRectF(*plate), palette.panel)
        palette.draw(self._p, plate, text, looks.SMALL, palette.ink, bold=True, along=0.5)

    def _name(self, box: TakeBox, area: QRectF) -> None:
        palette = self._palette
        if area.height() < palette.font(looks.SMALL)[1].height() * 0.82 or area.width() < 2.5 * self._m.em:
            return
        name = words.take_name(box.clip, box.take)
        if box.clip.frame_rate is None:
            name += " · sound only"
        text = palette.elided(name, area.width() - 6, looks.SMALL)
        palette.draw(
            self._p, (area.x() + 4, area.y() - 1, area.width(), area.height()), text, looks.SMALL, palette.ink
        )

    def _doubt(self, box: TakeBox, area: QRectF) -> None:
        """A plate with "?" and what else it could be."""
        palette = self._palette
        high = palette.font(looks.SMALL)[1].height()
        if area.height() < high * 0.8 or area.width() < self._m.em:
            return
        text = "? in doubt"
        fit = fitting(box.take)
        if fit:
            text = f"? or {words.place_in_song(self._map, box.take.rivals[fit[0]].song_start_s)}"
        room = area.width() - 8
        text = palette.elided(text, room - 8, looks.SMALL) if room > 2.5 * self._m.em else "?"
        edge = 1.5 if area.height() < high + 8 else 4.0
        height = min(high + 2, area.height() - 2 * edge)
        plate = QRectF(
            area.left() + 4, area.top() + edge, min(palette.width(text, looks.SMALL) + 8, room), height
        )
        self._p.fillRect(plate, palette.panel)
        palette.draw(
            self._p,
            (plate.x(), plate.y(), plate.width(), plate.height()),
            text,
            looks.SMALL,
            palette.warm,
            along=0.5,
        )

    def _pictures_of(self, system: System, box: TakeBox, area: QRectF) -> None:
        shape = box.clip.width / box.clip.height if box.clip.width and box.clip.height else 16 / 9
        height = box.height - 2
        width = min(height * shape, height * 2.4)
        bars = system.bars
        wide = (system.x1 - system.x0) / len(bars)
        # In narrow bars a picture stands at every second, fourth … bar line; in wide ones one more stands at
        # each half, third … of the bar.
        every = 1
        while wide * every < min(width, 2.2 * self._m.em) and every < 16:
            every *= 2
        p = self._p
        p.save()
        p.setClipRect(area, Qt.ClipOperation.IntersectClip)
        p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for n in range(0, len(bars), every):
            x0, x1 = bars[n].x0, bars[min(n + every, len(bars)) - 1].x1
            if x1 <= box.x0 or x0 >= box.x1:
                continue
            parts = max(1, int((x1 - x0) // (width * 2.2))) if every == 1 else 1
            step = (x1 - x0) / parts
            for part in range(parts):
                x, end = x0 + part * step, x0 + (part + 1) * step
                if end <= box.x0 or x >= box.x1:
                    continue
                x = max(x, box.x0)
                room = min(width, end - x - 1, box.x1 - x)
                if room >= 6:
                    self._picture(box, system.song_s(x), QRectF(x, area.top(), room, height), width)
        p.restore()

    def _picture(self, box: TakeBox, song_s: float, place: QRectF, width: float) -> None:
        wanted = place.height() * self._palette.ratio
        height = next((h for h in HEIGHTS if h >= wanted), HEIGHTS[-1])
        image, fits = self._pictures.near(box.clip, box.take.clip_time(song_s), height)
        if not fits:
            self.missing += 1
        if image is None or image.isNull():
            return
        # The middle of the picture stays in view when the place is narrower than the picture.
        whole_w, whole_h = float(image.width()), float(image.height())
        share = min(1.0, place.width() / width)
        source = QRectF(whole_w * (1 - share) / 2, 0, whole_w * share, whole_h)
        self._p.drawImage(place, image, source)


def letters(name: str) -> str:
    """Two letters for an angle's name.

    >>> letters("Fiddle hands"), letters("Drums"), letters("wide 2"), letters("B")
    ('FH', 'Dr', 'W2', 'B')
    """
    first, *more = name.split() or [""]
    return first[:1].upper() + (more[0][:1].upper() if more else first[1:2].lower())


def bar_of(system: System, number: int | None) -> BarBox | None:
    """The box of a bar in a system; None where it is not there."""
    if number is None or not system.bars:
        return None
    index = number - system.bars[0].coverage.bar.number
    return system.bars[index] if 0 <= index < len(system.bars) else None
