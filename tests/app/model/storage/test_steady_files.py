"""Files that are being copied: given when they stop growing, and again when they change."""

from hypothesis import given
from hypothesis import strategies as st

from app.model.storage.steady_files import LOOKS, Facts, SteadyFiles


def test_a_growing_file_is_not_given_and_a_settled_one_is() -> None:
    steady = SteadyFiles()
    for size in range(1, 10):
        assert steady.look({"grows": Facts(size, size), "there": Facts(5, 0)}) == (
            ["there"] if size >= LOOKS else []
        )
    assert steady.growing == ["grows"]
    given_ = [steady.look({"grows": Facts(9, 9), "there": Facts(5, 0)}) for _ in range(LOOKS - 1)]
    assert given_[-1] == ["grows", "there"]


def test_a_file_of_a_size_set_beforehand_is_told_by_its_time() -> None:
    steady = SteadyFiles()
    for moment in range(10):
        assert steady.look({"a": Facts(1000, moment)}) == []


def test_an_empty_file_never_settles() -> None:
    steady = SteadyFiles()
    assert [steady.look({"a": Facts(0, 0)}) for _ in range(5)] == [[]] * 5
    assert steady.growing == ["a"]


def test_a_file_done_with_comes_back_only_when_it_changes() -> None:
    steady = SteadyFiles()
    for _ in range(LOOKS):
        steady.look({"a": Facts(1, 1)})
    steady.done("a")
    assert [steady.look({"a": Facts(1, 1)}) for _ in range(5)] == [[]] * 5
    assert steady.growing == []
    looks = [steady.look({"a": Facts(2, 2)}) for _ in range(LOOKS)]
    assert looks == [[]] * (LOOKS - 1) + [["a"]]


def test_files_passed_over_are_so_as_they_are_found_next() -> None:
    steady = SteadyFiles()
    steady.pass_over(["a"])
    assert [steady.look({"a": Facts(1, 1)}) for _ in range(5)] == [[]] * 5
    assert [steady.look({"a": Facts(2, 1)}) for _ in range(LOOKS)][-1] == ["a"]


def test_a_file_that_went_and_came_back_settles_anew() -> None:
    steady = SteadyFiles()
    steady.look({"a": Facts(1, 1)})
    steady.look({})
    assert [steady.look({"a": Facts(1, 1)}) for _ in range(LOOKS)] == [[]] * (LOOKS - 1) + [["a"]]


@given(st.lists(st.integers(1, 3), min_size=1, max_size=30))
def test_what_is_given_was_the_same_at_the_last_looks(sizes: list[int]) -> None:
    steady = SteadyFiles()
    for n, size in enumerate(sizes, 1):
        settled = steady.look({"a": Facts(size, 0)})
        assert bool(settled) == (n >= LOOKS and len(set(sizes[n - LOOKS : n])) == 1)
