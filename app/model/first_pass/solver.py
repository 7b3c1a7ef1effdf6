"""The first pass of a song, solved."""

from collections.abc import Iterable
from fractions import Fraction
from itertools import pairwise

from app.model.coverage.cut_aways import cut_aways
from app.model.coverage.usable import usable_takes
from app.model.document.cut import Lock
from app.model.first_pass.result import FirstPass, Shot, Unsatisfied
from app.model.first_pass.rules import DEFAULT, Rules
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans


def solve(
    view: SongView,
    rules: Rules = DEFAULT,
    seed: int = 0,
    locks: Iterable[Lock] = (),
    *,
    rate: Fraction,
    name: str = "first pass",
) -> FirstPass:
    """Cut the song; ``rate`` are the pictures a second of the timeline it is meant for.

    The same view, rules, seed and locks give the same cut. Without a song there are no shots.
    """
    if view.song is None:
        return FirstPass(name, (), ())
    takes = [one for one in usable_takes(view) if not one.doubtful]
    bars = bar_spans(view.song)
    edges = sorted({0.0, *(bar.start_s for bar in bars[1:]), view.song.duration_s})
    shots: list[Shot] = []
    unsatisfied: list[Unsatisfied] = []
    for start_s, end_s in pairwise(edges):
        number = max((bar.number for bar in bars if bar.start_s <= start_s), default=1)
        ways = [one for one in cut_aways(view, takes, start_s, end_s) if one.wholly]
        if not ways:
            words = f"bar {number}: nothing can be used here"
            unsatisfied.append(Unsatisfied(start_s, end_s, number, number, words, gap=True))
            continue
        way = ways[0]
        others = tuple(one.take_id for one in ways[1:])
        shots.append(Shot(start_s, end_s, number, number, way.take_id, way.angle_id, "1 bar", others))
    return FirstPass(name, tuple(shots), tuple(unsatisfied))
