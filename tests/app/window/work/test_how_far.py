"""How far the placing of clips is told, and the time left, on a clock that is set by hand."""

import pytest

from app.window.work.how_far import LEAST_S, HowFar, Remaining


class Clock:
    """Seconds that pass only when told."""

    now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


def test_the_time_left_goes_by_what_was_done_since_the_start(clock: Clock) -> None:
    """Half was known before the first clip was heard; a fourth of the whole then took 60 s."""
    remaining = Remaining(clock)
    assert remaining.left_s(0.5) is None
    clock.now += 60
    assert remaining.left_s(0.75) == pytest.approx(60.0)
    clock.now += 30
    assert remaining.left_s(0.75) == pytest.approx(90.0), "nothing is done while time goes by"


def test_nothing_is_told_too_soon(clock: Clock) -> None:
    remaining = Remaining(clock)
    remaining.left_s(0.0)
    clock.now += LEAST_S / 2
    assert remaining.left_s(0.5) is None
    clock.now += LEAST_S
    assert remaining.left_s(0.01) is None


def test_a_batch_in_words(clock: Clock) -> None:
    far = HowFar({f"/{n}": 100 for n in range(40)}, clock)
    for n in range(4):
        assert far.answered(f"/{n}")
    assert far.doing.words == "Placing clips: 4 of 40 done"
    clock.now += 500  # known answers came without work: this time is not what clips take
    far.told({"/4": 0.001})
    assert far.doing.words == "Placing clips: 4 of 40 done"
    clock.now += 60
    for n in range(4, 16):
        far.answered(f"/{n}")
    assert far.doing.words == "Placing clips: 16 of 40 done, about 2 min left"
    assert far.doing.fraction == pytest.approx(0.4)
    for n in range(16, 40):
        far.answered(f"/{n}")
    assert far.doing.words == "Placing clips: 40 of 40 done"


def test_a_long_file_counts_for_more_and_a_small_one_for_something(clock: Clock) -> None:
    far = HowFar({"/long": 900, "/short": 100, "/recorder": 0}, clock)
    far.answered("/long")
    assert far.doing.fraction == pytest.approx(900 / (900 + 100 + 1000 / 12))


def test_an_answer_counts_once_and_ends_the_clip_s_own_progress(clock: Clock) -> None:
    far = HowFar({"/a": 1, "/b": 1}, clock)
    far.told({"/a": 0.5, "/b": 0.25})
    assert far.fractions == {"/a": 0.5, "/b": 0.25}
    assert far.doing.fraction == pytest.approx(0.375)
    assert far.answered("/a")
    assert not far.answered("/a")
    assert not far.answered("/elsewhere")
    far.told({"/a": 0.9, "/b": 0.5})
    assert far.fractions == {"/b": 0.5}
    assert "/b" in far
    assert "/c" not in far


def test_comparing_has_a_time_of_its_own(clock: Clock) -> None:
    far = HowFar({"/a": 1}, clock)
    far.compared(0, 4)
    assert far.doing.words == "Comparing clips: 0 of 4 done"
    far.answered("/a")
    assert far.doing.words == "Comparing clips: 0 of 4 done", "an answer told late"
    clock.now += 120
    far.compared(1, 4)
    assert far.doing.words == "Comparing clips: 1 of 4 done, about 6 min left"
    far.compared(4, 4)
    assert far.doing.words == "Comparing clips: 4 of 4 done"
