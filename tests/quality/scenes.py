"""Pictures of shoots that never were: drawn places, people who play, cameras that look at them.

    chance = np.random.default_rng(7)
    place = random_place(7, "drawn")                      # or "woven": another way of drawing altogether
    camera = random_camera(chance, place, "half")         # a set-up: framing, hold, lens, exposure, noise
    first = Take(place, camera, place.light)              # one take of it …
    second = later(chance, first, 600)                    # … and another, ten minutes later
    encode(path, pictures(first, 20, Fraction(25)), Fraction(25))    # tests.quality.scene_files

`moved` and `neighbour` give other set-ups near one, `relit` the same place with other lighting. Everything
follows from the arguments: the same call gives the same picture at any rate and size. ``altered`` changes the
camera from moment to moment: for bumps, soft stretches, exposure that fails, and so on.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from typing import Literal

import numpy as np
from PIL import Image, ImageFilter

from tests.quality.scene_places import (
    BELOW_M,
    HIGH_M,
    LEVELS,
    PIXELS_PER_M,
    SIZE,
    WIDE_M,
    Bytes,
    Colour,
    Flat,
    FloatArray,
    Light,
    Style,
    lit,
    random_flat,
    random_light,
    to_linear,
    to_srgb,
)
from tests.quality.scene_players import (
    Brush,
    Player,
    Point,
    Thing,
    draw_player,
    draw_thing,
    random_player,
    random_thing,
    toned,
)

Framing = Literal["close", "half", "wide"]
Hold = Literal["tripod", "handheld", "roaming"]
WIDTHS_M: dict[Framing, tuple[float, float]] = {"close": (1.3, 2.0), "half": (2.8, 4.4), "wide": (6.0, 8.0)}
"""What is seen of the flat, metres across."""
STEPS = 8192
"""Levels of light told apart when it becomes display values: a third of a step of 8 bits in the dark."""


@dataclass(frozen=True, slots=True)
class Side:
    """A place as seen from one side."""

    flat: Flat
    things: tuple[Thing, ...]
    players: tuple[Player, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """Where a shoot is: the same people before two flats, as seen from the front and from the side."""

    sides: tuple[Side, ...]
    light: Light
    beat_hz: float


@dataclass(frozen=True, slots=True)
class Camera:
    """A set-up: where a camera stands, what it sees, and how it is set."""

    aim_x: float
    aim_y: float
    """Where on the flat the middle of the picture is, metres."""
    width_m: float
    """How much of the flat is across the picture."""
    side: int = 0
    x: float = 0.0
    y: float = 1.5
    far_m: float = 6.5
    """Where it stands."""
    roll_deg: float = 0.0
    hold: Hold = "tripod"
    wobble: float = 0.0005
    """Standard deviation of its unrest, in widths of the picture."""
    blur: float = 0.0015
    """Radius of the lens blur (standard deviation), in heights of the picture."""
    stops: float = 0.0
    """Exposure."""
    warm: float = 0.0
    green: float = 0.0
    """White balance: stops of red over blue, and of green over both."""
    vignette: float = 0.1
    """Light lost in the corners, 0 to 1."""
    noise: float = 0.006
    """Standard deviation of the sensor's noise at middle grey (0.18), full scale 1 of light."""
    shutter_s: float = 1 / 50
    readout_s: float = 0.015
    """From the first row's exposure to the last one's."""
    transfer: Literal["srgb", "bt709"] = "bt709"
    seed: int = 0
    """Of its wobble and its way, if it roams."""


@dataclass(frozen=True, slots=True)
class Take:
    """What a camera shot, from a moment of the players' clock on."""

    place: Place
    camera: Camera
    light: Light
    start_s: float = 0.0
    away: frozenset[int] = field(default_factory=frozenset)
    """Numbers of players who are not in it."""
    shifted: tuple[float, ...] = ()
    """How far players stand from where they stood, metres; those beyond the end as before."""
    seed: int = 0
    """Of the sensor's noise, and of how the camera roams this time."""


Altered = Callable[[float, Camera], Camera]
"""The camera as it is at a time of the clip (seconds)."""


