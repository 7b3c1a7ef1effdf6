"""What is still missing: the run-throughs and pick-ups that meet the open needs in little time on set.

One camera shows one angle while the band plays one passage. Which passages, and of whom, is a set cover with
minutes as costs (`app.model.coverage.set_cover`): its elements are the bars that an open need lacks, and the
bars that nothing shows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from app.model.angles import same_name
from app.model.coverage.needs import NeedPart, NeedResult, NeedState, SeenBars, bars_wanted, need_result
from app.model.coverage.ranges import runs
from app.model.coverage.set_cover import Candidate, Wanted, greedy_cover
from app.model.coverage.subjects import ANY_ANGLE, SAFETY, known_subjects, shows, shows_anything
from app.model.coverage.usable import usable_takes
from app.model.coverage.which_bars import Lacking, which_bars
from app.model.document.angle import Angle
from app.model.document.plan import Need
from app.model.document.song import Section
from app.model.on_song import SongView
from app.model.song_map.bar_spans import BarSpan, bar_spans


@dataclass(frozen=True, slots=True)
class OpenBars:
    """Bars that one need lacks, or that nothing shows."""

    need: Need | None
    """None for bars that nothing shows."""
    subject: str
    bars: tuple[int, ...]
    """Numbers of the bars, rising."""
    in_doubt: tuple[int, ...] = ()
    """Those that takes in doubt would show: to be looked at before they are shot again."""
    any_of: tuple[int, ...] = ()
    """Where any so many bars of a place would do: the numbers of all of its bars that lack it."""
    section: Section | None = None
    """The section that these are bars of; None where the need tells bars."""
    more: bool = False
    """Other bars of the place show it already, but too few of them."""


@dataclass(frozen=True, slots=True)
class MissingPass:
    """One run-through or pick-up to shoot."""

    first_bar: int
    last_bar: int
    start_s: float
    end_s: float
    angle: str
    """Name of the angle that would show it; empty where a new one is wanted."""
    subjects: tuple[str, ...]
    """Whom it must show."""
    why: tuple[OpenBars, ...]
    """What it meets that nothing before it in the list does."""
    minutes: float
    """Set time: the passage, playback before it, and the reset to it."""
    whole_song: bool


def still_missing(shoot: SongView) -> tuple[MissingPass, ...]:
    """What to shoot so that every need is met and every bar is shown; what gains most for its minutes first.

    Takes in doubt do not count, and faults show nothing. Without a plan only bars that nothing shows are
    asked for. Empty without a song.
    """
    if shoot.song is None:
        return ()
    bars = bar_spans(shoot.song)
    seen = SeenBars(shoot, usable_takes(shoot), bars)
    results = [need_result(shoot, need, seen, bars) for need in shoot.plan.needs]
    wishes = [*_wishes(results, seen), *_unseen(seen, bars)]
    if not wishes:
        return ()
    passes = _passes(shoot, wishes, seen, bars)
    deepest = max(wish.counts[n] for wish in wishes for n in wish.bars)
    layers = [
        sum(
            1 << (at + i)
            for at, wish in _offsets(wishes)
            for i, n in enumerate(wish.bars)
            if wish.counts[n] > k
        )
        for k in range(deepest)
    ]
    chosen = greedy_cover(layers, [one.candidate for one in passes])
    wanted = Wanted(layers)
    return tuple(
        _told(passes[n], _split(wanted.take(passes[n].candidate), wishes), bars, shoot) for n in chosen
    )


@dataclass(frozen=True, slots=True)
class _Wish:
    """Bars (indices) that lack so many angles of a subject."""

    need: Need | None
    subject: str
    bars: tuple[int, ...]
    counts: dict[int, int]
    in_doubt: frozenset[int]
    part: NeedPart | None = None
    """The place of the need that they are bars of."""


@dataclass(frozen=True, slots=True)
class _Pass:
    """A passage shot once by one angle."""

    angle: str
    candidate: Candidate


def _wishes(results: Sequence[NeedResult], seen: SeenBars) -> list[_Wish]:
    parts = [(one.need, part) for one in results for part in one.parts if part.state is not NeedState.MET]
    lacking = [
        Lacking(
            need.subject.casefold(),
            part.missing,
            bars_wanted(need, part.place) - (len(part.place.bars) - len(part.missing)),
        )
        for need, part in parts
    ]
    found = []
    for (need, part), bars in zip(parts, which_bars(lacking), strict=True):
        counts = {n: max(1, need.least_angles) - len(part.seen[n]) for n in bars}
        found.append(_Wish(need, need.subject, bars, counts, frozenset(part.in_doubt) & {*bars}, part))
    return found


def _unseen(seen: SeenBars, bars: Sequence[BarSpan]) -> list[_Wish]:
    """The bars that nothing shows."""
    dark = tuple(n for n in range(len(bars)) if not seen.sure(n, ANY_ANGLE))
    if not dark:
        return []
    maybe = frozenset(n for n in dark if seen.maybe(n, ANY_ANGLE))
    return [_Wish(None, ANY_ANGLE, dark, dict.fromkeys(dark, 1), maybe)]


def _passes(shoot: SongView, wishes: Sequence[_Wish], seen: SeenBars, bars: Sequence[BarSpan]) -> list[_Pass]:
    """All passages worth shooting: for each angle from where a run of bars it lacks begins to where one ends.

    Angles that are there or planned come before new ones, so that they win where both would do.
    """
    assert shoot.song is not None
    found = []
    for name, once, meets in _cameras(shoot, wishes):
        elements = [0] * len(bars)
        starts, ends = set(), set()
        for at, wish in _offsets(wishes):
            if not meets(wish.subject):
                continue
            lacking = [n for n in wish.bars if once not in seen.sure(n, wish.subject)]
            for n in lacking:
                elements[n] |= 1 << (at + wish.bars.index(n))
            for first, last in runs(lacking):
                starts.add(first)
                ends.add(last)
        before = [0, *accumulate(elements, lambda one, other: one | other)]
        for first in sorted(starts):
            for last in sorted(ends):
                if last < first:
                    continue
                mask = before[last + 1] & ~before[first]
                minutes = _minutes(shoot, bars[first].start_s, bars[last].end_s)
                found.append(_Pass(name, Candidate(mask, minutes, once)))
    return found


def _cameras(shoot: SongView, wishes: Sequence[_Wish]) -> list[tuple[str, str, "_Meets"]]:
    """Whatever could be set up: name of the angle, its id, and what it would show."""
    subjects = known_subjects((), tuple(wish.subject for wish in wishes))
    found: list[tuple[str, str, _Meets]] = [(one.name, one.id, _Meets(one)) for one in shoot.angles]
    for planned in shoot.plan.set_ups:
        if shows_anything(planned.subjects):
            continue  # it stands for whichever angle will do
        if not any(same_name(planned.angle, name) for name, _, _ in found):
            angle = Angle("", planned.angle, subjects=planned.subjects)
            found.append((planned.angle, f"planned: {planned.angle}", _Meets(angle)))
    for subject in subjects:
        angle = Angle("", subject, subjects=(subject,), safety=same_name(subject, SAFETY))
        # As many new angles as bars lack of it: one camera shows a bar once.
        lacking = max(max(one.counts.values()) for one in wishes if same_name(one.subject, subject))
        found += [("", "", _Meets(angle))] * lacking
    return [one for one in found if any(one[2](subject) for subject in subjects)]


@dataclass(frozen=True, slots=True)
class _Meets:
    angle: Angle

    def __call__(self, subject: str) -> bool:
        return shows(self.angle, subject)


def _offsets(wishes: Sequence[_Wish]) -> list[tuple[int, _Wish]]:
    """Each wish with the number of the bit of its first bar."""
    sizes = accumulate((len(wish.bars) for wish in wishes), initial=0)
    return list(zip(sizes, wishes, strict=False))


def _split(mask: int, wishes: Sequence[_Wish]) -> list[tuple[_Wish, tuple[int, ...]]]:
    """The elements of a mask as bars of each wish."""
    found = []
    for at, wish in _offsets(wishes):
        bars = tuple(n for i, n in enumerate(wish.bars) if mask >> (at + i) & 1)
        if bars:
            found.append((wish, bars))
    return found


def _minutes(shoot: SongView, start_s: float, end_s: float) -> float:
    """Set time of a passage; at the song's start there is less to play before it."""
    lead_in_s = min(shoot.plan.lead_in_s, max(0.0, start_s))
    return max(1.0, end_s - start_s + lead_in_s + shoot.plan.reset_s) / 60


