"""What a cut costs, worked out plainly from the rules' sentences, stretch by stretch: to check the solver by.

Nothing is shared with it but where cuts may fall and the weights of the rules.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, cached_property

from app.model.coverage.passages import passage_parts
from app.model.coverage.subjects import shows
from app.model.coverage.time_spans import Span
from app.model.coverage.usable import UsableTake, usable_takes
from app.model.document.angle import Angle
from app.model.document.decisions import Decision
from app.model.first_pass.cut_points import Grid
from app.model.first_pass.pace import shot_bars
from app.model.first_pass.rules import Rules
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans, song_sections

BAR = 24
FORBIDDEN = 10**10


@dataclass(frozen=True, slots=True)
class Piece:
    """A usable stretch of a take."""

    number: int
    take: UsableTake
    span: Span
    low: int
    high: int
    """From which frame to which the timeline can show it."""


PlainShot = tuple[Piece, int, int]
"""A piece, and the points from and to which it is seen."""


class PlainCost:
    """Costs of shots of one shoot by some rules; a shot is a piece and the points of its cuts."""

    def __init__(self, view: SongView, rules: Rules, rate: Fraction, grid: Grid) -> None:
        assert view.song is not None
        self.view, self.rules, self.rate, self.grid, self.song = view, rules, rate, grid, view.song
        self.angles = {angle.id: angle for angle in view.angles}
        self.groups = {clip.id: clip.look.group for clip in view.clips if clip.look is not None}
        self.pieces = []
        for one in usable_takes(view):
            if one.doubtful:
                continue
            assert one.clip.frame_rate is not None
            half_s = 0.5 / float(one.clip.frame_rate) * one.take.speed
            for low_s, high_s in one.usable:
                low = 0 if low_s <= 0.001 else math.ceil((low_s + half_s) * rate)
                total = grid.points[-1].frame
                high = (
                    total
                    if high_s >= self.song.duration_s - 0.001
                    else min(total, math.floor((high_s - half_s) * rate))
                )
                self.pieces.append(Piece(len(self.pieces), one, (low_s, high_s), low, high))

    def weight(self, name: str) -> int:
        weight = self.rules.weight(name)
        return 50_000 if weight is None else weight

    def can(self, piece: Piece, start: int, end: int) -> bool:
        points = self.grid.points
        return piece.low <= points[start].frame and points[end].frame <= piece.high

    def usable(self, at: int) -> list[Piece]:
        return [piece for piece in self.pieces if self.can(piece, at, at + 1)]

    def ticks(self, at: int) -> int:
        one, later = self.grid.points[at], self.grid.points[at + 1]
        return max(6 if one.on_beat else 1, later.ticks - one.ticks)

    @cached_property
    def parts(self) -> list[tuple[str, set[int], int]]:
        """Subject, bars and weight of every need at every place."""
        weight, found = self.weight("needs"), []
        for need in self.view.plan.needs:
            for place in passage_parts(need.passage, self.song, bar_spans(self.song)):
                count = len(place.bars)
                wanted = min(need.least_bars, count) or (count if count <= 4 else math.ceil(count / 3))
                each = weight * (max(wanted, count // 2) + 4) // count
                found.append((need.subject, set(place.bars), max(each, min(1, weight))))
        return found

    def stretch(self, piece: Piece, at: int) -> int:
        """What one stretch of a piece costs."""
        angle = self.angles[piece.take.angle_id]
        here = self.usable(at)
        others = [self.angles[one.take.angle_id] for one in here]
        cost, asked = 0, False
        for subject, bars, weight in self.parts:
            if self.grid.bars[at] in bars and any(shows(one, subject) for one in others):
                cost += 0 if shows(angle, subject) else weight
                asked |= shows(angle, subject) and not any(shows(o, subject) for o in others if not o.safety)
        if angle.safety and not asked and any(not one.safety for one in others):
            cost += self.weight("safety")
        lowest = 1 + max(one.rank for one in self.view.angles)
        cost += self.weight("rank") * min(9, (angle.rank or lowest) - 1)
        if piece.take.take.decision is Decision.COMPUTED:
            cost += self.weight("confirmed")
        if any(self.kept(one, at) for one in here) and not self.kept(piece, at):
            cost += self.weight("keepers")
        for name, showing in (("featured", self.featured(at)), ("ends", self.at_the_ends(at))):
            if angle.name not in showing and any(o.name in showing for o in others if not o.safety):
                cost += self.weight(name)
        return cost * self.ticks(at)

    def featured(self, at: int) -> set[str]:
        """Names of the angles that show who sings in a stretch, or gives the section its name."""
        start_s, end_s = self.grid.points[at].song_s, self.grid.points[at + 1].song_s
        sections, sung_s = song_sections(self.song), 0.0
        for line in self.song.lyrics:
            assert line.start_s is not None
            line_end_s = line.start_s + 4.0 if line.end_s is None else line.end_s
            sung_s += max(0.0, min(end_s, line_end_s) - max(start_s, line.start_s))
        words = sections[self.grid.sections[at]].name.lower().split()
        found = {a.name for a in self.view.angles if any(w in self.said(a) for w in words if w.isalpha())}
        section = sections[self.grid.sections[at]]
        if "solo" in words:
            asked = [
                n.subject for n in self.view.plan.needs if section.id and n.passage.section_id == section.id
            ]
            found |= {a.name for a in self.view.angles if any(shows(a, subject) for subject in asked)}
        if 4 * sung_s >= end_s - start_s:
            found |= {a.name for a in self.view.angles if {"singer", "voice"} & self.said(a)}
        return found

    def at_the_ends(self, at: int) -> set[str]:
        """Names of the angles that the song's first and last two bars should show."""
        bars = 1 + max(self.grid.bars)
        if 2 <= self.grid.bars[at] < bars - 2:
            return set()
        wide = {"wide", "band"}
        return {a.name for a in self.view.angles if a.safety or (wide & self.said(a) and not self.detail(a))}

    def said(self, angle: Angle) -> set[str]:
        return set(" ".join((angle.name, *angle.subjects)).lower().split())

    def detail(self, angle: Angle) -> bool:
        return bool({"hands", "feet"} & self.said(angle))

    def kept(self, piece: Piece, at: int) -> bool:
        start_s, end_s = self.grid.points[at].song_s, self.grid.points[at + 1].song_s
        shared = sum(max(0.0, min(end_s, b) - max(start_s, a)) for a, b in piece.take.keepers)
        return shared > 0 and 2 * shared >= end_s - start_s

    def shot(self, piece: Piece, start: int, end: int) -> int:
        """What a shot costs by itself."""
        points, sections = self.grid.points, self.grid.sections
        cost = sum(self.stretch(piece, at) for at in range(start, end))
        ticks = points[end].ticks - points[start].ticks
        limits = shot_bars(self.song, self.rules)
        wrong = max(0, limits[sections[start]][0] * BAR - ticks)
        for at in range(start, end):
            before, after = (points[n].ticks - points[start].ticks for n in (at, at + 1))
            high = limits[sections[at]][1] * BAR
            wrong += max(0, after - max(high, before))
        if self.detail(self.angles[piece.take.angle_id]):
            wrong += max(0, ticks - self.rules.count("detail bars") * BAR)
        cost += self.weight("length") * wrong
        crossed = sum(sections[at] != sections[at - 1] for at in range(start + 1, end))
        cost += self.weight("sections") * BAR * crossed
        handle = self.rules.count("handle frames")
        if piece.low > 0 and points[start].frame - piece.low < handle:
            cost += self.weight("handles") * BAR
        if end < len(points) - 1 and piece.high - points[end].frame < handle:
            cost += self.weight("handles") * BAR
        if start:
            bars = bar_spans(self.song)
            own = song_sections(self.song)[sections[start]]
            first = next(
                (n for n, b in enumerate(bars) if own.start_s <= (b.start_s + b.end_s) / 2 < own.end_s), 0
            )
            odd = limits[sections[start]][1] > 1 and (points[start].ticks - first * BAR) % (2 * BAR) != 0
            cost += self.weight("phrases") * BAR * odd
            cost += 0 if points[start].on_beat else 5_000 * BAR
        return cost

    def pair(self, one: Piece, other: Piece) -> int:
        """What it costs that one follows another."""
        if one.take.angle_id == other.take.angle_id:
            return FORBIDDEN
        groups = [self.groups.get(piece.take.clip.id, "") for piece in (one, other)]
        words = [self.angles[piece.take.angle_id] for piece in (one, other)]
        same = len({frozenset(a.subjects or (a.name,)) for a in words}) == 1
        alike = groups[0] == groups[1] if all(groups) else same
        return self.weight("view") * BAR * alike

    def between(self, start: int, end: int) -> int:
        """What it costs that an angle which was seen up to a point comes back at another."""
        points = self.grid.points
        short = self.rules.count("again bars") * BAR - (points[end].ticks - points[start].ticks)
        return self.weight("again") * max(0, short)

    def coming(self, before: Sequence[PlainShot], piece: Piece, start: int) -> int:
        """What it costs that a piece begins after all these shots, by the one before and its angle's last."""
        if not before:
            return 0
        cost = self.pair(before[-1][0], piece)
        angles = [one.take.angle_id for one, _, _ in before]
        if piece.take.angle_id in angles and angles[-1] != piece.take.angle_id:
            last = len(angles) - 1 - angles[::-1].index(piece.take.angle_id)
            cost += self.between(before[last][2], start)
        return cost

    def total(self, shots: Sequence[PlainShot]) -> int:
        """What a whole run of shots costs."""
        return sum(self.shot(*one) + self.coming(shots[:n], one[0], one[1]) for n, one in enumerate(shots))


