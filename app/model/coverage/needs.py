"""Which needs the takes meet, which in part (and which bars are missing), and which not at all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from app.model.coverage.passages import PassagePart, passage_parts
from app.model.coverage.subjects import shows
from app.model.coverage.usable import UsableTake, usable_bars, usable_takes
from app.model.document.plan import Need
from app.model.on_song import SongView
from app.model.song_map.bar_spans import BarSpan, bar_spans


class NeedState(StrEnum):
    """How far a need is met."""

    MET = "met"
    PARTLY = "partly"
    UNMET = "unmet"


@dataclass(frozen=True, slots=True)
class NeedPart:
    """One of the places that a need asks for, and how it stands there."""

    place: PassagePart
    state: NeedState
    seen: Mapping[int, frozenset[str]]
    """For each of its bars (index in the song's order) the ids of the angles that show the subject usably."""
    missing: tuple[int, ...]
    """Indices of the bars that too few angles show; empty where the need is met."""
    in_doubt: tuple[int, ...]
    """Those of the missing ones that would be shown enough if takes in doubt were confirmed."""


@dataclass(frozen=True, slots=True)
class NeedResult:
    """How a need stands."""

    need: Need
    state: NeedState
    parts: tuple[NeedPart, ...]
    """Empty where the passage is no longer in the song's map; the need is unmet then."""
    missing_bars: tuple[int, ...]
    """Numbers of the bars that are missing."""
    angles: tuple[str, ...]
    """Ids of the angles that show the subject somewhere in the passage, in stave order."""


def need_results(shoot: SongView) -> tuple[NeedResult, ...]:
    """How every need of the song stands, in the plan's order; empty without a song."""
    if shoot.song is None:
        return ()
    bars = bar_spans(shoot.song)
    seen = SeenBars(shoot, usable_takes(shoot), bars)
    return tuple(need_result(shoot, need, seen, bars) for need in shoot.plan.needs)


class SeenBars:
    """For each bar the angles that can be used there, placed and in doubt; asked once per subject."""

    def __init__(self, shoot: SongView, takes: Sequence[UsableTake], bars: Sequence[BarSpan]) -> None:
        self._angles = {angle.id: angle for angle in shoot.angles}
        self._sure: list[set[str]] = [set() for _ in bars]
        self._all: list[set[str]] = [set() for _ in bars]
        for one in takes:
            for n in usable_bars(one, bars):
                self._all[n].add(one.angle_id)
                if not one.doubtful:
                    self._sure[n].add(one.angle_id)
        self._showing: dict[str, frozenset[str]] = {}

    def sure(self, bar: int, subject: str) -> frozenset[str]:
        """Ids of the angles that show the subject in that bar usably, by takes that are placed."""
        return self.showing(subject) & self._sure[bar]

    def maybe(self, bar: int, subject: str) -> frozenset[str]:
        """The same if takes in doubt counted too."""
        return self.showing(subject) & self._all[bar]

    def showing(self, subject: str) -> frozenset[str]:
        """Ids of all angles that show a subject, whether they have takes or not."""
        found = self._showing.get(subject)
        if found is None:
            found = frozenset(one.id for one in self._angles.values() if shows(one, subject))
            self._showing[subject] = found
        return found


def need_result(shoot: SongView, need: Need, seen: SeenBars, bars: Sequence[BarSpan]) -> NeedResult:
    """How one need stands; it is met if it is met at every place that its passage means."""
    assert shoot.song is not None
    parts = tuple(_part(need, place, seen) for place in passage_parts(need.passage, shoot.song, bars))
    states = {part.state for part in parts}
    if states == {NeedState.MET}:
        state = NeedState.MET
    elif not states or states == {NeedState.UNMET}:
        state = NeedState.UNMET
    else:
        state = NeedState.PARTLY
    showing = {angle_id for part in parts for angles in part.seen.values() for angle_id in angles}
    return NeedResult(
        need=need,
        state=state,
        parts=parts,
        missing_bars=tuple(sorted({bars[n].number for part in parts for n in part.missing})),
        angles=tuple(angle.id for angle in shoot.angles if angle.id in showing),
    )


def bars_wanted(need: Need, place: PassagePart) -> int:
    """In how many bars of that place the subject must be seen: never more than there are."""
    return min(need.least_bars, len(place.bars)) if need.least_bars > 0 else len(place.bars)


def _part(need: Need, place: PassagePart, seen: SeenBars) -> NeedPart:
    least = max(1, need.least_angles)
    here = {n: seen.sure(n, need.subject) for n in place.bars}
    short = tuple(n for n in place.bars if len(here[n]) < least)
    if len(place.bars) - len(short) >= bars_wanted(need, place):
        return NeedPart(place, NeedState.MET, here, (), ())
    state = NeedState.PARTLY if len(short) < len(place.bars) else NeedState.UNMET
    in_doubt = tuple(n for n in short if len(seen.maybe(n, need.subject)) >= least)
    return NeedPart(place, state, here, short, in_doubt)
