"""The net loft: walls, window, nets, the beat lamp, and the small things of a recording evening."""

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPainterPath

from making.drawing import HEIGHT, WIDTH, colour, curve, disc, fill, glow, line, ramp, shadow, shape, upright
from making.harbour import beam, breakwater, ferry, gulls, sky_and_water


def planks(
    painter: QPainter, area: QRectF, base: str, seam: str, wide: float, seed: int, upright_boards: bool
) -> None:
    """A boarded wall; every board a little lighter or darker than the next."""
    painter.fillRect(area, colour(base))
    rng = np.random.default_rng(seed)
    length = area.width() if upright_boards else area.height()
    place = 0.0
    while place < length:
        tone = int(rng.integers(0, 26))
        light = "#ffffff" if rng.uniform() < 0.5 else "#000000"
        if upright_boards:
            board = QRectF(area.x() + place, area.y(), wide, area.height())
        else:
            board = QRectF(area.x(), area.y() + place, area.width(), wide)
        painter.save()
        painter.setClipRect(area)
        painter.fillRect(board, colour(light, tone))
        if upright_boards:
            painter.fillRect(QRectF(board.x(), board.y(), 1.0, board.height()), colour(seam))
        else:
            painter.fillRect(QRectF(board.x(), board.y(), board.width(), 1.0), colour(seam))
        for _ in range(2):
            knot_x = board.x() + float(rng.uniform(0.2, 0.8)) * board.width()
            knot_y = board.y() + float(rng.uniform(0.2, 0.8)) * board.height()
            fill(painter, seam, 120)
            disc(painter, knot_x, knot_y, wide * 0.07, wide * 0.12)
        painter.restore()
        place += wide


def floor(painter: QPainter, top: float) -> None:
    """Boards running towards the camera."""
    painter.fillRect(
        QRectF(0, top, WIDTH, HEIGHT - top), upright(top, HEIGHT, (0, "#59402f"), (1, "#7d5a3f"))
    )
    for index in range(-14, 15):
        x = WIDTH / 2 + index * 26
        line(painter, "#3d2b20", 0.9, (x, top), (WIDTH / 2 + index * 52, HEIGHT), alpha=170)
    painter.fillRect(QRectF(0, top - 5, WIDTH, 6), colour("#3a2a20"))


def net(
    painter: QPainter, corners: tuple[tuple[float, float], ...], mesh: int, seed: int, name: str = "#c9b48a"
) -> None:
    """A net hung between two points, sagging: ``corners`` are left, right, and (sag, depth)."""
    (x0, y0), (x1, y1), (sag, drop) = corners
    rng = np.random.default_rng(seed)
    for row in range(mesh):
        share = row / (mesh - 1)
        for side in (0, 1):
            path = QPainterPath()
            for step in range(25):
                along = step / 24
                x = x0 + (x1 - x0) * along
                hang = y0 + (y1 - y0) * along + sag * 4 * along * (1 - along)
                depth = drop * (0.5 + 0.5 * np.sin(np.pi * along) ** 0.7)
                zigzag = 0.5 / mesh * (1 if (step + side) % 2 else -1)
                y = hang + depth * (share + zigzag)
                if step:
                    path.lineTo(x, y)
                else:
                    path.moveTo(x, y)
            painter.setBrush(colour("#000000", 0))
            painter.setPen(colour(name, 105))
            painter.drawPath(path)
    for along in np.linspace(0.06, 0.94, 7):
        x = x0 + (x1 - x0) * along
        y = y0 + (y1 - y0) * along + sag * 4 * along * (1 - along)
        fill(painter, ("#b5532f", "#d9a441", "#e6d9bd")[int(rng.integers(3))])
        disc(painter, float(x), float(y), 3.4, 2.6)


def glass_float(painter: QPainter, x: float, y: float, radius: float, name: str) -> None:
    """A glass fishing float on a cord."""
    line(painter, "#241a16", 1, (x, y - radius - 26), (x, y - radius))
    fill(
        painter,
        ramp(
            (x - radius, y - radius), (x + radius, y + radius), (0, "#d8efe2"), (0.35, name), (1, "#1d3c3b")
        ),
    )
    disc(painter, x, y, radius)
    fill(painter, "#ffffff", 120)
    disc(painter, x - radius * 0.35, y - radius * 0.35, radius * 0.22)


def lantern(painter: QPainter, x: float, y: float, size: float, cord_to: float) -> None:
    """The unlit beat lamp, a ship's lantern; ``x, y`` is the middle of its glass, ``size`` its height."""
    line(painter, "#1c1614", max(1.0, size * 0.08), (x, cord_to), (x, y - size * 0.95))
    fill(painter, ramp((x - size, y), (x + size, y), (0, "#6d4d22"), (0.4, "#c99a48"), (1, "#5a3f1d")))
    painter.drawPolygon(
        shape(
            (x - size * 0.5, y - size * 0.52),
            (x - size * 0.16, y - size * 0.95),
            (x + size * 0.16, y - size * 0.95),
            (x + size * 0.5, y - size * 0.52),
        )
    )
    painter.drawRoundedRect(QRectF(x - size * 0.55, y + size * 0.5, size * 1.1, size * 0.24), 2, 2)
    fill(painter, "#3b2a1c")
    painter.drawRoundedRect(
        QRectF(x - size * 0.4, y - size * 0.54, size * 0.8, size * 1.06), size * 0.16, size * 0.16
    )


