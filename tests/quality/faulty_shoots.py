"""Shoots at random for the board of faults: takes of one angle, with faults and with hard good footage."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

import numpy as np

from tests.quality.good_footage import GOOD
from tests.quality.made_takes import ACROSS, LINES, MARGIN, POSE_RATE, POSES, Bytes, MadeTake, Shown, held
from tests.quality.put_in_faults import FAULTS
from tests.quality.scenes import Take, pictures, random_camera, random_place

RATES = tuple(Fraction(one) for one in ("24000/1001", "24", "25", "30000/1001", "50", "60"))
RATE_ODDS = (0.22, 0.16, 0.26, 0.22, 0.08, 0.06)
TAKES = 4
FAULTY = 0.5
"""Share of takes with a fault."""


def random_takes(seed: int) -> list[MadeTake]:
    """Takes of one angle."""
    chance = np.random.default_rng([seed, 77])
    place = random_place(seed, "drawn" if chance.random() < 0.6 else "woven")
    framing = str(chance.choice(["close", "half", "wide"]))
    camera = random_camera(chance, place, framing)  # type: ignore[arg-type]
    camera = replace(
        camera,
        noise=0.0,
        wobble=0.0,
        width_m=camera.width_m * MARGIN,
        blur=camera.blur / MARGIN,
        vignette=0.0,
    )
    take = Take(place, camera, replace(place.light, mains_hz=0.0))
    hold = str(chance.choice(["tripod", "handheld", "roaming"], p=[0.5, 0.3, 0.2]))
    grade = float(chance.choice([1.0, 2.0, 3.5]))
    rate = RATES[int(chance.choice(len(RATES), p=RATE_ODDS))]
    poor = bool(chance.random() < 0.5)
    made = []
    poses = _poses_of(take)
    for _ in range(TAKES):
        seconds = float(chance.uniform(13, 19)) * (0.75 if rate > 40 else 1)
        made_take = MadeTake(rate, seconds, poor, poses, int(chance.integers(1 << 30)))
        held(chance, made_take, hold, grade)
        _touched(chance, made_take)
        for name in chance.choice(list(GOOD), int(chance.choice([0, 1, 2])), replace=False):
            made_take.good.append(str(name))
            GOOD[str(name)](chance, made_take)
        if chance.random() < FAULTY:
            FAULTS[str(chance.choice(list(FAULTS)))](chance, made_take, hold)
        made.append(made_take)
    return made


def _poses_of(take: Take) -> Callable[[], tuple[Bytes, ...]]:
    @lru_cache(maxsize=1)
    def poses() -> tuple[Bytes, ...]:
        high, wide = round(LINES * MARGIN), round(ACROSS * MARGIN)
        return tuple(pictures(take, POSES / POSE_RATE, POSE_RATE, high, wide))

    return poses


def _touched(chance: np.random.Generator, take: MadeTake) -> None:
    """Between takes the camera is touched, its exposure corrected, and players go on."""
    right, down = chance.normal(0, 0.01, 2)
    stops, players_s = chance.normal(0, 0.15), chance.uniform(0, 100)

    def move(clip_s: float, state: Shown) -> None:
        state.right += right
        state.down += down
        state.stops += stops
        state.players_s += players_s

    take.moves.append(move)
