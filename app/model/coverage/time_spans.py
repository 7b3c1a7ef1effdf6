"""Stretches of time: sorted, apart from each other, none empty. What every count of coverage is made of."""

from collections.abc import Iterable

Span = tuple[float, float]
Spans = tuple[Span, ...]


def union(spans: Iterable[Span]) -> Spans:
    """All that lies in any of the stretches; those that touch become one, empty ones vanish.

    >>> union([(4.0, 6.0), (0.0, 2.0), (2.0, 3.0), (5.0, 7.0)])
    ((0.0, 3.0), (4.0, 7.0))
    """
    found: list[Span] = []
    for start, end in sorted(span for span in spans if span[1] > span[0]):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return tuple(found)


def without(spans: Spans, gone: Spans) -> Spans:
    """What of the first stretches lies in none of the others.

    >>> without(((0.0, 10.0),), ((2.0, 3.0), (9.0, 12.0)))
    ((0.0, 2.0), (3.0, 9.0))
    """
    found: list[Span] = []
    for begin, end in spans:
        start = begin
        for gone_start, gone_end in gone:
            if gone_end <= start or gone_start >= end:
                continue
            if gone_start > start:
                found.append((start, gone_start))
            start = max(start, gone_end)
        if start < end:
            found.append((start, end))
    return tuple(found)


def common(one: Spans, other: Spans) -> Spans:
    """What lies in both.

    >>> common(((0.0, 4.0), (6.0, 9.0)), ((3.0, 7.0),))
    ((3.0, 4.0), (6.0, 7.0))
    """
    found = []
    for start, end in one:
        for other_start, other_end in other:
            low, high = max(start, other_start), min(end, other_end)
            if low < high:
                found.append((low, high))
    return tuple(found)


def length(spans: Spans) -> float:
    """How long they are together.

    >>> length(((0.0, 4.0), (6.0, 9.0)))
    7.0
    """
    return sum(end - start for start, end in spans)
