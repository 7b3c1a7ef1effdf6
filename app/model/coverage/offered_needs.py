"""Needs to begin a plan with, from the song's sections: the safety and one more angle for each."""

from app.model.coverage.subjects import ANY_ANGLE, SAFETY
from app.model.document.plan import Need, Passage
from app.model.document.song import Song


def offered_needs(song: Song) -> tuple[Need, ...]:
    """Every section by the safety and by one more angle; sections of one family in one need.

    Offered, never imposed: nothing here changes a plan.
    """
    passages: list[Passage] = []
    for section in song.map.sections:
        passage = Passage(family=section.family) if section.family else Passage(section_id=section.id)
        if passage not in passages:
            passages.append(passage)
    return tuple(
        Need("", song.id, passage, subject, least_angles=least)
        for passage in passages or [Passage()]
        for subject, least in ((SAFETY, 1), (ANY_ANGLE, 2))
    )
