"""Wherever a rule is broken that is set to always, its bars are told; nowhere else."""

import random

import pytest

from app.model.document.cut import Lock, Setting
from app.model.document.plan import Passage
from app.model.document.song import FIRST_SONG
from app.model.first_pass.best_path import Placed
from app.model.first_pass.broken_rules import broken_rules
from app.model.first_pass.candidates import table
from app.model.first_pass.rules import RULES, Kind, Rules, rules_of
from app.model.first_pass.shot_costs import ShotCosts, shot_costs
from app.model.first_pass.solver import runs, solve
from app.model.on_song import SongView
from app.model.song_map.bar_spans import song_sections
from tests.app.model.first_pass.plain_cost import PlainCost, PlainShot
from tests.app.model.first_pass.random_cuts import RATES, random_view

WEIGHTS = [rule.name for rule in RULES if rule.kind is Kind.WEIGHT]
SEEDS = range(20)


def only(name: str) -> Rules:
    """One rule that is always to hold, and no other."""
    told = [Setting(one, "always" if one == name else "never") for one in WEIGHTS]
    return rules_of([*told, Setting("again bars", "4"), Setting("handle frames", "30")])


def any_cut(costs: ShotCosts, chance: random.Random) -> list[Placed]:
    """A cut by chance, not by rules: whatever can be shown, for one to four stretches."""
    placed: list[Placed] = []
    for first, last in runs(costs.table):
        at = first
        while at < last:
            can = [n for n, one in enumerate(costs.table.candidates) if one.first <= at < one.last]
            n = chance.choice(can)
            end = min(costs.table.candidates[n].last, last, at + chance.randrange(1, 5))
            placed.append((n, at, end))
            at = end
    return placed


def plainly(plain: PlainCost, costs: ShotCosts, placed: list[Placed]) -> list[PlainShot]:
    found = []
    for n, start, end in placed:
        take_id = costs.table.candidates[n].take.take.id
        found.append(
            (
                next(p for p in plain.pieces if p.take.take.id == take_id and plain.can(p, start, end)),
                start,
                end,
            )
        )
    return found


def made(name: str, seed: int) -> tuple[SongView, ShotCosts, PlainCost, list[Placed]]:
    view = random_view(seed, bars=12, takes=7)
    assert view.song is not None
    costs = shot_costs(table(view, view.song, only(name), RATES[1]))
    plain = PlainCost(view, only(name), RATES[1], costs.table.grid)
    return view, costs, plain, any_cut(costs, random.Random(seed))


@pytest.mark.parametrize("name", ["needs", "keepers", "confirmed", "featured", "safety", "rank", "ends"])
def test_stretches_that_show_less_than_could_be_shown_are_told(name: str) -> None:
    some = 0
    for seed in SEEDS:
        _, costs, plain, placed = made(name, seed)
        broken = {
            at
            for piece, start, end in plainly(plain, costs, placed)
            for at in range(start, end)
            if plain.stretch(piece, at) > min(plain.stretch(one, at) for one in plain.usable(at))
        }
        told = [at for start, end, _ in broken_rules(costs, placed) for at in range(start, end)]
        assert sorted(told) == sorted(broken)
        assert list(broken_rules(costs, placed, range(len(costs.table.weights)))) == []
        some += bool(broken)
    assert some


@pytest.mark.parametrize("name", ["again", "sections", "phrases", "handles"])
def test_shots_that_break_a_rule_are_told(name: str) -> None:
    some = 0
    for seed in SEEDS:
        _, costs, plain, placed = made(name, seed)
        shots = plainly(plain, costs, placed)
        usual = 50_000 * 24
        broken = 0
        for n, (piece, start, end) in enumerate(shots):
            if name == "again":
                coming = plain.coming(shots[:n], piece, start)
                broken += coming >= 50_000 and coming % 10**10 >= 50_000
            else:
                # A cut off the beat costs as much whatever the rules say.
                off = 0 if not start or costs.table.grid.points[start].on_beat else 5_000 * 24
                broken += (plain.shot(piece, start, end) - off) // usual
        assert len(list(broken_rules(costs, placed))) == broken
        some += bool(broken)
    assert some


