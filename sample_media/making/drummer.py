"""The drummer, drawn round her own origin on the floor, about 160 units high."""

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QBrush, QPainter

from making.drawing import SKIN, SKIN_SHADE, curve, disc, fill, hand, limb, line, pen, ramp, shadow, shape
from making.faces import face
from making.motion import Pose


def drummer(painter: QPainter, pose: Pose) -> None:
    """A woman in a cream shirt and plum waistcoat, brushes on a small kit."""
    shadow(painter, 0, -1, 66, 9)
    lift = 1.4 * pose.nod
    fill(painter, "#efe4cc")
    painter.drawPath(
        curve(
            (-19, -60),
            ((-27, -96), (-24, -116)),
            ((-20, -125), (-6, -127)),
            ((0, -128), (6, -127)),
            ((20, -125), (24, -116)),
            ((27, -96), (19, -60)),
            ((0, -56), (-19, -60)),
        )
    )
    fill(painter, "#6a3550")
    painter.drawPath(
        curve(
            (-18, -60),
            ((-21, -96), (-15, -124)),
            ((-4, -100), (0, -84)),
            ((4, -100), (15, -124)),
            ((21, -96), (18, -60)),
            ((0, -56), (-18, -60)),
        )
    )
    painter.save()
    painter.translate(1.5 * pose.sway, -143 + lift)
    painter.rotate(5 * pose.sway)
    fill(painter, SKIN_SHADE)
    painter.drawRect(QRectF(-5, 8, 10, 12))
    fill(painter, "#2b211f")
    disc(painter, 0, -2, 15.5, 16)
    fill(painter, SKIN)
    disc(painter, 0, 1.5, 12.2, 13.4)
    face(painter, -0.1)
    fill(painter, "#2b211f")
    painter.drawPath(
        curve(
            (-14, 2),
            ((-14, -17), (0, -16)),
            ((14, -17), (14, 2)),
            ((10, -9), (-3, -8)),
            ((-10, -6), (-14, 2)),
        )
    )
    for side in (-1, 1):
        painter.setPen(pen("#c9a35a", 0.9))
        painter.setBrush(QBrush())
        disc(painter, -0.5 + side * 5.6, 0.4, 4.3)
    line(painter, "#c9a35a", 0.9, (-1.8, 0), (0.8, 0))
    painter.restore()
    _kit(painter, pose)


def _brush(painter: QPainter, heel: tuple[float, float], tip: tuple[float, float]) -> None:
    """A drum brush: a handle and a fan of wires that ends at ``tip``."""
    a, b = np.array(heel), np.array(tip)
    way = (b - a) / max(float(np.hypot(*(b - a))), 1e-6)
    side = np.array([-way[1], way[0]])
    middle = a + (b - a) * 0.45
    fill(painter, "#b98a3c", 120)
    painter.drawPolygon(shape(tuple(middle), tuple(b + side * 6), tuple(b - side * 6)))
    for spread in (-6.0, -2.0, 2.0, 6.0):
        line(painter, "#6d4a22", 0.6, tuple(middle), tuple(b + side * spread))
    line(painter, "#a8412f", 3.2, heel, tuple(middle))


def _kit(painter: QPainter, pose: Pose) -> None:
    for x in (-14, 14):
        line(painter, "#8d8a84", 1.6, (-56, -36), (-56 + x, 0))
    line(painter, "#b9b4aa", 1.8, (-56, 0), (-56, -116))
    painter.save()
    painter.translate(-56, -117)
    painter.rotate(-8 + 9 * pose.crash * float(np.sin(26 * pose.crash)))
    fill(painter, ramp((-30, 0), (30, 0), (0, "#8f6a24"), (0.4, "#f0cc74"), (1, "#a37c30")))
    disc(painter, 0, 0, 29, 4.6)
    disc(painter, 0, -2.4, 6, 2.4)
    painter.restore()
    fill(painter, "#1f4a4c")
    disc(painter, 0, -35, 36, 35)
    fill(painter, "#e9dcc0")
    disc(painter, 0, -35, 31, 30)
    for point in range(8):
        turn = np.pi / 4 * point
        reach = 22.0 if point % 2 == 0 else 13.0
        for half, name in ((-0.42, "#1f4a4c"), (0.42, "#c9573f")):
            side = (5.5 * float(np.sin(turn + half)), -35 - 5.5 * float(np.cos(turn + half)))
            fill(painter, name)
            painter.drawPolygon(
                shape((0, -35), side, (reach * float(np.sin(turn)), -35 - reach * float(np.cos(turn))))
            )
    line(painter, "#b9b4aa", 2, (6, -66), (34, -2))
    line(painter, "#b9b4aa", 2, (34, -66), (10, -2))
    fill(painter, ramp((-10, 0), (50, 0), (0, "#215557"), (0.4, "#39898a"), (1, "#1f4a4c")))
    painter.drawPath(
        curve(
            (-12, -76),
            ((-12, -70), (-12, -62)),
            ((20, -50), (52, -62)),
            ((52, -70), (52, -76)),
            ((20, -66), (-12, -76)),
        )
    )
    fill(painter, "#d8c08a")
    disc(painter, 20, -76, 33, 9.4)
    fill(painter, "#f4ecd8")
    disc(painter, 20, -76.6, 30.5, 8)
    turn = 2 * np.pi * pose.sweep
    sweep = (26 + 15 * float(np.cos(turn)), -76.5 + 4 * float(np.sin(turn)))
    heel = (sweep[0] + 22, sweep[1] - 21)
    _brush(painter, heel, sweep)
    limb(painter, (22, -115), heel, 25, 26, -1, "#efe4cc", 9.5)
    hand(painter, *heel, 5)
    tip = (8.0 - 2 * pose.strike, -77.5 - 36 * pose.strike)
    heel = (-16.0 - 5 * pose.strike, -96.0 - 7 * pose.strike)
    _brush(painter, heel, tip)
    limb(painter, (-22, -115), heel, 25, 26, 1, "#f6edd9", 9.5)
    hand(painter, *heel, 5)
