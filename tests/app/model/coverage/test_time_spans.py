"""Arithmetic of stretches against the ``portion`` package (2.6; a library of intervals)."""

import portion
from hypothesis import given
from hypothesis import strategies as st

from app.model.coverage.time_spans import Span, Spans, common, length, union, without

# Whole numbers, so that ends meet often.
spans = st.lists(
    st.tuples(st.integers(0, 30), st.integers(0, 30)).map(lambda ends: (float(ends[0]), float(ends[1])))
)


def reference(found: list[Span] | Spans) -> portion.Interval:
    whole = portion.empty()
    for start, end in found:
        whole |= portion.closedopen(start, end)
    return whole


def as_spans(interval: portion.Interval) -> Spans:
    return tuple((one.lower, one.upper) for one in interval if not one.empty)


@given(spans)
def test_union(found: list[Span]) -> None:
    assert union(found) == as_spans(reference(found))


@given(spans, spans)
def test_difference_and_intersection(one: list[Span], other: list[Span]) -> None:
    first, second = union(one), union(other)
    assert without(first, second) == as_spans(reference(one) - reference(other))
    assert common(first, second) == as_spans(reference(one) & reference(other))
    assert length(first) == sum(part.upper - part.lower for part in reference(one) if not part.empty)
