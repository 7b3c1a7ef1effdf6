"""The accordion player, drawn round his own origin on the floor, about 165 units high."""

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from making.drawing import SKIN, SKIN_SHADE, curve, disc, fill, hand, limb, line, ramp, shadow, strip
from making.faces import boot, face
from making.motion import Pose


def accordionist(painter: QPainter, pose: Pose) -> None:
    """A man in ochre on a crate, red accordion on his knees."""
    shadow(painter, 0, -1, 52, 8)
    fill(painter, "#5a4130")
    painter.drawRect(QRectF(-31, -50, 62, 50))
    for y in (-46, -32, -18):
        fill(painter, "#7a5a3f")
        painter.drawRect(QRectF(-31, y, 62, 10))
    for side in (-1, 1):
        limb(painter, (13 * side, -56), (25 * side, -6), 26, 44, -side, "#2c3440", 15)
        boot(painter, 25 * side, 0, side)
    painter.save()
    painter.rotate(1.6 * pose.sway)
    top = -124 - 0.6 * pose.breath
    fill(painter, ramp((-28, 0), (28, 0), (0, "#b37c28"), (0.5, "#d79b3c"), (1, "#e6b055")))
    painter.drawPath(
        curve(
            (-21, -52),
            ((-30, -90), (-27, top + 8)),
            ((-24, top), (-8, top - 3)),
            ((0, top - 5), (8, top - 3)),
            ((24, top), (27, top + 8)),
            ((30, -90), (21, -52)),
            ((0, -48), (-21, -52)),
        )
    )
    line(painter, "#8f5f1e", 2.2, (-9, top - 2), (0, top + 2.5), (9, top - 2))
    _accordion_head(painter, top, pose)
    _accordion(painter, pose)
    painter.restore()


def _accordion_head(painter: QPainter, top: float, pose: Pose) -> None:
    painter.save()
    painter.translate(1 + 2.2 * pose.sway, top - 19 + 2.0 * pose.nod)
    painter.rotate(-4 + 5 * pose.sway)
    fill(painter, SKIN_SHADE)
    painter.drawRect(QRectF(-5, 8, 10, 12))
    fill(painter, SKIN)
    disc(painter, 0, 0, 14, 15.5)
    disc(painter, -14, 2, 2.8, 3.6)
    disc(painter, 14, 2, 2.8, 3.6)
    face(painter, -0.25)
    fill(painter, "#5b3a2a")
    painter.drawPath(curve((-8, 8.2), ((-5, 4.0), (-1, 6.2)), ((3, 4.0), (6, 8.2)), ((0, 7.6), (-8, 8.2))))
    fill(painter, "#4a5560")
    painter.drawPath(curve((-16, -6), ((-15, -21), (1, -20)), ((17, -20), (15.5, -6)), ((0, -11), (-16, -6))))
    fill(painter, "#39424c")
    painter.drawPath(curve((-17, -5), ((-4, -12), (8, -8)), ((-2, -6), (-17, -5))))
    painter.restore()


def _accordion(painter: QPainter, pose: Pose) -> None:
    """Treble box, bellows and bass box; the fan opens upwards."""
    wide = 10 + 44 * pose.bellows
    lean = 3 + 10 * pose.bellows
    left, right = -wide / 2 - 4, wide / 2 + 2
    rise = np.tan(np.radians(lean))
    points: list[tuple[float, float]] = []
    folds = 11
    for fold in range(folds + 1):
        share = fold / folds
        foot = (left + (right - left) * share, -62.0)
        spread = (share - 0.5) * 2 * 52 * rise
        points += [
            (foot[0] + spread, -114 - (2.5 if fold % 2 else -0.5)),
            (foot[0], foot[1] + (1.5 if fold % 2 else 0)),
        ]
    strip(painter, points, ("#7d2119", "#c9503f"))
    for x, side in ((left, -1), (right, 1)):
        painter.save()
        painter.translate(x, -60)
        painter.rotate(side * lean)
        outer = -24 if side < 0 else 0
        fill(painter, ramp((outer, 0), (outer + 24, 0), (0, "#8e231b"), (0.5, "#b93a2c"), (1, "#9a2a20")))
        painter.drawRoundedRect(QRectF(outer, -57, 24, 59), 4, 4)
        line(painter, "#e8c98a", 1.1, (outer + 3, -53), (outer + 21, -53))
        line(painter, "#e8c98a", 1.1, (outer + 3, -2), (outer + 21, -2))
        if side < 0:
            fill(painter, "#f3e9d4")
            painter.drawRoundedRect(QRectF(outer + 2, -50, 9, 45), 2, 2)
            for key in range(9):
                line(painter, "#3a2420", 0.8, (outer + 2, -46 + 4.8 * key), (outer + 11, -46 + 4.8 * key))
            fill(painter, "#d9b470")
            for hole in range(4):
                disc(painter, outer + 17, -42 + 10 * hole, 2.0)
        else:
            fill(painter, "#f3e9d4")
            for row in range(6):
                for column in range(2):
                    disc(painter, outer + 14 + 5 * column, -47 + 8 * row, 1.3)
        painter.restore()
    keys = (left - 22 - 44 * rise * (0.3 + 0.4 * pose.keys), -74 - 26 * pose.keys)
    limb(painter, (-24, -113), keys, 31, 27, 1, "#c88d31", 11)
    hand(painter, *keys, 6)
    for finger in range(3):
        line(painter, SKIN, 2.6, keys, (keys[0] + 6.5, keys[1] - 4 + 3.6 * finger))
    strap = (right + 25 + 30 * rise, -84.0)
    limb(painter, (24, -113), strap, 30, 28, -1, "#dca344", 11)
    hand(painter, strap[0] - 1, strap[1], 6)
