"""The fiddler, drawn round her own origin on the floor, about 180 units high."""

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from making.drawing import SKIN, SKIN_SHADE, curve, disc, fill, hand, limb, line, ramp, shadow
from making.faces import boot, face
from making.motion import Pose


def fiddler(painter: QPainter, pose: Pose) -> None:
    """A woman in a teal dress, auburn hair up."""
    shadow(painter, 0, -1, 38, 6)
    sway = 4 * pose.sway
    for side in (-1, 1):
        line(painter, "#3a2a2a", 6, (8 * side, -24), (9 * side, -5))
        boot(painter, 9 * side, 0, side)
    fill(painter, ramp((-34, 0), (34, 0), (0, "#1f5f60"), (0.55, "#2f8a82"), (1, "#3f9d92")))
    painter.drawPath(
        curve(
            (-13 + sway, -104),
            ((-22, -60), (-33 - sway * 0.4, -16)),
            ((0, -8), (33 - sway * 0.4, -16)),
            ((22, -60), (13 + sway, -104)),
            ((0, -107), (-13 + sway, -104)),
        )
    )
    for x in (-14, 2, 17):
        line(painter, "#1b5455", 1.2, (x * 0.5 + sway * 0.6, -92), (x - sway * 0.3, -22), alpha=150)
    painter.save()
    painter.translate(sway, 0)
    painter.rotate(2.2 * pose.sway)
    fill(painter, ramp((-18, 0), (18, 0), (0, "#247070"), (1, "#3f9d92")))
    painter.drawPath(
        curve(
            (-13, -103),
            ((-17, -120), (-17, -134)),
            ((-14, -142), (-4, -143)),
            ((6, -144), (15, -139)),
            ((18, -120), (13, -103)),
            ((0, -99), (-13, -103)),
        )
    )
    line(painter, "#d8c08a", 2.4, (-13, -104), (13, -104))
    _fiddle_head(painter, pose)
    _fiddle(painter, pose)
    painter.restore()


def _fiddle_head(painter: QPainter, pose: Pose) -> None:
    painter.save()
    painter.translate(3, -161 + 1.6 * pose.nod)
    painter.rotate(13)
    fill(painter, "#7e3519")
    disc(painter, -10, -14, 7.5, 7)
    disc(painter, 0, -1.5, 15, 15.5)
    fill(painter, SKIN_SHADE)
    painter.drawRect(QRectF(-5, 8, 9, 13))
    fill(painter, SKIN)
    disc(painter, 1, 1, 12.4, 14)
    face(painter, 0.45)
    fill(painter, "#8f4020")
    painter.drawPath(
        curve(
            (-14, 3),
            ((-15, -18), (3, -16.5)),
            ((16, -15), (14, 2)),
            ((11, -8), (3, -9.5)),
            ((-9, -9), (-14, 3)),
        )
    )
    painter.restore()


def _fiddle(painter: QPainter, pose: Pose) -> None:
    """The fiddle at the shoulder, the bow across it, both arms."""
    painter.save()
    painter.translate(10, -141)
    painter.rotate(-13 + 2 * pose.sway)
    fill(painter, ramp((0, -9), (0, 9), (0, "#c47a35"), (1, "#8b4a1c")))
    disc(painter, 8, 0, 11, 9)
    disc(painter, 25, 0, 9, 7.4)
    painter.drawRect(QRectF(8, -5.5, 17, 11))
    fill(painter, "#2a1a14")
    painter.drawRect(QRectF(20, -1.8, 36, 3.6))
    painter.drawRect(QRectF(0, -1.4, 9, 2.8))
    disc(painter, 58, 0, 3.2)
    line(painter, "#f1e6cf", 0.8, (15, -4), (15, 4))
    for string in (-1.0, 0.0, 1.0):
        line(painter, "#f1e6cf", 0.35, (6, string), (55, string * 0.8))
    painter.restore()
    neck = (50 - 16 * pose.finger, -150 + 4 * pose.finger)
    limb(painter, (15, -131), (neck[0], neck[1] + 5), 27, 27, 1, "#3a958b", 8.5)
    hand(painter, neck[0], neck[1] + 3.2, 4.6)
    touch = np.array([28.0, -144.5])
    way = np.array([np.cos(np.radians(62)), -np.sin(np.radians(62))])
    heel = touch - way * (6 + 46 * pose.bow)
    rest = np.array([-16.0, -96.0])
    heel = rest + (heel - rest) * pose.bow_on
    turn = np.radians(62 * pose.bow_on + 105 * (1 - pose.bow_on))
    way = np.array([np.cos(turn), -np.sin(turn)])
    tip = heel + way * 62
    side = np.array([-way[1], way[0]]) * 2.2
    line(painter, "#5c2f18", 1.5, tuple(heel - way * 4), tuple(tip))
    line(painter, "#f4ead6", 0.9, tuple(heel + side), tuple(tip + side * 0.5))
    limb(painter, (-14, -133), (float(heel[0]), float(heel[1])), 27, 28, 1, "#2b7c78", 8.5)
    hand(painter, float(heel[0]), float(heel[1]), 4.6)
