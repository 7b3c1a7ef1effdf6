"""Files of tests that take long are begun first, so that no process is left alone with one at the end."""

from collections.abc import Iterable
from pathlib import PurePath
from typing import Protocol, TypeVar

LONGEST = (
    "test_quick_board.py",
    "test_sample_shoot.py",
    "test_beats.py",
    "test_align.py",
    "test_cross_checks.py",
    "test_listening.py",
    "test_film.py",
    "test_whole_sample.py",
    "test_discontinuities.py",
    "test_place_command.py",
    "test_corroboration.py",
    "test_map_hints.py",
    "test_song.py",
    "test_check.py",
    "test_bad_files.py",
    "test_answer_cache.py",
    "test_quick_map.py",
)
"""By the processor time they took when this was written; the others take less than ten seconds."""


class Named(Protocol):
    """What a test is called: its file, two colons, and its name."""

    nodeid: str


Item = TypeVar("Item", bound=Named)


def longest_first(items: Iterable[Item]) -> list[Item]:
    """Tests with those of the longest files before all others, otherwise in their order."""
    rank = {name: place for place, name in enumerate(LONGEST)}

    def place(item: Item) -> int:
        return rank.get(PurePath(item.nodeid.partition("::")[0]).name, len(LONGEST))

    return sorted(items, key=place)
