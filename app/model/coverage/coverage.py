"""Which takes show which bar of the song, how many do, and where that is thin."""

from dataclasses import dataclass
from itertools import groupby

from app.model.coverage.passages import bars_words
from app.model.coverage.showing import counted_clips, covers, touched
from app.model.coverage.staves import stave_order
from app.model.coverage.thinness import KINDS, NOT_NAMED, Thin, thinness
from app.model.coverage.usable import UsableTake, usable_bars, usable_takes
from app.model.document.angle import Angle
from app.model.document.song import Section
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from app.model.song_map.bar_spans import BarSpan, bar_spans, bars_of_sections, song_sections


@dataclass(frozen=True, slots=True)
class BarCoverage:
    """Who shows one bar."""

    bar: BarSpan
    takes: tuple[str, ...]
    """Ids of the placed takes that cover the bar, in stave order."""
    doubtful: tuple[str, ...]
    """Ids of doubtful takes that would cover it; not counted."""
    usable: tuple[str, ...]
    """Ids of those among ``takes`` that can be used there: no fault, and a handle at either side."""
    angles: int
    """Distinct angles among the usable takes."""
    thin: Thin | None
    """Why there is little to cut to; None where there is enough, or where that cannot be told yet."""
    not_named: bool = False
    """It would be thin, but nobody named the angle that shows it yet."""

    @property
    def depth(self) -> int:
        """How many placed takes cover the bar, safeties included."""
        return len(self.takes)

    @property
    def usable_depth(self) -> int:
        """How many placed takes can be used in the bar, safeties included."""
        return len(self.usable)

    @property
    def safety_only(self) -> bool:
        """Something can be used in the bar, and all of it is safety."""
        return self.thin is Thin.SAFETY_ONLY


@dataclass(frozen=True, slots=True)
class ThinPlace:
    """Neighbouring bars of one section with little or nothing to cut to."""

    first_bar: int
    last_bar: int
    kind: Thin
    words: str


@dataclass(frozen=True, slots=True)
class SectionCoverage:
    """The bars of one section and its thin places, in the song's order."""

    section: Section
    bars: tuple[BarCoverage, ...]
    thin: tuple[ThinPlace, ...]

    @property
    def not_named(self) -> bool:
        """Whether bars of it could be thin, but their angles are not named yet."""
        return any(bar.not_named for bar in self.bars)

    @property
    def remarks(self) -> tuple[str, ...]:
        """What there is to say of the section, in a few words each."""
        return (*(place.words for place in self.thin), *([NOT_NAMED] if self.not_named else []))


def unnamed_angles(shoot: SongView) -> tuple[Angle, ...]:
    """The angles with a take to show that nobody named yet, in stave order."""
    used = {clip.angle_id for clip in counted_clips(shoot) if clip.takes}
    return tuple(one for one in stave_order(shoot.angles) if not one.named and one.id in used)


def coverage(shoot: SongView) -> tuple[SectionCoverage, ...]:
    """Who covers which bar, section by section; empty where there is no song.

    A bar belongs to the section in which its middle lies.
    """
    if shoot.song is None:
        return ()
    sections = song_sections(shoot.song)
    if not sections:
        return ()
    whole = not shoot.song.map.bars_s
    bars = _bars_covered(shoot, bar_spans(shoot.song))
    members = [[bars[n] for n in own] for own in bars_of_sections(sections, [bar.bar for bar in bars])]
    return tuple(
        SectionCoverage(section, tuple(own), _thin_places(shoot, own, whole))
        for section, own in zip(sections, members, strict=True)
    )


def _bars_covered(shoot: SongView, spans: tuple[BarSpan, ...]) -> list[BarCoverage]:
    """Who covers each bar; a take is compared with the bars it runs through only."""
    safeties = {angle.id for angle in shoot.angles if angle.safety}
    unnamed = {angle.id for angle in shoot.angles if not angle.named}
    placed: list[list[str]] = [[] for _ in spans]
    doubtful: list[list[str]] = [[] for _ in spans]
    usable: list[list[UsableTake]] = [[] for _ in spans]
    for one in usable_takes(shoot):
        here = doubtful if one.doubtful else placed
        for n in touched(one.take, spans):
            if covers(one.take, spans[n]):
                here[n].append(one.take.id)
        if not one.doubtful:
            for n in usable_bars(one, spans):
                usable[n].append(one)
    bars = []
    for bar, here_placed, maybe, good in zip(spans, placed, doubtful, usable, strict=True):
        angles = {one.angle_id for one in good}
        thin = thinness(angles, safeties)
        not_named = thin is not None and bool(angles & unnamed)
        bars.append(
            BarCoverage(
                bar=bar,
                takes=tuple(here_placed),
                doubtful=tuple(maybe),
                usable=tuple(one.take.id for one in good),
                angles=len(angles),
                thin=None if not_named else thin,
                not_named=not_named,
            )
        )
    return bars


def shown_in_part(shoot: SongView, bar: BarCoverage) -> bool:
    """Whether other placed takes than those that cover the bar show some of it."""
    return any(
        take.verdict is Verdict.PLACED
        and take.id not in bar.takes
        and min(take.song_end_s, bar.bar.end_s) > max(take.song_start_s, bar.bar.start_s)
        for clip in counted_clips(shoot)
        for take in clip.takes
    )


def _thin_places(shoot: SongView, bars: list[BarCoverage], whole: bool) -> tuple[ThinPlace, ...]:
    angle_of = {take.id: clip.angle_id for clip in shoot.clips for take in clip.takes}
    names = {angle.id: angle.name for angle in shoot.angles}

    def said(bar: BarCoverage) -> tuple[Thin | None, str]:
        if bar.thin is None:
            return None, ""
        name = names.get(angle_of[bar.usable[0]], "no name") if bar.usable else ""
        # Of a whole section all that is known is who shows all of it: others may show bars of it.
        kind = KINDS[bar.thin]
        parted = whole and shown_in_part(shoot, bar)
        return bar.thin, kind.all_of_it(name) if parted else kind.place(name)

    places = []
    for (thin, words), run in groupby(bars, key=said):
        members = list(run)
        first, last = members[0].bar.number, members[-1].bar.number
        if thin is not None:
            where = "whole section" if whole else bars_words(first, last)
            places.append(ThinPlace(first, last, thin, f"{where}: {words}"))
    return tuple(places)
