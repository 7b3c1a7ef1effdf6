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
from app.model.first_pass.pace import shot_bars
from app.model.first_pass.rules import Rules
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans, song_sections

ALWAYS_WEIGHT = 50_000
"""What breaking a rule costs that is always to hold: more than a bar that breaks all others."""
OFF_BEAT = 5_000
"""What a cut off the beat costs: such places are there only where no take runs through a bar."""
LEAST_TICKS = BAR // 4
"""A stretch counts as a quarter of a bar at least, or what is shown in a short lead-in would not matter."""
FEW_BARS = 8
"""A need for so many bars weighs twice as much in each as one for the whole song."""


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
        angle_costs=_angle_costs(rules, grid, angles, wanted, usable, weights),
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
            each = weight + weight * FEW_BARS // bars_wanted(need, place)
            found.append(WantedPart(need, place, stretches, showing, each))
    return tuple(found)


def _angle_costs(
    rules: Rules,
    grid: Grid,
    angles: Sequence[Angle],
    wanted: Sequence[WantedPart],
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
    return tuple(map(tuple, costs))


def view_words(angle: Angle) -> frozenset[str]:
    """What an angle shows, to be compared with others: its subjects, else its name."""
    return frozenset(one.casefold() for one in angle.subjects or (angle.name,))


def same_view(one: Kind, other: Kind, angles: Sequence[Angle]) -> bool:
    """Whether two shots in a row would look nearly alike: by pictures where these tell, else by subjects."""
    if one.group and other.group:
        return one.group == other.group
    return view_words(angles[one.angle]) == view_words(angles[other.angle])


def sections_of(table: Table) -> Mapping[str, list[int]]:
    """Indices of the sections of each family that has several."""
    found: dict[str, list[int]] = {}
    for n, section in enumerate(song_sections(table.song)):
        if section.family:
            found.setdefault(section.family, []).append(n)
    return {family: own for family, own in found.items() if len(own) > 1}
