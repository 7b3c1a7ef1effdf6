"""Where things stand on the slate page, for any size and shape of screen."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF

MARGIN = 0.03
CODE_SHARE = 0.58
"""Of the width of a wide page: the code is as large as its height allows, and leaves room for words."""


@dataclass(frozen=True, slots=True)
class SlateLayout:
    """Boxes in logical pixels."""

    code: QRectF
    """A square, the white around the code within it."""
    title: QRectF
    where: QRectF
    take: QRectF
    settings: QRectF
    time: QRectF
    flash: QRectF
    foot: QRectF


def slate_layout(width: float, height: float) -> SlateLayout:
    """The boxes: the code at the right and words at the left, or on a high page the code above the words."""
    margin = MARGIN * min(width, height)
    if width >= height:
        side = min(height, CODE_SHARE * width)
        code = QRectF(width - side, (height - side) / 2, side, side)
        words = QRectF(margin, margin, width - side - margin, height - 2 * margin)
    else:
        side = min(width, CODE_SHARE * height)
        code = QRectF((width - side) / 2, 0, side, side)
        words = QRectF(margin, side + margin, width - 2 * margin, height - side - 2 * margin)
    shares = (0.13, 0.08, 0.22, 0.17, 0.2, 0.13, 0.07)
    boxes, top = [], words.top()
    for share in shares:
        boxes.append(QRectF(words.left(), top, words.width(), share * words.height()))
        top += share * words.height()
    return SlateLayout(code, *boxes)
