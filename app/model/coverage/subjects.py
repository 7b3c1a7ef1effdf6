"""Who or what an angle shows, as needs ask for it."""

from app.model.angles import same_name, tidy_name
from app.model.document.angle import Angle

ANY_ANGLE = "any angle"
"""A need for it is met by whatever shows the bar."""
SAFETY = "safety"
"""A need for it is met by angles that are kept as safeties."""
OFFERED = ("whole band", "voice", "drums", "bass", "guitar", "keys", "strings", "hands", "audience")
"""Subjects to choose from where nobody typed any yet."""


def shows(angle: Angle, subject: str) -> bool:
    """Whether an angle shows a subject.

    Where nobody said what it shows, the words of its name tell.

    >>> shows(Angle("angle-1", "Fiddle close"), "fiddle")
    True
    >>> shows(Angle("angle-1", "Stage left", subjects=("fiddle", "bass")), "Fiddle")
    True
    >>> shows(Angle("angle-1", "Wide", safety=True), "safety")
    True
    """
    if same_name(subject, ANY_ANGLE):
        return True
    if angle.safety and same_name(subject, SAFETY):
        return True
    if angle.subjects:
        return any(same_name(subject, own) for own in angle.subjects)
    named, asked = ([tidy_name(text).casefold() for text in one.split()] for one in (angle.name, subject))
    return bool(asked) and set(asked) <= set(named)


def shows_anything(subjects: tuple[str, ...]) -> bool:
    """Whether whatever is set up will do.

    >>> shows_anything(("any angle",)), shows_anything(("any angle", "fiddle")), shows_anything(())
    (True, False, False)
    """
    return bool(subjects) and all(same_name(subject, ANY_ANGLE) for subject in subjects)


def wanted_words(subject: str, least_angles: int) -> str:
    """A subject and how many angles must show it.

    >>> wanted_words("fiddle", 1), wanted_words("fiddle", 2), wanted_words("any angle", 2)
    ('fiddle', 'fiddle from 2 angles', 'any 2 angles')
    """
    if least_angles <= 1:
        return subject
    return (
        f"any {least_angles} angles"
        if same_name(subject, ANY_ANGLE)
        else f"{subject} from {least_angles} angles"
    )


def known_subjects(angles: tuple[Angle, ...], needed: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The subjects that needs and angles speak of, each once, needed ones first.

    >>> known_subjects((Angle("angle-1", "Fiddle"), Angle("angle-2", "Duo", subjects=("fiddle", "bass"))))
    ('Fiddle', 'bass')
    """
    found: list[str] = []
    of_angles = [subject for angle in angles for subject in angle.subjects or (angle.name,)]
    for subject in (*needed, *of_angles):
        if not any(same_name(subject, other) for other in found):
            found.append(subject)
    return tuple(found)