def lantern_light(painter: QPainter, x: float, y: float, size: float, level: float) -> None:
    """What the lamp adds at ``level`` (0 dark, 1 full): an ember when dark, glass and halo when lit."""
    fill(painter, "#7a4a20")
    disc(painter, x, y + size * 0.2, size * 0.09, size * 0.14)
    if level > 0:
        glow(painter, x, y, size * (2.2 + 2.2 * level), "#ffc766", 0.85 * level)
        fill(painter, "#fff6d8", round(255 * min(1.0, level * 1.15)))
        painter.drawRoundedRect(
            QRectF(x - size * 0.36, y - size * 0.48, size * 0.72, size * 0.96), size * 0.15, size * 0.15
        )
    for bar in (-0.22, 0.22):
        line(
            painter,
            "#8a6a34",
            max(0.8, size * 0.05),
            (x + size * bar, y - size * 0.52),
            (x + size * bar, y + size * 0.5),
        )


class Window:
    """A window on the harbour: still view in the background, ferry and gulls moving behind its bars."""

    def __init__(self, area: QRectF, columns: int, rows: int, frame: float = 5.0) -> None:
        self.area = area
        self._frame = frame
        self._panes = QPainterPath()
        wide = (area.width() - frame * (columns - 1)) / columns
        high = (area.height() - frame * (rows - 1)) / rows
        for column in range(columns):
            for row in range(rows):
                x, y = area.x() + column * (wide + frame), area.y() + row * (high + frame)
                self._panes.addRect(QRectF(x, y, wide, high))

    def still(self, painter: QPainter) -> None:
        """Frame and far view."""
        outer = self.area.adjusted(-9, -9, 9, 9)
        painter.fillRect(outer, colour("#8a6a49"))
        painter.fillRect(self.area, colour("#6b5038"))
        painter.fillRect(QRectF(outer.x() - 5, outer.bottom() - 1, outer.width() + 10, 6), colour("#a37f58"))
        painter.save()
        painter.setClipPath(self._panes)
        sky_and_water(painter, self.area, 0.60)
        breakwater(painter, self._tower[0], self._tower[1], self._tower[2])
        painter.restore()

    @property
    def _tower(self) -> tuple[float, float, float]:
        area = self.area
        return area.x() + area.width() * 0.80, area.y() + area.height() * 0.60, area.height() * 0.40

    def moving(self, painter: QPainter, clock: float, voyage: float) -> None:
        """Ferry at ``voyage`` (0 enters on the left, 1 has left on the right), gulls and the lighthouse."""
        area = self.area
        painter.save()
        painter.setClipPath(self._panes)
        size = area.width() * 0.24
        ferry(
            painter, area.x() - size + (area.width() + size) * voyage, area.y() + area.height() * 0.71, size
        )
        beam(painter, *self._tower, clock)
        gulls(painter, area.adjusted(0, 0, 0, -area.height() * 0.45), clock, 2, area.height() * 0.04)
        painter.restore()


def loudspeaker(painter: QPainter, x: float, y: float, size: float) -> None:
    """The playback loudspeaker, standing on the floor at ``x, y``."""
    shadow(painter, x, y, size * 0.5, size * 0.10)
    fill(painter, ramp((x - size * 0.3, 0), (x + size * 0.3, 0), (0, "#2a2522"), (1, "#453b35")))
    painter.drawRoundedRect(QRectF(x - size * 0.3, y - size, size * 0.6, size), 3, 3)
    fill(painter, "#14110f")
    disc(painter, x, y - size * 0.32, size * 0.21)
    disc(painter, x, y - size * 0.76, size * 0.11)
    fill(painter, "#5b5048")
    disc(painter, x, y - size * 0.32, size * 0.08)
    disc(painter, x, y - size * 0.76, size * 0.04)


def crab_pots(painter: QPainter, x: float, y: float, size: float) -> None:
    """Two wicker pots, one on the other."""
    for level, shift in ((0, 0.0), (1, 0.12)):
        foot = y - level * size * 0.5
        left = x + shift * size
        fill(painter, "#4a3a2a")
        painter.drawPath(
            curve(
                (left - size * 0.5, foot),
                ((left - size * 0.5, foot - size * 0.55), (left, foot - size * 0.55)),
                ((left + size * 0.5, foot - size * 0.55), (left + size * 0.5, foot)),
                ((left, foot + size * 0.06), (left - size * 0.5, foot)),
            )
        )
        for rib in np.linspace(-0.4, 0.4, 6):
            line(
                painter,
                "#a98a5c",
                1.0,
                (left + size * rib, foot),
                (left + size * rib * 0.7, foot - size * 0.46),
            )
        for high in (0.12, 0.28):
            line(
                painter,
                "#a98a5c",
                1.0,
                (left - size * 0.48, foot - size * high),
                (left + size * 0.48, foot - size * high),
            )


def beams(painter: QPainter, y: float, thick: float) -> None:
    """A roof beam across the picture with two braces."""
    painter.fillRect(QRectF(0, 0, WIDTH, y), colour("#261c18"))
    painter.fillRect(QRectF(0, y, WIDTH, thick), upright(y, y + thick, (0, "#5a4230"), (1, "#382820")))
    for x, way in ((46, 1), (434, -1)):
        fill(painter, "#3f2d23")
        painter.drawPolygon(
            shape(
                (x - 8 * way, y + 44),
                (x + 2 * way, y + 44),
                (x + 44 * way, y + thick),
                (x + 28 * way, y + thick),
            )
        )
        painter.fillRect(QRectF(x - 12 * way if way > 0 else x, 0, 12, HEIGHT * 0.73), colour("#4a3528"))


def rug(painter: QPainter, x: float, y: float, rx: float, ry: float) -> None:
    """A round rag rug under the band."""
    for share, name in (
        (1.0, "#6e2f2a"),
        (0.86, "#c08a4a"),
        (0.74, "#7b3b33"),
        (0.56, "#3d5a5c"),
        (0.40, "#b57c44"),
        (0.24, "#6e2f2a"),
    ):
        fill(painter, name, 235)
        disc(painter, x, y, rx * share, ry * share)
