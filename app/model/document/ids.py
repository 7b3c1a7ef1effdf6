"""Ids of what a shoot holds: a kind and a number that no other has."""

from collections.abc import Collection


def fresh_id(kind: str, taken: Collection[str]) -> str:
    """An id of that kind with the number after the highest taken.

    >>> fresh_id("clip", ["clip-1", "clip-7"])
    'clip-8'
    """
    numbers = [int(i.rpartition("-")[2]) for i in taken if i.rpartition("-")[2].isdecimal()]
    return f"{kind}-{max(numbers, default=0) + 1}"