def random_place(seed: int, style: Style = "drawn") -> Place:
    """A place with three to six players and things about, at random."""
    chance = np.random.default_rng([seed, 1])
    beat_hz = chance.uniform(1.2, 2.6)
    count = int(chance.integers(3, 7))
    spots = np.linspace(-3.2, 3.2, count) + chance.normal(0, 0.25, count)
    players = tuple(
        random_player(chance, (float(x), 0.0, chance.uniform(0.5, 2.2)), beat_hz)
        for x in chance.permutation(spots)
    )
    things = tuple(random_thing(chance) for _ in range(chance.integers(8, 18)))
    front = Side(random_flat(chance, style), things, players)
    # Seen from the left: what was near is to the right.
    turned = tuple(replace(one, at=_turned(one.at)) for one in players)
    side = Side(
        random_flat(chance, style),
        tuple(replace(one, at=_turned(one.at)) for one in things),
        turned,
    )
    return Place((front, side), random_light(chance), float(beat_hz))


def random_camera(
    chance: np.random.Generator,
    place: Place,
    framing: Framing,
    hold: Hold = "tripod",
    side: int | None = None,
) -> Camera:
    """A set-up on somebody (close, half) or on all (wide), exposed for what it sees."""
    side = int(chance.random() < 0.3) if side is None else side
    player = place.sides[side].players[int(chance.integers(len(place.sides[side].players)))]
    width = chance.uniform(*WIDTHS_M[framing])
    far = chance.uniform(5.5, 8)
    x = chance.uniform(-3, 3)
    if framing == "wide":
        aim_x, aim_y = chance.uniform(-1, 1), chance.uniform(1.0, 1.7)
    else:  # through the player to the flat
        on_y = player.tall * (0.8 if framing == "close" else 0.6)
        reach = far / (far - player.at[2])
        aim_x = x + (player.at[0] - x) * reach + chance.normal(0, 0.08 * width)
        aim_y = 1.5 + (on_y - 1.5) * reach + chance.normal(0, 0.06 * width)
    camera = Camera(
        aim_x,
        aim_y,
        width,
        side,
        x,
        chance.uniform(1.2, 1.9),
        far,
        chance.normal(0, 0.5),
        hold,
        {
            "tripod": max(0.0, chance.uniform(-0.0008, 0.0008)),
            "handheld": chance.uniform(0.006, 0.018),
            "roaming": 0.015,
        }[hold],
        float(chance.choice([0.0008, 0.0015, 0.003])),
        0.0,
        chance.normal(0, 0.15),
        chance.normal(0, 0.05),
        chance.uniform(0, 0.35),
        float(chance.choice([0.003, 0.006, 0.012, 0.02])),
        seed=int(chance.integers(1 << 30)),
    )
    return exposed(Take(place, camera, place.light), chance.normal(0, 0.3))


def exposed(take: Take, over_stops: float = 0.0) -> Camera:
    """The take's camera, set for a mean of 0.18 of full scale, and so many stops over that."""
    plain = replace(take.camera, stops=0.0, noise=0.0, vignette=0.0, transfer="srgb")
    seen = to_linear(picture(replace(take, camera=plain), 0.0, 72).astype(np.float32) / 255)
    mean = float(np.minimum(seen, 0.6).mean())
    return replace(take.camera, stops=float(np.clip(math.log2(0.18 / max(mean, 1e-3)), -2.5, 3) + over_stops))


def later(chance: np.random.Generator, take: Take, seconds: float) -> Take:
    """Another take of the same set-up: people at another point of their motion, light drifted.

    The camera is touched between takes: its aim is off by some thousandths of the picture, exposure and white
    balance by some hundredths of a stop.
    """
    count = len(take.place.sides[0].players)
    camera = take.camera
    touched = 0.002 * camera.width_m if camera.hold == "tripod" else 0.02 * camera.width_m
    return replace(
        take,
        start_s=take.start_s + seconds,
        seed=int(chance.integers(1 << 30)),
        shifted=tuple(float(one) for one in chance.normal(0, 0.08, count)),
        camera=replace(
            camera,
            aim_x=camera.aim_x + chance.normal(0, touched),
            aim_y=camera.aim_y + chance.normal(0, touched),
            stops=camera.stops + chance.normal(0, 0.1),
            warm=camera.warm + chance.normal(0, 0.04),
        ),
    )


