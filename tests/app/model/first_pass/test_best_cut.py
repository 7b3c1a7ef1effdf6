"""The cut that is found costs what the cheapest of all cuts costs, each of them tried."""

import random
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cache

import pytest

from app.model.document.cut import Setting
from app.model.first_pass.best_path import BestPath, Found, Placed
from app.model.first_pass.candidates import table
from app.model.first_pass.locking import LOCKED
from app.model.first_pass.rules import DEFAULT, Rules, rules_of
from app.model.first_pass.run_shots import RunShots
from app.model.first_pass.shot_costs import ShotCosts, shot_costs
from app.model.first_pass.solver import Solver, Stopped, runs
from app.model.on_song import SongView
from tests.app.model.first_pass.plain_cost import PlainCost, PlainShot, cheapest
from tests.app.model.first_pass.random_cuts import (
    RATES,
    alike_view,
    random_locks,
    random_rules,
    random_view,
)


def costs_of(view: SongView, rules: Rules, rate: Fraction) -> ShotCosts:
    assert view.song is not None
    return shot_costs(table(view, view.song, rules, rate))


def nothing(costs: ShotCosts) -> list[list[int]]:
    return [[0] * len(costs.table.weights) for _ in costs.table.angles]


def all_cuts(plain: PlainCost, first: int, last: int) -> Iterator[int]:
    """What every way to fill a run with shots costs."""
    shot = cache(plain.shot)

    def on(start: int, cost: int, before: tuple[PlainShot, ...]) -> Iterator[int]:
        if start == last:
            yield cost
            return
        for piece in plain.pieces:
            coming = plain.coming(before, piece, start)
            for end in range(start + 1, last + 1):
                if plain.can(piece, start, end):
                    total = cost + coming + shot(piece, start, end)
                    yield from on(end, total, (*before, (piece, start, end)))

    return on(first, 0, ())


def cost_of_cut(plain: PlainCost, costs: ShotCosts, placed: Sequence[Placed]) -> int:
    """What a found cut costs, worked out plainly."""
    shots = []
    for n, start, end in placed:
        take_id = costs.table.candidates[n].take.take.id
        piece = next(p for p in plain.pieces if p.take.take.id == take_id and plain.can(p, start, end))
        shots.append((piece, start, end))
    return plain.total(shots)


def check(costs: ShotCosts, plain: PlainCost, first: int, last: int, least: int) -> Found:
    """What is proved is the least, and what is found by default is what it says."""
    shots = RunShots(costs, first, last)
    proved, found = (way(nothing(costs)) for way in (BestPath(shots).prove, BestPath(shots).solve))
    assert proved.cost == proved.at_least == least
    assert found.at_least <= least <= found.cost
    few = BestPath(shots, followed=1).solve(nothing(costs))
    assert few.at_least <= least <= few.cost
    for one in (proved, found, few):
        assert one.cost == cost_of_cut(plain, costs, one.placed)
        assert [end for _, _, end in one.placed[:-1]] == [start for _, start, _ in one.placed[1:]]
        assert (one.placed[0][1], one.placed[-1][2]) == (first, last)
    return found


@pytest.mark.parametrize("seed", range(60))
def test_no_other_cut_costs_less(seed: int) -> None:
    chance = random.Random(seed)
    view = random_view(seed, bars=chance.randrange(2, 6), takes=chance.randrange(1, 5))
    rules = DEFAULT if seed % 3 == 0 else random_rules(seed)
    rate = chance.choice(RATES)
    costs = costs_of(view, rules, rate)
    plain = PlainCost(view, rules, rate, costs.table.grid)
    for first, last in runs(costs.table):
        last = min(last, first + 6)
        least = min(all_cuts(plain, first, last))
        assert cheapest(plain, first, last) == least
        check(costs, plain, first, last, least)


@pytest.mark.parametrize("seed", range(48))
def test_no_other_cut_of_more_bars_costs_less(seed: int) -> None:
    chance = random.Random(5000 + seed)
    make = random_view if seed % 4 == 0 else alike_view
    view = make(5000 + seed, bars=chance.randrange(6, 10), takes=chance.randrange(4, 7))
    rules = rules_of([Setting("pace", chance.choice(("1", "1-2", "2"))), Setting("again bars", "6")])
    if seed % 2:
        rules = random_rules(5000 + seed, beats=seed % 8 == 1)
    rate = chance.choice(RATES)
    costs = costs_of(view, rules, rate)
    plain = PlainCost(view, rules, rate, costs.table.grid)
    for first, last in runs(costs.table):
        last = min(last, first + 8)
        check(costs, plain, first, last, cheapest(plain, first, last))


