"""The bass player, drawn round his own origin on the floor, about 195 units high with his bass."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from making.drawing import SKIN, SKIN_SHADE, curve, disc, fill, hand, limb, line, ramp, shadow, shape
from making.faces import boot, face
from making.motion import Pose


def bassist(painter: QPainter, pose: Pose) -> None:
    """A bearded man in a striped jumper behind a double bass."""
    shadow(painter, 2, -1, 46, 7)
    for side in (-1, 1):
        line(painter, "#3b3a44", 13, (-17 + 9 * side, -84), (-18 + 12 * side, -8))
        boot(painter, -18 + 12 * side, 0, side)
    painter.save()
    painter.translate(2.5 * pose.sway, 0)
    fill(painter, "#e9e0cf")
    body = curve(
        (-37, -82),
        ((-42, -110), (-40, -130)),
        ((-37, -142), (-18, -144)),
        ((4, -142), (8, -130)),
        ((10, -110), (5, -82)),
        ((-16, -78), (-37, -82)),
    )
    painter.drawPath(body)
    painter.save()
    painter.setClipPath(body)
    for y in range(-140, -76, 9):
        fill(painter, "#2f4468")
        painter.drawRect(QRectF(-46, y, 60, 4.6))
    painter.restore()
    painter.save()
    painter.translate(-15 + 2 * pose.sway, -160 + 2.2 * pose.nod)
    painter.rotate(7 * pose.sway - 3)
    fill(painter, SKIN_SHADE)
    painter.drawRect(QRectF(-6, 8, 12, 12))
    fill(painter, SKIN)
    disc(painter, 0, 0, 13.5, 15)
    fill(painter, "#d8d2c6")
    painter.drawPath(
        curve(
            (-13.8, 1), ((-14, 21), (1, 21)), ((14, 20), (13.8, 1)), ((9, 6), (2, 5.4)), ((-9, 6), (-13.8, 1))
        )
    )
    face(painter, 0.3, cheeks=False)
    fill(painter, "#a8412f")
    painter.drawPath(curve((-15, -5), ((-14, -22), (0, -21)), ((14, -22), (15, -5)), ((0, -10), (-15, -5))))
    fill(painter, "#8c3325")
    painter.drawRoundedRect(QRectF(-15.5, -9, 31, 5.5), 2.5, 2.5)
    painter.restore()
    painter.restore()
    _bass(painter, pose)


def _bass(painter: QPainter, pose: Pose) -> None:
    painter.save()
    painter.translate(8, -3)
    painter.rotate(3 + 2 * pose.sway)
    line(painter, "#1e1614", 2.4, (0, 0), (0, -8))
    wood = ramp((-34, 0), (34, 0), (0, "#7c3f18"), (0.45, "#b96f30"), (1, "#8a4a1e"))
    fill(painter, wood)
    painter.drawPath(
        curve(
            (0, -6),
            ((-36, -4), (-36, -34)),
            ((-35, -50), (-24, -58)),
            ((-20, -64), (-26, -74)),
            ((-30, -92), (-8, -104)),
            ((-4, -108), (0, -110)),
            ((4, -108), (8, -104)),
            ((30, -92), (26, -74)),
            ((20, -64), (24, -58)),
            ((35, -50), (36, -34)),
            ((36, -4), (0, -6)),
        )
    )
    for side in (-1, 1):
        line(painter, "#2a160c", 1.5, (15 * side, -66), (12.5 * side, -56), (16 * side, -46))
    fill(painter, "#2a1a14")
    painter.drawPolygon(shape((-4.4, -76), (-2.8, -176), (2.8, -176), (4.4, -76)))
    painter.drawPolygon(shape((-6, -34), (-3, -16), (3, -16), (6, -34)))
    line(painter, "#e8d8b4", 2.0, (-10, -42), (0, -45), (10, -42))
    fill(painter, "#8a4a1e")
    painter.drawRoundedRect(QRectF(-4.2, -192, 8.4, 18), 4, 4)
    disc(painter, 0, -193, 5.2)
    for peg in (-186, -180):
        line(painter, "#2a1a14", 2, (-8, peg), (8, peg))
    shake = 2.4 * pose.pluck
    for string in (-2.7, -0.9, 0.9, 2.7):
        line(painter, "#efe2c8", 0.6, (string * 1.3, -34), (string * 0.8, -176), alpha=200)
    if shake > 0.2:
        fill(painter, "#fff3d6", 90)
        painter.drawPolygon(shape((-1.2, -36), (-1 - shake, -90), (-0.8, -150), (-1 + shake, -90)))
    grip = -154 + 36 * pose.shift
    bow_hand = (-8.0 + 9 * pose.pluck, -86.0 + 3 * pose.pluck)
    limb(painter, (-4, -128), (3, grip), 30, 30, 1, "#d9cfbd", 10)
    hand(painter, 1.5, grip, 5.4)
    for finger in range(3):
        line(painter, SKIN, 2.4, (4, grip - 3 + 4 * finger), (-4, grip - 4 + 4 * finger))
    limb(painter, (-45, -126), bow_hand, 31, 33, -1, "#e9e0cf", 10)
    hand(painter, *bow_hand, 5.4)
    line(painter, SKIN, 2.8, bow_hand, (bow_hand[0] + 7, bow_hand[1] + 4))
    painter.restore()
