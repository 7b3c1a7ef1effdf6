"""People who play and things that stand about, in metres before a flat; people move by sums of swings."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from tests.quality.scene_places import Colour, Flat, random_colour

Point = tuple[float, float, float]
"""Metres: to the right from the flat's middle, up from the floor, from the flat towards the camera."""
Project = Callable[[Sequence[Point]], list[tuple[float, float]]]
Tone = Callable[[Colour, float, float], Colour]
"""A colour under the light at a place of the flat."""


@dataclass(frozen=True, slots=True)
class Swing:
    """One component of a movement: metres, hertz, phase."""

    metres: float
    hertz: float
    phase: float

    def at(self, seconds: float) -> float:
        """Where it is."""
        return self.metres * math.sin(2 * math.pi * self.hertz * seconds + self.phase)


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing that stands: a box or a disc on a stand, so wide and high, its middle at ``at``."""

    shape: Literal["box", "disc", "stand"]
    at: Point
    wide: float
    high: float
    colour: Colour
    edge: Colour
    texture: int


@dataclass(frozen=True, slots=True)
class Player:
    """A person with an instrument."""

    at: Point
    tall: float
    colours: tuple[Colour, ...]
    """Skin, hair, top, trousers, instrument."""
    textures: tuple[int, ...]
    wide: float
    neck_deg: float
    """How the instrument is held."""
    walk: tuple[Swing, ...]
    sway: tuple[Swing, ...]
    nod: tuple[Swing, ...]
    left: tuple[Swing, ...]
    right: tuple[Swing, ...]


class Brush:
    """Draws polygons and discs on a picture: flat colours, or cut from textures where the flat has some."""

    def __init__(self, picture: Image.Image, flat: Flat, tone: Tone, scale: float) -> None:
        self._picture, self._textures, self._tone = picture, flat.textures, tone
        self._draw = ImageDraw.Draw(picture)
        self._scale = scale
        """Pixels to a metre at the flat: how fine a texture is drawn."""

    def polygon(
        self, points: Sequence[tuple[float, float]], colour: Colour, texture: int, where: Point
    ) -> None:
        """Fill a polygon, given in pixels."""
        shade = self._tone(colour, where[0], where[1])
        if not self._textures:
            self._draw.polygon(list(points), fill=shade)
            return
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        width, height = self._picture.size
        x0, y0 = math.floor(min(xs)), math.floor(min(ys))
        x1, y1 = math.ceil(max(xs)) + 1, math.ceil(max(ys)) + 1
        cx0, cy0, cx1, cy1 = max(x0, 0), max(y0, 0), min(x1, width), min(y1, height)
        if cx1 <= cx0 or cy1 <= cy0:
            return
        size = (cx1 - cx0, cy1 - cy0)
        mask = Image.new("L", size, 0)
        ImageDraw.Draw(mask).polygon([(x - cx0, y - cy0) for x, y in points], fill=255)
        source = self._textures[texture % len(self._textures)]
        per = 200 / max(self._scale, 1)  # texture pixels to a picture pixel
        left, top = (cx0 - x0) * per, (cy0 - y0) * per
        box = (left, top, left + size[0] * per, top + size[1] * per)
        limit = (source.width, source.height)
        box = (
            min(box[0], limit[0] - 2),
            min(box[1], limit[1] - 2),
            min(box[2], limit[0]),
            min(box[3], limit[1]),
        )
        patch = source.resize(size, Image.Resampling.BILINEAR, box, reducing_gap=1.1)
        weave = Image.blend(patch, Image.new("RGB", size, colour), 0.55)
        lit = self._tone((200, 200, 200), where[0], where[1])
        table = [min(255, v * lit[c] // 200) for c in range(3) for v in range(256)]
        self._picture.paste(weave.point(table), (cx0, cy0), mask)

    def disc(
        self, middle: tuple[float, float], rx: float, ry: float, colour: Colour, texture: int, where: Point
    ) -> None:
        """Fill an ellipse, given in pixels."""
        count = 14
        points = [
            (
                middle[0] + rx * math.cos(2 * math.pi * n / count),
                middle[1] + ry * math.sin(2 * math.pi * n / count),
            )
            for n in range(count)
        ]
        self.polygon(points, colour, texture, where)


def random_thing(chance: np.random.Generator) -> Thing:
    """An amplifier, a drum, a stand … at random."""
    shape = chance.choice(["box", "disc", "stand"])
    high = chance.uniform(0.25, 1.3)
    at = (chance.uniform(-4.5, 4.5), high / 2 + chance.uniform(0, 0.5), chance.uniform(0.2, 2.6))
    return Thing(
        shape,
        at,
        chance.uniform(0.2, 1.1),
        high,
        random_colour(chance),
        random_colour(chance, dark=True),
        int(chance.integers(0, 100)),
    )


def random_player(chance: np.random.Generator, at: Point, beat_hz: float) -> Player:
    """Somebody who plays at ``at``."""

    def swings(metres: float, hertz: Sequence[float]) -> tuple[Swing, ...]:
        return tuple(
            Swing(metres * chance.uniform(0.4, 1.2), f * chance.uniform(0.97, 1.03), chance.uniform(0, 6.28))
            for f in hertz
        )

    lively = chance.uniform(0.3, 1.6)
    skin = int(chance.uniform(70, 215))
    return Player(
        at,
        chance.uniform(1.5, 1.9) if chance.random() < 0.7 else chance.uniform(1.15, 1.35),
        (
            (skin, int(skin * 0.8), int(skin * 0.66)),
            random_colour(chance, dark=True),
            random_colour(chance),
            random_colour(chance, dark=True),
            random_colour(chance),
        ),
        tuple(int(v) for v in chance.integers(0, 100, 5)),
        chance.uniform(0.38, 0.52),
        chance.uniform(-70, 70),
        swings(0.25 if chance.random() < 0.25 else 0.03, [0.013, 0.031, 0.07]),
        swings(0.035 * lively, [0.11, 0.23, beat_hz / 2]),
        swings(0.02 * lively, [0.17, beat_hz]),
        swings(0.07 * lively, [0.19, 0.4, beat_hz / 2]),
        swings(0.11 * lively, [0.29, beat_hz, 2 * beat_hz]),
    )


def draw_thing(brush: Brush, thing: Thing, project: Project) -> None:
    """Draw a thing."""
    x, y, z = thing.at
    w, h = thing.wide / 2, thing.high / 2
    if thing.shape == "stand":
        foot = project([(x, 0, z), (x, y + h, z)])
        one = project([(x, y, z), (x + 0.02, y, z)])
        width = max(1.0, abs(one[1][0] - one[0][0]))
        brush.polygon(_limb(foot[0], foot[1], width), thing.edge, thing.texture, thing.at)
        y, h = y + h, h * 0.35
    corners = project([(x - w, y - h, z), (x + w, y - h, z), (x + w, y + h, z), (x - w, y + h, z)])
    if thing.shape == "box":
        brush.polygon(corners, thing.edge, thing.texture + 1, thing.at)
        inner = project(
            [(x - w * 0.9, y - h * 0.9, z), (x + w * 0.9, y - h * 0.9, z), (x + w * 0.9, y + h * 0.9, z),
             (x - w * 0.9, y + h * 0.9, z)]
        )  # fmt: skip
        brush.polygon(inner, thing.colour, thing.texture, thing.at)
        return
    middle = ((corners[0][0] + corners[2][0]) / 2, (corners[0][1] + corners[2][1]) / 2)
    rx, ry = abs(corners[2][0] - corners[0][0]) / 2, abs(corners[2][1] - corners[0][1]) / 2
    brush.disc(middle, rx, ry, thing.edge, thing.texture + 1, thing.at)
    brush.disc(middle, rx * 0.88, ry * 0.88, thing.colour, thing.texture, thing.at)


def draw_player(brush: Brush, player: Player, seconds: float, project: Project) -> None:
    """Draw a player as at a moment of the players' clock."""
    skin, hair, top, trousers, wood = player.colours
    sk, ha, to, tr, wo = player.textures

    def of(swings: tuple[Swing, ...]) -> float:
        return sum(swing.at(seconds) for swing in swings)

    x, y0, z = player.at
    x += of(player.walk)
    lean, nod = of(player.sway), of(player.nod)
    tall, wide = player.tall, player.wide
    hip, neck, crown = y0 + tall * 0.48, y0 + tall * 0.82 + 0.3 * nod, y0 + tall
    bodies: list[Point] = [
        (x - 0.16, y0, z), (x - 0.02, y0, z), (x + 0.02, y0, z), (x + 0.16, y0, z),
        (x - wide * 0.36, hip, z), (x + wide * 0.36, hip, z),
        (x - wide / 2 + lean, neck, z), (x + wide / 2 + lean, neck, z),
        (x + 1.4 * lean, (neck + crown) / 2 + nod, z), (x + 1.4 * lean, crown + nod, z),
    ]  # fmt: skip
    grip_l: Point = (x - wide * 0.75 + of(player.left) + lean, hip + tall * 0.17 + of(player.left), z + 0.25)
    grip_r: Point = (
        x + wide * 0.55 + of(player.right) * 0.5 + lean,
        hip + tall * 0.1 + of(player.right),
        z + 0.25,
    )
    angle = math.radians(player.neck_deg)
    heart: Point = (x + lean * 0.8, hip + tall * 0.1, z + 0.2)
    reach = 0.62 * wide + 0.25
    tip: Point = (heart[0] - reach * math.cos(angle), heart[1] + reach * math.sin(angle), z + 0.2)
    p = project([*bodies, grip_l, grip_r, heart, tip])
    per_m = math.hypot(p[7][0] - p[6][0], p[7][1] - p[6][1]) / max(wide, 0.1)
    brush.polygon([p[0], p[1], p[5], p[4]], trousers, tr, player.at)
    brush.polygon([p[2], p[3], p[5], p[4]], trousers, tr, player.at)
    brush.polygon([p[4], p[5], p[7], p[6]], top, to, player.at)
    brush.disc(p[9], 0.105 * per_m, 0.13 * per_m, hair, ha, player.at)
    brush.disc(p[8], 0.09 * per_m, 0.12 * per_m, skin, sk, player.at)
    brush.disc(p[12], 0.24 * per_m, 0.2 * per_m, wood, wo, player.at)
    brush.polygon(_limb(p[12], p[13], 0.035 * per_m), wood, wo, player.at)
    for shoulder, hand in ((p[6], p[10]), (p[7], p[11])):
        brush.polygon(_limb(shoulder, hand, 0.05 * per_m), top, to, player.at)
        brush.disc(hand, 0.05 * per_m, 0.05 * per_m, skin, sk, player.at)


def toned(colour: Colour, light: NDArray[np.float32]) -> Colour:
    """A colour under a light, in display values."""
    gain = np.clip(light, 0, 4) ** (1 / 2.2)
    red, green, blue = (min(255, int(part * by)) for part, by in zip(colour, gain, strict=True))
    return red, green, blue


def _limb(one: tuple[float, float], other: tuple[float, float], half: float) -> list[tuple[float, float]]:
    dx, dy = other[0] - one[0], other[1] - one[1]
    far = math.hypot(dx, dy) or 1.0
    nx, ny = -dy / far * half, dx / far * half
    return [
        (one[0] + nx, one[1] + ny),
        (one[0] - nx, one[1] - ny),
        (other[0] - nx, other[1] - ny),
        (other[0] + nx, other[1] + ny),
    ]
