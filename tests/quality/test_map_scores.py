"""What the board of the map counts, against a published count and against cases worked out by hand.

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

MINUTE_S = 10 + 0.5 * np.arange(120)
"""A minute at 120 BPM, behind the first seconds, which are not counted."""
EDGES_S = np.array([0.0, 8, 24, 40, 56, 72])
INNER = np.array([0, 1, 1, 1, 1, 0])


def test_a_published_count_comes_out_the_same() -> None:
    found_s = np.cumsum([FIRST_FRAME, *(ord(step) - ord("a") + 20 for step in STEPS)]) * 512 / 22050
    # Published without leaving out the first 5 s, so both are moved behind them.
    assert beat_scores(ANNOTATED_S + 5, found_s + 5)[0] == pytest.approx(PUBLISHED_F, abs=1e-12)


@pytest.mark.parametrize(
    ("found_s", "f", "cmlt", "amlt"),
    [
        pytest.param(MINUTE_S + 0.069, 1, 1, 1, id="late, within the window of 70 ms"),
        pytest.param(MINUTE_S + 0.071, 0, 1, 1, id="late, beyond it, yet within 17.5 % of a beat"),
        pytest.param(MINUTE_S[::2], 2 / 3, 0, 1, id="half the tempo: all right, half found"),
        pytest.param(10 + 0.25 * np.arange(240), 2 / 3, 0, 1, id="double the tempo: half right, all found"),
        pytest.param(MINUTE_S + 0.25, 0, 0, 1, id="off the beat"),
    ],
)
def test_beats_are_counted_as_by_hand(found_s, f, cmlt, amlt) -> None:
    # One beat at an end more or less is up to the counting.
    assert beat_scores(MINUTE_S, found_s) == pytest.approx((f, cmlt, amlt), abs=1 / 100)


@pytest.mark.parametrize(
    ("found_s", "window_s", "f"),
    [
        pytest.param(EDGES_S + 0.49 * INNER, 0.5, 1, id="late, within the window"),
        pytest.param(EDGES_S + 0.51 * INNER, 0.5, 0, id="late, beyond it: the two ends are no points"),
        pytest.param(EDGES_S + 2 * INNER, 3.0, 1, id="a bar late, in the wide window"),
        pytest.param(np.delete(EDGES_S, 2), 0.5, 2 / (1 + 4 / 3), id="one of four missed"),
        pytest.param(8.0 * np.arange(10), 0.5, 2 / (1 + 8 / 4), id="cut every 8 s: four of eight right"),
    ],
)
def test_edges_are_counted_as_by_hand(found_s, window_s, f) -> None:
    assert turn_score(EDGES_S, found_s, window_s) == pytest.approx(f)
