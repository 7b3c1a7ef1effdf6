"""What the side panel of the score says of a bar or of a range of bars."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.model.coverage.coverage import SectionCoverage
from app.model.coverage.ranges import TakeOnRange, range_coverage, runs
from app.model.coverage.thinness import KINDS, NOT_NAMED
from app.model.document.angle import Angle
from app.model.on_song import SongView
from app.window.parts import words
from app.window.score.bar_facts import BarFacts


@dataclass(frozen=True, slots=True)
class Entry:
    """An angle and a line of small print about it."""

    angle: Angle
    line: str


@dataclass(frozen=True, slots=True)
class PanelText:
    """A heading, a sentence, and entries under small headings."""

    title: str
    place: str
    sentence: str
    thin: bool
    groups: tuple[tuple[str, tuple[Entry, ...]], ...]

    @property
    def plain(self) -> str:
        """All of it as plain text, for screen readers."""
        lines = [f"{entry.angle.name}: {entry.line}" for _, entries in self.groups for entry in entries]
        return "\n".join([self.title, self.sentence, *lines])


DOUBTFUL = "In doubt, not counted"


def bar_text(facts: BarFacts) -> PanelText:
    """What is said of one bar."""
    groups = (
        ("", facts.showing),
        (DOUBTFUL, facts.doubtful),
        ("Part of this bar only", facts.partly),
        ("Sound only, not counted", facts.sound),
        ("Nearest other takes", facts.near),
    )
    return PanelText(
        facts.place.partition(" · ")[0] if facts.whole else f"Bar {facts.number}",
        facts.place,
        facts.sentence,
        facts.thin,
        tuple(
            (heading, tuple(Entry(e.angle, e.line) for e in entries))
            for heading, entries in groups
            if entries
        ),
    )


def range_text(
    shoot: SongView, sections: Sequence[SectionCoverage], first: int, last: int
) -> PanelText | None:
    """What is said of a range of bars; None where the song has no such bars."""
    found = range_coverage(shoot, sections, first, last)
    if found is None or shoot.song is None:
        return None
    noun = "bar" if shoot.song.map.bars_s else "section"
    angles = {angle.id: angle for angle in shoot.angles}
    takes = {take.id: (clip, take) for clip in shoot.clips for take in clip.takes}
    count = found.last - found.first + 1

    def entry(take_id: str, line: str) -> Entry | None:
        clip, take = takes[take_id]
        if clip.angle_id not in angles:
            return None
        parts = [words.take_name(clip, take), *([line] if line else []), words.take_state(take)]
        return Entry(angles[clip.angle_id], " · ".join(parts))

    def part(one: TakeOnRange) -> str:
        return f"{_numbers(one.bars, noun)}, {len(one.bars)} of {count}"

    wholly = [entry(one.take_id, "") for one in found.takes if one.wholly]
    partly = [entry(one.take_id, part(one)) for one in found.takes if not one.wholly]
    doubtful = [entry(take_id, "") for take_id in found.doubtful]
    groups = (("All of it, in one take", wholly), ("Part of it", partly), (DOUBTFUL, doubtful))
    if found.least == found.most:
        sentences = [f"{words.count(found.most, 'take')} in every {noun}."]
    else:
        sentences = [f"{found.least} to {words.count(found.most, 'take')} per {noun}."]
    sentences += [
        f"{_numbers(numbers, noun).capitalize()}: {KINDS[thin].place('')}."
        for thin, numbers in found.thin.items()
    ]
    if found.not_named:
        sentences.append(f"{_numbers(found.not_named, noun).capitalize()}: {NOT_NAMED}.")
    whole = len(found.whole_angles)
    sentences.append(
        f"{words.count(whole, 'angle covers', 'angles cover')} all of it in one take."
        if whole
        else "No single take covers all of it."
    )
    start, end = words.song_time(found.start_s, 1), words.song_time(found.end_s, 1)
    length = words.song_time(found.end_s - found.start_s, 1)
    return PanelText(
        f"{noun.capitalize()}s {found.first}–{found.last}",
        f"{words.count(count, noun)} · {start}–{end} · {length} long",
        " ".join(sentences),
        bool(found.thin),
        tuple((heading, tuple(e for e in entries if e)) for heading, entries in groups if entries),
    )


def _numbers(numbers: Sequence[int], noun: str) -> str:
    """Bars in a few words.

    >>> _numbers((3, 4, 5, 9), "bar"), _numbers((7,), "bar")
    ('bars 3–5, 9', 'bar 7')
    """
    shown = ", ".join(str(a) if a == b else f"{a}–{b}" for a, b in runs(numbers))
    return f"{noun if len(numbers) == 1 else noun + 's'} {shown}"
