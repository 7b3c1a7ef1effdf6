"""What can be shown between two cuts, and what each choice costs by the rules that look at one shot alone.

Costs are whole numbers, so that sums are exact and ties are ties on every machine.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from app.model.coverage.needs import bars_wanted
from app.model.coverage.passages import PassagePart, passage_parts
from app.model.coverage.subjects import shows
from app.model.coverage.time_spans import common, length
from app.model.coverage.usable import UsableTake, at_end, at_start, usable_takes
from app.model.document.angle import Angle
from app.model.document.decisions import Decision
from app.model.document.plan import Need
from app.model.document.song import Song
from app.model.first_pass.cut_points import BAR, Grid, cut_grid, with_edges
from app.model.first_pass.heard_in_front import heard_in_front, is_solo
from app.model.first_pass.pace import shot_bars
from app.model.first_pass.rules import Rules
from app.model.first_pass.wide_or_detail import is_wide
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans, song_sections

ALWAYS_WEIGHT = 50_000
"""What breaking a rule costs that is always to hold: more than a bar that breaks all others."""
OFF_BEAT = 5_000
"""What a cut off the beat costs: such places are there only where no take runs through a bar."""
LEAST_TICKS = BAR // 4
"""A stretch counts as a quarter of a bar at least, or what is shown in a short lead-in would not matter."""
FEW_BARS = 4
"""A need for a passage up to this means all of it; of a longer one a part will do where it says no number of
bars. A need for all of so many bars weighs twice as much in each as one for very many."""
PART = 3
"""That part: a third."""
END_BARS = 2
"""What is seen in so many bars opens and ends a song."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One usable stretch of a take, as whole frames let it be used."""

    take: UsableTake
    first: int
    """The first point at which it can begin, and the last at which it can end."""
    last: int
    kind: int
    """Index of its kind: candidates of one kind differ, but not in what fits before and after them."""
    low_frame: int
    high_frame: int
    costs: tuple[int, ...]
    """Sums of what its stretches cost, from ``first`` on: one more than there are stretches."""
    kept: frozenset[int]
    """The stretches of which most is a keeper of the take."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What the rules about neighbours look at: an angle, and the view that its pictures show."""

    angle: int
    """Index of the angle."""
    group: str
    """A word that clips of one set-up share; empty where the pictures tell of none."""


@dataclass(frozen=True, slots=True)
class WantedPart:
    """A need at one of its places, and where it can be met."""

    need: Need
    place: PassagePart
    stretches: tuple[int, ...]
    """Indices of the stretches in which it asks for the subject, and something that can be used shows it."""
    angles: frozenset[int]
    """Indices of the angles that show the subject."""
    bars: int
    """In how many bars it is to be seen."""
    weight: int
    """What a bar without it costs."""


@dataclass(frozen=True, slots=True)
class Table:
    """All that does not change with locks, seeds and versions of one set of rules."""

    song: Song
    rules: Rules
    grid: Grid
    angles: tuple[Angle, ...]
    kinds: tuple[Kind, ...]
    candidates: tuple[Candidate, ...]
    weights: tuple[int, ...]
    """Ticks by which each stretch counts."""
    wanted: tuple[WantedPart, ...]
    in_front: Mapping[int, frozenset[int]]
    """For each stretch in which somebody is heard in front the indices of the angles that show them."""
    angle_costs: tuple[tuple[int, ...], ...]
    """For each angle and stretch what showing it costs, whichever take it is."""
    limits: tuple[tuple[int, int], ...]
    """For each stretch the shortest and the longest shot, in ticks, that may begin with it."""
    usable_angles: tuple[frozenset[int], ...]
    """For each stretch the angles that can be shown all through it."""

    def safety(self, angle: int) -> bool:
        """Whether an angle is a safety."""
        return self.angles[angle].safety


def cost_of(rules: Rules, name: str) -> int:
    """What a bar, or a cut, costs that breaks a rule."""
    weight = rules.weight(name)
    return ALWAYS_WEIGHT if weight is None else weight


