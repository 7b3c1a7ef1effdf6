"""What the board of the map counts, against a published count and against tables of cases.

Published: the Harmonix Set (O. Nieto and others, "The Harmonix Set: Beats, Downbeats, and Functional Segment
Annotations of Western Popular Music", ISMIR 2019; github.com/urinieto/harmonixset, MIT licence). Of its song
0907 the beats (which lie on an even grid), the beats that a tracker by dynamic programming found
(results/beats/Ellis), and the F that is published for them (results/beats/Ellis.csv).
"""

import numpy as np
import pytest

from tests.quality.map_board import beat_scores, turn_score

ANNOTATED_S = 0.0857145 + 0.576923 * np.arange(375)
# The tracker's beats are frames of 512 samples at 22.05 kHz: the first, and the steps from each to the next
# in letters, "a" for 20 frames.
FIRST_FRAME = 13
STEPS = (
    "fffeffffffffiiiggfffefefcighfdifeedegfhcffheeecggffghefeeegefegfgdefeegggdffgcfffgffefffihhhjeihkgfidgfedcgggceggf"
    "ffgefdgfgfeedhffefhcgfffefffchgfefghfbgfefgeefffefgffefgfeeggdfeffeegfggiiigegeffgdfgeffffeffffffeffgeegegefffefgf"
    "effchffffeffegdheffgefffefffegffdfgfedfeiggggghhhfideeefgfgegefeeeehfgefffhfjjgefgeffgeefffeggfdfffefgfdgfefffgdfg"
    "fdgfgdfffeccaffeffffefffff"
)
PUBLISHED_F = 0.28225806451612906


def test_a_published_count_comes_out_the_same() -> None:
    found_s = np.cumsum([FIRST_FRAME, *(ord(step) - ord("a") + 20 for step in STEPS)]) * 512 / 22050
    # Published without leaving out the first 5 s, so both are moved behind them.
    assert beat_scores(ANNOTATED_S + 5, found_s + 5)[0] == pytest.approx(PUBLISHED_F, abs=1e-12)


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
