"""What good takes hold that could pass for a fault: night, haze, snow, pans, lights of a show, passers-by."""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

from tests.quality.made_takes import ACROSS, LINES, MadeTake, Shown, eased, ramp

Floats = NDArray[np.float32]
_Y, _X = np.mgrid[0:LINES, 0:ACROSS].astype(np.float32) / LINES


def _begin(chance: np.random.Generator, take: MadeTake, length_s: float) -> float:
    return float(chance.uniform(1, max(1.5, take.seconds - length_s - 1)))


def night(chance: np.random.Generator, take: MadeTake) -> None:
    """Dark, with strong grain; a lamp somewhere."""
    stops, noise = chance.uniform(-3, -1.5), chance.uniform(3, 6)
    x, y, size = chance.uniform(0.2, 1.5), chance.uniform(0.1, 0.6), chance.uniform(0.03, 0.1)
    lamp = 230 * np.exp(-((_X - x) ** 2 + (_Y - y) ** 2) / (2 * size**2))[..., None]

    def move(clip_s: float, state: Shown) -> None:
        state.stops += stops
        state.noise = noise

    take.moves.append(move)
    take.paints.append(lambda clip_s, seen: np.maximum(seen, lamp))


def haze(chance: np.random.Generator, take: MadeTake) -> None:
    """Smoke that drifts: low contrast, lifted blacks, thicker and thinner."""
    thick, phase = chance.uniform(0.4, 0.75), chance.uniform(0, 6.28)

    def paint(clip_s: float, seen: Floats) -> Floats:
        cloud = thick + 0.12 * np.sin(2.5 * _X + 0.5 * clip_s + phase) * np.sin(3 * _Y - 0.3 * clip_s)
        return np.asarray(seen + (150 - seen) * cloud[..., None], np.float32)

    take.paints.append(paint)


def snow(chance: np.random.Generator, take: MadeTake) -> None:
    """A background of clipped white, over much of the picture."""
    edge = chance.uniform(0.3, 0.65)
    white = np.clip((edge - _Y + 0.05 * np.sin(6 * _X)) * 12, 0, 1)[..., None]
    take.paints.append(lambda clip_s, seen: np.asarray(seen + (268 - seen) * white, np.float32))


def footsteps(chance: np.random.Generator, take: MadeTake) -> None:
    """A camera that is carried while somebody walks."""
    hertz, size = chance.uniform(1.5, 2.1), chance.uniform(0.006, 0.015)

    def move(clip_s: float, state: Shown) -> None:
        state.down += size * abs(math.sin(math.pi * hertz * clip_s))
        state.right += 0.7 * size * math.sin(math.pi * hertz * clip_s) + 0.04 * clip_s

    take.moves.append(move)


def pan(chance: np.random.Generator, take: MadeTake) -> None:
    """A fast pan, with the blur of it."""
    _pan(chance, take, chance.uniform(0.6, 1.5), chance.uniform(0.9, 2.5), 0.0)


def whip(chance: np.random.Generator, take: MadeTake) -> None:
    """A whip pan to another player, and on some occasions back."""
    way, took = chance.uniform(0.8, 2.2), chance.uniform(0.2, 0.45)
    start_s = _pan(chance, take, way, took, 0.0)
    if chance.random() < 0.5:
        _pan(chance, take, way, took, start_s + chance.uniform(1.0, 3.0), back=True)


def tilt(chance: np.random.Generator, take: MadeTake) -> None:
    """From the face to the hands and back, in a second or two."""
    way, took = chance.uniform(0.2, 0.45), chance.uniform(0.8, 2.0)
    start_s = _begin(chance, take, 4)
    stay_s = chance.uniform(1, 3)

    def move(clip_s: float, state: Shown) -> None:
        state.down += way * (
            eased((clip_s - start_s) / took) - eased((clip_s - start_s - took - stay_s) / took)
        )

    take.moves.append(move)


