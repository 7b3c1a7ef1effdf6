"""The slope search, whatever the line it starts from."""

import pytest

from audio.line import Line
from audio.placement import slope_search
from audio.placement.line_fit import fit_line
from audio.whitening import whiten
from tests.audio.engine_songs import RATE, index, noisy, run


@pytest.mark.parametrize("wrong_by", [-300e-6, 300e-6])
def test_a_rough_line_with_a_wrong_slope_finds_the_right_clock(
    wrong_by: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However narrowly slopes are tried about a rough line, those about a right clock are tried too."""
    monkeypatch.setattr(slope_search, "END_ERROR_S", 0.0)
    clip = whiten(noisy(run(8.0, 44.0), 0), RATE)
    fit = fit_line(clip, index(), Line(22.0, 30.0, 1.0 + wrong_by), 0.0, 44.0)
    assert fit is not None
    assert fit.line.speed == pytest.approx(1.0, abs=2e-6)
    assert fit.line.song_time(22.0) == pytest.approx(30.0, abs=0.0002)
