"""JSON values looked at one by one: what is missing, unknown or of the wrong kind is told with its place."""

import math
from collections.abc import Callable
from fractions import Fraction
from typing import TypeVar

from app.model.timebase import parse_rate

T = TypeVar("T")
Json = dict[str, object]


LONGEST_SHOWN = 60
"""Letters of a value that are told of it."""


def shown(value: object) -> str:
    """A value as it is told; the beginning of a long one.

    >>> shown("x" * 100)
    "'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx…"
    """
    text = "a long number" if isinstance(value, int) and value.bit_length() > 200 else repr(value)
    return brief(text)


def brief(text: str) -> str:
    """A text, or the beginning of a long one."""
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}…"


class WrongShape(Exception):
    """A value is not what it should be; ``str(error)`` says where and what."""


class Node:
    """One JSON object: knows where in the document it is, and which of its keys were read."""

    def __init__(self, value: object, where: str) -> None:
        if not isinstance(value, dict):
            raise WrongShape(f"{where} is not a group of named values")
        self.where = where
        self._values: Json = value
        self._read: set[str] = set()

    def __contains__(self, key: str) -> bool:
        return key in self._values

    def done(self, result: T) -> T:
        """Give back what was made of this node, when no key is left over that would be lost."""
        for key in self._values:
            if key not in self._read:
                raise WrongShape(f"{self.where} holds {shown(key)}, which is not known")
        return result

    def is_null(self, key: str) -> bool:
        return self._get(key) is None

    def node(self, key: str) -> "Node":
        return Node(self._get(key), self._at(key))

    def each(self, key: str, read: Callable[["Node"], T]) -> tuple[T, ...]:
        return tuple(
            read(Node(item, f"{self._at(key)} number {n}")) for n, item in enumerate(self._list(key), 1)
        )

    def text(self, key: str) -> str:
        return self._text(self._get(key), key)

    def texts(self, key: str) -> tuple[str, ...]:
        return tuple(self._text(item, key) for item in self._list(key))

    def number(self, key: str) -> float:
        return self._number(self._get(key), key)

    def numbers(self, key: str) -> tuple[float, ...]:
        return tuple(self._number(item, key) for item in self._list(key))

    def figures(self) -> tuple[tuple[str, float | str], ...]:
        """All that is here: names, each with a number or a text."""
        return tuple(
            (key, self.text(key) if isinstance(value, str) else self._figure(key))
            for key, value in self._values.items()
        )

    def _figure(self, key: str) -> float:
        """A number; a whole one stays whole, for it counts something."""
        number, value = self.number(key), self._get(key)
        return value if isinstance(value, int) else number

    def count(self, key: str) -> int:
        value = self._get(key)
        if not isinstance(value, int) or isinstance(value, bool) or value < 0:
            raise WrongShape(f"{self._at(key)} is not a whole number from 0 on")
        return value

    def truth(self, key: str) -> bool:
        value = self._get(key)
        if not isinstance(value, bool):
            raise WrongShape(f"{self._at(key)} is neither true nor false")
        return value

    def rate(self, key: str) -> Fraction | None:
        if self.is_null(key):
            return None
        try:
            return parse_rate(self.text(key))
        except ValueError as error:
            raise WrongShape(f"{self._at(key)}: {error}") from None

    def one_of(self, key: str, kind: Callable[[str], T]) -> T:
        try:
            return kind(self.text(key))
        except ValueError:
            raise WrongShape(f"{self._at(key)} says {shown(self._get(key))}, which is not known") from None

    def _at(self, key: str) -> str:
        return f"{key!r} of {self.where}"

    def _get(self, key: str) -> object:
        if key not in self._values:
            raise WrongShape(f"{self.where} lacks {key!r}")
        self._read.add(key)
        return self._values[key]

    def _list(self, key: str) -> list[object]:
        value = self._get(key)
        if not isinstance(value, list):
            raise WrongShape(f"{self._at(key)} is not a list")
        return value

    def _text(self, value: object, key: str) -> str:
        if not isinstance(value, str):
            raise WrongShape(f"{self._at(key)} is not a text")
        return value

    def _number(self, value: object, key: str) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise WrongShape(f"{self._at(key)} is not a number")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise WrongShape(f"{self._at(key)} is not a finite number")
        return number
