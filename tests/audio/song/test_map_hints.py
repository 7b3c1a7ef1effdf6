"""Hints about a song are taken as true: a downbeat, the tempo, the metre, section edges."""

from itertools import pairwise

import numpy as np
import pytest

from audio.song.beats import Hints, find_beats
from audio.song.sections import bar_energy, find_sections
from tests.audio.map_songs import RATE
from tests.audio.mapped import beats, sections, song
from tests.quality.map_music import make

NAME = "rock 176 with count-in"


def test_the_rest_is_taken_from_a_moment_on():
    made = song(NAME)
    from_s = float(made.bars_s[10]) - 0.1
    found = find_beats(made.samples, RATE, hints=Hints(from_s=from_s))
    assert found.beats_s[0] >= from_s - 0.07
    rest = made.beats_s[made.beats_s > from_s]
    apart = [float(np.abs(found.beats_s - beat).min()) for beat in rest]
    assert np.percentile(apart, 90) < 0.02
    assert found.end_s <= made.samples.size / RATE


@pytest.mark.parametrize("beat", [20, 21, 22, 23])
def test_a_downbeat_hint_is_a_downbeat(beat):
    made = song(NAME)
    downbeat_s = float(made.beats_s[beat])
    found = find_beats(made.samples, RATE, hints=Hints(downbeat_s=downbeat_s))
    assert np.abs(found.bars_s - downbeat_s).min() < 1e-6
    assert (np.diff(found.beats_s) > 0).all()


def test_a_downbeat_between_the_beats_moves_them_all():
    made = song(NAME)
    downbeat_s = float(made.beats_s[20] + 0.5 * 60.0 / 176.0)
    found = find_beats(made.samples, RATE, hints=Hints(downbeat_s=downbeat_s))
    assert np.abs(found.bars_s - downbeat_s).min() < 1e-6


@pytest.mark.parametrize("bpm", [88.0, 176.0, 190.0])
def test_the_tempo_agrees_with_the_hint(bpm):
    found = find_beats(song(NAME).samples, RATE, hints=Hints(tempo_bpm=bpm))
    assert found.tempo_bpm is not None
    assert 6 / 7 < found.tempo_bpm / bpm < 7 / 6


@pytest.mark.parametrize("metre", [2, 3, 5])
def test_bars_have_the_beats_of_the_hint(metre):
    found = find_beats(song(NAME).samples, RATE, hints=Hints(beats_per_bar=metre))
    assert found.beats_per_bar == metre
    assert found.metres == ((0, metre),)
    assert set(np.diff(np.searchsorted(found.beats_s, found.bars_s))) == {metre}


def test_the_other_octave_is_offered():
    # Half or double by definition; a little off where the tempo wavers.
    found = beats(NAME)
    assert found.other_tempo_bpm is not None
    assert min(abs(found.other_tempo_bpm / found.tempo_bpm / ratio - 1) for ratio in (0.5, 2.0)) < 0.05


def test_metres_run_through_the_bars():
    found = beats("waltz 150")
    firsts = [first for first, _ in found.metres]
    assert firsts[0] == 0
    assert firsts == sorted(set(firsts))
    assert all(one[1] != two[1] for one, two in pairwise(found.metres))


def test_edges_that_are_given_stay():
    made, known = song(NAME), beats(NAME)
    fixed = (float(made.bars_s[3]) + 0.21, float(made.bars_s[9]))
    spans = find_sections(made.samples, RATE, known, fixed_edges_s=fixed)
    edges = [span.start_s for span in spans[1:]]
    assert set(fixed) <= set(edges)
    assert spans[0].start_s == 0.0
    assert all(one.end_s == two.start_s for one, two in pairwise(spans))


def test_nothing_new_before_the_moment():
    made, known = song(NAME), beats(NAME)
    from_s = float(made.bars_s[20])
    fixed = (float(made.bars_s[4]),)
    edges = [
        span.start_s
        for span in find_sections(made.samples, RATE, known, fixed_edges_s=fixed, from_s=from_s)[1:]
    ]
    assert [edge for edge in edges if edge <= from_s] == list(fixed)
    assert any(edge > from_s for edge in edges)


def test_families_are_those_of_the_form():
    # Intro, verse, chorus, verse, chorus, ending: A B C B C and something last.
    families = [span.family for span in sections("waltz 150")]
    assert families[:5] == ["A", "B", "C", "B", "C"]


def test_nobody_guesses_at_a_voice():
    # No feature of a voice holds from one mix to the next, so none is reported.
    assert {span.voice for span in sections("waltz 150")} == {None}


def test_energy_of_a_sine():
    # A sine of peak 1 has a mean power of 1/2, which is -3.01 dB; of peak 0.1 it is 20 dB less.
    sine = np.sin(2 * np.pi * 100 * np.arange(3 * RATE) / RATE).astype(np.float32)
    sine[RATE : 2 * RATE] *= 0.1
    sine[2 * RATE :] = 0.0
    energy = bar_energy(sine, RATE, np.array([0.0, 1.0, 2.0, 3.0]))
    assert energy == pytest.approx([-3.01, -23.01, -120.0], abs=0.01)


def test_free_time_has_no_bars():
    # Notes at any time before the band: bar 1 is where the beat sets in, to a bar or so.
    made = make(24).song
    found = find_beats(made.samples, RATE)
    bar_s = float(np.median(np.diff(made.bars_s)))
    assert abs(found.bars_s[0] - made.bars_s[0]) < 1.5 * bar_s
    assert found.beats_s[0] > made.turns_s[0] + 4.0


def test_both_at_once():
    made = song(NAME)
    from_s, downbeat_s = float(made.bars_s[10]) + 0.013, float(made.beats_s[62])
    found = find_beats(made.samples, RATE, hints=Hints(from_s=from_s, downbeat_s=downbeat_s))
    assert np.abs(found.bars_s - downbeat_s).min() < 1e-6
    before = find_beats(made.samples, RATE, hints=Hints(from_s=from_s, downbeat_s=from_s - 5.0))
    same = find_beats(made.samples, RATE, hints=Hints(from_s=from_s))
    assert np.array_equal(before.bars_s, same.bars_s)
