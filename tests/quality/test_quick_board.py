"""A small scoreboard of placement in every test run: four songs of about a minute, 26 kinds of clip.

Most kinds come with two of the songs. All songs with all kinds: ``python -m tests.quality.scoreboard --short
--songs 4``; the long one: ``python -m tests.quality.scoreboard``.
"""

import pytest

from tests.quality.judging import Score
from tests.quality.refusals import REFUSALS
from tests.quality.runs import run
from tests.quality.scoring import Spec
from tests.quality.songs import SongKey
from tests.quality.tally import outcome, table

SONGS = [SongKey(style, 1, short=True) for style in ("rock", "pop", "loops", "waltz")]
TWINS = (("twin", "5"), ("no piece of sister", "-"))
"""For all songs: what comes twice in a song, or in another of its kind, differs most between them."""
IN_TWO = (
    ("drums", "12"),
    ("wind", "10"),
    ("gain", "40"),
    ("clock", "300"),
    ("pick-up", "15"),
    ("restart", "10"),
    ("again", "3 x 25"),
    ("pull-down", "1001/1000"),
    ("codec", "32"),
    ("dropped", "480"),
    ("no talk", "-"),
    ("no other song", "-"),
)
"""Each for two of the songs."""
IN_TURN = (
    ("phone", "3 in garage-4m"),
    ("outdoors", "6 m"),
    ("band", "12"),
    ("two cameras", "cellar-3m and cellar-6m"),
    ("other mix", "rough"),
    ("live edit", "12"),
    ("other head", "3.217"),
    ("paused", "6"),
    ("dropouts", "6"),
    ("no second song", "-"),
    ("no count-in", "-"),
    ("no tuning", "-"),
)
"""Each for one of the songs."""


@pytest.fixture(scope="module")
def scores() -> list[Score]:
    """Every clip once, in two processes."""
    todo = [
        Spec(song, kind, strength, 1)
        for turn, song in enumerate(SONGS)
        for kind, strength in (*TWINS, *IN_TWO[turn % 2 :: 2], *IN_TURN[turn :: len(SONGS)])
    ]
    return run(todo, workers=2)


def _of(scores: list[Score], *outcomes: str) -> str:
    return "\n".join(f"{score.name}: {score.notes}" for score in scores if outcome(score) in outcomes)


def test_all_clips_were_made(scores: list[Score]) -> None:
    """Two of the songs have no twins to be doubtful about; the sister of the loops is another mix of them."""
    assert len(scores) == len(SONGS) * len(TWINS) + 2 * len(IN_TWO) + len(IN_TURN) - 3


def test_nothing_is_placed_wrong(scores: list[Score]) -> None:
    assert sum(score.wrong for score in scores) == 0, _of(scores, "WRONG")


def test_nearly_every_take_is_found(scores: list[Score]) -> None:
    """Of the takes that can be told; a doubt about a passage with a near twin is fair and not counted."""
    clear = [score for score in scores if score.kind != "twin" and score.kind not in REFUSALS]
    takes = sum(score.takes - score.fair_doubts for score in clear)
    assert sum(score.right for score in clear) >= 0.97 * takes, _of(clear, "missed", "doubtful")


def test_two_cameras_of_one_moment_agree(scores: list[Score]) -> None:
    agree = [one for score in scores for one in score.agree]
    assert agree, "no pair was placed"
    assert all(agree), [score.apart_ms for score in scores]


def test_twins_are_doubted_and_the_true_place_is_listed(scores: list[Score]) -> None:
    twins = [score for score in scores if score.kind == "twin"]
    assert sum(score.first + score.listed for score in twins) == len(twins), table(twins, lambda s: s.song)


def test_errors_are_small_and_told(scores: list[Score]) -> None:
    """Middle of the take: median under 0.2 ms; the stated uncertainty holds 90 in 100 of them.

    Clips that lost samples are left out of the second: no line can follow them to better than the loss.
    """
    errors = sorted(abs(error) for score in scores for error in score.middle_ms)
    assert errors[len(errors) // 2] < 0.2, table(scores, lambda s: s.kind)
    within = [inside for score in scores if score.kind != "dropped" for inside in score.within]
    assert sum(within) >= 0.9 * len(within), table(scores, lambda s: s.kind)