def test_an_angle_that_is_never_seen_is_told() -> None:
    some = 0
    for seed in SEEDS:
        _, costs, _, placed = made("everyone", seed)
        of = costs.table
        could = {
            n for n, one in enumerate(of.angles) if not one.safety and any(n in u for u in of.usable_angles)
        }
        missing = could - {of.kinds[of.candidates[n].kind].angle for n, _, _ in placed}
        told = [words for _, _, words in broken_rules(costs, placed)]
        assert sorted(told) == sorted(f"{of.angles[n].name} is never seen" for n in missing)
        some += bool(missing)
    assert some


def test_a_section_without_a_wide_angle_is_told() -> None:
    some = 0
    for seed in SEEDS:
        _, costs, plain, placed = made("wides", seed)
        grid = costs.table.grid
        wide = {n for n, one in enumerate(costs.table.angles) if one.safety or "band" in plain.said(one)}
        wide -= {n for n, one in enumerate(costs.table.angles) if not one.safety and plain.detail(one)}
        could = {
            grid.sections[at]
            for at, usable in enumerate(costs.table.usable_angles)
            if any(n in wide and not costs.table.safety(n) for n in usable)
        }
        shown = {
            grid.sections[at]
            for n, start, end in placed
            if costs.table.kinds[costs.table.candidates[n].kind].angle in wide
            for at in range(start, end)
        }
        told = {grid.sections[start] for start, _, _ in broken_rules(costs, placed)}
        assert told == could - shown
        some += bool(told)
    assert some


def test_families_that_show_the_same_at_the_same_bar_are_told() -> None:
    some = 0
    for seed in SEEDS:
        _, costs, _, placed = made("families", seed)
        grid, sections = costs.table.grid, song_sections(costs.table.song)
        ticks = [point.ticks for point in grid.points]
        if sorted(set(ticks[1:-1])) != ticks[1:-1] or not all(point.on_beat for point in grid.points):
            continue  # takes begin inside of bars
        seen: dict[tuple[str, int], set[str]] = {}
        broken = set()
        for n, start, end in placed:
            for at in range(start, end):
                own = [m for m, one in enumerate(grid.sections) if one == grid.sections[at]]
                place = sections[grid.sections[at]].family, grid.points[at].ticks - grid.points[own[0]].ticks
                angle = costs.table.candidates[n].take.angle_id
                if place[0] and angle in seen.get(place, ()):
                    broken.add(at)
                if at or ticks[1] > ticks[0]:  # else it is a lead-in that counts as no bar
                    seen.setdefault(place, set()).add(angle)
        told = {at for start, end, _ in broken_rules(costs, placed) for at in range(start, end)}
        assert broken == told
        some += bool(broken)
    assert some


def test_what_is_told_has_its_bars_and_what_a_lock_shows_is_no_break() -> None:
    told = 0
    for seed in SEEDS:
        view = random_view(seed, bars=12, takes=7)
        result = solve(view, only("rank"), rate=RATES[1])
        ranks = {angle.id: angle.rank for angle in view.angles}
        words = [one for one in result.unsatisfied if "ranks higher" in one.words]
        assert all(one.words.startswith("bar") for one in words)
        shot = next((one for one in result.shots if ranks[one.angle_id] == 1), None)
        lower = [one for one in result.shots if ranks[one.angle_id] != 1]
        if shot is None or not lower:
            continue
        lock = Lock("lock-1", FIRST_SONG, Passage(first_bar=1, last_bar=12), lower[0].angle_id)
        fixed = solve(view, only("rank"), locks=[lock], rate=RATES[1])
        bars = {
            b for one in fixed.shots if "locked" in one.reason for b in range(one.first_bar, one.last_bar)
        }
        again = [one for one in fixed.unsatisfied if "ranks higher" in one.words]
        assert not [one for one in again if one.first_bar in bars and one.last_bar in bars]
        told += len(words)
    assert told
