"""What each camera sees. An angle draws one picture from a pose and a lamp level."""

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from making.accordionist import accordionist
from making.bassist import bassist
from making.drawing import (
    HEIGHT,
    WIDTH,
    canvas,
    colour,
    disc,
    fill,
    glow,
    line,
    painter_on,
    shadow,
    upright,
    vignette,
)
from making.drummer import drummer
from making.fiddler import fiddler
from making.loft import (
    Window,
    beams,
    crab_pots,
    floor,
    glass_float,
    lantern,
    lantern_light,
    loudspeaker,
    net,
    planks,
    rug,
)
from making.motion import Pose


@dataclass(frozen=True, slots=True)
class Moment:
    """All that moves in one frame."""

    pose: Pose
    lamp: float
    clock: float
    """Seconds since the camera started."""
    voyage: float
    """How far the ferry has come, 0 to 1."""


class Angle(ABC):
    """A view; ``lamp`` is the middle and height of the beat lamp's glass in pixels, None where unseen."""

    lamp: tuple[float, float, float] | None
    steady = True
    """False where the camera moves, and the lamp with it."""
    scale = 1.0
    """Detail of the kept background."""

    def __init__(self) -> None:
        self._still = canvas(self.scale)
        painter = painter_on(self._still, self.scale)
        self.still(painter)
        painter.end()
        self._corners = vignette()
        self._frame = canvas()

    @abstractmethod
    def still(self, painter: QPainter) -> None:
        """Draw what never moves."""

    @abstractmethod
    def moving(self, painter: QPainter, moment: Moment) -> None:
        """Draw what does."""

    def draw(self, moment: Moment) -> QImage:
        """The finished picture; the same image is used again for the next."""
        painter = painter_on(self._frame)
        painter.drawImage(0, 0, self._still)
        self.moving(painter, moment)
        painter.drawImage(0, 0, self._corners)
        self.light(painter, moment.lamp)
        painter.end()
        return self._frame

    def light(self, painter: QPainter, level: float) -> None:
        """Light the lamp."""
        if self.lamp is not None:
            lantern_light(painter, *self.lamp, level)


def at(
    painter: QPainter, x: float, y: float, size: float, player: Callable[[QPainter, Pose], None], pose: Pose
) -> None:
    painter.save()
    painter.translate(x, y)
    painter.scale(size, size)
    player(painter, pose)
    painter.restore()


class Wide(Angle):
    """The whole band in the loft."""

    lamp = (350.0, 62.0, 20.0)
    window = Window(QRectF(158, 38, 150, 92), 4, 2)

    def still(self, painter: QPainter) -> None:
        planks(painter, QRectF(0, 0, WIDTH, 200), "#66492f", "#3a281c", 21, 3, upright_boards=True)
        glow(painter, 350, 62, 150, "#c8772c", 0.30)
        glow(painter, 60, 210, 190, "#b5622c", 0.20)
        beams(painter, 12, 12)
        floor(painter, 198)
        self.window.still(painter)
        glow(painter, 215, 230, 130, "#e8a878", 0.18)
        net(painter, ((40, 26), (152, 30), (9, 46)), 6, 5)
        for x, y, r, name in (
            (24, 66, 9, "#4f9b8c"),
            (38, 84, 7, "#c9873f"),
            (452, 64, 9, "#5f9fb0"),
            (438, 84, 6, "#4f9b8c"),
        ):
            glass_float(painter, x, y, r, name)
        crab_pots(painter, 28, 214, 40)
        rug(painter, 240, 236, 196, 26)
        lantern(painter, *self.lamp, 20)
        loudspeaker(painter, 452, 232, 40)

    def moving(self, painter: QPainter, moment: Moment) -> None:
        self.window.moving(painter, moment.clock, moment.voyage)
        pose = moment.pose
        at(painter, 176, 226, 0.86, fiddler, pose)
        at(painter, 276, 228, 0.88, bassist, pose)
        at(painter, 96, 238, 0.92, accordionist, pose)
        at(painter, 382, 240, 0.90, drummer, pose)


