"""The first pass of a song, solved: the cheapest cut by the rules, around what is locked.

**Exact, or bounded.** For the costs of one round no other cut costs less, where few labels are to be followed
(`best_path`): needs, keepers, confirmed, safety, rank, length, cuts, view, sections, phrases, handles, and
``again`` however many shots lie between two of an angle. Where an angle may come back in very many ways, as
in long songs with many angles, some of them are left out, and what no cut can cost less than is known.
Without the rule ``again`` it is always exact. Faults, takes in doubt and gaps are no costs: the first two are
no candidates, and a gap is only where there is no candidate.

**With a look back.** What a whole passage has seen is not part of the state, so it is looked at between
rounds. In the second round all other angles are dearer where a need of which too little was seen had best be
met, where an angle of which nothing was (``everyone``) and where a wide angle in each section (``wides``).
What is there already, but only just, is held in the same way. Then what the sections before showed at a bar
costs in the later sections of their family (``families``), one after the other.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from zlib import crc32

from app.model.document.cut import Lock, Version
from app.model.document.song import Song
from app.model.first_pass.best_path import BestPath, Placed
from app.model.first_pass.candidates import Table, cost_of, sections_of, table
from app.model.first_pass.locking import LOCKED, Locked, locked, with_locked_takes
from app.model.first_pass.result import FirstPass
from app.model.first_pass.rules import DEFAULT, Rules, rules_of
from app.model.first_pass.run_shots import RunShots
from app.model.first_pass.same_bars import same_bars
from app.model.first_pass.shot_costs import shot_costs
from app.model.first_pass.shown_so_far import (
    angles_shown,
    places_of_everyone,
    places_of_needs,
    places_of_wides,
)
from app.model.first_pass.telling import Teller
from app.model.on_song import SongView

FIRST_PASS = "first pass"
"""What a first pass is called that has no version of its own."""
UNSEEN = 20
"""How many times as much a need counts in the second round of which the first did not show enough."""
CHANCE = 4
"""Up to what weight another seed than 0 likes or dislikes an angle in a section."""


def solve(
    view: SongView,
    rules: Rules = DEFAULT,
    seed: int = 0,
    locks: Iterable[Lock] = (),
    *,
    rate: Fraction,
    name: str = FIRST_PASS,
) -> FirstPass:
    """Cut the song; ``rate`` are the pictures a second of the timeline it is meant for.

    The same view, rules, seed and locks give the same cut. Without a song there are no shots.
    """
    return Solver(view, rules, rate).solve(seed, locks, name)


LONGEST_S = 6 * 3600.0
"""Songs up to this are cut (s)."""


def solve_version(view: SongView, version: Version | None, rate: Fraction) -> FirstPass:
    """Cut the song by a version (None: by the rules as they come), around the song's locks.

    Raises RulesError where the version's settings are no rules.
    """
    if version is None:
        return solve(view, locks=view.cut.locks, rate=rate)
    rules = rules_of(version.settings)
    return solve(view, rules, version.seed, view.cut.locks, rate=rate, name=version.name)


def _can_be_cut(song: Song, rate: Fraction) -> bool:
    """Whether a song has a frame, a length that can be, and a map in order: a file may hold anything."""
    points = (
        song.map.bars_s,
        song.map.beats_s,
        tuple(one for section in song.map.sections for one in (section.start_s, section.end_s)),
    )
    end_s = song.duration_s
    # A map may begin or end a little outside of its song.
    return 1 / rate <= end_s <= LONGEST_S and all(
        all(a <= b for a, b in pairwise((-1.0, *times, end_s + 1.0))) for times in points
    )


class Stopped(Exception):
    """The cut is not wanted any more."""


class Solver:
    """One view of a shoot and one set of rules; it keeps what does not change with locks and seeds.

    ``stop`` is asked now and then, and where it says True `Stopped` is raised. A solver that was stopped in
    `solve` can be used again.
    """

    def __init__(
        self, view: SongView, rules: Rules, rate: Fraction, stop: Callable[[], bool] = lambda: False
    ) -> None:
        song = view.song if view.song is not None and _can_be_cut(view.song, rate) else None
        self._costs = None if song is None else shot_costs(table(view, song, rules, rate))
        self._rounds: list[list[BestPath]] = []
        if self._costs is not None:
            asked = _raising(stop)
            shots = [RunShots(self._costs, *run, asked) for run in runs(self._costs.table)]
            self._rounds.append([BestPath(one) for one in shots])

    def solve(
        self,
        seed: int = 0,
        locks: Iterable[Lock] = (),
        name: str = FIRST_PASS,
        *,
        stop: Callable[[], bool] = lambda: False,
    ) -> FirstPass:
        """Cut the song around locks."""
        if self._costs is None:
            return FirstPass(name, (), ())
        of = self._costs.table
        fixed = locked(of, locks)
        placed, not_met = with_locked_takes(of, self._placed(of, seed, fixed, _raising(stop)), fixed)
        words = Teller(self._costs, placed, replace(fixed, not_met=(*fixed.not_met, *not_met)))
        return FirstPass(name, words.shots(), words.unsatisfied())

    def _placed(self, of: Table, seed: int, fixed: Locked, asked: Callable[[], None]) -> list[Placed]:
        extra = [
            [
                (LOCKED if fixed.angle_of.get(n, angle) != angle else 0) + chance * weight
                for n, (weight, chance) in enumerate(zip(of.weights, _chances(of, seed, angle), strict=True))
            ]
            for angle in range(len(of.angles))
        ]
        placed = self._round(0, extra, asked)
        missing, met = places_of_needs(of, placed)
        needs = cost_of(of.rules, "needs")
        for wishes, weight in (
            (missing, UNSEEN * needs),
            (met, needs),
            (places_of_everyone(of, placed), cost_of(of.rules, "everyone")),
            (places_of_wides(of, placed), cost_of(of.rules, "wides")),
        ):
            for angles, stretches in wishes:
                _favour(of, angles, stretches, weight, extra)
        placed = self._round(1, extra, asked)
        families = sections_of(of)
        weight = cost_of(of.rules, "families")
        for nth in range(1, max(map(len, families), default=0) if weight else 0):
            for own in families:
                if nth < len(own):
                    _avoid(of, placed, own[:nth], own[nth], weight, extra)
            placed = self._round(1 + nth, extra, asked)
        return placed

    def _round(self, number: int, extra: Sequence[Sequence[int]], asked: Callable[[], None]) -> list[Placed]:
        """Solve a round from what it was worked out from last, or from the round before: what is nearer.

        What was worked out last is left as it is until the round is done.
        """
        before = self._rounds[number - 1] if number else self._rounds[0]
        own = self._rounds[number] if number < len(self._rounds) else before
        paths = [
            min(ways, key=lambda path: path.changes(extra)).copy() for ways in zip(own, before, strict=True)
        ]
        placed = [shot for path in paths for shot in path.solve(extra, asked).placed]
        self._rounds[number : number + 1] = [paths]
        return placed


def _raising(stop: Callable[[], bool]) -> Callable[[], None]:
    def asked() -> None:
        if stop():
            raise Stopped

    return asked


def runs(of: Table) -> list[tuple[int, int]]:
    """From which point to which something can be used all along."""
    found: list[tuple[int, int]] = []
    for n, usable in enumerate(of.usable_angles):
        if not usable:
            continue
        if found and found[-1][1] == n:
            found[-1] = found[-1][0], n + 1
        else:
            found.append((n, n + 1))
    return found


def _chances(of: Table, seed: int, angle: int) -> list[int]:
    """For each stretch how little a seed likes an angle in its section; the first seed likes all alike."""
    if not seed:
        return [0] * len(of.weights)
    count = 1 + max(of.grid.sections, default=0)
    drawn = [crc32(f"{seed} {of.angles[angle].id} {n}".encode()) % (CHANCE + 1) for n in range(count)]
    return [drawn[n] for n in of.grid.sections]


def _favour(
    of: Table, angles: Collection[int], stretches: Iterable[int], weight: int, extra: Sequence[list[int]]
) -> None:
    """Make all other angles dearer in some stretches."""
    for n in stretches:
        for angle in of.usable_angles[n].difference(angles):
            extra[angle][n] += weight * of.weights[n]


def _avoid(
    of: Table,
    placed: Sequence[Placed],
    before: Sequence[int],
    section: int,
    weight: int,
    extra: Sequence[list[int]],
) -> None:
    """Make dearer in a section what sections before it showed at the same bar."""
    angle_at = angles_shown(of, placed)
    for old in before:
        for n, theirs in same_bars(of, section, old):
            if theirs in angle_at:
                extra[angle_at[theirs]][n] += weight * of.weights[n]
