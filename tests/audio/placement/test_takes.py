"""Takes that were found in parts."""

from functools import cache

import numpy as np
import pytest

from audio.line import Line
from audio.placement.alignments import find_alignments
from audio.placement.line_fit import fit_line
from audio.placement.rivals import find_rivals
from audio.placement.search import SongIndex
from audio.placement.takes import FittedTake, merged
from audio.progress import never, no_progress
from audio.whitening import whiten
from tests.audio.engine_songs import RATE, Samples, noisy, song

COPY_S = 20.0
"""The second chorus, from 32 to 44 s, is the first one pasted, which begins so much earlier."""


@cache
def pasted() -> Samples:
    """A song with a chorus that was pasted."""
    rock = song().master
    parts = ((0, 12), (20, 32), (12, 20), (20, 32), (32, 56))
    return np.concatenate([rock[start * RATE : end * RATE] for start, end in parts])


@cache
def index() -> SongIndex:
    return SongIndex.build(pasted(), RATE)


def found_in_parts(clip: Samples, lines: tuple[Line, Line], seam_s: float) -> list[FittedTake]:
    """What comes of a clip whose parts before and after a moment were found on two lines."""
    white = whiten(noisy(clip, -10.0), RATE)
    end_s = len(white) / RATE
    _, blocks = find_alignments(white, index(), never, no_progress)
    parts = []
    for line, start, end in ((lines[0], 0.0, seam_s), (lines[1], seam_s, end_s)):
        fit = fit_line(white, index(), line, start, end)
        assert fit is not None
        rivals = find_rivals(white, index(), fit, blocks.peaks_within(start, end), start, end)
        parts.append(FittedTake(fit, start, end, rivals, (start, end)))
    return merged(white, index(), parts, blocks)


@pytest.mark.parametrize(
    ("from_s", "copied_s", "last"),
    [
        pytest.param(32.0, 12.0, False, id="a pasted chorus and what follows it"),
        pytest.param(24.0, 8.0, True, id="what leads into a pasted chorus and that"),
    ],
)
def test_a_part_found_on_a_copy_goes_with_its_neighbour(from_s: float, copied_s: float, last: bool) -> None:
    clip = pasted()[round(from_s * RATE) : round((from_s + 20.0) * RATE)]
    true = Line(0.0, from_s, 1.0)
    lines = (true, true.shifted(-COPY_S)) if last else (true.shifted(-COPY_S), true)
    (whole,) = found_in_parts(clip, lines, copied_s)
    assert whole.end_s - whole.start_s > 19.0
    assert whole.fit.line.song_time(10.0) == pytest.approx(from_s + 10.0, abs=0.0005)


def test_a_leap_to_what_is_no_copy_stays_a_leap() -> None:
    """From the end of the pasted chorus to the middle of what comes after."""
    clip = np.concatenate([pasted()[34 * RATE : 44 * RATE], pasted()[52 * RATE : 62 * RATE]])
    lines = Line(0.0, 34.0 - COPY_S, 1.0), Line(0.0, 42.0, 1.0)
    before, after = found_in_parts(clip, lines, 10.0)
    assert before.fit.line.song_time(5.0) == pytest.approx(39.0 - COPY_S, abs=0.0005)
    assert after.fit.line.song_time(15.0) == pytest.approx(57.0, abs=0.0005)
