"""The string-out: the song section by section, each usable angle of a section after the other.

What it shows of a section is what can be used there (`app.model.coverage.usable`): a take broken by a fault
gives what lies before and after it, and a take in doubt gives nothing. Takes of one angle follow one another,
so that every angle comes once in a section.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.model.coverage.needs import NeedState, need_results
from app.model.coverage.passages import bars_words
from app.model.coverage.ranges import runs
from app.model.coverage.showing import ENOUGH
from app.model.coverage.subjects import shows
from app.model.coverage.time_spans import Span, Spans, common, length
from app.model.coverage.usable import UsableTake, usable_takes
from app.model.document.angle import Angle
from app.model.document.song import Section, Song
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.bar_spans import (
    BarSpan,
    bar_spans,
    bars_of_sections,
    section_words,
    song_sections,
)

LEAST_S = 1.0
"""Where no bar tells what is long enough: a shorter stretch is over before one has seen it (chosen by hand,
seconds)."""
NO_ANGLE = Angle(id="", name="No angle")
"""Of a clip whose angle is gone."""


class About(StrEnum):
    """What a string-out is about."""

    SECTION = "section"
    """Everything that can be used."""
    SUBJECT = "subject"
    """The angles that show one subject."""
    KEEPERS = "keepers"
    """What the maker marked to be used if possible."""
    NEEDS = "needs"
    """Everything that can be used where a need is not met."""


class Order(StrEnum):
    """Which angle of a section comes first; safeties are always last."""

    KEEPERS = "keepers"
    """Angles with a keeper there, then by the maker's rank."""
    RANK = "rank"
    """By the maker's rank, then those with a keeper."""
    SONG = "song"
    """As they begin in the song."""


@dataclass(frozen=True, slots=True)
class Place:
    """A stretch of the song in which angles are to be compared."""

    section: Section
    start_s: float
    end_s: float
    """Song time."""
    bars: tuple[BarSpan, ...]
    """Its bars; empty where none are known."""
    words: str
    """What it is called: ``B Chorus``, or ``B Chorus, bars 9–12``."""
    why: str = ""
    """The needs that it is about, in words."""


@dataclass(frozen=True, slots=True)
class Part:
    """One stretch that a string-out shows."""

    place: Place
    angle: Angle
    clip: Clip
    take: Take
    start_s: float
    end_s: float
    """Song time."""
    usable: Span
    """The whole stretch of the take around it that may be shown, in song time."""
    keeper_s: float
    """How much of it the maker wants used if possible, seconds."""


@dataclass(frozen=True, slots=True)
class StringOut:
    """All parts in the order in which they play."""

    parts: tuple[Part, ...]
    too_short: int
    """Usable stretches that show no bar of their section, and are left out."""


def string_out(shoot: SongView, about: About, subject: str, order: Order) -> StringOut:
    """What a string-out shows. ``subject`` counts for `About.SUBJECT` alone. Sound shows nothing."""
    if shoot.song is None:
        return StringOut((), 0)
    takes = [one for one in usable_takes(shoot) if not one.doubtful and one.clip.frame_rate is not None]
    angles = {angle.id: angle for angle in shoot.angles}
    parts: list[Part] = []
    too_short = 0
    for place in _places(shoot, shoot.song, about):
        blocks: dict[str, list[list[Part]]] = {}
        for one in takes:
            angle = angles.get(one.angle_id, NO_ANGLE)
            if about is About.SUBJECT and not shows(angle, subject):
                continue
            spans = one.keepers if about is About.KEEPERS else one.usable
            found, short = _parts(place, angle, one, spans, any_length=about is About.KEEPERS)
            too_short += short
            if found:
                blocks.setdefault(angle.id, []).append(found)
        parts += _in_order(blocks.values(), order, len(angles))
    return StringOut(tuple(parts), too_short)


def _places(shoot: SongView, song: Song, about: About) -> Iterable[Place]:
    """The sections, or the runs of bars in them that needs which are not met are about."""
    sections, spans = song_sections(song), bar_spans(song)
    known = bool(song.map.bars_s)
    wanted = _needed(shoot) if about is About.NEEDS else None
    for section, own in zip(sections, bars_of_sections(sections, spans), strict=True):
        if wanted is None:
            bars = tuple(spans[n] for n in own) if known else ()
            yield Place(section, section.start_s, section.end_s, bars, section_words(section))
            continue
        for first, last in runs([n for n in own if n in wanted]):
            bars = spans[first : last + 1]
            words = section_words(section)
            if known:
                words = f"{words}, {bars_words(bars[0].number, bars[-1].number)}"
            why = dict.fromkeys(subject for n in range(first, last + 1) for subject in wanted[n])
            yield Place(
                section,
                bars[0].start_s,
                bars[-1].end_s,
                bars if known else (),
                words,
                f"need not met: {', '.join(why)}",
            )


def _needed(shoot: SongView) -> dict[int, list[str]]:
    """Subjects by the indices of the bars in which a need asks for them and is not met."""
    found: dict[int, list[str]] = {}
    for result in need_results(shoot):
        for part in result.parts:
            if part.state is not NeedState.MET:
                for n in part.place.bars:
                    found.setdefault(n, []).append(result.need.subject)
    return found


def _parts(
    place: Place, angle: Angle, one: UsableTake, spans: Spans, *, any_length: bool
) -> tuple[list[Part], int]:
    """What a take shows of a place, and how many stretches are too short to be shown."""
    found, short = [], 0
    for span in spans:
        for start_s, end_s in common((span,), ((place.start_s, place.end_s),)):
            if not any_length and not _enough(span, (start_s, end_s), place.bars):
                short += 1
                continue
            keeper_s = length(common(one.keepers, ((start_s, end_s),)))
            usable = next(own for own in one.usable if own[0] <= span[0] and span[1] <= own[1])
            found.append(Part(place, angle, one.clip, one.take, start_s, end_s, usable, keeper_s))
    return found, short


def _enough(span: Span, shown: Span, bars: Sequence[BarSpan]) -> bool:
    """Whether a stretch shows a bar, by the measure of coverage; without bars, whether it is long enough."""
    if not bars:
        return shown[1] - shown[0] >= LEAST_S
    return any(
        min(span[1], bar.end_s) - max(span[0], bar.start_s) >= ENOUGH * (bar.end_s - bar.start_s) - 1e-9
        for bar in bars
    )


def _in_order(blocks: Iterable[list[list[Part]]], order: Order, angles: int) -> list[Part]:
    """The parts of a place: angle by angle, and of each take by take; what is alike stays in stave order."""

    def block_key(takes: list[list[Part]]) -> tuple[bool, float, float]:
        first = takes[0][0]
        keeper = not any(part.keeper_s for parts in takes for part in parts)
        rank = first.angle.rank or angles + 1
        if order is Order.SONG:
            return first.angle.safety, min(parts[0].start_s for parts in takes), 0
        return first.angle.safety, *((keeper, rank) if order is Order.KEEPERS else (rank, keeper))

    def take_key(parts: list[Part]) -> tuple[bool, float]:
        keeper = not any(part.keeper_s for part in parts)
        return order is not Order.SONG and keeper, parts[0].start_s

    return [
        part
        for takes in sorted(blocks, key=block_key)
        for parts in sorted(takes, key=take_key)
        for part in parts
    ]
