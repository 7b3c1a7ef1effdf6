"""Telling when files that are being copied are whole: when they stop growing.

Nothing in a file tells that its copy is finished. What can be seen is size and time of change: a file counts
as settled when both were the same over several looks in a row. Looks should be at least two seconds apart,
for that is how fine FAT keeps the time of change (Microsoft, FAT32 File System Specification 1.03: 2 s).
"""

from collections.abc import Mapping
from dataclasses import dataclass

LOOKS = 3
"""Looks in a row at which a file must be the same."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What is seen of a file at a look."""

    size_bytes: int
    changed_ns: int


class SteadyFiles:
    """Keeps what was seen of the files of a folder.

    >>> steady, fact = SteadyFiles(looks=2), Facts(10, 0)
    >>> steady.look({"a": fact}), steady.look({"a": fact}), steady.look({"a": fact})
    ([], ['a'], ['a'])
    >>> steady.done("a")
    >>> steady.look({"a": fact}), steady.look({"a": Facts(20, 0)}), steady.look({"a": Facts(20, 0)})
    ([], [], ['a'])
    """

    def __init__(self, looks: int = LOOKS) -> None:
        self._looks = looks
        self._seen: dict[str, tuple[Facts, int]] = {}
        self._done: dict[str, Facts | None] = {}

    def look(self, files: Mapping[str, Facts]) -> list[str]:
        """Note how the files are now; gives those that are settled and not done with, in their order."""
        for path in [path for path in self._seen if path not in files]:
            del self._seen[path]
        for path, facts in files.items():
            before, times = self._seen.get(path, (facts, 0))
            self._seen[path] = (facts, times + 1 if facts == before else 1)
            if self._done.get(path, facts) is None:
                self._done[path] = facts
        return [
            path
            for path, (facts, times) in self._seen.items()
            if times >= self._looks and facts.size_bytes > 0 and self._done.get(path) != facts
        ]

    def looks_at(self, path: str) -> int:
        """How many looks in a row a file has been the same."""
        return self._seen[path][1] if path in self._seen else 0

    @property
    def growing(self) -> list[str]:
        """The files that are not settled yet."""
        return [
            path
            for path, (facts, times) in self._seen.items()
            if (times < self._looks or facts.size_bytes == 0) and self._done.get(path) != facts
        ]

    def done(self, path: str) -> None:
        """Be done with a file as it is now; it comes up again when it changes."""
        if path in self._seen:
            self._done[path] = self._seen[path][0]

    def pass_over(self, paths: list[str]) -> None:
        """Be done with files as they will be found at the next look."""
        for path in paths:
            self._done[path] = None

    @property
    def passed(self) -> list[str]:
        """The files that are done with."""
        return list(self._done)
