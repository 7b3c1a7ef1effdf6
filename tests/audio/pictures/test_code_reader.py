"""Slate codes filmed by a simulated camera, read from its file."""

from fractions import Fraction
from pathlib import Path

import pytest

from audio.errors import Stopped
from audio.pictures.code_lines import code_lines
from audio.pictures.code_reader import codes_of
from tests.quality.slate_camera import Shot, film

HALF_FRAME_S = 0.5 / 24


def test_a_silent_clip_of_the_page_is_placed_within_half_a_frame(tmp_path: Path) -> None:
    shot = Shot(song_s=17.3, page_s=2.0, after_s=1.0, waits_s=0.6, seed=11)
    film(tmp_path / "a.mp4", shot)
    reads = codes_of(tmp_path / "a.mp4", 3.6)
    (line,) = code_lines(reads, shot.song, shot.file)
    assert line.sure
    assert line.exact == 1
    assert line.line.song_s == pytest.approx(shot.song_time(line.line.clip_s), abs=HALF_FRAME_S)
    assert line.first_s == pytest.approx(0.6, abs=0.05)
    assert line.last_s == pytest.approx(2.6, abs=0.3)


def test_conformed_pictures_of_a_fast_camera(tmp_path: Path) -> None:
    shot = Shot(
        camera=Fraction(120),
        file=Fraction(24),
        song_s=90.0,
        page_s=1.5,
        after_s=0.2,
        waits_s=0.1,
        size=(270, 480),
        readout=0.9,
        gop=250,
        seed=12,
    )
    film(tmp_path / "a.mp4", shot)
    (line,) = code_lines(codes_of(tmp_path / "a.mp4", 9.0), shot.song, shot.file)
    assert (line.sure, line.exact) == (True, Fraction(1, 5))
    assert line.line.song_s == pytest.approx(shot.song_time(line.line.clip_s), abs=HALF_FRAME_S)


def test_reading_can_be_stopped(tmp_path: Path) -> None:
    film(tmp_path / "a.mp4", Shot(page_s=0.3, waits_s=0.0, after_s=0.0))
    with pytest.raises(Stopped):
        codes_of(tmp_path / "a.mp4", 0.3, stop=lambda: True)