class Roaming(Wide):
    """A hand-held camera that wanders over the band, the lamp always in sight."""

    scale = 2.0
    steady = False

    def draw(self, moment: Moment) -> QImage:
        """The finished picture, seen from where the camera has wandered."""
        clock = moment.clock
        zoom = 1.42 + 0.12 * float(np.sin(clock / 9.0))
        x = 262 + 52 * float(np.sin(clock / 6.3 + 0.5)) + 1.2 * float(np.sin(clock * 2.1))
        y = 132 + 8 * float(np.sin(clock / 8.1)) + 0.9 * float(np.sin(clock * 2.9 + 1))
        reach_x, reach_y = WIDTH / 2 / zoom, HEIGHT / 2 / zoom
        x = float(np.clip(x, reach_x, WIDTH - reach_x))
        y = float(np.clip(y, reach_y, HEIGHT - reach_y))
        painter = painter_on(self._frame)
        seen = QRectF(
            (x - reach_x) * self.scale,
            (y - reach_y) * self.scale,
            2 * reach_x * self.scale,
            2 * reach_y * self.scale,
        )
        painter.drawImage(QRectF(0, 0, WIDTH, HEIGHT), self._still, seen)
        painter.save()
        painter.scale(zoom, zoom)
        painter.translate(reach_x - x, reach_y - y)
        self.moving(painter, moment)
        painter.restore()
        painter.drawImage(0, 0, self._corners)
        room_x, room_y, size = Wide.lamp
        lantern_light(
            painter, (room_x - x + reach_x) * zoom, (room_y - y + reach_y) * zoom, size * zoom, moment.lamp
        )
        painter.end()
        return self._frame


class Accordion(Angle):
    """The accordion from near, before warm boards and a net."""

    lamp = (404.0, 66.0, 34.0)

    def still(self, painter: QPainter) -> None:
        planks(painter, QRectF(0, 0, WIDTH, HEIGHT), "#8a5f33", "#52371f", 38, 8, upright_boards=False)
        glow(painter, 404, 66, 240, "#f0a040", 0.34)
        net(painter, ((-10, 20), (190, -6), (40, 120)), 8, 4, "#e3cfa2")
        glass_float(painter, 46, 150, 17, "#4f9b8c")
        glass_float(painter, 84, 176, 12, "#c9873f")
        shadow(painter, 232, 210, 190, 120, 0.45)
        lantern(painter, *self.lamp, 0)

    def moving(self, painter: QPainter, moment: Moment) -> None:
        at(painter, 228, 338, 1.86, accordionist, moment.pose)


class Fiddle(Angle):
    """The fiddle from near, before the window and the evening."""

    lamp = (66.0, 62.0, 32.0)
    window = Window(QRectF(120, -30, 420, 250), 4, 2, 9)

    def still(self, painter: QPainter) -> None:
        planks(painter, QRectF(0, 0, WIDTH, HEIGHT), "#4a4550", "#2c2931", 40, 9, upright_boards=True)
        self.window.still(painter)
        painter.fillRect(QRectF(0, 234, WIDTH, 40), upright(234, 270, (0, "#8a6a49"), (1, "#5a4430")))
        lantern(painter, *self.lamp, 0)

    def moving(self, painter: QPainter, moment: Moment) -> None:
        self.window.moving(painter, moment.clock, moment.voyage)
        at(painter, 222, 372, 1.92, fiddler, moment.pose)


class Drums(Angle):
    """The kit from near, before a wall painted sea green."""

    lamp = (418.0, 64.0, 34.0)

    def still(self, painter: QPainter) -> None:
        planks(painter, QRectF(0, 0, WIDTH, 236), "#1f4b50", "#12333a", 46, 10, upright_boards=True)
        floor(painter, 236)
        glow(painter, 418, 64, 230, "#e09a48", 0.26)
        line(painter, "#c9b48a", 5, (-5, 34), (60, 52), (120, 46), (150, 20), (170, -5))
        for x, y, name in ((30, 44, "#b5532f"), (92, 52, "#d9a441"), (140, 32, "#e6d9bd")):
            fill(painter, name)
            disc(painter, x, y, 12, 9)
        rug(painter, 246, 262, 210, 26)
        lantern(painter, *self.lamp, 0)

    def moving(self, painter: QPainter, moment: Moment) -> None:
        at(painter, 238, 268, 1.56, drummer, moment.pose)


class Bass(Angle):
    """The double bass from near, before red boards with coils of rope."""

    lamp = (86.0, 70.0, 34.0)

    def still(self, painter: QPainter) -> None:
        planks(painter, QRectF(0, 0, WIDTH, HEIGHT), "#6e3a33", "#47231f", 44, 11, upright_boards=True)
        glow(painter, 86, 70, 230, "#e8954a", 0.30)
        for x, y, r in ((388, 70, 38), (424, 160, 30)):
            for turn in range(5):
                painter.setBrush(colour("#000000", 0))
                painter.setPen(colour("#d9c08c"))
                disc(painter, x, y, r - 4.0 * turn, r * 1.15 - 4.0 * turn)
            fill(painter, "#2c1a16")
            disc(painter, x, y - r * 1.15, 4)
        lantern(painter, *self.lamp, 0)

    def moving(self, painter: QPainter, moment: Moment) -> None:
        at(painter, 236, 322, 1.56, bassist, moment.pose)
