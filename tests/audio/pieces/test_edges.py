"""Edges to within some milliseconds, and what tells a piece from bits that agree."""

import numpy as np
import pytest

from audio.line import Line
from audio.pieces.edges import Stretch, agreement, sharpened
from audio.pieces.pieces import on_line
from audio.placement.line_fit import fit_line
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE
from audio.signals import Samples
from audio.whitening import whiten
from tests.quality.songs import WORK_RATE, composed, to_rate
from tests.quality.stretching import stretched

LENGTH_S = 40
PUT_IN_S = 4.0


@pytest.fixture(scope="module")
def master() -> Samples:
    return composed("rock", 1, True).master[: LENGTH_S * ENGINE_RATE]


@pytest.fixture(scope="module")
def index(master: Samples) -> SongIndex:
    return SongIndex.build(master, ENGINE_RATE)


def test_edges_are_found_where_the_song_stops(master: Samples, index: SongIndex) -> None:
    """Something else is put in after 15.2 s, and 6 s of the song are cut 11 s after it: edges half a second
    off are set right."""
    cut, other = (round(one * ENGINE_RATE) for one in (15.2, PUT_IN_S))
    on, last = round(26.2 * ENGINE_RATE), round(32.2 * ENGINE_RATE)
    hiss = 0.3 * np.random.default_rng(2).standard_normal(other).astype(np.float32) * master.std()
    recording = np.concatenate([master[:cut], hiss, master[cut:on], master[last:]])
    lines = [Line(0.0, 0.0, 1.0), Line(PUT_IN_S, 0.0, 1.0), Line(PUT_IN_S, 6.0, 1.0)]
    rough = [(0.0, 15.7), (18.7, 30.6), (29.8, 38.0)]
    stretches = [Stretch(line, *ends) for line, ends in zip(lines, rough, strict=True)]
    one, two, three = sharpened(whiten(recording, ENGINE_RATE), index, stretches)
    assert one.end_s == pytest.approx(15.2, abs=0.01)
    assert two.start_s == pytest.approx(15.2 + PUT_IN_S, abs=0.01)
    assert two.end_s == three.start_s
    assert two.end_s == pytest.approx(26.2 + PUT_IN_S, abs=0.01)
    assert three.end_s == pytest.approx(len(recording) / ENGINE_RATE, abs=0.01)


def test_music_stretched_by_little_lies_on_no_line(master: Samples, index: SongIndex) -> None:
    feed = composed("rock", 1, True).room_feed[: LENGTH_S * WORK_RATE]
    played, _ = stretched(feed, 0, 1.003, int(len(feed) / 1.003), "splices")
    recording = to_rate(played.astype(np.float64), WORK_RATE, ENGINE_RATE).astype(np.float32)
    line = Line(20.0, 20.06, 1.0)
    for samples, low, high in ((master, 0.9, 1.0), (recording, 0.0, 0.4)):
        fit = fit_line(whiten(samples, ENGINE_RATE), index, line, 2.0, 38.0)
        assert fit is not None
        assert low <= on_line(fit) <= high


def test_another_song_of_the_same_loops_agrees_in_places_only() -> None:
    """The song's other mix agrees all through."""
    index = SongIndex.build(composed("loops", 3, True).master, ENGINE_RATE)
    mix = composed("loops", 3, True, mix="more guitar").master
    sister = composed("loops", 103, True, theme=3).master
    whole = Stretch(Line(0.0, 0.0, 1.0), 8.0, 46.0)
    shifted = Stretch(Line(0.0, 3.6363, 1.0), 8.0, 46.0)
    assert agreement(whiten(mix, ENGINE_RATE), index, whole) > 0.35
    assert agreement(whiten(sister, ENGINE_RATE), index, shifted) < 0.22
