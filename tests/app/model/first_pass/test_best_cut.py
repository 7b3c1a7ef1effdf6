"""The cut that is found costs what the cheapest of all cuts costs, each of them tried."""

import random
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cache

import pytest

from app.model.document.cut import Setting
from app.model.first_pass.best_path import BestPath, Placed
from app.model.first_pass.candidates import table
from app.model.first_pass.rules import DEFAULT, Rules, rules_of
from app.model.first_pass.shot_costs import ShotCosts, shot_costs
from app.model.first_pass.solver import Solver, runs
from app.model.on_song import SongView
from tests.app.model.first_pass.plain_cost import Piece, PlainCost
from tests.app.model.first_pass.random_cuts import RATES, random_locks, random_rules, random_view

Shots = tuple[tuple[Piece, int, int], ...]


def costs_of(view: SongView, rules: Rules, rate: Fraction) -> ShotCosts:
    assert view.song is not None
    return shot_costs(table(view, view.song, rules, rate))


def nothing(costs: ShotCosts) -> list[list[int]]:
    return [[0] * len(costs.table.weights) for _ in costs.table.angles]


def all_cuts(plain: PlainCost, first: int, last: int) -> Iterator[tuple[int, Shots]]:
    """Every way to fill a run with shots, and its cost."""
    shot, pair = cache(plain.shot), cache(plain.pair)

    def on(start: int, cost: int, before: Shots) -> Iterator[tuple[int, Shots]]:
        if start == last:
            yield cost, before
            return
        for piece in plain.pieces:
            for end in range(start + 1, last + 1):
                if not plain.can(piece, start, end):
                    continue
                total = cost + shot(piece, start, end)
                if before:
                    total += pair(before[-1][0], piece)
                if len(before) > 1 and before[-2][0].take.angle_id == piece.take.angle_id:
                    total += plain.between(*before[-1][1:])
                yield from on(end, total, (*before, (piece, start, end)))

    return on(first, 0, ())


def cost_of_cut(plain: PlainCost, costs: ShotCosts, placed: Sequence[Placed]) -> int:
    """What a found cut costs, worked out plainly."""
    total, before = 0, []
    for n, start, end in placed:
        one = costs.table.candidates[n]
        piece = next(
            p for p in plain.pieces if p.take.take.id == one.take.take.id and plain.can(p, start, end)
        )
        total += plain.shot(piece, start, end)
        if before:
            total += plain.pair(before[-1][0], piece)
        if len(before) > 1 and before[-2][0].take.angle_id == piece.take.angle_id:
            total += plain.between(*before[-1][1:])
        before.append((piece, start, end))
    return total


@pytest.mark.parametrize("seed", range(40))
def test_no_other_cut_costs_less(seed: int) -> None:
    chance = random.Random(seed)
    view = random_view(seed, bars=chance.randrange(2, 6), takes=chance.randrange(1, 5))
    rules = DEFAULT if seed % 3 == 0 else random_rules(seed)
    rate = chance.choice(RATES)
    costs = costs_of(view, rules, rate)
    plain = PlainCost(view, rules, rate, costs.table.grid)
    for first, last in runs(costs.table):
        if last - first > 6:
            last = first + 6
        cost, placed = BestPath(costs, first, last).solve(nothing(costs))
        assert cost == min(one for one, _ in all_cuts(plain, first, last))
        assert cost == cost_of_cut(plain, costs, placed)


@pytest.mark.parametrize("seed", range(10))
def test_what_was_worked_out_before_changes_nothing(seed: int) -> None:
    view = random_view(1000 + seed, bars=40, takes=14)
    rules = DEFAULT if seed % 3 == 0 else random_rules(seed)
    kept = Solver(view, rules, RATES[1])
    for n in range(4):
        locks = random_locks(seed * 10 + n, 40)
        fresh = Solver(view, rules, RATES[1])
        assert kept.solve(n % 2, locks) == fresh.solve(n % 2, locks)


@pytest.mark.parametrize("seed", range(16))
def test_costs_after_changes_are_those_of_a_new_start(seed: int) -> None:
    chance = random.Random(seed)
    rules = rules_of([Setting("again bars", str(seed % 4)), Setting("pace", "1-2")])
    costs = costs_of(random_view(2000 + seed, bars=30, takes=10, gaps=False), rules, RATES[1])
    (run,) = runs(costs.table)
    kept, extra = BestPath(costs, *run), nothing(costs)
    for _ in range(6):
        for _ in range(chance.randrange(1, 4)):
            extra[chance.randrange(len(extra))][chance.randrange(len(extra[0]))] = chance.choice(
                (0, 500, 10**13)
            )
        assert kept.solve(extra) == BestPath(costs, *run).solve(extra)
