"""A chalk board in the picture that tells which bars a pick-up is, and the bass view it stands in."""

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from making.angles import Bass
from making.drawing import colour, line, shadow

Stroke = tuple[tuple[float, float], ...]

_CHALK: dict[str, tuple[Stroke, ...]] = {
    "A": (((0, 1), (0.5, 0), (1, 1)), ((0.22, 0.6), (0.78, 0.6))),
    "B": (((0, 0.5), (0.7, 0.5), (0.95, 0.3), (0.7, 0), (0, 0), (0, 1), (0.75, 1), (1, 0.75), (0.7, 0.5)),),
    "C": (((1, 0.2), (0.7, 0), (0.3, 0), (0, 0.3), (0, 0.7), (0.3, 1), (0.7, 1), (1, 0.8)),),
    "H": (((0, 0), (0, 1)), ((1, 0), (1, 1)), ((0, 0.5), (1, 0.5))),
    "O": (((0.3, 0), (0.7, 0), (1, 0.3), (1, 0.7), (0.7, 1), (0.3, 1), (0, 0.7), (0, 0.3), (0.3, 0)),),
    "R": (((0, 1), (0, 0), (0.7, 0), (1, 0.25), (0.7, 0.5), (0, 0.5)), ((0.5, 0.5), (1, 1))),
    "S": (((1, 0.15), (0.7, 0), (0.2, 0), (0, 0.25), (1, 0.75), (0.8, 1), (0.3, 1), (0, 0.85)),),
    "U": (((0, 0), (0, 0.7), (0.3, 1), (0.7, 1), (1, 0.7), (1, 0)),),
    "2": (((0, 0.2), (0.3, 0), (0.75, 0), (1, 0.25), (0, 1), (1, 1)),),
    "4": (((0.75, 1), (0.75, 0), (0, 0.65), (1, 0.65)),),
    "7": (((0, 0), (1, 0), (0.35, 1)),),
}
"""Strokes of the letters that are needed, in a box of 1 by 1; drawn here so that no font is asked."""


def chalk(painter: QPainter, text: str, x: float, y: float, wide: float, high: float) -> None:
    """Write with chalk; ``x, y`` is the upper left corner, a letter ``wide`` by ``high`` pixels."""
    for number, letter in enumerate(text):
        for stroke in _CHALK.get(letter, ()):
            left = x + number * wide * 1.45
            points = [(left + wide * u, y + high * v) for u, v in stroke]
            line(painter, "#f4efe2", max(1.6, high * 0.13), *points)


class BassFromBoard(Bass):
    """The bass from near, and a board beside it: from which bar this pick-up is."""

    words = ("CHORUS 2", "BAR 74")

    def still(self, painter: QPainter) -> None:
        super().still(painter)
        shadow(painter, 400, 262, 84, 12, 0.6)
        painter.fillRect(QRectF(330, 150, 144, 110), colour("#a37648"))
        painter.fillRect(QRectF(337, 157, 130, 96), colour("#22302c"))
        chalk(painter, self.words[0], 346, 169, 10.0, 20.0)
        chalk(painter, self.words[1], 346, 204, 13.5, 36.0)
