"""The harbour at dusk: sky, water, lighthouse, boats, gulls, and a ferry that leaves at six."""

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from making.drawing import colour, curve, disc, fill, glow, line, shape, upright


def sky_and_water(painter: QPainter, area: QRectF, horizon: float) -> None:
    """Sky over water filling ``area``; ``horizon`` is the share of its height above the line."""
    left, top, width, height = area.x(), area.y(), area.width(), area.height()
    line_y = top + height * horizon
    sky = upright(top, line_y, (0, "#33506a"), (0.45, "#8a7f93"), (0.75, "#dd9a7c"), (1, "#f6c98b"))
    painter.fillRect(QRectF(left, top, width, height * horizon), sky)
    water = upright(line_y, top + height, (0, "#c99a82"), (0.18, "#6f8296"), (1, "#27465a"))
    painter.fillRect(QRectF(left, line_y, width, height * (1 - horizon)), water)
    fill(painter, "#fbe3b0", 235)
    disc(painter, left + width * 0.36, line_y - height * 0.05, height * 0.07)
    glow(painter, left + width * 0.36, line_y - height * 0.05, height * 0.5, "#ffcf8a", 0.45)
    for x, y, w in ((0.1, 0.2, 0.3), (0.55, 0.12, 0.36), (0.3, 0.36, 0.22), (0.75, 0.34, 0.2)):
        fill(painter, "#f2b9a0", 70)
        painter.drawRoundedRect(QRectF(left + width * x, top + height * y, width * w, height * 0.022), 3, 3)
    rng = np.random.default_rng(12)
    for _ in range(26):
        depth = float(rng.uniform(0.04, 1.0))
        x = left + width * (0.36 + float(rng.normal(0, 0.05 + 0.10 * depth)))
        y = line_y + height * (1 - horizon) * depth
        wide = height * (0.02 + 0.05 * depth)
        if left < x - wide and x + wide < left + width:
            line(painter, "#ffdca6", 0.7 + depth, (x - wide, y), (x + wide, y), alpha=130)


def breakwater(painter: QPainter, x: float, y: float, size: float) -> None:
    """The lighthouse on its mole; ``size`` is its height, ``x, y`` its foot."""
    fill(painter, "#2b2f3c")
    painter.drawPath(
        curve(
            (x - size * 1.1, y + size * 0.10),
            ((x - size * 0.3, y - size * 0.16), (x + size * 0.3, y - size * 0.04)),
            ((x + size * 1.6, y - size * 0.06), (x + size * 3.0, y + size * 0.10)),
        )
    )
    w = size * 0.15
    fill(painter, "#efe3cf")
    painter.drawPolygon(
        shape((x - w, y), (x - w * 0.62, y - size * 0.78), (x + w * 0.62, y - size * 0.78), (x + w, y))
    )
    fill(painter, "#b0452f")
    for low, high in ((0.16, 0.32), (0.48, 0.64)):
        a, b = w * (1 - 0.487 * low), w * (1 - 0.487 * high)
        painter.drawPolygon(
            shape(
                (x - a, y - size * low),
                (x - b, y - size * high),
                (x + b, y - size * high),
                (x + a, y - size * low),
            )
        )
    fill(painter, "#2b2f3c")
    painter.drawRect(QRectF(x - w * 0.9, y - size * 0.81, w * 1.8, size * 0.035))
    fill(painter, "#ffe6a8")
    painter.drawRect(QRectF(x - w * 0.42, y - size * 0.92, w * 0.84, size * 0.11))
    fill(painter, "#8c3626")
    painter.drawPolygon(
        shape((x - w * 0.7, y - size * 0.92), (x, y - size * 1.04), (x + w * 0.7, y - size * 0.92))
    )


def beam(painter: QPainter, x: float, y: float, size: float, clock: float) -> None:
    """The slow light on top of the lighthouse, once round in seven seconds."""
    strength = max(0.0, float(np.cos(2 * np.pi * clock / 7.0))) ** 6
    glow(painter, x, y - size * 0.86, size * 0.5, "#ffeebb", 0.15 + 0.6 * strength)


