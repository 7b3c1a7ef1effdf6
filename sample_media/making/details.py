"""The views without a whole player: hands on the strings, the tea table, the harbour outside."""

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter

from making.angles import Angle, Moment
from making.drawing import (
    HEIGHT,
    SKIN,
    SKIN_SHADE,
    WIDTH,
    curve,
    disc,
    fill,
    glow,
    line,
    ramp,
    shadow,
    shape,
    upright,
)
from making.harbour import beam, boat, breakwater, ferry, gulls, sky_and_water
from making.loft import lantern, planks


class Hands(Angle):
    """The fiddler's left hand and her bow, so near that the room is a blur."""

    lamp = (404.0, 46.0, 50.0)

    def still(self, painter: QPainter) -> None:
        painter.fillRect(
            QRectF(0, 0, WIDTH, HEIGHT), upright(0, HEIGHT, (0, "#3d4660"), (0.5, "#8a6a72"), (1, "#3a2a2c"))
        )
        for x, y, r, name, strength in (
            (330, 70, 150, "#f0a878", 0.45),
            (180, 30, 70, "#7d9ac0", 0.35),
            (250, 96, 46, "#ffd9a0", 0.4),
            (420, 40, 60, "#c9705a", 0.4),
            (150, 120, 60, "#d98a5c", 0.3),
            (455, 150, 80, "#50709a", 0.4),
        ):
            glow(painter, x, y, r, name, strength)
        painter.save()
        self._lean(painter)
        fill(painter, ramp((-300, -120), (-120, 140), (0, "#d08a42"), (0.6, "#a35a24"), (1, "#6d3614")))
        painter.drawPath(
            curve(
                (-110, -58),
                ((-150, -96), (-210, -92)),
                ((-330, -90), (-330, 0)),
                ((-330, 100), (-210, 104)),
                ((-140, 104), (-110, 62)),
                ((-96, 0), (-110, -58)),
            )
        )
        line(painter, "#4a2410", 2.5, (-110, -58), (-150, -88), (-210, -90), alpha=170)
        line(painter, "#241208", 5, (-188, -40), (-200, -56), (-176, -68), (-150, -60))
        line(painter, "#241208", 5, (-188, 46), (-200, 60), (-176, 74), (-150, 64))
        fill(painter, "#7a4420")
        painter.drawPolygon(shape((-120, 22), (330, 30), (330, 46), (-120, 52)))
        fill(painter, "#231613")
        painter.drawPolygon(shape((-146, -25), (330, -20), (330, 34), (-146, 30)))
        for y in (-17, -5, 8, 21):
            line(painter, "#efe3c8", 1.3, (-230, y * 1.15), (330, y * 0.85))
        line(painter, "#e8cf9c", 5, (-214, -30), (-218, 0), (-214, 34))
        painter.restore()

    @staticmethod
    def _lean(painter: QPainter) -> None:
        painter.translate(250, 150)
        painter.rotate(-11)

    def moving(self, painter: QPainter, moment: Moment) -> None:
        pose = moment.pose
        painter.save()
        self._lean(painter)
        hand_x = 150 - 130 * pose.finger
        fill(painter, "#2b7c78")
        painter.drawPath(
            curve(
                (hand_x + 60, 190),
                ((hand_x + 40, 110), (hand_x + 70, 84)),
                ((hand_x + 120, 60), (hand_x + 150, 96)),
                ((hand_x + 170, 160), (hand_x + 190, 230)),
                ((hand_x + 120, 240), (hand_x + 60, 190)),
            )
        )
        fill(painter, ramp((hand_x, 40), (hand_x + 60, 150), (0, SKIN), (1, SKIN_SHADE)))
        painter.drawPath(
            curve(
                (hand_x - 34, 52),
                ((hand_x + 10, 26), (hand_x + 82, 44)),
                ((hand_x + 128, 66), (hand_x + 118, 104)),
                ((hand_x + 70, 136), (hand_x + 34, 112)),
                ((hand_x - 26, 92), (hand_x - 34, 52)),
            )
        )
        pressed = pose.fingers
        for finger in range(4):
            root = (hand_x - 14 + 27.0 * finger, 62.0 - 2 * finger)
            down = finger + 1 == pressed and pose.playing > 0.5
            top = (
                root[0] - 26 + 4 * finger,
                10.0 - 7 * ((finger * 2 + pressed) % 3) if down else -24.0 - 5 * finger,
            )
            knuckle = (root[0] - 4, top[1] + (14 if down else 22))
            line(painter, SKIN_SHADE, 21, root, knuckle, (top[0], top[1] + 1.5))
            line(painter, SKIN, 18, root, knuckle, top)
            fill(painter, "#f3cdb0")
            disc(painter, top[0] - 3, top[1] - 2, 4.6, 3.6)
        swing = (pose.bow - 0.5) * 150
        way = np.array([np.cos(np.radians(80)), -np.sin(np.radians(80))])
        middle = np.array([-172.0, 0.0]) + way * swing
        out = np.array([14.0, 2.0])
        for start, end, name, wide in (
            (middle - way * 260, middle + way * 260, "#f6eedc", 5.0),
            (middle - way * 260 + out, middle + way * 260 + out * 0.7, "#6b3317", 6.0),
        ):
            line(painter, name, wide, (float(start[0]), float(start[1])), (float(end[0]), float(end[1])))
        mark = middle + way * 40 + out
        line(painter, "#d9b470", 7.5, tuple(mark), tuple(mark + way * 16))
        painter.restore()

    def light(self, painter: QPainter, level: float) -> None:
        """The lamp far behind, out of focus: a disc of light."""
        x, y, size = self.lamp
        fill(painter, "#c98a4a", 60)
        disc(painter, x, y, size * 0.5)
        if level > 0:
            glow(painter, x, y, size * (1.2 + level), "#ffc766", 0.7 * level)
            fill(painter, "#fff0c8", round(250 * min(1.0, level * 1.15)))
            disc(painter, x, y, size * 0.5)


