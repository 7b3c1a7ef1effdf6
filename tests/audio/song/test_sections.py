"""Sections of songs whose turns are known, and the scorer against its own truth table."""

from itertools import pairwise

import numpy as np
import pytest

from audio.errors import BadSignal, Stopped
from audio.song.beats import Beats
from audio.song.sections import find_sections
from tests.audio.map_songs import RATE
from tests.audio.mapped import beats, sections, song
from tests.quality.map_board import beat_scores, turn_score

HEARD = ("rock 176 with count-in", "waltz 150", "swing 140")
NO_BEATS = Beats(None, np.zeros(0), np.zeros(0), 4, 0.0)


def edges(spans) -> np.ndarray:
    return np.array([spans[0].start_s, *(span.end_s for span in spans)])


@pytest.mark.parametrize("name", HEARD)
def test_plain_turns_are_all_found(name):
    truth = np.array([*song(name).turns_s, song(name).end_s])
    assert turn_score(truth, edges(sections(name)), 0.5) == 1.0


@pytest.mark.parametrize("name", HEARD)
def test_sections_fill_the_song(name):
    spans = sections(name)
    assert spans[0].start_s == 0.0
    assert spans[-1].end_s == pytest.approx(song(name).samples.size / RATE)
    assert all(one.end_s == two.start_s for one, two in pairwise(spans))
    assert all(span.end_s > span.start_s for span in spans)
    assert np.isin([span.start_s for span in spans[1:]], beats(name).bars_s).all()
    assert "".join(span.letter for span in spans) == "ABCDEFGHIJKLMNOP"[: len(spans)]


def test_what_returns_has_the_usual_names():
    # The waltz goes intro, verse, chorus, verse, chorus, ending; the chorus is the louder one.
    names = [span.name for span in sections("waltz 150")]
    assert names == ["Intro", "Verse 1", "Chorus 1", "Verse 2", "Chorus 2", "Outro"]


def test_without_beats_the_sound_still_turns():
    rng = np.random.default_rng(2)
    time = np.arange(40 * RATE) / RATE
    pad = 0.2 * (np.sin(2 * np.pi * 110 * time) + np.sin(2 * np.pi * 165 * time))
    hiss = 0.2 * rng.standard_normal(time.size)
    sound = np.concatenate([pad, hiss, pad]).astype(np.float32)
    spans = find_sections(sound, RATE, NO_BEATS)
    # Lines lie 2 s apart where there are no bars.
    assert turn_score(np.array([0.0, 40.0, 80.0, 120.0]), edges(spans), 2.0) == 1.0


def test_one_sound_is_one_section():
    time = np.arange(30 * RATE) / RATE
    spans = find_sections((0.3 * np.sin(2 * np.pi * 220 * time)).astype(np.float32), RATE, NO_BEATS)
    assert len(spans) == 1


@pytest.mark.parametrize("seconds", [0.02, 0.5, 3.0])
def test_short_sounds_are_one_section(seconds):
    sound = np.ones(int(seconds * RATE), np.float32)
    spans = find_sections(sound, RATE, NO_BEATS)
    assert [(span.letter, span.start_s) for span in spans] == [("A", 0.0)]


def test_silence_is_refused():
    with pytest.raises(BadSignal, match="silent"):
        find_sections(np.zeros(RATE, np.float32), RATE, NO_BEATS)


def test_stop_and_progress():
    sound = np.random.default_rng(1).standard_normal(20 * RATE).astype(np.float32)
    seen: list[float] = []
    find_sections(sound, RATE, NO_BEATS, progress=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    with pytest.raises(Stopped):
        find_sections(sound, RATE, NO_BEATS, stop=lambda: True)


# 120 beats a minute for 60 s; figures by mir_eval 0.8.2, the reference library of the field, as noted when it
# was run by hand on these beats, not by this code.
BEGIN = 5.0
GRID = BEGIN + np.arange(0.0, 60.0, 0.5)


@pytest.mark.parametrize(
    ("found", "f", "cmlt", "amlt"),
    [
        (GRID + 0.069, 1.0, None, None),
        (GRID + 0.071, 0.0, 1.0, None),
        (GRID[::2], 0.667, 0.0, 1.0),
        (np.arange(BEGIN, GRID[-1] + 0.01, 0.25), 0.669, 0.0, 1.0),
        (GRID + 0.25, 0.0, None, 0.992),
        (BEGIN + (GRID - BEGIN) / 1.001, 1.0, None, None),
        (BEGIN + (GRID - BEGIN) / 1.01, 0.367, 0.442, None),
        (np.sort(np.append(GRID, GRID[60] + 0.25)), 0.996, 0.983, None),
    ],
    ids=["69 ms late", "71 ms late", "half", "double", "off-beat", "0.1 % fast", "1 % fast", "one too many"],
)
def test_the_scorer_of_beats(found, f, cmlt, amlt):
    for value, wanted in zip(beat_scores(GRID, found), (f, cmlt, amlt), strict=True):
        assert wanted is None or value == pytest.approx(wanted, abs=0.0015)


# Same source; edges at 0 8 24 40 56 72 s, ends left out.
TURNS = np.array([0.0, 8.0, 24.0, 40.0, 56.0, 72.0])


@pytest.mark.parametrize(
    ("found", "window_s", "f"),
    [
        (TURNS + 0.49, 0.5, 1.0),
        (TURNS + 0.51, 0.5, 0.0),
        (np.delete(TURNS, 2), 0.5, 0.857),
        (np.arange(0.0, 73.0, 8.0), 0.5, 0.667),
        (TURNS + np.array([0, 2, 2, 2, 2, 0]), 3.0, 1.0),
    ],
    ids=["0.49 s late", "0.51 s late", "one missed", "every 8 s", "a bar late"],
)
def test_the_scorer_of_turns(found, window_s, f):
    assert turn_score(TURNS, found, window_s) == pytest.approx(f, abs=0.001)
