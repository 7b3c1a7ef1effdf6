"""The first pass: what a person fixes in it, and its versions, each of which can be solved again."""

from dataclasses import dataclass

from app.model.document.plan import Passage


@dataclass(frozen=True, slots=True)
class Lock:
    """In these bars this angle is seen, or one take of it, whatever the rules say."""

    id: str
    song_id: str
    passage: Passage
    angle_id: str
    clip_id: str = ""
    """Of that angle a take of this clip; empty where any take of it will do."""
    clip_s: float = 0.0
    """A moment of that take, in clip time: a clip may hold several."""


@dataclass(frozen=True, slots=True)
class Setting:
    """A rule that a person set, by its name; a rule that nobody set has its default."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class Version:
    """A first pass and its name: rules and seed give the same cut again from the same shoot."""

    id: str
    song_id: str
    name: str
    seed: int = 0
    settings: tuple[Setting, ...] = ()


@dataclass(frozen=True, slots=True)
class Cut:
    """All first passes of a shoot, and what is fixed in all of them."""

    locks: tuple[Lock, ...] = ()
    versions: tuple[Version, ...] = ()
