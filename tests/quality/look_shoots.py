"""Shoots drawn at random of which it is known which clips are one set-up: what a looking engine sees of them.

A shoot is one place, some set-ups in it (tripod, handheld, roaming), takes of each over an hour, and now and
then a camera moved a bit or a tripod nudged, a neighbour that sees half the same, and all of it again
in other light.
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

import numpy as np
from PIL import Image

from tests.quality.scene_places import Bytes, Style
from tests.quality.scenes import (
    Framing,
    Hold,
    Take,
    exposed,
    later,
    moved,
    neighbour,
    nudged,
    picture,
    random_camera,
    random_place,
    relit,
)

Kind = Literal["tripod", "handheld", "roaming", "moved", "nudged", "relit", "neighbour", "other"]
T = TypeVar("T")
MOST = 14
"""Small pictures of a clip, at most: fewer than the engine keeps, so that many shoots can be drawn."""
LINES, COLUMNS = 72, 128


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """A clip and the truth of it."""

    thumbs: Bytes
    """Small pictures from first to last, shape (m, 72, 128, 3)."""
    set_up: int
    """Clips of one set-up share it. Other light, and a camera that was moved, make another set-up."""
    hold: Hold
    like: dict[int, Kind]
    """In what way other set-ups are near this one: moved, nudged, relit, neighbour."""


@dataclass(frozen=True, slots=True)
class SetUp:
    """A set-up and its takes."""

    takes: tuple[Take, ...]
    seconds: tuple[float, ...]
    like: dict[int, Kind]
    coded: int
    """Quality of coding, 0 for none."""


def kind_of(one: Shot, other: Shot) -> Kind:
    """What kind of pair two clips are: joined ones by how the camera is held, others by how they differ."""
    if one.set_up == other.set_up:
        return one.hold
    return one.like.get(other.set_up) or other.like.get(one.set_up) or "other"


def random_shoot(seed: int, style: Style) -> list[Shot]:
    """A shoot of some twenty clips."""
    return [shot for n, set_up in enumerate(random_set_ups(seed, style)) for shot in _shots(n, set_up)]


def random_set_ups(seed: int, style: Style) -> list[SetUp]:
    """The set-ups of a shoot, in no order."""
    chance = np.random.default_rng([seed, 77])
    place = random_place(seed, style)
    light = replace(place.light, drift_stops=chance.normal(0, 0.04), drift_warm=chance.normal(0, 0.02))
    firsts: list[tuple[Take, dict[int, Kind], int]] = []
    fixed_holds: tuple[Hold, ...] = ("tripod", "tripod", "tripod", "handheld", "handheld")
    holds: list[Hold] = [_one(chance, fixed_holds) for _ in range(int(chance.integers(3, 6)))]
    # Two operators walk about as often as one does, so that being on the way proves nothing.
    holds += ["roaming"] * int(chance.choice([0, 0, 0, 1, 2, 2]))
    for hold in holds:
        framing: Framing = _one(chance, ("close", "half", "half", "wide"))
        camera = random_camera(chance, place, framing, hold)
        firsts.append((Take(place, camera, light), {}, _coded(chance)))
    fixed = [n for n, (take, _, _) in enumerate(firsts) if take.camera.hold != "roaming"]
    if fixed and chance.random() < 0.6:
        n = _one(chance, tuple(fixed))
        take = firsts[n][0]
        firsts.append((replace(take, camera=moved(chance, take.camera)), {n: "moved"}, firsts[n][2]))
    if fixed and chance.random() < 0.6:
        n = _one(chance, tuple(fixed))
        take = firsts[n][0]
        firsts.append(
            (replace(take, camera=neighbour(chance, take.camera)), {n: "neighbour"}, _coded(chance))
        )
    if chance.random() < 0.4:  # the light is changed, and some cameras run on
        again = relit(chance, firsts[0][0])
        for n in range(min(2, len(firsts))):
            take = replace(firsts[n][0], light=again.light)
            take = replace(take, camera=exposed(take, chance.normal(0, 0.3)))
            firsts.append((take, {n: "relit"}, firsts[n][2]))
    # By chance of its own, so that all the rest of a shoot is what it is without.
    apart = np.random.default_rng([seed, 78])
    stood = [n for n in fixed if firsts[n][0].camera.hold == "tripod"]
    if stood and apart.random() < 0.5:
        n = _one(apart, tuple(stood))
        take = firsts[n][0]
        bumped = replace(take, camera=nudged(apart, take.camera))
        firsts.append((bumped, {n: "nudged"}, firsts[n][2]))
    found = []
    for first, like, coded in firsts:
        takes = []
        for start_s in np.sort(chance.uniform(0, 3600, int(chance.integers(2, 4)))):
            take = later(chance, replace(first, start_s=0.0), float(start_s))
            if chance.random() < 0.15:
                take = replace(take, away=frozenset([int(chance.integers(len(take.shifted)))]))
            takes.append(take)
        seconds = tuple(float(v) for v in np.exp(chance.uniform(np.log(3), np.log(240), len(takes))))
        found.append(SetUp(tuple(takes), seconds, like, coded))
    return found


def thumbs_of(take: Take, seconds: float, coded: int = 0) -> Bytes:
    """Small pictures of a take, as the engine would keep them; ``coded``: quality of coding, 0 for none."""
    count = int(np.clip(seconds / 2, 1, MOST))
    return np.stack([_small(take, float(at), coded) for at in np.arange(count) * (seconds / count)])


def _shots(number: int, set_up: SetUp) -> Iterator[Shot]:
    for take, seconds in zip(set_up.takes, set_up.seconds, strict=True):
        yield Shot(thumbs_of(take, seconds, set_up.coded), number, take.camera.hold, set_up.like)


def _small(take: Take, clip_s: float, coded: int) -> Bytes:
    image = Image.fromarray(picture(take, clip_s, 2 * LINES, 2 * COLUMNS))
    if coded:
        kept = io.BytesIO()
        image.save(kept, "JPEG", quality=coded)
        image = Image.open(kept)
    return np.asarray(image.reduce(2))


def _coded(chance: np.random.Generator) -> int:
    return int(chance.integers(8, 40)) if chance.random() < 0.4 else 0


def _one(chance: np.random.Generator, of: tuple[T, ...]) -> T:
    return of[int(chance.integers(len(of)))]