def moved(chance: np.random.Generator, camera: Camera) -> Camera:
    """The same camera moved a bit: aimed beside by a twelfth of the picture or more, or zoomed."""
    if chance.random() < 0.5:
        by = chance.uniform(0.085, 0.35) * camera.width_m
        turn = chance.uniform(0, 2 * math.pi)
        return replace(
            camera, aim_x=camera.aim_x + by * math.cos(turn), aim_y=camera.aim_y + by * math.sin(turn)
        )
    return replace(camera, width_m=camera.width_m * float(chance.choice([0.75, 0.86, 1.16, 1.3])))


def nudged(chance: np.random.Generator, camera: Camera) -> Camera:
    """The same camera hardly moved: aimed beside by a fiftieth of the picture to a twelfth, or zoomed."""
    if chance.random() < 0.6:
        by = chance.uniform(0.02, 0.085) * camera.width_m
        turn = chance.uniform(0, 2 * math.pi)
        return replace(
            camera, aim_x=camera.aim_x + by * math.cos(turn), aim_y=camera.aim_y + by * math.sin(turn)
        )
    return replace(
        camera, width_m=camera.width_m * float(chance.uniform(1.05, 1.13) ** chance.choice([-1, 1]))
    )


def neighbour(chance: np.random.Generator, camera: Camera) -> Camera:
    """Another camera beside it that sees partly the same."""
    return replace(
        camera,
        x=camera.x + chance.choice([-1, 1]) * chance.uniform(0.6, 2.0),
        aim_x=camera.aim_x + chance.choice([-1, 1]) * chance.uniform(0.25, 0.6) * camera.width_m,
        width_m=camera.width_m * chance.uniform(0.75, 1.3),
        warm=camera.warm + chance.normal(0, 0.15),
        stops=camera.stops + chance.normal(0, 0.3),
        noise=float(chance.choice([0.003, 0.006, 0.012, 0.02])),
        seed=int(chance.integers(1 << 30)),
    )


def relit(chance: np.random.Generator, take: Take) -> Take:
    """The same set-up with other lighting, exposed for it."""
    stage = take.light.ambient > 0.25
    changed = replace(take, light=random_light(chance, stage=stage))
    return replace(changed, camera=exposed(changed, chance.normal(0, 0.3)))


def pictures(
    take: Take,
    seconds: float,
    rate: Fraction | float,
    height: int = 360,
    width: int | None = None,
    altered: Altered | None = None,
) -> Iterator[Bytes]:
    """The pictures of a take, full-range RGB of shape (height, width, 3); 16:9 unless a width is told."""
    for n in range(round(seconds * rate)):
        yield picture(take, float(n / rate), height, width, altered)


def picture(
    take: Take, clip_s: float, height: int = 360, width: int | None = None, altered: Altered | None = None
) -> Bytes:
    """The picture at a time of the clip (seconds)."""
    width = round(height * 16 / 9) if width is None else width
    camera = take.camera if altered is None else altered(clip_s, take.camera)
    seconds = take.start_s + clip_s
    side = take.place.sides[camera.side % len(take.place.sides)]
    view = _View(camera, clip_s, take.seed, width, height)
    image = view.of_flat(side.flat, take.light)
    light = take.light

    def tone(colour: Colour, x: float, y: float) -> Colour:
        return toned(colour, light.at(x, max(y, 1.0)))

    brush = Brush(image, side.flat, tone, view.pixels_per_m)
    bodies: list[tuple[float, Thing | Player]] = [(one.at[2], one) for one in side.things]
    for n, player in enumerate(side.players):
        if n not in take.away:
            shift = take.shifted[n] if n < len(take.shifted) else 0.0
            at = (player.at[0] + shift, player.at[1], player.at[2])
            bodies.append((at[2], replace(player, at=at) if shift else player))
    for _, body in sorted(bodies, key=lambda one: one[0]):
        if view.sees(body.at):
            if isinstance(body, Thing):
                draw_thing(brush, body, view.project)
            else:
                draw_player(brush, body, seconds, view.project)
    spread = camera.blur * height
    if spread > 1.0:
        image = image.filter(ImageFilter.GaussianBlur(spread))
    elif spread > 0.2:  # a box of the same variance is a third of the work
        image = image.filter(ImageFilter.BoxBlur((math.sqrt(12 * spread**2 + 1) - 1) / 2))
    return _developed(np.asarray(image), take, camera, clip_s)


