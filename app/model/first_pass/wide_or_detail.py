"""How near an angle is, by what people call it: the whole band, one of them, or a detail."""

from app.model.angles import is_safety_name
from app.model.document.angle import Angle

WIDE_WORDS = frozenset(("wide", "band", "everybody", "everyone", "ensemble", "orchestra", "choir", "stage"))
_PARTS = ("hand", "hands", "finger", "fingers", "foot", "feet", "pedal", "pedals")
DETAIL_WORDS = frozenset((*_PARTS, "detail", "details", "insert", "inserts", "cutaway", "cutaways"))
SEVERAL = 3
"""An angle with so many subjects shows the band."""


def angle_words(angle: Angle) -> frozenset[str]:
    """All words of an angle's name and subjects, in small letters."""
    return frozenset(word for one in (angle.name, *angle.subjects) for word in one.casefold().split())


def is_detail(angle: Angle) -> bool:
    """Whether an angle shows a part of somebody, or a thing, which is seen at a glance.

    >>> is_detail(Angle("angle-1", "Fiddle hands")), is_detail(Angle("angle-2", "Fiddle close"))
    (True, False)
    """
    return not DETAIL_WORDS.isdisjoint(angle_words(angle))


def is_wide(angle: Angle) -> bool:
    """Whether an angle shows where everybody is.

    >>> is_wide(Angle("angle-1", "Roaming", subjects=("whole band",))), is_wide(Angle("angle-2", "Fiddle"))
    (True, False)
    >>> is_wide(Angle("angle-1", "Left", subjects=("fiddle", "bass", "drums")))
    True
    """
    if is_detail(angle):
        return False
    several = len(set(angle.subjects)) >= SEVERAL
    named = is_safety_name(angle.name) or not WIDE_WORDS.isdisjoint(angle_words(angle))
    return angle.safety or several or named