def _pan(
    chance: np.random.Generator,
    take: MadeTake,
    way: float,
    took: float,
    start_s: float,
    *,
    back: bool = False,
) -> float:
    start_s = start_s or _begin(chance, take, took)
    signed = way * (-1 if back else 1)
    shutter_s = 0.5 / float(take.rate)

    def move(clip_s: float, state: Shown) -> None:
        part = (clip_s - start_s) / took
        state.right += signed * eased(part)
        if 0 < part < 1:
            state.smear += abs(signed) * 6 * part * (1 - part) / took * shutter_s

    take.moves.append(move)
    return start_s


def rack(chance: np.random.Generator, take: MadeTake) -> None:
    """Focus goes from one player to another: one half is sharp, then the other."""
    at_s, took, blur = _begin(chance, take, 2), chance.uniform(0.3, 0.9), chance.uniform(0.008, 0.018)
    edge = chance.uniform(0.6, 1.2)
    left = np.clip((edge - _X) * 8 + 0.5, 0, 1)[..., None].astype(np.float32)
    back_s = at_s + chance.uniform(2, 5) if chance.random() < 0.5 else 1e9

    def paint(clip_s: float, seen: Floats) -> Floats:
        part = eased((clip_s - at_s) / took) - eased((clip_s - back_s) / took)
        return (
            seen
            + (_blurred(seen, blur * part) - seen) * left
            + (_blurred(seen, blur * (1 - part)) - seen) * (1 - left)
        )

    take.paints.append(paint)


def shallow(chance: np.random.Generator, take: MadeTake) -> None:
    """A detail with little depth of field: a small part is sharp."""
    x, y, size = chance.uniform(0.5, 1.3), chance.uniform(0.3, 0.7), chance.uniform(0.12, 0.25)
    blur = chance.uniform(0.01, 0.02)
    sharp = np.exp(-((((_X - x) ** 2 + (_Y - y) ** 2) / (2 * size**2)) ** 2))[..., None].astype(np.float32)

    def paint(clip_s: float, seen: Floats) -> Floats:
        soft = _blurred(seen, blur)
        return np.asarray(soft + (seen - soft) * sharp, np.float32)

    take.paints.append(paint)


def _blurred(seen: Floats, sigma: float) -> Floats:
    if sigma * LINES < 0.3:
        return seen
    image = Image.fromarray(np.clip(seen + 0.5, 0, 255).astype(np.uint8))
    return np.asarray(image.filter(ImageFilter.GaussianBlur(sigma * LINES)), np.float32)


def blink(chance: np.random.Generator, take: MadeTake) -> None:
    """Light that blinks with the music: a flash on every beat or half that fades."""
    hertz = chance.uniform(1.2, 2.6) * chance.choice([1, 2])
    depth, fade = chance.uniform(0.6, 2.5), chance.uniform(2, 8)

    def move(clip_s: float, state: Shown) -> None:
        state.stops += depth * (math.exp(-fade * (clip_s * hertz % 1)) - 0.5)

    take.moves.append(move)


def strobe(chance: np.random.Generator, take: MadeTake) -> None:
    """A stage in the dark and full light in turns, for some seconds."""
    hertz, start_s = chance.uniform(2, 9), _begin(chance, take, 5)
    end_s, share = start_s + chance.uniform(2, 5), chance.uniform(0.3, 0.7)

    def move(clip_s: float, state: Shown) -> None:
        if start_s < clip_s < end_s and clip_s * hertz % 1 > share:
            state.stops -= 4

    take.moves.append(move)


def spot(chance: np.random.Generator, take: MadeTake) -> None:
    """A coloured lamp swings over a part of the picture in time with the music."""
    hertz, depth = chance.uniform(0.3, 5), chance.uniform(0.2, 0.8)
    place, size = chance.uniform(0.3, 1.5), chance.uniform(0.2, 0.5)
    colour = chance.uniform(0.3, 1, 3).astype(np.float32)

    def paint(clip_s: float, seen: Floats) -> Floats:
        x = place + 0.3 * math.sin(2 * math.pi * 0.2 * clip_s)
        lamp = np.exp(-((_X - x) ** 2) / (2 * size**2)) * (0.5 + 0.5 * math.sin(2 * math.pi * hertz * clip_s))
        return np.asarray(seen * (1 + depth * lamp[..., None] * colour), np.float32)

    take.paints.append(paint)