class _View:
    """How a camera sees the place at a moment: a pinhole, the flat a plane before it."""

    def __init__(self, camera: Camera, clip_s: float, take_seed: int, width: int, height: int) -> None:
        self._width, self._height = width, height
        aim_x, aim_y, wide = camera.aim_x, camera.aim_y, camera.width_m
        if camera.hold == "roaming":
            way = np.random.default_rng([camera.seed, take_seed, 5])
            for swing in range(3):
                hertz, phase = way.uniform(0.01, 0.09), way.uniform(0, 2 * math.pi, 3)
                step = 2 * math.pi * hertz * clip_s
                aim_x += (1.2 - 0.3 * swing) * math.sin(step + phase[0])
                aim_y += 0.15 * math.sin(1.3 * step + phase[1])
                wide *= 2 ** (0.22 * math.sin(0.8 * step + phase[2]))
        off_x, off_y, roll = _wobble(camera.seed, take_seed, clip_s) if camera.wobble else (0.0, 0.0, 0.0)
        aim_x, aim_y = aim_x + off_x * camera.wobble * wide, aim_y + off_y * camera.wobble * wide
        self._centre = np.array([camera.x, camera.y, camera.far_m])
        forward = np.array([aim_x, aim_y, 0.0]) - self._centre
        away = float(np.linalg.norm(forward))
        self._forward = forward / away
        angle = math.radians(camera.roll_deg) + roll * camera.wobble * 0.5
        level = np.cross(self._forward, [0.0, 1.0, 0.0])
        level /= np.linalg.norm(level)
        up = np.cross(level, self._forward)
        self._right = math.cos(angle) * level + math.sin(angle) * up
        self._up = np.cross(self._right, self._forward)
        self.pixels_per_m = width / wide
        self._focal = self.pixels_per_m * away

    def project(self, points: Sequence[Point]) -> list[tuple[float, float]]:
        """Pixels of points of the place."""
        seen = np.asarray(points) - self._centre
        deep = np.maximum(seen @ self._forward, 0.3)
        x = self._width / 2 + self._focal * (seen @ self._right) / deep
        y = self._height / 2 - self._focal * (seen @ self._up) / deep
        return list(zip(x.tolist(), y.tolist(), strict=True))

    def sees(self, at: Point) -> bool:
        """Whether something there may be in the picture."""
        x, _ = self.project([at])[0]
        reach = 1.3 * self.pixels_per_m * 1.6
        return -reach < x < self._width + reach

    def of_flat(self, flat: Flat, light: Light) -> Image.Image:
        """The flat as it is seen."""
        right, up, forward = self._right, self._up, self._forward

        def row(axis: FloatArray) -> list[float]:
            return [float(axis[0]), float(axis[1]), -float(axis @ self._centre)]

        to_view = np.array(
            [
                self._focal * np.array(row(right)) + self._width / 2 * np.array(row(forward)),
                -self._focal * np.array(row(up)) + self._height / 2 * np.array(row(forward)),
                np.array(row(forward)),
            ]
        )
        per_m = float(PIXELS_PER_M)
        level = 0
        while level + 1 < LEVELS and per_m / 2 > self.pixels_per_m:
            level, per_m = level + 1, per_m / 2
        # Pixels of the painted flat to metres: its middle is x = 0, the floor's line y = 0.
        to_metres = np.array([[1 / per_m, 0, -WIDE_M / 2], [0, -1 / per_m, HIGH_M - BELOW_M], [0, 0, 1]])
        back = np.linalg.inv(to_view @ to_metres)
        back /= back[2, 2]
        return _warped(flat, light, level, tuple(back.ravel()[:8]), self._width, self._height).copy()


@lru_cache(maxsize=4)  # a camera that stands still sees the same flat in every picture
def _warped(
    flat: Flat, light: Light, level: int, back: tuple[float, ...], width: int, height: int
) -> Image.Image:
    painted = lit(flat, light)[level]
    return painted.transform((width, height), Image.Transform.PERSPECTIVE, back, Image.Resampling.BILINEAR)


