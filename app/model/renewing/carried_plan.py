"""Needs, set-ups and locks on the next master: sections by their ids, bars by their times."""

from collections.abc import Sequence
from dataclasses import replace

from app.model.document.plan import Passage
from app.model.document.song import Song
from app.model.renewing.through import Through
from app.model.song_map.bar_spans import BarSpan, bar_spans


def carried_passage(passage: Passage, old: Song, new: Song, through: Through) -> Passage | None:
    """A passage on the next master; None where nothing of it lives on.

    Bars are those that lie where the old ones lay, from the first that lives on to the last.
    """
    if passage.first_bar or passage.last_bar:
        first = passage.first_bar or 1
        last = passage.last_bar or first
        olds, news = [bar for bar in bar_spans(old) if first <= bar.number <= last], bar_spans(new)
        numbers = [number for bar in olds if (number := _bar_of(bar, news, through)) is not None]
        return replace(passage, first_bar=min(numbers), last_bar=max(numbers)) if numbers else None
    ids = {section.id for section in new.map.sections}
    if passage.section_id and passage.section_id not in ids:
        return None
    if passage.family and passage.family not in {section.family for section in new.map.sections}:
        return None
    return passage


def _bar_of(bar: BarSpan, bars: Sequence[BarSpan], through: Through) -> int | None:
    middle_s = through.moment((bar.start_s + bar.end_s) / 2)
    if middle_s is None:
        return None
    return next((one.number for one in bars if one.start_s <= middle_s < one.end_s), None)
