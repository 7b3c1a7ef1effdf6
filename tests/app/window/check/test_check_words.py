"""What Check says of how a take lies: the worst first, and nothing that contradicts it."""

from dataclasses import replace

from app.model.check_queue import Entry
from app.model.document.decisions import Action, Decided, Pin
from app.model.document.findings import Rival
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, Take
from app.model.reasons import Reason
from app.window.check import check_words
from tests.app.window.made_up import make_clip


def held() -> tuple[Clip, Take]:
    clip = make_clip("C0001.mov", ((1, 30.3, False),))
    return clip, clip.takes[0]


def test_what_measures_well_holds_and_is_sure() -> None:
    worst, rest = check_words.news(*held(), [0.004, 0.003, 0.004])
    assert worst.startswith("In sync to the end")
    assert rest == "Song and take agree at every moment; the worst is 4.0 ms late (0.1 frame)."


def test_a_take_that_is_late_does_not_hold_nor_is_it_sure() -> None:
    worst, rest = check_words.news(*held(), [0.010, 0.050, 0.090])
    assert (
        worst == "! The take is up to 90.0 ms late (2.2 frames). The lag changes by 2 frames along the take."
    )
    assert rest == ""


def test_the_worst_comes_first() -> None:
    clip, take = held()
    drifting = replace(take, speed=1 + 400e-6)
    worst, rest = check_words.news(clip, drifting, [None, 0.090])
    assert worst.startswith("! The take is up to 90.0 ms late")
    assert rest == "! Drifts 0.6 frame early by the end. ! Song and take agree at only 1 of 2 moments."
    worst, rest = check_words.news(clip, drifting, [0.0, 0.0])
    assert worst == "! Drifts 0.6 frame early by the end."
    assert rest.endswith("At its own speed song and take agree at every moment.")


def test_an_odd_speed_is_not_said_to_be_sure() -> None:
    clip, take = held()
    pinned = replace(take, speed=0.741, pins=(Pin(2.0, 0.5), Pin(22.0, 0.5 + 20 * 0.741)))
    worst, rest = check_words.news(clip, pinned, [0.0, 0.0])
    assert worst.startswith("! A speed of 0.7410 is unusual")
    assert "sure" not in rest


def test_of_a_take_in_doubt_all_is_only_if_and_that_is_said_once() -> None:
    clip, take = held()
    for speed in (1.0, 1 + 400e-6):
        told = " ".join(check_words.news(clip, replace(take, speed=speed, verdict=Verdict.DOUBTFUL), []))
        assert told.removeprefix("! ").startswith("If this is the place")
        assert told.count("If this is the place") == 1


def test_a_place_by_hand_that_does_not_agree_is_said_to_be_by_hand() -> None:
    clip, take = held()
    moved = replace(take, decided=Decided(Action.MOVED, "2031-05-04T18:20:00Z"))
    assert check_words.news(clip, moved, [None, None]) == (
        "! Song and take do not agree at any of these moments.",
        "Placed by hand.",
    )


def test_the_list_and_the_page_count_the_same_places() -> None:
    """Counted is what fits as well, not what the reason once counted."""
    rivals = tuple(Rival(float(n), 0.9 - n / 50, as_well=n == 3) for n in range(10))
    doubt = Reason("fits elsewhere", (("places", 4),))
    take = Take("t", 0.0, 9.0, 0.0, verdict=Verdict.DOUBTFUL, rivals=rivals, reason=doubt)
    clip = Clip("c", MediaRef("a.mov", 1, ""), "a", takes=(take,))
    assert check_words.state(Entry(clip, take)) == "? 2 likely places"
    assert check_words.places(take) == "2 likely places"
    faint = replace(take, reason=Reason("faint"), rivals=tuple(replace(r, as_well=False) for r in rivals))
    assert check_words.state(Entry(clip, faint)) == "? in doubt"
    assert check_words.places(faint) == "No other place fits as well"
