"""Faults put into takes at known ranges."""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tests.quality.made_takes import LINES, Fault, MadeTake, Shown, eased, exposure_of_codes, ramp

Floats = NDArray[np.float32]
MAINS_HZ = (50, 60)
CLIPPED, BLOCKED = 0.15, 0.35
"""How much more of the picture an exposure that failed loses."""
LEAP = 5.0
"""Code values (of 255) from picture to picture, in the place where they differ most, from which movement is
seen to stop or to leap: two percent of full scale."""
SWING = 0.015
"""Swing of code values from which flicker is seen beside a coder's own unrest; where light of the show
blinks, that is what is seen."""
KNOCK = {"tripod": 0.03, "handheld": 0.06, "roaming": 0.06}
"""Picture heights that a knock moves the picture at first to be seen in the camera's own unrest: that of a
camera in the hand has a standard deviation of 0.02."""
SHOW_LIGHTS = {"blink", "strobe", "spot"}


def _range(chance: np.random.Generator, take: MadeTake, least_s: float, most_s: float) -> tuple[float, float]:
    length_s = float(chance.uniform(least_s, most_s))
    start_s = float(chance.uniform(2.5, take.seconds - length_s - 2))
    return start_s, start_s + length_s


def black(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """Nothing: a cap on the lens, with the sensor's noise, or no signal at all."""
    start_s, end_s = _range(chance, take, 0.8, 4)
    floor = float(chance.choice([0.0, 1.5]))

    def paint(clip_s: float, seen: Floats) -> Floats:
        return np.full_like(seen, floor) if start_s <= clip_s < end_s else seen

    take.paints.append(paint)

    def move(clip_s: float, state: Shown) -> None:
        if start_s <= clip_s < end_s:
            state.noise = floor

    take.moves.append(move)
    take.faults.append(Fault("black", start_s, end_s))


def frozen(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """The picture stays for a while, and then the world has gone on.

    Beneath sight where it has gone on by less than `LEAP` anywhere: nothing moved that could stop.
    """
    start_s, end_s = _range(chance, take, 0.5, 3)
    first, last = round(start_s * take.rate), round(end_s * take.rate)
    take.same_as.update(dict.fromkeys(range(first + 1, last), first))
    in_sight = _apart(take, first, last) >= LEAP
    take.faults.append(Fault("frozen", float(first / take.rate), float(last / take.rate), in_sight))


def _apart(take: MadeTake, number: int, other: int) -> float:
    """Code values between two frames, in the block of 16 x 16 pixels where it is most."""
    apart = (take.frame(other).astype(float) - take.frame(number)).mean(axis=2)
    return float(np.abs(apart.reshape(LINES // 16, 16, -1, 16).mean(axis=(1, 3))).max())


def repeats(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """Single frames are the one before again.

    Beneath sight where frames are less than `LEAP` apart.
    """
    start_s, end_s = _range(chance, take, 0.4, 1.5)
    frames = np.arange(round(start_s * take.rate), round(end_s * take.rate))
    chosen = np.sort(chance.choice(frames[::3], int(chance.integers(2, 5)), replace=False))
    steps = [_apart(take, int(one) - 1, int(one) + 1) / 2 for one in chosen]
    take.same_as.update({int(one): int(one) - 1 for one in chosen})
    start_s, end_s = float((chosen[0] - 1) / take.rate), float((chosen[-1] + 1) / take.rate)
    take.faults.append(Fault("repeats", start_s, end_s, float(np.median(steps)) >= LEAP))


def over(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """The iris is opened too far, for a while or for the whole take."""
    _exposure(chance, take, "over", 0.25)


def under(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """Too dark, for a while or for the whole take."""
    _exposure(chance, take, "under", -0.25)


def _exposure(chance: np.random.Generator, take: MadeTake, kind: str, step: float) -> None:
    start_s, end_s = (0.0, take.seconds) if chance.random() < 0.35 else _range(chance, take, 2, 6)
    slope = chance.uniform(0.05, 0.4)
    stops, pushed = 0.0, [0.0]

    def paint(clip_s: float, seen: Floats) -> Floats:
        """All light that comes in is changed: a white wall, haze and lamps, too."""
        off = pushed[0] * (1.0 if start_s == 0 else ramp(clip_s, start_s, end_s, slope))
        if not off:
            return seen
        return exposure_of_codes(round(off * 50) / 50)[np.clip(seen + 0.5, 0, 255).astype(np.uint8)]

    take.paints.append(paint)
    middle = round((start_s + end_s) / 2 * take.rate)

    def lost() -> float:
        seen = take.frame(middle)
        if step > 0:
            return float(((seen >= 250).sum(axis=2) >= 2).mean())
        return float((seen.mean(axis=2) <= 5).mean())

    usual = lost()
    while abs(stops) < 7 and lost() < usual + (CLIPPED if step > 0 else BLOCKED):
        stops += step
        pushed[0] = stops
    # Between flashes the picture is well exposed.
    in_sight = not {"blink", "strobe"} & set(take.good)
    take.faults.append(Fault(kind, start_s, end_s, in_sight))


def soft(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """Focus lost for a while, or not found in the whole take."""
    start_s, end_s = (0.0, take.seconds) if chance.random() < 0.3 else _range(chance, take, 2, 6)
    blur, slope = chance.uniform(0.012, 0.022), chance.uniform(0.1, 0.5)

    def move(clip_s: float, state: Shown) -> None:
        state.blur += blur * (1.0 if start_s == 0 else ramp(clip_s, start_s, end_s, slope))

    take.moves.append(move)
    take.faults.append(Fault("soft", start_s, end_s))


def bump(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """Somebody knocks against the camera."""
    at_s = float(chance.uniform(3, take.seconds - 2.5))
    size = chance.uniform(0.02, 0.07) * (1 if hold == "tripod" else 2)
    hertz, decay = chance.uniform(3, 7), chance.uniform(0.1, 0.3)
    turn, roll = chance.uniform(0, 2 * math.pi), chance.normal(0, 20)

    def move(clip_s: float, state: Shown) -> None:
        after = clip_s - at_s
        if after > 0:
            swing = size * math.exp(-after / decay) * math.sin(2 * math.pi * hertz * after)
            state.right += swing * math.cos(turn)
            state.down += swing * math.sin(turn)
            state.roll += roll * swing

    take.moves.append(move)
    in_sight = size >= KNOCK[hold] and "strobe" not in take.good
    take.faults.append(Fault("bump", at_s, at_s + 2 * decay, in_sight))


def lowered(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """The camera is lowered before the cut, or raised after the start."""
    way, took = chance.uniform(0.7, 1.3), chance.uniform(0.6, 1.4)
    ending = chance.random() < 0.6
    start_s = take.seconds - took - chance.uniform(0, 0.3) if ending else chance.uniform(0, 0.5)

    def move(clip_s: float, state: Shown) -> None:
        part = (clip_s - start_s) / took
        state.down += way * (eased(part) if ending else 1 - eased(part))

    take.moves.append(move)
    take.faults.append(
        Fault("lowered", start_s, take.seconds) if ending else Fault("lowered", 0.0, start_s + took)
    )


def flicker(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """Mains light and an exposure that is not a whole number of its periods."""
    rate = float(take.rate)
    choices = [
        (mains, shutter_s)
        for mains in MAINS_HZ
        for shutter_s in (0.5 / rate, 0.48 / rate, 1 / 125, 1 / 250)
        if abs(2 * mains - round(2 * mains / rate) * rate) > 1
        and abs(np.sinc(2 * mains * shutter_s)) > 0.08
        and shutter_s < 1 / rate
    ]
    mains, shutter_s = choices[int(chance.integers(len(choices)))]
    left = float(np.sinc(2 * mains * shutter_s))
    swing = float(chance.uniform(0.02, 0.15))  # of the light, after the shutter
    readout_s = chance.uniform(0.003, 0.028)
    start_s, end_s = (0.0, take.seconds) if chance.random() < 0.6 else _range(chance, take, 5, 8)
    rows_s = readout_s * np.arange(LINES) / LINES
    phase = chance.uniform(0, 2 * math.pi) + (math.pi if left < 0 else 0)

    def paint(clip_s: float, seen: Floats) -> Floats:
        if not start_s <= clip_s < end_s:
            return seen
        light = 1 + swing * np.cos(2 * math.pi * 2 * mains * (clip_s + rows_s) + phase)
        gain = (light**0.45)[:, None, None]  # ITU-R BT.709-6: code values go as light to 0.45
        return np.asarray(seen * gain, np.float32)

    take.paints.append(paint)
    in_sight = 0.45 * swing >= SWING and not SHOW_LIGHTS & set(take.good)
    take.faults.append(Fault("flicker", start_s, end_s, in_sight))


def dropped(chance: np.random.Generator, take: MadeTake, hold: str) -> None:
    """Frames are missing, and their time stamps."""
    count = round(take.seconds * take.rate)
    first = int(chance.integers(count // 5, count * 4 // 5))
    number = int(chance.integers(1, 7))
    take.missing.update(range(first, first + number))
    take.faults.append(Fault("dropped", float(first / take.rate), float((first + number) / take.rate)))


FAULTS: dict[str, Callable[[np.random.Generator, MadeTake, str], None]] = {
    one.__name__: one for one in (black, frozen, repeats, over, under, soft, bump, lowered, flicker, dropped)
}
"""By name."""
