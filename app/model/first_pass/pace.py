"""How long shots are to be in each section: by the song's energy, by a chosen pace, or in bars."""

import math

from app.model.document.song import Song
from app.model.first_pass.rules import PACES, Rules, bar_range
from app.model.song_map.bar_spans import bar_spans, bars_of_sections, song_sections
from app.model.song_map.levels import mean_level

SECONDS = {"slow": (5.0, 10.0), "medium": (3.0, 6.5), "fast": (1.8, 4.0)}
"""The shortest and the longest shot of a pace (s), made into whole bars; chosen by eye."""
NEARLY = 0.25
"""Whole bars that are shorter by less than so much of a bar count as long enough."""
SAME_DB = 2.0
"""Where no two sections differ by more, loudness says nothing of pace."""
AS_LOUD_DB, QUIET_DB = 1.0, 5.0
"""A section this near the loudest is as loud; one further below it is quiet. A step of 1 dB is about the
least that a listener hears; 5 dB are plainly heard (common practice)."""


def shot_bars(song: Song, rules: Rules) -> tuple[tuple[int, int], ...]:
    """For each section the shortest and the longest shot in bars."""
    sections = song_sections(song)
    bars = bar_spans(song)
    energies = energy_paces(song)
    found = []
    for section, energy, own in zip(sections, energies, bars_of_sections(sections, bars), strict=True):
        pace = rules.pace(section.letter)
        told = bar_range(pace)
        if told is None:
            low_s, high_s = SECONDS[energy if pace == PACES[0] else pace]
            length_s = sum(bars[n].end_s - bars[n].start_s for n in own) / len(own) if own else 2.0
            length_s = max(length_s, 0.1)
            low = max(1, math.ceil(low_s / length_s - NEARLY))
            told = low, max(low, round(high_s / length_s))
        found.append(told)
    return tuple(found)


def energy_paces(song: Song) -> tuple[str, ...]:
    """For each section the pace that its loudness asks for, against the other sections of the song.

    As loud as the loudest section is fast, much quieter is slow, what lies between is medium. All are medium
    where nobody knows how loud they are, or where they are about as loud.
    """
    sections = song_sections(song)
    levels = [mean_level(song.map, one.start_s, one.end_s) for one in sections]
    known = [level for level in levels if level is not None]
    if not known or max(known) - min(known) < SAME_DB:
        return ("medium",) * len(sections)
    loudest = max(known)
    return tuple(
        "medium"
        if level is None
        else "fast"
        if level > loudest - AS_LOUD_DB
        else "slow"
        if level < loudest - QUIET_DB
        else "medium"
        for level in levels
    )