def cheapest(plain: PlainCost, first: int, last: int) -> int:
    """The least that a run of stretches costs. No way is left out.

    After the same last piece, and angles seen last at the same points within the bars of the rule, the rest
    costs the same: it is worked out once.
    """
    shot, pair, between = cache(plain.shot), cache(plain.pair), cache(plain.between)
    points, window = plain.grid.points, plain.rules.count("again bars") * BAR
    ends = {
        (piece.number, start): [e for e in range(start + 1, last + 1) if plain.can(piece, start, e)]
        for piece in plain.pieces
        for start in range(first, last)
    }

    @cache
    def rest(start: int, before: int | None, seen: frozenset[tuple[str, int]]) -> int:
        if start == last:
            return 0
        found = []
        for piece in plain.pieces:
            angle, cost = piece.take.angle_id, 0
            if before is not None:
                old = plain.pieces[before]
                cost = pair(old, piece)
                if old.take.angle_id != angle:
                    cost += max((between(at, start) for other, at in seen if other == angle), default=0)
            for end in ends[piece.number, start]:
                near = points[end].ticks - window
                left = {(o, at) for o, at in seen if o != angle and points[at].ticks > near} | {(angle, end)}
                found.append(cost + shot(piece, start, end) + rest(end, piece.number, frozenset(left)))
        return min(found, default=10**15)

    return rest(first, None, frozenset())
