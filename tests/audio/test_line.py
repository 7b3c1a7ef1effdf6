"""The line between clip time and song time: its formula, its inverse, and arrays."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audio.line import Line

TIMES = st.floats(-1e4, 1e4)
LINES = st.builds(Line, TIMES, TIMES, st.floats(0.25, 4.0))


@given(LINES, TIMES)
def test_clip_time_inverts_song_time(line: Line, clip_s: float) -> None:
    assert line.clip_time(line.song_time(clip_s)) == pytest.approx(clip_s, abs=1e-6)


@given(LINES, TIMES, TIMES)
def test_shifts_delays_and_anchors(line: Line, clip_s: float, by_s: float) -> None:
    song_s = line.song_time(clip_s)
    assert line.shifted(by_s).song_time(clip_s) == pytest.approx(song_s + by_s, abs=1e-6)
    assert line.delayed(by_s).song_time(clip_s + by_s) == pytest.approx(song_s, abs=1e-6)
    assert line.anchored(by_s).song_time(clip_s) == pytest.approx(song_s, abs=1e-6)
    assert line.anchored(by_s).clip_s == by_s
    assert line.lag_s(clip_s, song_s + 0.5) == pytest.approx(0.5, abs=1e-6)
    assert line.with_speed(1.0).song_time(line.clip_s) == line.song_s


def test_arrays_give_to_the_bit_what_single_times_give() -> None:
    line, times = Line(10.3, 2.7, 1.0001), np.linspace(-5, 300, 77)
    for method in (line.song_time, line.clip_time):
        assert method(times).tolist() == [method(float(time)) for time in times]
    assert line.lag_s(3.3, times).tolist() == [line.lag_s(3.3, float(time)) for time in times]