@pytest.mark.parametrize("seed", range(12))
def test_extra_costs_are_counted_where_they_are(seed: int) -> None:
    chance = random.Random(6000 + seed)
    costs = costs_of(alike_view(6000 + seed, bars=7, takes=5), random_rules(6000 + seed), RATES[1])
    plain = PlainCost(alike_view(6000 + seed, bars=7, takes=5), costs.table.rules, RATES[1], costs.table.grid)
    (run,) = runs(costs.table)
    extra = nothing(costs)
    for row in extra:
        for n in range(len(row)):
            row[n] = chance.choice((0, 0, 700, LOCKED))
    of = {angle.id: row for angle, row in zip(costs.table.angles, extra, strict=True)}
    usual = plain.stretch
    plain.stretch = lambda piece, at: usual(piece, at) + of[piece.take.angle_id][at]  # type: ignore[method-assign]
    proved = BestPath(RunShots(costs, *run)).prove(extra)
    assert proved.cost == proved.at_least == cheapest(plain, *run)
    assert proved.cost == cost_of_cut(plain, costs, proved.placed)


def test_little_is_lost_where_not_all_ways_are_followed() -> None:
    lost, least, open_ = 0, 0, 0
    for seed in range(10):
        rules = rules_of([Setting("pace", "1-2"), Setting("rank", str(seed % 3)), Setting("phrases", "4")])
        costs = costs_of(alike_view(7000 + seed, bars=14, takes=8), rules, RATES[1])
        (run,) = runs(costs.table)
        found, proved = (
            way(nothing(costs))
            for way in (BestPath(RunShots(costs, *run)).solve, BestPath(RunShots(costs, *run)).prove)
        )
        assert found.at_least <= proved.cost <= found.cost
        lost, least = lost + found.cost - proved.cost, least + proved.cost
        open_ += found.at_least < found.cost
    assert open_, "some are to be so hard that not all is followed"
    assert lost <= 0.01 * least


def test_without_the_rule_that_looks_back_long_songs_are_solved_exactly() -> None:
    for seed in range(3):
        rules = rules_of([Setting("again", "never"), Setting("cuts", "beats")])
        costs = costs_of(alike_view(8000 + seed, bars=40, takes=12), rules, RATES[1])
        for run in runs(costs.table):
            found = BestPath(RunShots(costs, *run)).solve(nothing(costs))
            assert found.at_least == found.cost


@pytest.mark.parametrize("seed", range(10))
def test_what_was_worked_out_before_changes_nothing(seed: int) -> None:
    view = random_view(1000 + seed, bars=40, takes=14)
    rules = DEFAULT if seed % 3 == 0 else random_rules(seed, beats=True)
    kept = Solver(view, rules, RATES[1])
    for n in range(4):
        locks = random_locks(seed * 10 + n, 40)
        fresh = Solver(view, rules, RATES[1])
        assert kept.solve(n % 2, locks) == fresh.solve(n % 2, locks)


@pytest.mark.parametrize("seed", range(16))
def test_costs_after_changes_are_those_of_a_new_start(seed: int) -> None:
    chance = random.Random(seed)
    rules = rules_of([Setting("again bars", str((0, 1, 3, 8)[seed % 4])), Setting("pace", "1-2")])
    view = random_view(2000 + seed, 30, 10, gaps=False) if seed % 2 else alike_view(2000 + seed, 40, 12)
    costs = costs_of(view, rules, RATES[1])
    (run,) = runs(costs.table)
    kept, extra = BestPath(RunShots(costs, *run)), nothing(costs)
    for _ in range(6):
        for _ in range(chance.randrange(1, 4)):
            extra[chance.randrange(len(extra))][chance.randrange(len(extra[0]))] = chance.choice(
                (0, 500, LOCKED)
            )
        before, kept = kept, kept.copy()
        assert kept.solve(extra) == BestPath(RunShots(costs, *run)).solve(extra)
        if chance.random() < 0.3:
            kept = before  # what a copy did is not known to it


@pytest.mark.parametrize("stop_at", [0, 3, 9])
def test_a_solver_that_was_stopped_can_be_used_again(stop_at: int) -> None:
    view = random_view(9000, bars=60, takes=20, gaps=False)
    kept = Solver(view, DEFAULT, RATES[1])
    before = kept.solve()
    left = iter(range(stop_at))
    with pytest.raises(Stopped):
        kept.solve(3, random_locks(9002, 60), stop=lambda: next(left, None) is None)
    assert kept.solve() == before
    with pytest.raises(Stopped):
        Solver(view, DEFAULT, RATES[1], stop=lambda: True)