def table(view: SongView, song: Song, rules: Rules, rate: Fraction) -> Table:
    """Everything that can be shown, with its costs; ``rate`` is the timeline's."""
    takes = [one for one in usable_takes(view) if not one.doubtful and one.clip.frame_rate is not None]
    ranges = [
        (take, span, low, high)
        for take in takes
        for span in take.usable
        if (low := _first_frame(take, span[0], rate)) < (high := _last_frame(take, span[1], song, rate))
    ]
    grid = cut_grid(
        song, rate, beats=rules.value("cuts") == "beats", frames_before=rules.count("frames before")
    )
    ranges = [(take, span, low, min(high, grid.points[-1].frame)) for take, span, low, high in ranges]
    grid = with_edges(grid, _edges(grid, [(low, high) for _, _, low, high in ranges]), rate)
    known = {angle.id: angle for angle in view.angles}
    ids = list(dict.fromkeys([angle.id for angle in view.angles] + [take.angle_id for take in takes]))
    angles = tuple(known.get(one) or Angle(one, "no angle") for one in ids)
    groups = {clip.id: clip.look.group for clip in view.clips if clip.look is not None}
    placed = []
    kinds: dict[Kind, int] = {}
    for take, _, low, high in ranges:
        first = grid.point_at(low)
        last = grid.point_at(high + 1) - 1
        if first < last:
            kind = Kind(ids.index(take.angle_id), groups.get(take.clip.id, ""))
            placed.append((take, first, last, kinds.setdefault(kind, len(kinds)), kind.angle, low, high))
    count = len(grid.bars)
    usable: list[set[int]] = [set() for _ in range(count)]
    for _, first, last, _, angle, _, _ in placed:
        for n in range(first, last):
            usable[n].add(angle)
    weights = tuple(
        max(LEAST_TICKS, later.ticks - one.ticks) if one.on_beat else max(1, later.ticks - one.ticks)
        for one, later in zip(grid.points, grid.points[1:], strict=False)
    )
    wanted = _wanted(view, song, rules, grid, angles, usable)
    in_front = dict(heard_in_front(song, grid, angles))
    for part in wanted:
        if part.place.section is not None and is_solo(part.place.section):
            in_front |= {at: in_front.get(at, frozenset()) | part.angles for at in part.stretches}
    kept = [_keeper_shares(take, grid, first, last) for take, first, last, *_ in placed]
    keeper_there = {n for one in kept for n in one}
    candidates = tuple(
        Candidate(
            take=take,
            first=first,
            last=last,
            kind=kind,
            low_frame=low,
            high_frame=high,
            costs=_sums(rules, take, first, last, own, keeper_there, weights),
            kept=frozenset(own),
        )
        for (take, first, last, kind, _, low, high), own in zip(placed, kept, strict=True)
    )
    limits = [(low * BAR, high * BAR) for low, high in shot_bars(song, rules)]
    return Table(
        song=song,
        rules=rules,
        grid=grid,
        angles=angles,
        kinds=tuple(kinds),
        candidates=candidates,
        weights=weights,
        wanted=wanted,
        in_front=in_front,
        angle_costs=_angle_costs(rules, grid, angles, wanted, in_front, usable, weights),
        limits=tuple(limits[n] if limits else (BAR, BAR) for n in grid.sections),
        usable_angles=tuple(frozenset(one) for one in usable),
    )


def _half_frame_s(take: UsableTake) -> float:
    """A source frame on the timeline lies up to half a frame beside its place."""
    assert take.clip.frame_rate is not None
    return float(Fraction(1, 2) / take.clip.frame_rate) * take.take.speed


def _first_frame(take: UsableTake, start_s: float, rate: Fraction) -> int:
    if at_start(start_s):
        return 0
    return math.ceil(Fraction(start_s + _half_frame_s(take)) * rate)


def _last_frame(take: UsableTake, end_s: float, song: Song, rate: Fraction) -> int:
    """The first frame that it cannot show any more."""
    if at_end(end_s, song.duration_s):
        return math.ceil(Fraction(song.duration_s) * rate)
    return math.floor(Fraction(end_s - _half_frame_s(take)) * rate)


def _edges(grid: Grid, ranges: Sequence[tuple[int, int]]) -> set[int]:
    """Edges of takes that lie in stretches which none of them shows all through."""
    covered = [False] * len(grid.bars)
    for low, high in ranges:
        first, last = grid.point_at(low), grid.point_at(high + 1) - 1
        covered[first:last] = [True] * max(0, last - first)
    found = set()
    for edge in {edge for one in ranges for edge in one}:
        n = grid.point_at(edge)
        if 0 < n < len(grid.points) and grid.points[n].frame != edge and not covered[n - 1]:
            found.add(edge)
    return found


def _keeper_shares(take: UsableTake, grid: Grid, first: int, last: int) -> set[int]:
    """The stretches of which most is a keeper of the take."""
    found = set()
    for low, high in take.keepers:
        for n in range(first, last):
            start_s, end_s = grid.points[n].song_s, grid.points[n + 1].song_s
            if min(high, end_s) > max(low, start_s) and n not in found:
                found |= (
                    {n} if 2 * length(common(take.keepers, ((start_s, end_s),))) >= end_s - start_s else set()
                )
    return found


def _sums(
    rules: Rules,
    take: UsableTake,
    first: int,
    last: int,
    kept: set[int],
    keeper_there: set[int],
    weights: Sequence[int],
) -> tuple[int, ...]:
    keepers = cost_of(rules, "keepers")
    computed = cost_of(rules, "confirmed") if take.take.decision is Decision.COMPUTED else 0
    each = (
        (computed + (keepers if n in keeper_there and n not in kept else 0)) * weights[n]
        for n in range(first, last)
    )
    return tuple(accumulate(each, initial=0))


