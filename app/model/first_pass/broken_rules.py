"""Where a first pass breaks a rule that is set to always, rule by rule, in words."""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from app.model.document.decisions import Decision
from app.model.first_pass.best_path import Placed
from app.model.first_pass.candidates import WantedPart, at_an_end, sections_of, wide_angles
from app.model.first_pass.place_words import length_words
from app.model.first_pass.same_bars import same_bars
from app.model.first_pass.shot_costs import PHRASE_BARS, ShotCosts
from app.model.first_pass.shown_so_far import angles_shown
from app.model.song_map.bar_spans import section_words, song_sections

Broken = tuple[int, int, str]
"""The points from and to which a rule is broken, and how."""


def broken_rules(
    costs: ShotCosts, placed: Sequence[Placed], locked: Collection[int] = ()
) -> Iterator[Broken]:
    """Every place at which a rule is broken that is set to always, but for what locked stretches show.

    Lengths of shots, cuts between angles that look alike and needs of which too little is seen are told
    whatever their rules say, so they are not told again here.
    """
    finder = _Finder(costs, placed, locked)
    for name, find in finder.by_rule.items():
        if costs.table.rules.weight(name) is None:
            yield from find()


class _Finder:
    """Looks at one cut rule by rule."""

    def __init__(self, costs: ShotCosts, placed: Sequence[Placed], locked: Collection[int]) -> None:
        self._costs, self._of, self._placed = costs, costs.table, placed
        self._angles = [self._of.kinds[self._of.candidates[n].kind].angle for n, _, _ in placed]
        self._shown = angles_shown(self._of, placed)
        self._free = self._shown.keys() - set(locked)
        self._taken = {at: n for n, first, last in placed for at in range(first, last)}
        self.by_rule: Mapping[str, Callable[[], Iterable[Broken]]] = {
            "needs": self._needs,
            "keepers": self._keepers,
            "confirmed": self._confirmed,
            "featured": self._featured,
            "safety": self._safety,
            "rank": self._rank,
            "ends": self._ends,
            "wides": self._wides,
            "again": self._again,
            "sections": self._sections,
            "phrases": self._phrases,
            "everyone": self._everyone,
            "families": self._families,
            "handles": self._handles,
        }

    def _runs(self, broken: Callable[[int], str]) -> Iterator[Broken]:
        """Runs of stretches that are broken in the same words; no words where all is well."""
        start, words = 0, ""
        for at in range(len(self._of.grid.bars) + 1):
            now = broken(at) if at in self._free else ""
            if now != words:
                if words:
                    yield start, at, words
                start, words = at, now

    def _name(self, at: int) -> str:
        return self._of.angles[self._shown[at]].name

    def _needs(self) -> Iterator[Broken]:
        asked: dict[int, list[WantedPart]] = {}
        for part in self._of.wanted:
            for at in part.stretches:
                asked.setdefault(at, []).append(part)

        def broken(at: int) -> str:
            def missing(angle: int) -> int:
                return sum(part.weight for part in asked.get(at, ()) if angle not in part.angles)

            best = min(sorted(self._of.usable_angles[at]), key=missing)
            if missing(best) >= missing(self._shown[at]):
                return ""
            return f"{self._name(at)}, though {self._of.angles[best].name} shows what the plan asks for"

        return self._runs(broken)

    def _better(self, at: int, better: Callable[[int], bool]) -> bool:
        """Whether a take is shown in a stretch that is not so good though one that is could be."""
        can = (n for n, one in enumerate(self._of.candidates) if one.first <= at < one.last)
        return not better(self._taken[at]) and any(better(n) for n in can)

    def _keepers(self) -> Iterator[Broken]:
        def broken(at: int) -> str:
            better = self._better(at, lambda n: at in self._of.candidates[n].kept)
            return f"keepers always come first, but {self._name(at)} is shown without one" if better else ""

        return self._runs(broken)

    def _confirmed(self) -> Iterator[Broken]:
        takes = [one.take.take for one in self._of.candidates]

        def broken(at: int) -> str:
            better = self._better(at, lambda n: takes[n].decision is not Decision.COMPUTED)
            words = f"confirmed takes always come first, but a computed one of {self._name(at)} is shown"
            return words if better else ""

        return self._runs(broken)

    def _featured(self) -> Iterator[Broken]:
        def broken(at: int) -> str:
            names = self._instead(at, self._of.in_front.get(at, frozenset()))
            return f"{self._name(at)}, though {names} shows who is heard in front" if names else ""

        return self._runs(broken)

    def _ends(self) -> Iterator[Broken]:
        wides = frozenset(wide_angles(self._of))
        bars = self._of.grid.bars

        def broken(at: int) -> str:
            names = self._instead(at, wides) if at_an_end(bars, at) else ""
            return f"{self._name(at)} at an end of the song, though {names} is wide" if names else ""

        return self._runs(broken)

    def _wides(self) -> Iterator[Broken]:
        wides, sections = wide_angles(self._of), song_sections(self._of.song)
        own: dict[int, list[int]] = {}
        for at, section in enumerate(self._of.grid.sections):
            own.setdefault(section, []).append(at)
        for section, stretches in own.items():
            can = any(self._instead(at, wides) for at in stretches)
            if can and not any(self._shown.get(at) in wides for at in stretches):
                yield stretches[0], stretches[-1] + 1, f"no wide angle in {section_words(sections[section])}"

    def _instead(self, at: int, better: frozenset[int]) -> str:
        """Which of the better angles, safeties apart, could be shown; nothing where one of them all is."""
        can = [n for n in better & self._of.usable_angles[at] if not self._of.safety(n)]
        return "" if self._shown.get(at) in better or not can else self._of.angles[min(can)].name

    def _safety(self) -> Iterator[Broken]:
        def broken(at: int) -> str:
            angle = self._shown[at]
            if not self._of.safety(angle):
                return ""
            others = {one for one in self._of.usable_angles[at] if not self._of.safety(one)}
            asked = any(
                at in part.stretches and angle in part.angles and others.isdisjoint(part.angles)
                for part in self._of.wanted
            )
            if not others or asked:
                return ""
            return f"the safety {self._name(at)}, though another angle can be used"

        return self._runs(broken)

    def _rank(self) -> Iterator[Broken]:
        angles = self._of.angles
        lowest = 1 + max((angle.rank for angle in angles), default=0)

        def rank(angle: int) -> int:
            return angles[angle].rank or lowest

        def broken(at: int) -> str:
            best = min(sorted(self._of.usable_angles[at]), key=rank)
            if rank(best) >= rank(self._shown[at]):
                return ""
            return f"{self._name(at)}, though {angles[best].name} ranks higher"

        return self._runs(broken)

    def _again(self) -> Iterator[Broken]:
        points, ends = self._of.grid.points, dict[int, int]()
        for number, (_, first, last) in enumerate(self._placed):
            angle = self._angles[number]
            came = number and self._angles[number - 1] != angle and angle in ends
            if came:
                gap = points[first].ticks - points[ends[angle]].ticks
                if gap < self._costs.again_ticks:
                    wanted = length_words(self._costs.again_ticks)
                    name = self._of.angles[angle].name
                    yield first, last, f"{name} comes back after {length_words(gap)}, sooner than {wanted}"
            ends[angle] = last

    def _sections(self) -> Iterator[Broken]:
        sections, grid = song_sections(self._of.song), self._of.grid
        for _, first, last in self._placed:
            for before, at in pairwise(range(first, last)):
                if grid.sections[before] != grid.sections[at]:
                    name = section_words(sections[grid.sections[at]])
                    yield at, at + 1, f"no cut where {name} begins"

    def _phrases(self) -> Iterator[Broken]:
        for _, first, _ in self._placed:
            if self._costs.inside_phrase(first):
                yield first, first + 1, f"a cut inside {PHRASE_BARS} bars of its section"

    def _everyone(self) -> Iterator[Broken]:
        seen = set(self._angles)
        for angle, one in enumerate(self._of.angles):
            own = [at for at, usable in enumerate(self._of.usable_angles) if angle in usable]
            if own and angle not in seen and not one.safety:
                yield own[0], own[-1] + 1, f"{one.name} is never seen"

    def _families(self) -> Iterator[Broken]:
        sections = song_sections(self._of.song)
        like: dict[int, str] = {}
        for own in sections_of(self._of):
            for nth, section in enumerate(own):
                for old in own[:nth]:
                    for n, theirs in same_bars(self._of, section, old):
                        if n in self._shown and self._shown[n] == self._shown.get(theirs):
                            like[n] = f"{self._name(n)} as at the same bar of {section_words(sections[old])}"
        return self._runs(lambda at: like.get(at, ""))

    def _handles(self) -> Iterator[Broken]:
        for n, first, last in self._placed:
            for cost, where in ((self._costs.head(n, first), "head"), (self._costs.tail(n, last), "tail")):
                if cost:
                    words = f"fewer than {self._costs.handle_frames} frames more at the {where} of the shot"
                    yield (first, first + 1, words) if where == "head" else (last - 1, last, words)