@lru_cache(maxsize=64)
def _swings(camera_seed: int, take_seed: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    chance = np.random.default_rng([camera_seed, take_seed, 9])
    hertz = 2 ** chance.uniform(-2.5, 1.8, (3, 6))
    weight = chance.uniform(0.5, 1, (3, 6)) / hertz**0.5
    weight /= np.sqrt((weight**2).sum(axis=1, keepdims=True) / 2)
    return hertz, weight, chance.uniform(0, 2 * np.pi, (3, 6))


def _wobble(camera_seed: int, take_seed: int, clip_s: float) -> tuple[float, float, float]:
    """Unrest to the right, up and around; standard deviation 1."""
    hertz, weight, phase = _swings(camera_seed, take_seed)
    x, y, roll = (weight * np.sin(2 * np.pi * hertz * clip_s + phase)).sum(axis=1)
    return float(x), float(y), float(roll)


def _developed(shown: Bytes, take: Take, camera: Camera, clip_s: float) -> Bytes:
    """What the sensor makes of display values: exposure, balance, vignette, mains light, noise, transfer."""
    height, width = shown.shape[:2]
    light = take.light
    minutes = take.start_s / 600
    warm = camera.warm + light.drift_warm * minutes
    stops = np.array([warm / 2, camera.green, -warm / 2]) + camera.stops + light.drift_stops * minutes
    values = _LIGHT[None, :] * np.exp2(stops)[:, None]
    index = shown.astype(np.uint16)
    index += np.array([0, 256, 512], np.uint16)
    seen = values.astype(np.float32).ravel().take(index)
    gain = np.ones((height, 1), np.float32)
    if light.mains_hz and light.mains_depth:
        gain = _mains(light, camera, clip_s, height)[:, None]
    if camera.vignette:
        gain = gain * _vignette(camera.vignette, width, height)
    if gain.shape[1] > 1 or light.mains_hz:
        seen *= gain[..., None]
    if camera.noise:
        chance = np.random.default_rng([take.seed & 0xFFFFFFFF, round(clip_s * 1e6)])
        grain = _grain(width, height)
        y, x = chance.integers(0, grain.shape[0] - height), chance.integers(0, grain.shape[1] - width)
        # Photons: the variance rises with the light; a floor is left in the dark.
        spread = (camera.noise * np.sqrt(values / 0.18 + 0.05)).astype(np.float32).ravel().take(index)
        spread *= grain[y : y + height, x : x + width]
        seen += spread
    seen *= STEPS - 1
    np.clip(seen, 0, STEPS - 1, out=seen)
    return _transfer(camera.transfer).take(seen.astype(np.uint16))


_LIGHT = to_linear(np.arange(256, dtype=np.float32) / 255)


@lru_cache(maxsize=2)
def _transfer(name: str) -> Bytes:
    light = np.arange(STEPS, dtype=np.float32) / (STEPS - 1)
    if name == "srgb":
        values = to_srgb(light)
    else:  # Rec. ITU-R BT.709-6, item 1.2
        values = np.where(light < 0.018, 4.5 * light, 1.099 * light**0.45 - 0.099).astype(np.float32)
    return np.rint(values * 255).astype(np.uint8)


@lru_cache(maxsize=8)
def _vignette(corner: float, width: int, height: int) -> FloatArray:
    x = (np.arange(width, dtype=np.float32) + 0.5) / width - 0.5
    y = (np.arange(height, dtype=np.float32) + 0.5) / height - 0.5
    return (1 - corner * 2 * (x[None, :] ** 2 + y[:, None] ** 2)).astype(np.float32)


def _mains(light: Light, camera: Camera, clip_s: float, height: int) -> FloatArray:
    """Mean light of every row's exposure: the swing at twice the mains, averaged over the shutter's time."""
    hertz = 2 * light.mains_hz
    begun = clip_s + camera.readout_s * np.arange(height) / height
    middle = begun + camera.shutter_s / 2
    damped = np.sinc(hertz * camera.shutter_s)
    return (1 + light.mains_depth * damped * np.cos(2 * np.pi * hertz * middle)).astype(np.float32)


@lru_cache(maxsize=4)
def _grain(width: int, height: int) -> FloatArray:
    chance = np.random.default_rng(width * 10007 + height)
    return chance.standard_normal((height + 64, width + 64, 3), dtype=np.float32)


def _turned(at: Point) -> Point:
    x, y, z = at
    return (z - 1.3) * 2.2, y, float(np.clip(1.4 - 0.35 * x, 0.2, 2.6))


assert SIZE[0] / SIZE[1] == WIDE_M / HIGH_M
