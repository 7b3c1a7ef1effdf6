"""Who is heard in front: whoever sings where words are sung, whoever a section is named after."""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from app.model.coverage.time_spans import Spans, common, length, union
from app.model.document.angle import Angle
from app.model.document.song import Section, Song
from app.model.first_pass.cut_points import Grid
from app.model.first_pass.wide_or_detail import angle_words
from app.model.song_map.bar_spans import song_sections

VOICE_WORDS = frozenset(("voice", "voices", "vocal", "vocals", "singer", "singers"))
SUNG = 0.25
"""A stretch of which so much is sung counts as sung: singers breathe between lines."""
LINE_S = 4.0
"""A line of which nobody said when it ends lasts so long, or until the next one begins (s)."""


def sung_spans(song: Song) -> Spans:
    """When words are sung, as far as the lyrics tell; where lines have no time, in all of their section."""
    timed = [one for one in song.lyrics if one.start_s is not None]
    starts = [one.start_s for one in timed if one.start_s is not None]
    nexts = [later for _, later in pairwise((*starts, song.duration_s))]
    spans = [
        (start_s, min(start_s + LINE_S, next_s) if line.end_s is None else line.end_s)
        for line, start_s, next_s in zip(timed, starts, nexts, strict=True)
    ]
    told = {one.section_id for one in song.lyrics if one.start_s is None}
    spans += [(one.start_s, one.end_s) for one in song_sections(song) if one.id in told]
    return union(spans)


def is_solo(section: Section) -> bool:
    """Whether a section is named as a solo: who the plan asks for there is heard in front."""
    return "solo" in section.name.casefold().split()


def heard_in_front(song: Song, grid: Grid, angles: Sequence[Angle]) -> Mapping[int, frozenset[int]]:
    """For each stretch in which somebody is heard in front the indices of the angles that show them."""
    words = [angle_words(angle) for angle in angles]
    singing = frozenset(n for n, own in enumerate(words) if not own.isdisjoint(VOICE_WORDS))
    sung = sung_spans(song)
    named = []
    for section in song_sections(song):
        own = {word for word in section.name.casefold().split() if not word.isdecimal()}
        named.append(frozenset(n for n, one in enumerate(words) if not own.isdisjoint(one)))
    found = {}
    for n, (one, later) in enumerate(pairwise(grid.points)):
        span = one.song_s, later.song_s
        at = grid.sections[n]
        shown = named[at] if at < len(named) else frozenset()
        if singing and length(common(sung, (span,))) >= SUNG * (span[1] - span[0]):
            shown |= singing
        if shown:
            found[n] = shown
    return found