class TeaTable(Angle):
    """Mugs, kettle and music on a sea chest, while the band talks out of sight."""

    lamp = (70.0, 60.0, 30.0)

    def still(self, painter: QPainter) -> None:
        planks(painter, QRectF(0, 0, WIDTH, 190), "#5c5a48", "#37362c", 34, 21, upright_boards=True)
        glow(painter, 240, 120, 240, "#f0c078", 0.22)
        lantern(painter, *self.lamp, 0)
        painter.fillRect(QRectF(0, 176, WIDTH, 94), upright(176, 270, (0, "#9a6d42"), (1, "#6b452a")))
        for y in (198, 226, 250):
            line(painter, "#4f321f", 1.2, (0, y), (WIDTH, y), alpha=150)
        fill(painter, "#f2e8d2")
        painter.drawPolygon(shape((282, 236), (306, 192), (424, 198), (430, 246)))
        for stave in range(4):
            for rule in range(5):
                high = 201 + stave * 10.5 + rule * 1.6
                left, right = 304 - (high - 192) * 0.42, 424 + (high - 192) * 0.08
                line(painter, "#5a5048", 0.5, (left, high), (right, high + 4))
            for note in range(7):
                fill(painter, "#2f2823")
                disc(painter, 312 - stave * 4 + note * 15, 203.5 + stave * 10.5 + (note * 5 % 4), 1.7, 1.3)
        shadow(painter, 216, 214, 66, 10)
        fill(painter, ramp((160, 0), (270, 0), (0, "#2d5961"), (0.35, "#5f9ca0"), (1, "#274b52")))
        painter.drawPath(
            curve(
                (168, 212),
                ((154, 150), (196, 138)),
                ((216, 132), (236, 138)),
                ((278, 150), (264, 212)),
                ((216, 222), (168, 212)),
            )
        )
        painter.drawPath(
            curve(
                (262, 186),
                ((284, 172), (290, 146)),
                ((300, 142), (304, 146)),
                ((298, 190), (262, 206)),
                ((258, 196), (262, 186)),
            )
        )
        fill(painter, "#1d3b41")
        disc(painter, 216, 138, 26, 4)
        disc(painter, 216, 131, 6, 5)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        line(painter, "#241a16", 5, (176, 142), (184, 104), (216, 94), (248, 104), (256, 142))
        self._mug(painter, 106, 226, 1.15, "#b5482f")
        self._mug(painter, 366, 182, 0.9, "#e4d8bf")
        self._mug(painter, 40, 190, 0.9, "#cf9a3c")
        fill(painter, "#c98a4a")
        for x, y in ((170, 246), (190, 252), (206, 243)):
            disc(painter, x, y, 12, 6)

    @staticmethod
    def _mug(painter: QPainter, x: float, y: float, size: float, name: str) -> None:
        shadow(painter, x, y + 2, 30 * size, 7 * size)
        line(
            painter,
            name,
            6 * size,
            (x + 20 * size, y - 32 * size),
            (x + 34 * size, y - 26 * size),
            (x + 32 * size, y - 12 * size),
            (x + 19 * size, y - 8 * size),
        )
        fill(painter, name)
        painter.drawRoundedRect(
            QRectF(x - 22 * size, y - 42 * size, 44 * size, 44 * size), 6 * size, 6 * size
        )
        fill(painter, "#ffffff", 46)
        painter.drawRoundedRect(QRectF(x - 17 * size, y - 36 * size, 6 * size, 32 * size), 3, 3)
        fill(painter, "#2a1b14")
        disc(painter, x, y - 41 * size, 21 * size, 4.6 * size)

    def moving(self, painter: QPainter, moment: Moment) -> None:
        for x, y, size, start in (
            (106, 178, 1.1, 0.0),
            (366, 146, 0.9, 1.7),
            (40, 152, 0.9, 3.1),
            (300, 142, 0.8, 2.3),
        ):
            for curl in range(3):
                rise = (moment.clock * 0.28 + curl / 3 + start) % 1.0
                drift = 7 * size * float(np.sin(4.2 * rise + moment.clock * 0.9 + start + curl))
                fill(painter, "#fff6e6", round(70 * float(np.sin(np.pi * rise))))
                disc(painter, x + drift, y - 62 * rise * size, (5 + 9 * rise) * size, (9 + 12 * rise) * size)


class Quay(Angle):
    """Outside: boats at their moorings, gulls, the ferry on its way."""

    lamp = None

    def still(self, painter: QPainter) -> None:
        sky_and_water(painter, QRectF(0, 0, WIDTH, HEIGHT), 0.5)
        breakwater(painter, 384, 140, 96)

    def moving(self, painter: QPainter, moment: Moment) -> None:
        ferry(painter, -90 + 480 * moment.voyage, 160, 104)
        beam(painter, 384, 140, 96, moment.clock)
        boat(painter, 340, 206, 92, "#2f6f70", moment.clock)
        boat(painter, 118, 232, 150, "#a8412f", moment.clock + 1.4)
        gulls(painter, QRectF(30, 14, 420, 110), moment.clock * 1.3, 6, 11)
        fill(painter, "#2b2422")
        painter.drawPolygon(shape((0, 270), (0, 258), (480, 250), (480, 270)))
        painter.drawRoundedRect(QRectF(414, 222, 26, 36), 5, 5)
        painter.drawRoundedRect(QRectF(406, 216, 42, 11), 5, 5)
        line(painter, "#d9c08c", 2.4, (186, 226), (300, 250 + 2 * float(np.sin(moment.clock))), (416, 236))