def ferry(painter: QPainter, x: float, y: float, size: float) -> None:
    """The ferry, ``size`` long, waterline at ``y``."""
    fill(painter, "#24303f")
    painter.drawPolygon(
        shape((x, y - size * 0.13), (x + size, y - size * 0.15), (x + size * 0.93, y), (x + size * 0.06, y))
    )
    fill(painter, "#e9ddc6")
    painter.drawRect(QRectF(x + size * 0.12, y - size * 0.24, size * 0.66, size * 0.11))
    painter.drawRect(QRectF(x + size * 0.22, y - size * 0.32, size * 0.40, size * 0.08))
    fill(painter, "#b0452f")
    painter.drawRect(QRectF(x + size * 0.36, y - size * 0.45, size * 0.10, size * 0.13))
    fill(painter, "#ffcf73")
    for window in range(6):
        painter.drawRect(QRectF(x + size * (0.16 + 0.1 * window), y - size * 0.205, size * 0.05, size * 0.04))


def boat(painter: QPainter, x: float, y: float, size: float, hull: str, clock: float) -> None:
    """A small fishing boat rocking at its mooring."""
    painter.save()
    painter.translate(x, y + size * 0.02 * float(np.sin(clock * 1.3 + x)))
    painter.rotate(1.6 * float(np.sin(clock * 1.1 + x)))
    line(painter, "#2c2522", size * 0.02, (size * 0.05, -size * 0.1), (size * 0.05, -size * 0.85))
    line(painter, "#2c2522", size * 0.012, (size * 0.05, -size * 0.8), (-size * 0.42, -size * 0.16))
    fill(painter, "#e7dac0")
    painter.drawRect(QRectF(size * 0.08, -size * 0.36, size * 0.24, size * 0.28))
    fill(painter, "#ffcf73")
    painter.drawRect(QRectF(size * 0.13, -size * 0.31, size * 0.13, size * 0.08))
    fill(painter, hull)
    painter.drawPath(
        curve(
            (-size * 0.52, -size * 0.22),
            ((0, -size * 0.06), (size * 0.5, -size * 0.17)),
            ((size * 0.46, size * 0.02), (size * 0.36, size * 0.06)),
            ((0, size * 0.10), (-size * 0.36, size * 0.06)),
            ((-size * 0.5, -size * 0.05), (-size * 0.52, -size * 0.22)),
        )
    )
    line(
        painter,
        "#efe3cf",
        size * 0.02,
        (-size * 0.47, -size * 0.13),
        (0, -size * 0.05),
        (size * 0.45, -size * 0.10),
    )
    painter.restore()


def gull(painter: QPainter, x: float, y: float, size: float, flap: float, name: str = "#f4efe6") -> None:
    """A gull; ``flap`` from -1, wings down, to 1, wings up."""
    lift = size * 0.35 * flap
    painter.setBrush(colour("#000000", 0))
    line(
        painter,
        name,
        size * 0.11,
        (x - size, y - lift),
        (x - size * 0.45, y - size * 0.22 - lift * 0.4),
        (x, y),
    )
    line(
        painter,
        name,
        size * 0.11,
        (x, y),
        (x + size * 0.45, y - size * 0.22 - lift * 0.4),
        (x + size, y - lift),
    )
    fill(painter, name)
    disc(painter, x, y + size * 0.02, size * 0.22, size * 0.11)


def gulls(painter: QPainter, area: QRectF, clock: float, count: int, size: float) -> None:
    """A few gulls on slow rounds over ``area``."""
    for number in range(count):
        turn = clock * (0.12 + 0.03 * number) + 1.9 * number
        x = area.center().x() + area.width() * 0.42 * float(np.sin(turn))
        y = area.center().y() + area.height() * 0.36 * float(np.sin(1.7 * turn + number))
        beat = float(np.sin(2 * np.pi * clock * (1.4 + 0.2 * number) + number))
        glide = 0.5 + 0.5 * float(np.sin(clock * 0.8 + 2 * number))
        gull(painter, x, y, size * (0.7 + 0.25 * (number % 3)), 0.25 + 0.75 * beat * glide)