def _told(
    one: _Pass, met: Sequence[tuple[_Wish, tuple[int, ...]]], bars: Sequence[BarSpan], shoot: SongView
) -> MissingPass:
    why = tuple(_open_bars(wish, own, bars) for wish, own in met)
    wanted = known_subjects((), tuple(wish.subject for wish, _ in met))
    particular = tuple(subject for subject in wanted if not same_name(subject, ANY_ANGLE))
    # Nobody plays on for bars that a pass before it in the list has shown.
    first, last = min(n for _, own in met for n in own), max(n for _, own in met for n in own)
    return MissingPass(
        first_bar=bars[first].number,
        last_bar=bars[last].number,
        start_s=bars[first].start_s,
        end_s=bars[last].end_s,
        angle=one.angle,
        subjects=particular or wanted,
        why=why,
        minutes=_minutes(shoot, bars[first].start_s, bars[last].end_s),
        whole_song=(first, last) == (0, len(bars) - 1),
    )


def _open_bars(wish: _Wish, own: Sequence[int], bars: Sequence[BarSpan]) -> OpenBars:
    part = wish.part
    any_do = part is not None and 0 < len(wish.bars) < len(part.missing)
    return OpenBars(
        need=wish.need,
        subject=wish.subject,
        bars=tuple(bars[n].number for n in own),
        in_doubt=tuple(bars[n].number for n in own if n in wish.in_doubt),
        any_of=tuple(bars[n].number for n in part.missing) if part is not None and any_do else (),
        section=part.place.section if part is not None else None,
        more=part is not None and part.state is NeedState.PARTLY,
    )
