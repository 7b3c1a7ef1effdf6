"""Which takes show which bar of the song, how many do, and where that is thin."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from app.model.coverage.staves import stave_order
from app.model.document.shoot import Clip, Section, Song, SongView, Take, Verdict

ENOUGH = 0.9
"""Part of a bar that has to lie within a take for the take to cover it."""


@dataclass(frozen=True, slots=True)
class BarSpan:
    """One bar on the song's clock."""

    number: int
    """From 1."""
    start_s: float
    end_s: float


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
    safety_only: bool
    """Something covers the bar, and all of it is safety."""

    @property
    def depth(self) -> int:
        """How many placed takes cover the bar, safeties included."""
        return len(self.takes)


@dataclass(frozen=True, slots=True)
class ThinPlace:
    """Neighbouring bars of one section with little or nothing to cut to."""

    first_bar: int
    last_bar: int
    kind: str
    """``nothing``, ``one angle`` or ``safety only``."""
    words: str


@dataclass(frozen=True, slots=True)
class SectionCoverage:
    """The bars of one section and its thin places, in the song's order."""

    section: Section
    bars: tuple[BarCoverage, ...]
    thin: tuple[ThinPlace, ...]


def song_sections(song: Song) -> tuple[Section, ...]:
    """The sections of the song; a song without a map is one section."""
    if song.map.sections:
        return song.map.sections
    return (Section("A", "Whole song", 0.0, song.duration_s),) if song.duration_s > 0 else ()


def bar_spans(song: Song) -> tuple[BarSpan, ...]:
    """The bars of the song, numbered from 1; where the map has none, each section is one span.

    The last bar is as long as the one before it, but ends with the song at the latest; a lone bar ends
    with the song.

    >>> from app.model.document.shoot import MediaRef, SongMap
    >>> waltz = Song(MediaRef("/waltz.wav", 0, ""), 7.0, SongMap(bars_s=(1.0, 3.0, 5.0)))
    >>> [(bar.number, bar.start_s, bar.end_s) for bar in bar_spans(waltz)]
    [(1, 1.0, 3.0), (2, 3.0, 5.0), (3, 5.0, 7.0)]
    """
    bars = song.map.bars_s
    if not bars:
        return tuple(BarSpan(n, s.start_s, s.end_s) for n, s in enumerate(song_sections(song), 1))
    end_s = song.duration_s
    if len(bars) > 1:
        end_s = min(end_s, 2 * bars[-1] - bars[-2])
    starts = [start_s for start_s in bars if start_s < song.duration_s]
    edges = [*starts, end_s] if len(starts) == len(bars) else [*starts, song.duration_s]
    return tuple(BarSpan(n, a, b) for n, (a, b) in enumerate(pairwise(edges), 1))


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
        bars.append(
            BarCoverage(
                bar,
                tuple(take_id for _, take_id in here),
                tuple(maybe),
                len(angles),
                bool(angles) and angles <= safeties,
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

    def kind(bar: BarCoverage) -> tuple[str, str]:
        # Of a whole section all that is known is who shows all of it: others may show bars of it.
        parted = whole and shown_in_part(shoot, bar)
        if not bar.takes:
            return "nothing", "no take shows all of it" if parted else "nothing"
        if bar.safety_only:
            return "safety only", "safety only for all of it" if parted else "safety only"
        if bar.angles == 1:
            name = names.get(angle_of[bar.takes[0]], "no name")
            return "one angle", f"only {name} shows all of it" if parted else f"one angle only ({name})"
        return "", ""

    places = []
    for (which, words), run in groupby(bars, key=kind):
        members = list(run)
        first, last = members[0].bar.number, members[-1].bar.number
        if which:
            where = "whole section" if whole else f"bar {first}" if first == last else f"bars {first}–{last}"
            places.append(ThinPlace(first, last, which, f"{where}: {words}"))
    return tuple(places)
