"""A first pass in words: why each shot is where it is, and what had to be left unsatisfied."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from app.model.coverage.passages import passage_words
from app.model.document.decisions import Decision
from app.model.first_pass.best_path import Placed
from app.model.first_pass.broken_rules import broken_rules
from app.model.first_pass.candidates import WantedPart, same_view
from app.model.first_pass.locking import Locked
from app.model.first_pass.place_words import length_words, place_words
from app.model.first_pass.result import Shot, Unsatisfied
from app.model.first_pass.shot_costs import ShotCosts
from app.model.first_pass.shown_so_far import angles_shown, seen_bars
from app.model.first_pass.wide_or_detail import is_detail, is_wide

FLASH_S = 1.0
"""A shot that is shorter is hardly seen."""


class Teller:
    """Words for one cut of one table."""

    def __init__(self, costs: ShotCosts, placed: Sequence[Placed], fixed: Locked) -> None:
        self._costs, self._of, self._placed, self._fixed = costs, costs.table, placed, fixed
        self._angles = [self._of.kinds[self._of.candidates[n].kind].angle for n, _, _ in placed]
        self._shown = angles_shown(costs.table, placed)

    def shots(self) -> tuple[Shot, ...]:
        """All shots, each with its reason."""
        points, bars = self._of.grid.points, self._of.grid.bars
        return tuple(
            Shot(
                song_start_s=points[first].song_s,
                song_end_s=points[last].song_s,
                first_bar=bars[first] + 1,
                last_bar=bars[last - 1] + 1,
                take_id=self._of.candidates[n].take.take.id,
                angle_id=self._of.candidates[n].take.angle_id,
                reason="; ".join([*self._reasons(number), self._length(first, last)]),
                others=self._others(n, first, last),
            )
            for number, (n, first, last) in enumerate(self._placed)
        )

    def unsatisfied(self) -> tuple[Unsatisfied, ...]:
        """What could not be satisfied, in the song's order."""
        found = [*self._gaps(), *self._of_shots(), *self._of_pairs(), *self._of_needs(), *self._of_locks()]
        found += [self._told(*one) for one in broken_rules(self._costs, self._placed, self._fixed.angle_of)]
        return tuple(
            sorted(found, key=lambda one: (one.song_start_s, not one.gap, one.song_end_s, one.words))
        )

    def _reasons(self, number: int) -> list[str]:
        """Why a shot is there, what counts most first; else what it is next to."""
        of, angle = self._of, self._angles[number]
        n, first, last = self._placed[number]
        one, stretches = of.candidates[n], range(first, last)
        words = []
        if any(at in self._fixed.angle_of for at in stretches):
            words.append("locked")
        for part in of.wanted:
            if part.weight and angle in part.angles and not set(part.stretches).isdisjoint(stretches):
                needed = f"need: {part.need.subject} in {self._part_words(part)}"
                words += [needed] if needed not in words else []
        start_s, end_s = of.grid.points[first].song_s, of.grid.points[last].song_s
        if any(low < end_s and high > start_s for low, high in one.take.keepers):
            words.append("keeper")
        if one.take.take.decision is Decision.CONFIRMED:
            words.append("confirmed")
        elif one.take.take.decision is Decision.BY_HAND:
            words.append("by hand")
        words += self._shows(angle, stretches)
        if of.safety(angle):
            words.append("safety")
        if all(of.usable_angles[at] == {angle} for at in stretches):
            return [*words, "nothing else can be used"]
        return words or [self._beside(number)]

    def _shows(self, angle: int, stretches: range) -> list[str]:
        """What rules ask for at this place and the shot shows."""
        of = self._of
        words = []
        if any(angle in of.in_front.get(at, ()) for at in stretches):
            words.append("heard in front")
        if is_wide(of.angles[angle]) and not of.safety(angle):
            if stretches[0] == 0:
                words.append("opens wide")
            if stretches[-1] == len(of.grid.bars) - 1:
                words.append("ends wide")
        return words

    def _beside(self, number: int) -> str:
        names = [self._of.angles[angle].name for angle in self._angles]
        rank = self._of.angles[self._angles[number]].rank
        ranked = f", rank {rank}" if rank else ""
        if not number:
            return f"opening{ranked}"
        if number + 1 < len(names) and self._angles[number - 1] == self._angles[number + 1]:
            return f"cut-away from {names[number - 1]}"
        return f"change from {names[number - 1]}{ranked}"

    def _length(self, first: int, last: int) -> str:
        ticks = self._of.grid.points[last].ticks - self._of.grid.points[first].ticks
        if not self._of.song.map.bars_s:
            return "whole section"
        return length_words(ticks) if ticks else "lead-in" if first == 0 else "tail"

    def _part_words(self, part: WantedPart) -> str:
        if part.place.section is not None:
            return part.place.section.letter
        return passage_words(part.need.passage, self._of.song)

    def _others(self, chosen: int, first: int, last: int) -> tuple[str, ...]:
        """The other takes over the same stretch, the cheapest first; those of the same angle among them."""
        own, costs = self._of.candidates[chosen].take.take.id, self._costs
        ways = sorted(
            (costs.shown(n, first, last) + costs.head(n, first) + costs.tail(n, last), n, one.take.take.id)
            for n, one in enumerate(self._of.candidates)
            if one.first <= first and last <= one.last
        )
        return tuple(take_id for _, _, take_id in ways if take_id != own)

    def _gaps(self) -> Iterable[Unsatisfied]:
        runs: list[tuple[int, int]] = []
        for at in range(len(self._of.grid.bars)):
            if at not in self._shown:
                goes_on = runs and runs[-1][1] == at
                runs[-1:] = [(runs[-1][0], at + 1)] if goes_on else [*runs[-1:], (at, at + 1)]
        for first, last in runs:
            yield self._told(first, last, "nothing can be used here, so there is no picture", gap=True)

    def _of_shots(self) -> Iterable[Unsatisfied]:
        of, points = self._of, self._of.grid.points
        for (_, first, last), angle in zip(self._placed, self._angles, strict=True):
            ticks = points[last].ticks - points[first].ticks
            low, high = of.limits[first][0], max(of.limits[at][1] for at in range(first, last))
            what = "one shot"
            if is_detail(of.angles[angle]) and self._costs.detail_ticks < high:
                high, what = self._costs.detail_ticks, "a detail in one shot"
            seconds = points[last].song_s - points[first].song_s
            if ticks > high and of.song.map.bars_s:
                longer = f"{what} of {length_words(ticks)}, longer than {length_words(high)}"
                yield self._told(first, last, f"{longer}: {self._why_long(angle, first, last)}")
            elif seconds < FLASH_S:
                yield self._told(first, last, f"a shot of {seconds:.1f} s")
            elif 0 < ticks < low and of.song.map.bars_s:
                shorter = f"a shot of {length_words(ticks)}, shorter than {length_words(low)}"
                yield self._told(first, last, shorter)
            if first > 0 and not points[first].on_beat and first - 1 in self._shown:
                yield self._told(first, first + 1, "a cut off the beat: no take runs through this bar")

    def _why_long(self, angle: int, first: int, last: int) -> str:
        of = self._of
        if all(of.usable_angles[at] == {angle} for at in range(first, last)):
            return "nothing else can be used"
        if any(at in self._fixed.angle_of for at in range(first, last)):
            return "it is locked"
        asked = any(
            part.weight and angle in part.angles and not set(part.stretches).isdisjoint(range(first, last))
            for part in of.wanted
        )
        return "a need asks for it" if asked else "other rules count more"

    def _of_pairs(self) -> Iterable[Unsatisfied]:
        of = self._of
        for before, after in pairwise(self._placed):
            if before[2] != after[1]:
                continue
            one, other = (of.kinds[of.candidates[shot[0]].kind] for shot in (before, after))
            name = of.angles[other.angle].name
            if one.angle == other.angle:
                yield self._told(after[1], after[1] + 1, f"a cut from {name} to {name}")
            elif same_view(one, other, of.angles):
                yield self._told(
                    after[1],
                    after[1] + 1,
                    f"a cut from {of.angles[one.angle].name} to {name}, which look alike",
                )

    def _of_needs(self) -> Iterable[Unsatisfied]:
        of = self._of
        for part in of.wanted:
            seen = seen_bars(of, self._shown, part)
            if seen >= max(1, part.need.least_bars):
                continue
            what = f"need: {part.need.subject} in {self._part_words(part)}"
            if not part.stretches:
                words = f"{what} is not met: nothing that can be used shows it"
            elif not seen:
                words = f"{what} is not met: other rules count more"
            else:
                words = f"{what} is met in {seen} of {part.need.least_bars} bars"
            own = [at for at, bar in enumerate(of.grid.bars) if bar in part.place.bars]
            if own:
                yield self._told(own[0], own[-1] + 1, words)

    def _of_locks(self) -> Iterable[Unsatisfied]:
        bars = self._of.grid.bars
        for one in self._fixed.not_met:
            own = [at for at, bar in enumerate(bars) if bar in one.bars]
            yield self._told(own[0] if own else 0, own[-1] + 1 if own else 0, one.words, where=False)

    def _told(
        self, first: int, last: int, words: str, *, gap: bool = False, where: bool = True
    ) -> Unsatisfied:
        points, bars = self._of.grid.points, self._of.grid.bars
        first_bar, last_bar = bars[first], bars[max(first, last - 1)]
        place = place_words(self._of.song, range(first_bar, last_bar + 1))
        return Unsatisfied(
            song_start_s=points[first].song_s,
            song_end_s=points[last].song_s,
            first_bar=first_bar + 1,
            last_bar=last_bar + 1,
            words=f"{place}: {words}" if where else words,
            gap=gap,
        )
