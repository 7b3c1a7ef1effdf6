"""Which takes show which bar of the song, how many do, and where that is thin."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from app.model.coverage.staves import stave_order
from app.model.coverage.thinness import KINDS, NOT_NAMED, Thin, thinness
from app.model.document.angle import Angle
from app.model.document.song import Section
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.bar_spans import BarSpan, bar_spans, song_sections

ENOUGH = 0.9
"""Part of a bar that has to lie within a take for the take to cover it."""


@dataclass(frozen=True, slots=True)
class BarCoverage:
    """Who shows one bar."""

    bar: BarSpan
    takes: tuple[str, ...]
    """Ids of the placed takes that cover the bar, in stave order."""
    doubtful: tuple[str, ...]
    """Ids of doubtful takes that would cover it; not counted."""
    angles: int
    """Distinct angles among ``takes``."""
    thin: Thin | None
    """Why there is little to cut to; None where there is enough, or where that cannot be told yet."""
    not_named: bool = False
    """It would be thin, but nobody named the angle that shows it yet."""

    @property
    def depth(self) -> int:
        """How many placed takes cover the bar, safeties included."""
        return len(self.takes)

    @property
    def safety_only(self) -> bool:
        """Something covers the bar, and all of it is safety."""
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


def covers(take: Take, bar: BarSpan) -> bool:
    """Tell whether at least 90 % of the bar lies within the take."""
    shared_s = min(take.song_end_s, bar.end_s) - max(take.song_start_s, bar.start_s)
    # A whisker of tolerance, so that exactly nine tenths of a bar counts whatever the float sums say.
    return shared_s > 0 and shared_s >= ENOUGH * (bar.end_s - bar.start_s) - 1e-9


def counted_clips(shoot: SongView) -> tuple[Clip, ...]:
    """The clips that can show a bar, in stave order (safeties last), then as they lie in the shoot.

    A recorder's sound shows nothing, so sound-only clips are left out; only in a shoot without any
    picture, where sound is all there is, they count. Hidden angles count like all others: what is not on
    screen is still there to cut to.
    """
    staves = stave_order(shoot.angles)
    place = {angle.id: n for n, angle in enumerate(staves)}
    clips = sorted(shoot.clips, key=lambda clip: place.get(clip.angle_id, len(staves)))
    pictures = tuple(clip for clip in clips if clip.frame_rate is not None)
    return pictures or tuple(clips)


def sound_clips(shoot: SongView) -> tuple[Clip, ...]:
    """The clips that are heard but show nothing, and so do not count; in stave order."""
    counted = {clip.id for clip in counted_clips(shoot)}
    place = {angle.id: n for n, angle in enumerate(stave_order(shoot.angles))}
    clips = sorted(shoot.clips, key=lambda clip: place.get(clip.angle_id, len(place)))
    return tuple(clip for clip in clips if clip.id not in counted)


def coverage(shoot: SongView) -> tuple[SectionCoverage, ...]:
    """Who covers which bar, section by section; empty where there is no song.

    A bar belongs to the section in which its middle lies.
    """
    if shoot.song is None:
        return ()
    sections = song_sections(shoot.song)
    spans = bar_spans(shoot.song)
    if not sections:
        return ()
    whole = not shoot.song.map.bars_s
    members: list[list[BarCoverage]] = [[] for _ in sections]
    for bar in _bars_covered(shoot, spans):
        middle_s = (bar.bar.start_s + bar.bar.end_s) / 2
        # The last section begun by then; a bar before all of them goes to the first: none is lost.
        index = max((n for n, section in enumerate(sections) if section.start_s <= middle_s), default=0)
        members[index].append(bar)
    return tuple(
        SectionCoverage(section, tuple(bars), _thin_places(shoot, bars, whole))
        for section, bars in zip(sections, members, strict=True)
    )


def touched(take: Take, spans: Sequence[BarSpan]) -> range:
    """Indices of the bars (in the song's order) of which something may lie within a take."""
    return range(
        bisect_right(spans, take.song_start_s, key=lambda bar: bar.end_s),
        bisect_left(spans, take.song_end_s, key=lambda bar: bar.start_s),
    )


def _bars_covered(shoot: SongView, spans: Sequence[BarSpan]) -> list[BarCoverage]:
    """Who covers each bar; a take is compared with the bars it runs through only."""
    safeties = {angle.id for angle in shoot.angles if angle.safety}
    unnamed = {angle.id for angle in shoot.angles if not angle.named}
    placed: list[list[tuple[str, str]]] = [[] for _ in spans]
    doubtful: list[list[str]] = [[] for _ in spans]
    for clip in counted_clips(shoot):
        for take in clip.takes:
            for n in touched(take, spans):
                if not covers(take, spans[n]):
                    continue
                if take.verdict is Verdict.PLACED:
                    placed[n].append((clip.angle_id, take.id))
                elif take.verdict is Verdict.DOUBTFUL:
                    doubtful[n].append(take.id)
    bars = []
    for bar, here, maybe in zip(spans, placed, doubtful, strict=True):
        angles = {angle_id for angle_id, _ in here}
        thin = thinness(angles, safeties)
        not_named = thin is not None and bool(angles & unnamed)
        bars.append(
            BarCoverage(
                bar=bar,
                takes=tuple(take_id for _, take_id in here),
                doubtful=tuple(maybe),
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
        name = names.get(angle_of[bar.takes[0]], "no name") if bar.takes else ""
        # Of a whole section all that is known is who shows all of it: others may show bars of it.
        kind = KINDS[bar.thin]
        parted = whole and shown_in_part(shoot, bar)
        return bar.thin, kind.all_of_it(name) if parted else kind.place(name)

    places = []
    for (thin, words), run in groupby(bars, key=said):
        members = list(run)
        first, last = members[0].bar.number, members[-1].bar.number
        if thin is not None:
            where = "whole section" if whole else f"bar {first}" if first == last else f"bars {first}–{last}"
            places.append(ThinPlace(first, last, thin, f"{where}: {words}"))
    return tuple(places)
