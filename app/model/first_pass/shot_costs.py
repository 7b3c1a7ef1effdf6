"""What each shot between two cuts costs, and what two shots in a row cost, as whole numbers."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from app.model.first_pass.candidates import OFF_BEAT, Table, cost_of, same_view
from app.model.first_pass.cut_points import BAR
from app.model.first_pass.wide_or_detail import is_detail
from app.model.song_map.bar_spans import bar_spans, bars_of_sections, song_sections

JUMP = 10**10
"""What a cut from an angle to itself costs: more than anything else, for it looks like a mistake."""
PHRASE_BARS = 2
"""Bars of a phrase: in most songs the least that music comes in (common practice)."""


@dataclass(frozen=True, slots=True)
class ShotCosts:
    """The costs of one table, ready to be summed."""

    table: Table
    cuts: tuple[int, ...]
    """What a cut at each point costs, whatever is on either side."""
    inside_phrases: tuple[bool, ...]
    """For each point whether it is inside a phrase of its section."""
    section_starts: tuple[int, ...]
    """How many sections begin before each point."""
    angle_sums: tuple[tuple[int, ...], ...]
    """For each angle sums of its costs up to each point."""
    too_long: tuple[tuple[int, ...], ...]
    """For each point, and the ends from it on to one after its cap, how many ticks of a shot come after it is
    as long as their section allows."""
    caps: tuple[int, ...]
    """For a shot from each point the last end up to which every length is looked at by itself; further on
    costs grow evenly."""
    pairs: tuple[tuple[int, ...], ...]
    """What a shot of one kind costs after one of another."""
    length: int
    handles: int
    handle_frames: int
    section: int
    again: int
    again_ticks: int
    details: frozenset[int]
    """Indices of the kinds that show a detail."""
    detail_ticks: int
    """How long these last at most."""

    def cut(self, start: int, end: int) -> int:
        """What a shot costs by its cuts and its length, whatever it shows.

        Ends are looked at as far as one point after the cap.
        """
        low, _ = self.table.limits[start]
        points = self.table.grid.points
        short = low - (points[end].ticks - points[start].ticks)
        cost = self.length * (max(short, 0) + self.too_long[start][end - start]) + self.cuts[start]
        return cost + self.section * (self.section_starts[end] - self.section_starts[start + 1])

    def held(self, kind: int, start: int, end: int) -> int:
        """What a shot of a kind costs that is longer than its kind should be: a detail is seen at a glance.

        Beyond the cap it grows by `held_on` with every tick.
        """
        points = self.table.grid.points
        ticks = points[end].ticks - points[start].ticks
        return self.held_on(kind) * max(0, ticks - self.detail_ticks)

    def held_on(self, kind: int) -> int:
        """What each tick costs by which a shot of a kind is longer than its kind should be."""
        return self.length if kind in self.details else 0

    def shown(self, candidate: int, start: int, end: int) -> int:
        """What the stretches of a candidate cost from one point to another."""
        one = self.table.candidates[candidate]
        sums = self.angle_sums[self.table.kinds[one.kind].angle]
        return one.costs[end - one.first] - one.costs[start - one.first] + sums[end] - sums[start]

    def head(self, candidate: int, start: int) -> int:
        """What the head of a shot costs that begins at a point."""
        one, points = self.table.candidates[candidate], self.table.grid.points
        room = points[start].frame - one.low_frame
        return self.handles if one.low_frame > 0 and room < self.handle_frames else 0

    def tail(self, candidate: int, end: int) -> int:
        """What the tail of a shot costs that ends at a point."""
        one, points = self.table.candidates[candidate], self.table.grid.points
        room = one.high_frame - points[end].frame
        return self.handles if room < self.handle_frames and end < len(points) - 1 else 0

    def inside_phrase(self, start: int) -> bool:
        """Whether a cut at a point falls between the bars at which the rule ``phrases`` wants cuts."""
        return start > 0 and self.inside_phrases[start]

    def step(self, candidate: int, at: int) -> int:
        """What it costs that a shot which is too long already shows one stretch more, without its length."""
        crossed = self.section_starts[at + 1] - self.section_starts[at]
        return self.shown(candidate, at, at + 1) + self.section * crossed


def shot_costs(table: Table) -> ShotCosts:
    """The costs by a table's rules."""
    rules, grid = table.rules, table.grid
    begins = [0, *(int(a != b) for a, b in zip(grid.sections, grid.sections[1:], strict=False))]
    again_ticks = rules.count("again bars") * BAR
    details = frozenset(n for n, kind in enumerate(table.kinds) if is_detail(table.angles[kind.angle]))
    detail_ticks = rules.count("detail bars") * BAR
    caps = _caps(table, detail_ticks if details else BAR)
    return ShotCosts(
        table=table,
        too_long=_too_long(table, caps),
        cuts=_cuts(table),
        inside_phrases=_inside_phrases(table),
        section_starts=tuple(accumulate(begins, initial=0)),
        angle_sums=tuple(tuple(accumulate(one, initial=0)) for one in table.angle_costs),
        caps=caps,
        pairs=_pairs(table),
        length=cost_of(rules, "length"),
        handles=cost_of(rules, "handles") * BAR,
        handle_frames=rules.count("handle frames"),
        section=cost_of(rules, "sections") * BAR,
        again=cost_of(rules, "again"),
        again_ticks=again_ticks,
        details=details,
        detail_ticks=detail_ticks,
    )