def walk(chance: np.random.Generator, take: MadeTake) -> None:
    """Somebody walks past, near the lens: dark, light or patterned."""
    start_s, took = _begin(chance, take, 2), chance.uniform(0.5, 1.8)
    wide, grey = chance.uniform(0.3, 0.9), chance.uniform(5, 240)
    pattern = chance.normal(0, 25, (12, 8)).astype(np.float32)
    coat = np.asarray(Image.fromarray(pattern).resize((ACROSS, LINES), Image.Resampling.BICUBIC), np.float32)[
        ..., None
    ]
    sign = chance.choice([-1, 1])

    def paint(clip_s: float, seen: Floats) -> Floats:
        part = (clip_s - start_s) / took
        if not 0 < part < 1:
            return seen
        centre = ACROSS / LINES / 2 + sign * (part - 0.5) * (ACROSS / LINES + 2 * wide)
        body = np.clip((wide / 2 - np.abs(_X - centre) - 0.08 * (_Y - 0.5) ** 2) * 20, 0, 1)[..., None]
        moved = np.roll(coat, round((centre * LINES) % ACROSS), axis=1)
        return np.asarray(seen + (grey + moved - seen) * body, np.float32)

    take.paints.append(paint)


def grain(chance: np.random.Generator, take: MadeTake) -> None:
    """Strong grain."""
    size = chance.uniform(6, 14)

    def move(clip_s: float, state: Shown) -> None:
        state.noise = size

    take.moves.append(move)


def still(chance: np.random.Generator, take: MadeTake) -> None:
    """Nobody moves for a second or more; all stop and start at once."""
    start_s = _begin(chance, take, 4)
    stay_s = chance.uniform(1, 4)

    def move(clip_s: float, state: Shown) -> None:
        state.players_s -= min(max(clip_s - start_s, 0), stay_s)

    take.moves.append(move)


def board(chance: np.random.Generator, take: MadeTake) -> None:
    """A title board before the lens at the start, taken away at once; nothing moves meanwhile."""
    until_s, took = chance.uniform(1.5, 4), chance.uniform(0.2, 0.6)
    image = Image.new("RGB", (ACROSS, LINES), tuple(int(one) for one in chance.uniform(10, 235, 3)))
    pen = ImageDraw.Draw(image)
    for line in range(4):
        y = 15 + 30 * line
        for mark in range(int(chance.integers(4, 14))):
            x = 20 + 15 * mark
            pen.rectangle((x, y, x + 4 + int(chance.integers(0, 8)), y + 15), fill=(245, 245, 240))
    title = np.asarray(image, np.float32)

    def paint(clip_s: float, seen: Floats) -> Floats:
        part = (clip_s - until_s) / took
        if part >= 1:
            return seen
        down = round(eased(part) * LINES)
        if down == 0:
            return title
        return np.concatenate((seen[:down], title[: LINES - down]))

    take.paints.append(paint)


def zoom(chance: np.random.Generator, take: MadeTake) -> None:
    """A zoom in or out."""
    start_s, took = _begin(chance, take, 3), chance.uniform(0.4, 4)
    times = chance.choice([-1, 1]) * chance.uniform(0.3, 0.8)

    def move(clip_s: float, state: Shown) -> None:
        state.zoom *= 2 ** (times * eased((clip_s - start_s) / took))

    take.moves.append(move)


def dim(chance: np.random.Generator, take: MadeTake) -> None:
    """The light goes down for a verse, and up again."""
    start_s = _begin(chance, take, 6)
    end_s, slope, stops = start_s + chance.uniform(3, 8), chance.uniform(0.3, 2), chance.uniform(0.7, 2)

    def move(clip_s: float, state: Shown) -> None:
        state.stops -= stops * ramp(clip_s, start_s, end_s, slope)

    take.moves.append(move)


GOOD: dict[str, Callable[[np.random.Generator, MadeTake], None]] = {
    one.__name__: one
    for one in (
        *(night, haze, snow, footsteps, pan, whip, tilt, rack, shallow, blink, strobe, spot, walk, grain),
        *(still, board, zoom, dim),
    )
}
"""By name."""
