"""What a first pass is: shots from the song's start to its end, and what no rule could satisfy."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Json = dict[str, object]


@dataclass(frozen=True, slots=True)
class Shot:
    """One take, seen from one moment of the song to another."""

    song_start_s: float
    song_end_s: float
    first_bar: int
    """Number of the bar in which it begins; the lead-in belongs to bar 1."""
    last_bar: int
    """Number of the last bar of which it shows something; the tail belongs to the last bar."""
    take_id: str
    angle_id: str
    reason: str
    """Why, in words: ``need: accordion in C; keeper; 4 bars``."""
    others: tuple[str, ...] = ()
    """Ids of the other takes that can be used over all of it, the next best first."""


@dataclass(frozen=True, slots=True)
class Unsatisfied:
    """A passage in which something had to be left unsatisfied."""

    song_start_s: float
    song_end_s: float
    first_bar: int
    last_bar: int
    words: str
    gap: bool = False
    """Nothing at all can be used here, so that no shot stands here."""


@dataclass(frozen=True, slots=True)
class FirstPass:
    """A whole first pass; shots and gaps follow each other without a hole, from 0 to the song's end."""

    name: str
    """Of its version."""
    shots: tuple[Shot, ...]
    """In the song's order."""
    unsatisfied: tuple[Unsatisfied, ...]
    """In the song's order."""

    @property
    def gaps(self) -> tuple[Unsatisfied, ...]:
        """The passages without a picture."""
        return tuple(one for one in self.unsatisfied if one.gap)


def first_pass_told(result: FirstPass, angle_names: Mapping[str, str]) -> Json:
    """The first pass as JSON values, for the report. Seconds are floats on the song's clock::

    {"shots": [{"song_start_s": float, "song_end_s": float, "first_bar": int, "last_bar": int,
                "take": take id, "angle": name of its angle, "reason": str}, …],
     "unsatisfied": [{"song_start_s", "song_end_s", "first_bar", "last_bar"  (as above), "words": str,
                      "gap": bool                 (nothing can be used there: no picture)}, …]}
    """
    return {
        "shots": [
            {
                **_place(shot),
                "take": shot.take_id,
                "angle": angle_names.get(shot.angle_id, shot.angle_id),
                "reason": shot.reason,
            }
            for shot in result.shots
        ],
        "unsatisfied": _told(result.unsatisfied),
    }


def _told(unsatisfied: Sequence[Unsatisfied]) -> list[Json]:
    return [{**_place(one), "words": one.words, "gap": one.gap} for one in unsatisfied]


def _place(one: Shot | Unsatisfied) -> Json:
    return {
        "song_start_s": one.song_start_s,
        "song_end_s": one.song_end_s,
        "first_bar": one.first_bar,
        "last_bar": one.last_bar,
    }