def _cuts(table: Table) -> tuple[int, ...]:
    phrase = cost_of(table.rules, "phrases") * BAR
    inside = _inside_phrases(table)
    return tuple(
        ((0 if point.on_beat else OFF_BEAT * BAR) + (phrase if inside[n] else 0)) if n else 0
        for n, point in enumerate(table.grid.points[:-1])
    )


def _inside_phrases(table: Table) -> tuple[bool, ...]:
    """For each stretch whether it begins between the bars that begin a phrase of its section.

    Where no shot is to be as long as a phrase, none begins between them.
    """
    own_bars = bars_of_sections(song_sections(table.song), bar_spans(table.song))
    first_bar = {n: own[0] * BAR if own else 0 for n, own in enumerate(own_bars)}
    return tuple(
        high >= PHRASE_BARS * BAR and (point.ticks - first_bar.get(section, 0)) % (PHRASE_BARS * BAR) != 0
        for point, section, (_, high) in zip(
            table.grid.points[:-1], table.grid.sections, table.limits, strict=True
        )
    )


def _caps(table: Table, told_apart: int) -> tuple[int, ...]:
    points = table.grid.points
    longest = max(told_apart, *(high for _, high in table.limits))
    caps = []
    for start in range(len(points) - 1):
        most = points[start].ticks + longest
        end = start + 1
        while end + 1 < len(points) and points[end + 1].ticks <= most:
            end += 1
        caps.append(end)
    return tuple(caps)


def _too_long(table: Table, caps: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    points = table.grid.points
    found = []
    for start, cap in enumerate(caps):
        each = [0]
        for at in range(start, min(cap + 1, len(points) - 1)):
            before, after = (points[n].ticks - points[start].ticks for n in (at, at + 1))
            each.append(max(0, after - max(table.limits[at][1], before)))
        found.append(tuple(accumulate(each)))
    return tuple(found)


def _pairs(table: Table) -> tuple[tuple[int, ...], ...]:
    view = cost_of(table.rules, "view") * BAR

    def pair(one: int, other: int) -> int:
        before, after = table.kinds[one], table.kinds[other]
        if before.angle == after.angle:
            return JUMP
        return view if same_view(before, after, table.angles) else 0

    kinds: Sequence[int] = range(len(table.kinds))
    return tuple(tuple(pair(one, other) for other in kinds) for one in kinds)
