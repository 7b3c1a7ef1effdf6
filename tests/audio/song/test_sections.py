"""Sections of songs whose turns are known."""

from itertools import pairwise

import numpy as np
import pytest

from audio.errors import BadSignal, Stopped
from audio.song.beats import Beats
from audio.song.sections import find_sections, novelty
from tests.audio.map_songs import RATE
from tests.audio.mapped import beats, sections, song
from tests.quality.map_board import turn_score

SONGS = ("rock 176 with count-in", "waltz 150", "swing 140")
NO_BEATS = Beats(None, np.zeros(0), np.zeros(0), 4, 0.0)


def edges(spans) -> np.ndarray:
    return np.array([spans[0].start_s, *(span.end_s for span in spans)])


@pytest.mark.parametrize("name", SONGS)
def test_plain_turns_are_all_found(name):
    truth = np.array([*song(name).turns_s, song(name).end_s])
    assert turn_score(truth, edges(sections(name)), 0.5) == 1.0


@pytest.mark.parametrize("name", SONGS)
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


def test_repeated_chords_are_evidence_for_an_edge():
    """No two bars sound alike but for a chorus of four bars that comes again, and a verse moved by two bars:
    nothing else tells where they begin and end."""
    bars = np.eye(20)
    verse, chorus, bridge = bars[:8], bars[8:12], bars[12:]
    harmony = np.concatenate([verse, chorus, bridge, chorus, np.roll(verse, 2, axis=1)])
    alike = np.zeros((len(harmony), 3))
    found = novelty([alike, alike, harmony])
    assert set(np.argsort(found)[-4:]) == {8, 12, 20, 24}
    assert found[[8, 12, 20, 24]].min() > 0.25
