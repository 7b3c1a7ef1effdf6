"""The cut that is found is the optimum of an integer programme, solved by HiGHS (https://highs.dev).

A variable for every shot, from cut to cut; what flows into a point flows out of it. Pairs of shots that a
rule makes dearer, and angles that come back, have variables of their own, which are 1 where they are there.
"""

import random
from collections import defaultdict
from collections.abc import Callable

import highspy
import pytest

from app.model.document.cut import Setting
from app.model.first_pass.best_path import BestPath
from app.model.first_pass.candidates import table
from app.model.first_pass.rules import Rules, rules_of
from app.model.first_pass.run_shots import RunShots
from app.model.first_pass.shot_costs import shot_costs
from app.model.first_pass.solver import runs
from app.model.on_song import SongView
from tests.app.model.first_pass.plain_cost import FORBIDDEN, PlainCost
from tests.app.model.first_pass.random_cuts import RATES, alike_view, random_view


def optimum(plain: PlainCost, first: int, last: int) -> int:
    """The least cost of filling a run."""
    model = highspy.Highs()
    model.setOptionValue("output_flag", False)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 0.5)
    objective = []
    starts, ends = defaultdict(list), defaultdict(list)
    for piece in plain.pieces:
        for start in range(first, last):
            for end in range(start + 1, last + 1):
                if not plain.can(piece, start, end):
                    break
                shot = model.addBinary()
                objective.append((plain.shot(piece, start, end), shot))
                starts[start].append((piece, shot))
                ends[end].append((piece, shot))
    model.addConstr(model.qsum([shot for _, shot in starts[first]]) == 1)
    for at in range(first + 1, last):
        model.addConstr(model.qsum([s for _, s in ends[at]]) - model.qsum([s for _, s in starts[at]]) == 0)

    def of_angle(shots: list[tuple[object, object]], angle: str) -> list[object]:
        return [shot for piece, shot in shots if piece.take.angle_id == angle]  # type: ignore[attr-defined]

    for at in range(first + 1, last):
        dear = defaultdict(list)
        for one, shot in ends[at]:
            for other, later in starts[at]:
                if cost := plain.pair(one, other):
                    dear[one.number, other.number, cost].append((shot, later))
        for (_, _, cost), pairs in dear.items():
            before = list(dict.fromkeys(id(shot) for shot, _ in pairs))
            by_id = {id(shot): shot for pair in pairs for shot in pair}
            after = list(dict.fromkeys(id(later) for _, later in pairs))
            both = model.qsum([by_id[n] for n in before]) + model.qsum([by_id[n] for n in after])
            if cost == FORBIDDEN:
                model.addConstr(both <= 1)
                continue
            pair = model.addVariable(0, 1)
            model.addConstr(both - pair <= 1)
            objective.append((cost, pair))
    for angle in {piece.take.angle_id for piece in plain.pieces}:
        for end in range(first + 1, last):
            for start in range(end + 1, last):
                cost = plain.between(end, start)
                before, after = of_angle(ends[end], angle), of_angle(starts[start], angle)
                if cost and before and after:
                    # Where the angle is seen between, it does not come back after so long.
                    between = [shot for at in range(end + 1, start) for shot in of_angle(starts[at], angle)]
                    again = model.addVariable(0, 1)
                    both = model.qsum([*before, *after])
                    model.addConstr(both - model.qsum(between) - again <= 1 if between else both - again <= 1)
                    objective.append((cost, again))
    model.minimize(model.qsum([cost * variable for cost, variable in objective]))
    assert model.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return round(model.getInfo().objective_function_value)


RULES = {
    "as they come": (),
    "fast, and an angle soon again": (("pace", "1-2"), ("again bars", "2")),
    "the safety in its turn": (("safety", "10"), ("pace", "2-3"), ("again", "20")),
    "handles and views": (("handles", "always"), ("view", "always"), ("needs", "never")),
}


@pytest.mark.parametrize("make", [random_view, alike_view])
@pytest.mark.parametrize("named", RULES)
def test_an_integer_programme_finds_nothing_cheaper(named: str, make: Callable[..., SongView]) -> None:
    seed = list(RULES).index(named)
    rules: Rules = rules_of(Setting(*one) for one in RULES[named])
    view = random_view(3000 + seed, 14, 7, gaps=False) if make is random_view else make(3100 + seed, 10, 6)
    assert view.song is not None
    rate = random.Random(seed).choice(RATES)
    costs = shot_costs(table(view, view.song, rules, rate))
    (run,) = runs(costs.table)
    shots, extra = RunShots(costs, *run), [[0] * len(costs.table.weights)] * len(costs.table.angles)
    cost = BestPath(shots).prove(extra).cost
    plain = PlainCost(view, rules, rate, costs.table.grid)
    assert cost < FORBIDDEN
    assert cost == optimum(plain, *run)
    found = BestPath(shots).solve(extra)
    assert found.at_least <= cost <= found.cost <= 1.02 * cost
