"""What makes a bar thin, and how that is said: the one place where it is decided.

A kind of thinness is one entry of `KINDS`, the worst first; the first whose rule holds is the bar's. What
depends on which angles there are is not told of bars with an angle that nobody named yet.
"""

from collections.abc import Callable, Set
from dataclasses import dataclass
from enum import StrEnum


class Thin(StrEnum):
    """Why there is little to cut to in a bar."""

    NOTHING = "nothing"
    SAFETY_ONLY = "safety only"
    ONE_ANGLE = "one angle"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of thinness: when a bar is of it, and the words for it."""

    holds: Callable[[Set[str], Set[str]], bool]
    """Given the ids of the angles that show the bar, and of all safeties."""
    place: Callable[[str], str]
    """A thin place in a few words, given the name of the bar's first angle."""
    all_of_it: Callable[[str], str]
    """The same where the song has no bars, and others show some of the section."""
    sentence: Callable[[str, int], str]
    """The sentence about one bar, given what to call it and how many angles show it."""


KINDS = {
    Thin.NOTHING: Kind(
        holds=lambda angles, safeties: not angles,
        place=lambda name: "nothing",
        all_of_it=lambda name: "no take shows all of it",
        sentence=lambda what, angles: f"Nothing shows {what}.",
    ),
    Thin.SAFETY_ONLY: Kind(
        holds=lambda angles, safeties: angles <= safeties,
        place=lambda name: "safety only",
        all_of_it=lambda name: "safety only for all of it",
        sentence=lambda what, angles: (
            f"Only {'the safety shows' if angles == 1 else 'safeties show'} {what}."
        ),
    ),
    Thin.ONE_ANGLE: Kind(
        holds=lambda angles, safeties: len(angles) == 1,
        place=lambda name: f"one angle only ({name})" if name else "one angle only",
        all_of_it=lambda name: f"only {name} shows all of it",
        sentence=lambda what, angles: f"Only one angle shows {what}.",
    ),
}


NOT_NAMED = "angles not named yet"
"""What is said in the place of kinds of thinness that only named angles can have."""


def thinness(angles: Set[str], safeties: Set[str]) -> Thin | None:
    """The kind of thinness of a bar that these angles show; None where there is enough to cut to.

    >>> thinness({"wide"}, {"wide"}), thinness({"fiddle", "wide"}, {"wide"})
    (<Thin.SAFETY_ONLY: 'safety only'>, None)
    """
    return next((thin for thin, kind in KINDS.items() if kind.holds(angles, safeties)), None)