def _wanted(
    view: SongView,
    song: Song,
    rules: Rules,
    grid: Grid,
    angles: Sequence[Angle],
    usable: Sequence[set[int]],
) -> tuple[WantedPart, ...]:
    bars = bar_spans(song)
    of_bar: dict[int, list[int]] = {}
    for n, bar in enumerate(grid.bars):
        of_bar.setdefault(bar, []).append(n)
    weight = cost_of(rules, "needs")
    found = []
    for need in view.plan.needs:
        showing = frozenset(n for n, angle in enumerate(angles) if shows(angle, need.subject))
        for place in passage_parts(need.passage, song, bars):
            stretches = tuple(n for bar in place.bars for n in of_bar.get(bar, ()) if showing & usable[n])
            count = len(place.bars)
            least = bars_wanted(need, place)
            if not need.least_bars and count > FEW_BARS:
                # One picture track cannot show two subjects at once: every bar can hardly be meant.
                least = -(-count // PART)
            each = weight * (max(least, count // 2) + FEW_BARS) // count if count else 0
            found.append(WantedPart(need, place, stretches, showing, least, max(each, min(1, weight))))
    return tuple(found)


def _angle_costs(
    rules: Rules,
    grid: Grid,
    angles: Sequence[Angle],
    wanted: Sequence[WantedPart],
    in_front: Mapping[int, frozenset[int]],
    usable: Sequence[set[int]],
    weights: Sequence[int],
) -> tuple[tuple[int, ...], ...]:
    count = len(grid.bars)
    safeties = {n for n, angle in enumerate(angles) if angle.safety}
    safety, rank = cost_of(rules, "safety"), cost_of(rules, "rank")
    lowest = 1 + max((angle.rank for angle in angles), default=0)
    costs = [
        [min((angle.rank or lowest) - 1, 9) * rank * weights[n] for n in range(count)] for angle in angles
    ]
    asked_of: list[set[int]] = [set() for _ in range(count)]
    for part in wanted:
        only_safeties = part.angles & safeties
        for n in part.stretches:
            for angle in usable[n] - part.angles:
                costs[angle][n] += part.weight * weights[n]
            if not part.angles & usable[n] - safeties:
                asked_of[n] |= only_safeties
    for n in range(count):
        if usable[n] - safeties:
            for angle in usable[n] & safeties - asked_of[n]:
                costs[angle][n] += safety * weights[n]
    featured, ends = cost_of(rules, "featured"), cost_of(rules, "ends")
    for n, shown in in_front.items():
        if shown & usable[n] - safeties:
            for angle in usable[n] - shown:
                costs[angle][n] += featured * weights[n]
    wides = {n for n, angle in enumerate(angles) if is_wide(angle)}
    for n in range(count):
        if at_an_end(grid.bars, n) and wides & usable[n] - safeties:
            for angle in usable[n] - wides:
                costs[angle][n] += ends * weights[n]
    return tuple(map(tuple, costs))


def at_an_end(bars: Sequence[int], at: int) -> bool:
    """Whether a stretch belongs to what opens or ends the song; ``bars`` are those of all stretches."""
    return bars[at] < END_BARS or bars[at] > bars[-1] - END_BARS


def wide_angles(table: Table) -> frozenset[int]:
    """Indices of the wide angles, safeties among them."""
    return frozenset(n for n, angle in enumerate(table.angles) if is_wide(angle))


def view_words(angle: Angle) -> frozenset[str]:
    """What an angle shows, to be compared with others: its subjects, else its name."""
    return frozenset(one.casefold() for one in angle.subjects or (angle.name,))


def same_view(one: Kind, other: Kind, angles: Sequence[Angle]) -> bool:
    """Whether two shots in a row would look nearly alike: by pictures where these tell, else by subjects."""
    if one.group and other.group:
        return one.group == other.group
    return view_words(angles[one.angle]) == view_words(angles[other.angle])


def sections_of(table: Table) -> tuple[list[int], ...]:
    """Indices of the sections of each family that has several.

    Sections are of one family where a person gave them one name but for a number,
    else where they sound alike.
    """
    sections = song_sections(table.song)
    names = ["" if one.suggested else one.name.rstrip("0123456789 ").casefold() for one in sections]
    found: dict[tuple[str, str], list[int]] = {}
    for n, (section, name) in enumerate(zip(sections, names, strict=True)):
        if name and names.count(name) > 1:
            found.setdefault(("name", name), []).append(n)
        elif section.family:
            found.setdefault(("sound", section.family), []).append(n)
    return tuple(own for own in found.values() if len(own) > 1)
