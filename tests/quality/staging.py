"""What kinds of clip are made of: whole takes, and usual conditions where something else counts."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.quality import damage
from tests.quality.band import drums
from tests.quality.scene import Scene
from tests.quality.songs import Song, SongKey

Builder = Callable[[Song, SongKey, str, np.random.Generator], Scene | None]
"""Song, its key, strength, chance; None where a song cannot have such a clip."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of clip: how it is made, in which strengths (the unit is the kind's own)."""

    build: Builder
    strengths: tuple[str, ...]
    must_doubt: bool = False
    """True where no method can tell the place, so that only a doubt is right."""
    may_refuse: bool = False
    """True where there is so little of the song in the clip that to find none is fair."""
    styles: tuple[str, ...] = ()
    """Composed songs of other styles have no such clip; none named: all may have."""
    rough_truth: bool = False
    """True where the truth itself is only good to milliseconds."""
    long: bool = False
    """True for clips so long that only a full run has them."""


def whole(song: Song, key: SongKey, rng: np.random.Generator, speed: float = 1.0, keeping: str = "") -> Scene:
    """The whole song in a clip, with seconds of nothing before and after."""
    before, after = rng.uniform(1, 6, 2)
    scene = Scene(song, key, before + song.seconds / speed + after, rng)
    scene.play(before, 0.0, np.inf, speed, keeping)
    return scene


def usual(scene: Scene) -> Scene:
    """The usual conditions where a kind is about something else: some room, noise, a little band."""
    scene.hear(scene.any_room())
    scene.add(damage.pink(len(scene.wave), scene.rng), -12)
    scene.add(drums(scene), -6)
    return scene


def begins(scene: Scene, seconds: float) -> float:
    """Some moment of the song from which so many seconds of it still run."""
    return float(scene.rng.uniform(1, max(1.1, scene.song.seconds - seconds - 3)))
